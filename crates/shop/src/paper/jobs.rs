//! What goes on paper for a job? The quote the customer gets, the ticket the bench gets.

use binwright_catalog::{Condition, Money};
use binwright_diagnosis::{Diagnosis, Finding, Reason, Table};
use binwright_print::{
    self as print, Choice, Pages, Setting, ShelfLine, Ticket, TicketCheck, TicketFinding,
};
use binwright_quoting::LineClass;

use crate::bench::quotes::{LineOnPaper, asked_of};
use crate::bench::{QuoteCard, Rules, check_named};
use crate::{Shop, ShopError};

/// Findings less likely than this are not on the ticket.
const LIKELY: f64 = 0.05;
/// Checks on a ticket before the closing test.
const CHECKS_MOST: usize = 5;

impl Shop {
    /// The quotes with these numbers, side by side as the options of one job; they are valid as long
    /// as the one that ends first.
    ///
    /// # Errors
    ///
    /// When a quote is not known, none is named, or they are for different customers or units.
    pub fn quote_paper(&self, numbers: &[String], setting: &Setting) -> Result<Pages, ShopError> {
        let cards: Vec<QuoteCard> =
            numbers.iter().map(|number| self.quote(number)).collect::<Result<_, _>>()?;
        let first = cards.first().ok_or(ShopError::Print(print::PrintError::Nothing))?;
        let same = |card: &&QuoteCard| card.customer == first.customer && card.unit == first.unit;
        if let Some(other) = cards.iter().find(|card| !same(card)) {
            let (first, other) = (first.number.clone(), other.number.clone());
            return Err(ShopError::NotOneJob { first, other });
        }
        let named = |card: &QuoteCard| format!("{}, revision {}", card.number, card.revision);
        let mut notes: Vec<String> = Vec::new();
        for note in cards.iter().flat_map(|card| &card.beside.advice) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        let options = cards.iter().enumerate();
        let paper = print::Quote {
            number: cards.iter().map(named).collect::<Vec<_>>().join("; "),
            customer: first.customer.clone(),
            unit: first.unit.clone(),
            valid_until: cards.iter().map(|card| card.valid_until).min().unwrap_or(setting.day),
            options: options.map(|(at, card)| choice(at + 1, card)).collect::<Result<_, _>>()?,
            notes,
        };
        Ok(print::quote(&paper, setting)?)
    }

    /// The ticket of a quote or job: what was found and why, which checks are left, what can hurt,
    /// what to take from which bin.
    ///
    /// # Errors
    ///
    /// When the quote is not known, or its readings are no longer understood.
    pub fn ticket_paper(
        &self,
        rules: &Rules,
        number: &str,
        setting: &Setting,
    ) -> Result<Pages, ShopError> {
        let stored = self.store.quote(number)?;
        let (machine, _, diagnosis) = self.diagnosed(rules, &asked_of(&stored)?)?;
        let card = self.quote(number)?;
        let mut parts = Vec::with_capacity(card.holds.len());
        for held in &card.holds {
            parts.push(ShelfLine {
                bin: held.bin.clone(),
                number: held.part.clone(),
                description: self.described(&held.part)?,
                condition: held.condition,
                quantity: Some(held.quantity),
            });
        }
        let likely = diagnosis.findings.iter().take_while(|f| f.probability >= LIKELY);
        let mut checks_left = checks_left(rules.faults.table(machine), &diagnosis)?;
        let mut cautions = card.beside.cautions.clone();
        cautions.extend(said_once(&mut checks_left));
        cautions.push(card.beside.deference.clone());
        let mut work = to_do(&card);
        work.extend(card.beside.look_at.iter().map(|what| format!("look at: {what}")));
        work.extend(card.beside.advice.iter().cloned());
        let ticket = Ticket {
            job: card.number.clone(),
            customer: card.customer.clone(),
            unit: card.unit.clone(),
            complaint: card.note.clone(),
            findings: likely.map(finding).collect(),
            checks_left,
            cautions,
            parts,
            work,
        };
        Ok(print::ticket(&ticket, setting)?)
    }
}

/// The parts to fit and the work that is charged.
fn to_do(card: &QuoteCard) -> Vec<String> {
    let accepted = !matches!(card.state, "open" | "lapsed");
    let not_yet = (!accepted).then(|| "not accepted yet: do not begin".to_owned());
    let line = |line: &LineOnPaper| match (&line.part, line.condition) {
        (Some(part), Some(condition)) if line.class == LineClass::Part.word() => {
            Some(format!("fit {} x {part} {condition}: {}", line.quantity, line.words))
        }
        _ => (line.class == LineClass::Labour.word()).then(|| line.words.clone()),
    };
    not_yet.into_iter().chain(card.lines.iter().filter_map(line)).collect()
}

fn finding(finding: &Finding) -> TicketFinding {
    let words = |reasons: &[Reason]| {
        let words: Vec<&str> = reasons.iter().map(|reason| reason.words.as_str()).collect();
        words.join("; ")
    };
    let mut why = words(&finding.speaks_for);
    if !finding.speaks_against.is_empty() {
        why = format!("{why} (against: {})", words(&finding.speaks_against));
    }
    TicketFinding { name: finding.name.clone(), probability: finding.probability, why }
}

/// The checks that can still change what is ordered, then those of the closing test.
fn checks_left(table: &Table, diagnosis: &Diagnosis) -> Result<Vec<TicketCheck>, ShopError> {
    let next = diagnosis.next_checks.iter().filter(|_| !diagnosis.stop.stop).take(CHECKS_MOST);
    let mut left: Vec<TicketCheck> = next
        .map(|check| TicketCheck {
            name: check.name.clone(),
            how: check.how.clone(),
            cautions: check.cautions.clone(),
        })
        .collect();
    for key in table.closing.checks.keys() {
        let card = check_named(table, key)?;
        let name = format!("before it goes out: {}", card.name);
        left.push(TicketCheck { name, how: card.how, cautions: card.cautions });
    }
    Ok(left)
}

/// Takes out what more than one check cautions against: it is said once, above, and pointed at.
fn said_once(checks: &mut [TicketCheck]) -> Vec<String> {
    let all: Vec<String> = checks.iter().flat_map(|check| check.cautions.clone()).collect();
    let mut shared: Vec<String> = Vec::new();
    for caution in &all {
        let often = all.iter().filter(|other| *other == caution).count() > 1;
        if often && !shared.contains(caution) {
            shared.push(caution.clone());
        }
    }
    for check in checks {
        let before = check.cautions.len();
        check.cautions.retain(|caution| !shared.contains(caution));
        if check.cautions.len() < before {
            check.cautions.insert(0, "See the cautions above.".to_owned());
        }
    }
    shared
}

fn choice(at: usize, card: &QuoteCard) -> Result<Choice, ShopError> {
    let mut deposit: Option<Money> = None;
    let mut lines = Vec::new();
    for line in &card.lines {
        if line.class == LineClass::CoreDeposit.word() {
            deposit = Some(deposit.map_or(Ok(line.net), |sum| sum.checked_add(line.net))?);
        } else {
            let used = line.condition.filter(|condition| *condition != Condition::New);
            let used = used.map(|condition| format!(", {condition}")).unwrap_or_default();
            lines.push((format!("{}{used}", line.words), line.net));
        }
    }
    if card.rounding.minor != 0 {
        lines.push(("rounding".to_owned(), card.rounding));
    }
    let taxes = card.taxes.iter().filter(|tax| tax.tax.minor != 0);
    Ok(Choice {
        name: format!("option {at}: {}", card.number),
        ready: if card.to_order.is_empty() {
            "parts are here".to_owned()
        } else {
            "parts must be ordered first".to_owned()
        },
        lines,
        core_deposit: deposit,
        net: card.net,
        taxes: taxes
            .map(|tax| (format!("tax {} % on {}", tax.percent, tax.class), tax.tax))
            .collect(),
        total: card.total,
    })
}
