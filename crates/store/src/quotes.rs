//! What was offered to whom, what became of it? Quotes with their revisions and holds, and jobs.
//!
//! Every step is one call inside one [`Store::write`]: a quote and its holds change together or not
//! at all.

mod read;

use std::collections::BTreeMap;

use binwright_catalog::{Condition, Machine, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;

use self::read::{open_holds, read_head, read_quote};
use crate::engine::values;
use crate::stock::{StockLine, stock_of};
use crate::{CoreDebt, Hold, OpenHold, Reason, Side, StoreError, Writer, sql};

/// Where a quote stands. Taken, it is a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum QuoteState {
    /// Offered.
    Open,
    /// Taken: the stock stays held until it is issued.
    Accepted,
    /// Its parts have left the bins.
    Issued,
    /// Tested and done.
    Closed,
    /// Given up; its stock is let go.
    Dropped,
}

impl QuoteState {
    const ALL: [Self; 5] = [Self::Open, Self::Accepted, Self::Issued, Self::Closed, Self::Dropped];

    /// The word in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Accepted => "accepted",
            Self::Issued => "issued",
            Self::Closed => "closed",
            Self::Dropped => "dropped",
        }
    }

    /// The state called `word`.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.word() == word)
    }
}

/// The class of a line that is money for an old part.
const CORE_DEPOSIT: &str = "core-deposit";

/// One revision of a quote.
#[derive(Debug, Clone, PartialEq)]
pub struct Revision {
    /// 1 for the first; given by the store.
    pub revision: u32,
    /// The day it was made.
    pub issued: Date,
    /// The last day it is valid.
    pub valid_until: Date,
    /// The last day it holds its stock.
    pub hold_until: Date,
    /// Name of the repair option.
    pub cover: String,
    /// JSON of the question it was made from.
    pub asked: String,
    /// JSON of what stands beside the lines.
    pub words: String,
    /// Its lines.
    pub lines: Vec<QuoteLine>,
    /// Sum before tax.
    pub net: Money,
    /// Sum of taxes.
    pub tax: Money,
    /// What rounding the total adds or takes.
    pub rounding: Money,
    /// What is paid.
    pub total: Money,
    /// Who made it.
    pub who: String,
    /// When.
    pub at: Timestamp,
}

/// A line of a quote.
#[derive(Debug, Clone, PartialEq)]
pub struct QuoteLine {
    /// `part`, `labour`, `consumable` or `core-deposit`.
    pub class: String,
    /// What a person reads.
    pub words: String,
    /// Any number of the part, and its condition, for what is taken from stock.
    pub part: Option<(String, Condition)>,
    /// How many; of labour, how many minutes.
    pub quantity: Quantity,
    /// What one costs; `None` for labour.
    pub each: Option<Money>,
    /// Before tax.
    pub net: Money,
    /// Its share of the tax.
    pub tax: Money,
    /// The rate in percent, as a decimal; empty when its class is not taxed.
    pub tax_percent: String,
}

/// What came of one check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuoteReading {
    /// Key of the check.
    pub check: String,
    /// Key of the outcome.
    pub outcome: String,
    /// As it was typed.
    pub typed: String,
}

/// A quote as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredQuote {
    /// Its number.
    pub number: String,
    /// For whom.
    pub customer: String,
    /// Which machine.
    pub machine: Machine,
    /// Number of the unit; empty when it is not known.
    pub unit: String,
    /// Where it stands.
    pub state: QuoteState,
    /// Why it was dropped, or closed against its closing test.
    pub note: String,
    /// The newest revision.
    pub newest: Revision,
    /// What is promised to it and was not let go.
    pub holds: Vec<OpenHold>,
    /// What was read before the repair.
    pub before: Vec<QuoteReading>,
    /// What was read in the closing test.
    pub closing: Vec<QuoteReading>,
    /// Keys of the faults truly found.
    pub faults: Vec<String>,
}

/// Pieces that were in no bin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToOrder {
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
}

/// A job that was given pieces it had waited for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobFilled {
    /// Its number.
    pub number: String,
    /// For whom.
    pub customer: String,
    /// What it still waits for; empty when it can be issued.
    pub lacks: Vec<ToOrder>,
}

/// Takes `quantity` of what is free out of as few bins as can be: the smallest that has all, else the
/// largest first. What lies at the branch `home` goes first; what is missing is left out.
pub fn out_of_bins(
    stock: &[StockLine],
    home: Option<&str>,
    quantity: Quantity,
) -> Vec<(String, Quantity)> {
    let (here, away): (Vec<_>, Vec<_>) =
        stock.iter().partition(|line| home.is_none_or(|home| line.branch == home));
    let mut left = quantity.thousandths();
    let mut from = out_of(here, &mut left);
    from.extend(out_of(away, &mut left));
    from
}

/// What of these bins makes up for what is `left`.
fn out_of(mut stock: Vec<&StockLine>, left: &mut i64) -> Vec<(String, Quantity)> {
    let all = *left;
    stock.sort_by_key(|line| {
        let free = line.free().thousandths();
        if free < all { (true, -free) } else { (false, free) }
    });
    let mut from = Vec::new();
    for line in stock {
        let some = line.free().thousandths().min(*left);
        if some > 0 {
            *left -= some;
            from.push((line.bin.clone(), Quantity::from_thousandths(some)));
        }
    }
    from
}

impl Writer<'_> {
    /// Puts down a quote and holds what lies in the bins of its parts; returns its number and what
    /// is in no bin. The revision's number is given here.
    ///
    /// # Errors
    ///
    /// When a part is not known or the engine fails.
    pub fn quote_add(
        &mut self,
        customer: &str,
        machine: Machine,
        unit: &str,
        revision: &Revision,
        before: &[QuoteReading],
    ) -> Result<(String, Vec<ToOrder>), StoreError> {
        self.whole(|w| {
            let id = w.session.one(
                sql!("quote_add"),
                values![customer, machine.word(), unit],
                |row| row.get(0),
            )?;
            let missing = w.put_revision(id, revision, before)?;
            Ok((number_of(id), missing))
        })
    }

    /// Puts down another revision of an open quote: what was held is let go, what the new one needs
    /// is held. Returns what is in no bin.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not open.
    pub fn quote_revise(
        &mut self,
        number: &str,
        revision: &Revision,
        before: &[QuoteReading],
    ) -> Result<Vec<ToOrder>, StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Open])?;
            w.let_go(id)?;
            w.put_revision(id, revision, before)
        })
    }

    /// Makes a job of an open quote: its stock is held until it is issued, or taken anew when it was
    /// let go meanwhile. Returns what is in no bin.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not open, [`StoreError::QuoteLapsed`] when it was valid
    /// until before `today`.
    pub fn quote_accept(&mut self, number: &str, today: Date) -> Result<Vec<ToOrder>, StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Open])?;
            let quote = read_quote(w.session, id, number)?;
            if quote.newest.valid_until < today {
                let until = quote.newest.valid_until;
                return Err(StoreError::QuoteLapsed { number: number.to_owned(), until });
            }
            w.extend(id, Date::MAX, today)?;
            w.set_state(id, QuoteState::Accepted, "")?;
            w.promise(id, &quote.newest.lines, Date::MAX, today)
        })
    }

    /// Holds for the jobs that wait for parts what lies free in the bins, the oldest job first; returns
    /// those that were given any.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn jobs_fill(&mut self, today: Date) -> Result<Vec<JobFilled>, StoreError> {
        let state = QuoteState::Accepted.word();
        let ids: Vec<i64> =
            self.session.all(sql!("quote_ids"), values![state], |row| row.get(0))?;
        let mut filled = Vec::new();
        for id in ids {
            let number = number_of(id);
            let quote = read_quote(self.session, id, &number)?;
            let lacks = self.promise(id, &quote.newest.lines, Date::MAX, today)?;
            if open_holds(self.session, id)?.len() > quote.holds.len() {
                filled.push(JobFilled { number, customer: quote.customer, lacks });
            }
        }
        Ok(filled)
    }

    /// Turns the holds of a job into movements, all of them, and returns their numbers. What was in
    /// no bin when it was taken is taken from what came in since. The old parts that deposits are
    /// charged for are owed from now on, to be taken back until `cores_until`.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not accepted, [`StoreError::QuoteShort`] when a part is
    /// not all here.
    pub fn quote_issue(
        &mut self,
        number: &str,
        who: &str,
        at: Timestamp,
        today: Date,
        cores_until: Date,
    ) -> Result<Vec<i64>, StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Accepted])?;
            let quote = read_quote(w.session, id, &number_of(id))?;
            if let Some(missing) = w.promise(id, &quote.newest.lines, Date::MAX, today)?.pop() {
                return Err(StoreError::QuoteShort { part: missing.part, short: missing.quantity });
            }
            w.set_state(id, QuoteState::Issued, "")?;
            w.owe_cores(&quote, who, today, cores_until)?;
            let holds = open_holds(w.session, id)?;
            let post = |hold: OpenHold| w.post_hold(hold.id, Reason::Issue, who, at, today);
            holds.into_iter().map(post).collect()
        })
    }

    /// Closes an issued job with its closing test and the faults truly found.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not issued.
    pub fn quote_close(
        &mut self,
        number: &str,
        closing: &[QuoteReading],
        faults: &[String],
        note: &str,
    ) -> Result<(), StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Issued])?;
            w.put_readings(id, "closing", closing)?;
            for fault in faults {
                w.session.run(sql!("quote_fault_add"), values![id, fault])?;
            }
            w.set_state(id, QuoteState::Closed, note)
        })
    }

    /// Gives up a quote, or a job whose parts are not issued, and lets its stock go.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is neither open nor accepted.
    pub fn quote_drop(&mut self, number: &str, note: &str) -> Result<(), StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Open, QuoteState::Accepted])?;
            w.let_go(id)?;
            w.set_state(id, QuoteState::Dropped, note)
        })
    }

    /// Writes down what the customer owes for each deposit: the old part for the line before it. What
    /// was paid goes back, so the deposit is the line with its tax.
    fn owe_cores(
        &mut self,
        quote: &StoredQuote,
        who: &str,
        day: Date,
        until: Date,
    ) -> Result<(), StoreError> {
        let mut item = "";
        for line in &quote.newest.lines {
            if let Some((part, _)) = &line.part {
                item = part;
            }
            if line.class == CORE_DEPOSIT && line.quantity.is_positive() {
                let deposit = line.net.checked_add(line.tax).map_err(|_| StoreError::TooLarge)?;
                self.owe_core(&CoreDebt {
                    side: Side::Customer,
                    party: quote.customer.clone(),
                    item: item.to_owned(),
                    quantity: line.quantity,
                    deposit,
                    reference: quote.number.clone(),
                    who: who.to_owned(),
                    day,
                    until: Some(until),
                })?;
            }
        }
        Ok(())
    }

    /// The id of the quote, when it stands in one of `states`.
    fn quote_in(&self, number: &str, states: &[QuoteState]) -> Result<i64, StoreError> {
        let id = id_of(number)?;
        let state = read_head(self.session, id, number)?.state;
        if states.contains(&state) {
            return Ok(id);
        }
        let wanted: Vec<&str> = states.iter().map(|state| state.word()).collect();
        Err(StoreError::QuoteState {
            number: number_of(id),
            state: state.word(),
            wanted: wanted.join(" or "),
        })
    }

    fn set_state(&self, id: i64, state: QuoteState, note: &str) -> Result<(), StoreError> {
        self.session.run(sql!("quote_state_set"), values![id, state.word(), note])?;
        Ok(())
    }

    fn let_go(&mut self, id: i64) -> Result<(), StoreError> {
        for hold in open_holds(self.session, id)? {
            // One that lapsed too: it is no more shown with the quote.
            self.settle_hold(hold.id, "released", None)?;
        }
        Ok(())
    }

    /// Promises until `until` what is still held; what lapsed before `today` is let go.
    fn extend(&mut self, id: i64, until: Date, today: Date) -> Result<(), StoreError> {
        for open in open_holds(self.session, id)? {
            if open.hold.until < today {
                self.settle_hold(open.id, "released", None)?;
            } else {
                self.session.run(sql!("hold_extend"), values![open.id, until.to_string()])?;
            }
        }
        Ok(())
    }

    /// Holds what lies free in the bins of the parts of `lines`, less what is held already; returns
    /// what does not.
    fn promise(
        &mut self,
        id: i64,
        lines: &[QuoteLine],
        until: Date,
        today: Date,
    ) -> Result<Vec<ToOrder>, StoreError> {
        let mut wanted: BTreeMap<(u64, Condition), i64> = BTreeMap::new();
        for line in lines {
            if let Some((part, condition)) = &line.part {
                let sum = wanted.entry((self.part_id(part)?, *condition)).or_default();
                let quantity = line.quantity.thousandths();
                *sum = sum.checked_add(quantity).ok_or(StoreError::TooLarge)?;
            }
        }
        for OpenHold { hold, .. } in open_holds(self.session, id)? {
            let sum = wanted.entry((self.part_id(&hold.part)?, hold.condition)).or_default();
            *sum -= hold.quantity.thousandths();
        }
        let mut missing = Vec::new();
        for ((part_id, condition), thousandths) in wanted {
            let quantity = Quantity::from_thousandths(thousandths);
            let part = self.house(part_id)?;
            let mut stock = stock_of(self.session, part_id, today)?;
            stock.retain(|line| line.condition == condition);
            let home = self.home.map(|(_, name)| name.as_str());
            let mut left = quantity;
            for (bin, quantity) in out_of_bins(&stock, home, quantity) {
                left = left.checked_sub(quantity).ok_or(StoreError::TooLarge)?;
                let (reference, part) = (number_of(id), part.clone());
                let hold =
                    self.hold(&Hold { reference, part, bin, condition, quantity, until }, today)?;
                self.session.run(sql!("quote_hold_add"), values![hold, id])?;
            }
            if left.is_positive() {
                missing.push(ToOrder { part, condition, quantity: left });
            }
        }
        Ok(missing)
    }

    fn put_revision(
        &mut self,
        id: i64,
        revision: &Revision,
        before: &[QuoteReading],
    ) -> Result<Vec<ToOrder>, StoreError> {
        let last: u32 =
            self.session.one(sql!("quote_revision_last"), values![id], |row| row.get(0))?;
        let number = last + 1;
        self.session.run(
            sql!("quote_revision_add"),
            values![
                id,
                number,
                revision.issued.to_string(),
                revision.valid_until.to_string(),
                revision.hold_until.to_string(),
                revision.cover,
                revision.asked,
                revision.words,
                revision.total.currency.code(),
                revision.net.minor,
                revision.tax.minor,
                revision.rounding.minor,
                revision.total.minor,
                revision.who,
                revision.at.to_string()
            ],
        )?;
        for (place, line) in revision.lines.iter().enumerate() {
            let part = line.part.as_ref().map(|(part, _)| self.part_id(part)).transpose()?;
            self.session.run(
                sql!("quote_line_add"),
                values![
                    id,
                    number,
                    place + 1,
                    line.class,
                    line.words,
                    part,
                    line.part.as_ref().map(|(_, condition)| condition.word()),
                    line.quantity.thousandths(),
                    line.each.map(|each| each.minor),
                    line.net.minor,
                    line.tax.minor,
                    line.tax_percent
                ],
            )?;
        }
        self.put_readings(id, "before", before)?;
        self.promise(id, &revision.lines, revision.hold_until, revision.issued)
    }

    fn put_readings(
        &self,
        id: i64,
        stage: &str,
        readings: &[QuoteReading],
    ) -> Result<(), StoreError> {
        self.session.run(sql!("quote_readings_drop"), values![id, stage])?;
        for QuoteReading { check, outcome, typed } in readings {
            self.session
                .run(sql!("quote_reading_put"), values![id, stage, check, outcome, typed])?;
        }
        Ok(())
    }
}

/// Number of a quote: `Q-0042`.
fn number_of(id: i64) -> String {
    format!("Q-{id:04}")
}

/// The id in a number typed as `Q-0042`, `q42` or `42`.
fn id_of(number: &str) -> Result<i64, StoreError> {
    let digits = number.trim().trim_start_matches(['Q', 'q']).trim_start_matches('-');
    let id = digits.parse().ok().filter(|_| digits.bytes().all(|b| b.is_ascii_digit()));
    id.ok_or_else(|| StoreError::NoSuchQuote { number: number.to_owned() })
}
