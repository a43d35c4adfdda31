//! What is offered to whom, and what became of it? From a repair option to a closed job.

mod card;

use binwright_catalog::Quantity;
use binwright_diagnosis::{ClosedJob, Explained, Faults, Job, Table, diagnose};
use binwright_quoting::{Line, Quote, last_day};
use binwright_store::{
    History, Keep, QuoteLine, QuoteReading, QuoteState, Reason, Revision, StoreError, StoredQuote,
    Writer,
};
use jiff::Timestamp;
use rust_decimal::Decimal;
use serde::Serialize;

use self::card::card;
pub use self::card::{Beside, Held, Issued, Lacking, LineOnPaper, QuoteCard, TAX_NOTE, TaxOnPaper};
use super::{BenchAnswer, OnBench, RepairOption, Rules, Taken};
use crate::settings::Settings;
use crate::{Shop, ShopError};

/// A quote to be made or revised.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct QuoteAsked {
    /// The unit and its readings.
    pub on_bench: OnBench,
    /// Name of the repair option.
    pub cover: String,
    /// Whether what is worth changing while the unit is open comes along.
    pub extras: bool,
    /// For whom.
    pub customer: String,
    /// Who makes it.
    pub who: String,
}

/// Said in the place of a fault when none was found for sure: the job teaches nothing.
pub const UNKNOWN: &str = "unknown";

/// How a job is closed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Closing {
    /// The closing test, as `check=value`.
    pub readings: Vec<String>,
    /// Faults truly found, by key or code, or [`UNKNOWN`] alone.
    pub faults: Vec<String>,
    /// Why it is closed though the test is not good or not whole.
    pub anyway: Option<String>,
}

impl Shop {
    /// Makes a quote of one repair option and holds its stock.
    ///
    /// # Errors
    ///
    /// When the bench cannot answer, or there is no such option.
    pub fn quote_make(
        &mut self,
        rules: &Rules,
        asked: &QuoteAsked,
        at: Timestamp,
        keep: Keep,
    ) -> Result<QuoteCard, ShopError> {
        let answer = self.bench(rules, &asked.on_bench)?;
        let revision = self.revision(rules, asked, &answer, at)?;
        let before = readings(&answer.diagnosis.readings);
        let unit = asked.on_bench.unit.clone().unwrap_or_default();
        self.stepped(keep, |w| {
            let made = w.quote_add(&asked.customer, answer.machine, &unit, &revision, &before)?;
            Ok(made.0)
        })
    }

    /// Makes another revision of an open quote with today's stock and prices. Without machine and unit
    /// what `asked` says is added to what was said before; without a cover the option stands.
    ///
    /// # Errors
    ///
    /// As [`Shop::quote_make`], and when the quote is not open.
    pub fn quote_revise(
        &mut self,
        rules: &Rules,
        number: &str,
        asked: &QuoteAsked,
        at: Timestamp,
        keep: Keep,
    ) -> Result<QuoteCard, ShopError> {
        let old = self.store.quote(number)?;
        let mut asked = asked.clone();
        if asked.on_bench.machine.is_none() && asked.on_bench.unit.is_none() {
            let was = asked_of(&old)?;
            let more = std::mem::replace(&mut asked.on_bench, was);
            asked.on_bench.readings.extend(more.readings);
            asked.on_bench.parts.extend(more.parts);
            asked.on_bench.fits.extend(more.fits);
            asked.on_bench.with.extend(more.with);
        }
        if asked.cover.is_empty() {
            asked.cover.clone_from(&old.newest.cover);
        }
        asked.customer.clone_from(&old.customer);
        // What the quote itself holds is free for its next revision.
        asked.on_bench.own = old.holds.iter().map(|open| open.hold.clone()).collect();
        let answer = self.bench(rules, &asked.on_bench)?;
        let revision = self.revision(rules, &asked, &answer, at)?;
        let before = readings(&answer.diagnosis.readings);
        self.stepped(keep, |w| {
            w.quote_revise(number, &revision, &before)?;
            Ok(old.number.clone())
        })
    }

    /// Lets `asked` count what `quote` holds itself as free, as its next revision will; only that.
    ///
    /// # Errors
    ///
    /// When there is no such quote.
    pub fn free_own(&self, asked: &mut OnBench, quote: Option<&str>) -> Result<(), ShopError> {
        let quote = quote.map(|number| self.store.quote(number)).transpose()?;
        asked.own = quote.into_iter().flat_map(|q| q.holds).map(|open| open.hold).collect();
        Ok(())
    }

    /// The quote with `number`.
    ///
    /// # Errors
    ///
    /// When there is none.
    pub fn quote(&self, number: &str) -> Result<QuoteCard, ShopError> {
        self.with_issues(card(self.store.quote(number)?, self.today)?)
    }

    /// The quotes in `state`, or all, oldest first.
    ///
    /// # Errors
    ///
    /// When the store fails.
    pub fn quotes(&self, state: Option<QuoteState>) -> Result<Vec<QuoteCard>, ShopError> {
        self.store.quotes(state)?.into_iter().map(|quote| card(quote, self.today)).collect()
    }

    /// Makes a job of an open quote: its stock stays held until it is issued.
    ///
    /// # Errors
    ///
    /// When it is not open, or its day has passed.
    pub fn quote_accept(&mut self, number: &str, keep: Keep) -> Result<QuoteCard, ShopError> {
        let today = self.today;
        self.stepped(keep, |w| {
            w.quote_accept(number, today)?;
            Ok(number.to_owned())
        })
    }

    /// Turns the holds of a job into movements, and the deposits of its lines into cores that are owed
    /// for `core_days`.
    ///
    /// # Errors
    ///
    /// When it is not accepted, or a part is not all here.
    pub fn quote_issue(
        &mut self,
        number: &str,
        who: &str,
        at: Timestamp,
        keep: Keep,
    ) -> Result<QuoteCard, ShopError> {
        let today = self.today;
        let until = last_day(today, Settings::of(self.store.dir())?.quoting.core_days)?;
        self.stepped(keep, |w| {
            w.quote_issue(number, who, at, today, until)?;
            Ok(number.to_owned())
        })
    }

    /// Closes an issued job by its closing test, with the faults truly found.
    ///
    /// # Errors
    ///
    /// [`ShopError::ClosingTest`] when a check of the test was not made or is not good and `closing`
    /// does not say why it is closed anyway; when no fault is named or one is not known, or the job is
    /// not issued.
    pub fn quote_close(
        &mut self,
        rules: &Rules,
        number: &str,
        closing: &Closing,
        keep: Keep,
    ) -> Result<QuoteCard, ShopError> {
        let quote = self.store.quote(number)?;
        let table = rules.faults.table(quote.machine);
        let on_bench = asked_of(&quote)?;
        let (_, volts) = self.machine_and_volts(&OnBench {
            machine: Some(quote.machine),
            unit: Some(quote.unit.clone()).filter(|unit| !unit.is_empty()),
            volts: on_bench.volts,
            ..OnBench::default()
        })?;
        let read = closing.readings.iter().map(|text| table.reading(text));
        let job = Job {
            machine: quote.machine,
            volts,
            carried_in_loose: false,
            stripped_to: None,
            readings: read.collect::<Result<_, _>>()?,
        };
        let explained = diagnose(&rules.faults, &job)?.readings;
        if closing.anyway.is_none() {
            judge_closing(table, &explained)?;
        }
        let faults = faults_found(table, &closing.faults)?;
        let note = closing.anyway.clone().unwrap_or_default();
        let closing = readings(&explained);
        self.stepped(keep, |w| {
            w.quote_close(number, &closing, &faults, &note)?;
            Ok(number.to_owned())
        })
    }

    /// Gives up a quote, or a job whose parts are not issued, and lets its stock go.
    ///
    /// # Errors
    ///
    /// When its parts are issued, or it is closed or dropped already.
    pub fn quote_drop(
        &mut self,
        number: &str,
        why: &str,
        keep: Keep,
    ) -> Result<QuoteCard, ShopError> {
        self.stepped(keep, |w| {
            w.quote_drop(number, why)?;
            Ok(number.to_owned())
        })
    }

    /// The closed jobs whose fault was truly found. What is closed stays as it is: while their number
    /// is the same they are not read again.
    pub(super) fn closed_jobs(&self, faults: &Faults) -> Result<Vec<ClosedJob>, ShopError> {
        let mut closed = self.closed.borrow_mut();
        if self.store.quotes_in(QuoteState::Closed)? != closed.len() as u64 {
            *closed = self.store.quotes(Some(QuoteState::Closed))?;
        }
        Ok(closed.iter().filter_map(|quote| taught(quote, faults)).collect())
    }

    /// Takes a step that returns the number of its quote; the quote as it stands then, kept or not.
    fn stepped(
        &mut self,
        keep: Keep,
        step: impl Fn(&mut Writer<'_>) -> Result<String, StoreError>,
    ) -> Result<QuoteCard, ShopError> {
        let quote = self.store.write(keep, |w| {
            let number = step(w)?;
            w.quote(&number)
        })?;
        self.with_issues(QuoteCard { dry_run: keep == Keep::DryRun, ..card(quote, self.today)? })
    }

    /// The card with what left the bins for it and was not put back, as the ledger has it.
    fn with_issues(&self, mut card: QuoteCard) -> Result<QuoteCard, ShopError> {
        if !matches!(card.state, "issued" | "closed") {
            return Ok(card);
        }
        let reference = Some(card.number.clone());
        let asked = History { reference, limit: usize::MAX, ..History::default() };
        let moved = self.store.history(&asked)?.into_iter().rev();
        let out = moved.filter(|m| m.reason == Reason::Issue && m.undone_by.is_none());
        let issued = |m: binwright_store::Moved| Issued {
            movement: m.seq,
            quantity: Quantity::from_thousandths(-m.quantity.thousandths()),
            part: m.part,
            bin: m.bin,
            condition: m.condition,
        };
        card.issues = out.map(issued).collect();
        Ok(card)
    }

    fn revision(
        &self,
        rules: &Rules,
        asked: &QuoteAsked,
        answer: &BenchAnswer,
        at: Timestamp,
    ) -> Result<Revision, ShopError> {
        let settings = &rules.settings.quoting;
        let terms = settings.terms(self.currency()?)?;
        let options = &answer.repair.options;
        let option = options.iter().find(|option| option.name == asked.cover).ok_or_else(|| {
            let names: Vec<&str> = options.iter().map(|option| option.name.as_str()).collect();
            ShopError::NoSuchCover { found: asked.cover.clone(), there: names.join(", ") }
        })?;
        let mut wanted = option.wanted.clone();
        let left_out = asked.extras.then(|| answer.repair.nothing_along(option)).flatten();
        if asked.extras {
            for extra in &option.extras {
                wanted.extend(self.lines_of(extra, settings)?);
            }
        }
        let valid_until = last_day(self.today, settings.valid_days)?;
        let hold_until = last_day(self.today, settings.hold_days)?.min(valid_until);
        let quote = Quote::priced(&wanted, &terms)?;
        let line = |line: &Line| QuoteLine {
            class: line.class.word().to_owned(),
            words: line.words.clone(),
            part: line.part.clone(),
            quantity: line.quantity,
            each: line.each,
            net: line.net,
            tax: line.tax,
            tax_percent: terms
                .tax_percent
                .get(&line.class)
                .map(Decimal::to_string)
                .unwrap_or_default(),
        };
        Ok(Revision {
            revision: 0,
            issued: self.today,
            valid_until,
            hold_until,
            cover: option.name.clone(),
            asked: json(&asked.on_bench)?,
            words: json(&Beside { left_out, ..beside(answer, option) })?,
            lines: quote.lines.iter().map(line).collect(),
            net: quote.net,
            tax: quote.tax,
            rounding: quote.rounding,
            total: quote.total,
            who: asked.who.clone(),
            at,
        })
    }
}

/// What a closed job teaches, as far as `faults` still know its words.
fn taught(quote: &StoredQuote, faults: &Faults) -> Option<ClosedJob> {
    let table = faults.table(quote.machine);
    let known = |reading: &&QuoteReading| {
        let check = table.check(&reading.check).ok().map(|at| &table.checks[at]);
        check.is_some_and(|check| check.outcome(&reading.outcome).is_some())
    };
    let outcomes = quote.before.iter().filter(known);
    let found: Vec<String> =
        quote.faults.iter().filter(|fault| table.fault(fault).is_ok()).cloned().collect();
    (!found.is_empty()).then(|| ClosedJob {
        machine: quote.machine,
        faults: found,
        outcomes: outcomes.map(|r| (r.check.clone(), r.outcome.clone())).collect(),
    })
}

/// What was on the bench when the newest revision of `quote` was made.
pub(crate) fn asked_of(quote: &StoredQuote) -> Result<OnBench, ShopError> {
    serde_json::from_str(&quote.newest.asked)
        .map_err(|error| ShopError::Question { message: error.to_string() })
}

fn json(value: &impl Serialize) -> Result<String, ShopError> {
    serde_json::to_string(value).map_err(|error| ShopError::Question { message: error.to_string() })
}

fn beside(answer: &BenchAnswer, option: &RepairOption) -> Beside {
    let calls = &answer.diagnosis.calls;
    let likely = answer.diagnosis.findings.iter().take_while(|f| f.probability >= 0.05);
    // What must be done to a part that stands in comes first: it is fitted by somebody else.
    let fitted = |taken: &Taken| Some(format!("{}: {}", taken.part, taken.remark.as_ref()?));
    Beside {
        findings: likely.map(|f| (f.name.clone(), f.probability)).collect(),
        advice: option.takes.iter().filter_map(fitted).chain(option.advice.clone()).collect(),
        left_out: None,
        look_at: calls.look_at.clone(),
        cautions: calls.cautions.clone(),
        deference: answer.deference.clone(),
    }
}

fn readings(explained: &[Explained]) -> Vec<QuoteReading> {
    let reading = |one: &Explained| QuoteReading {
        check: one.check.clone(),
        outcome: one.outcome.clone(),
        typed: one.typed.clone(),
    };
    explained.iter().map(reading).collect()
}

/// Keys of the faults named, each once; none when they are unknown, which must be said.
fn faults_found(table: &Table, named: &[String]) -> Result<Vec<String>, ShopError> {
    if named.is_empty() {
        return Err(ShopError::NoFaultNamed { machine: table.machine });
    }
    if named == [UNKNOWN] {
        return Ok(Vec::new());
    }
    let fault = |word: &String| Ok(table.faults[table.fault(word)?].key.clone());
    let mut faults: Vec<String> = named.iter().map(fault).collect::<Result<_, ShopError>>()?;
    faults.sort();
    faults.dedup();
    Ok(faults)
}

/// Refuses a closing test that is not whole or not good.
fn judge_closing(table: &Table, explained: &[Explained]) -> Result<(), ShopError> {
    let (mut missing, mut bad) = (Vec::new(), Vec::new());
    for (check, good) in &table.closing.checks {
        match explained.iter().find(|reading| reading.check == *check) {
            None => missing.push(format!("{check}={good}")),
            Some(reading) if reading.outcome != *good => {
                bad.push(format!("{check} is {}", reading.words));
            }
            Some(_) => {}
        }
    }
    if missing.is_empty() && bad.is_empty() {
        return Ok(());
    }
    let (how, caution) = (table.closing.how.clone(), table.closing.caution.clone());
    Err(ShopError::ClosingTest { missing, bad, how, caution })
}
