//! What goes on paper for a job? The quote the customer gets, the ticket the bench gets.

use binwright_catalog::Money;
use binwright_diagnosis::{Diagnosis, Finding, Reason, Table};
use binwright_print::{
    self as print, Choice, Pages, Setting, ShelfLine, Ticket, TicketCheck, TicketFinding,
};
use binwright_quoting::LineClass;

use crate::bench::quotes::asked_of;
use crate::bench::{QuoteCard, Rules, check_named};
use crate::{Shop, ShopError};

/// Findings less likely than this are not on the ticket.
const LIKELY: f64 = 0.05;
/// Checks on a ticket before the closing test.
const CHECKS_MOST: usize = 5;

impl Shop {
    /// The quotes with these numbers, side by side as the options of one job; customer, unit and
    /// validity are those of the first.
    ///
    /// # Errors
    ///
    /// When a quote is not known, or none is named.
    pub fn quote_paper(&self, numbers: &[String], setting: &Setting) -> Result<Pages, ShopError> {
        let cards: Vec<QuoteCard> =
            numbers.iter().map(|number| self.quote(number)).collect::<Result<_, _>>()?;
        let first = cards.first().ok_or(ShopError::Print(print::PrintError::Nothing))?;
        let paper = print::Quote {
            number: format!("{}, revision {}", first.number, first.revision),
            customer: first.customer.clone(),
            unit: first.unit.clone(),
            valid_until: first.valid_until,
            options: cards.iter().map(choice).collect::<Result<_, _>>()?,
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
        let mut work = vec![card.cover.clone()];
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

fn choice(card: &QuoteCard) -> Result<Choice, ShopError> {
    let mut deposit: Option<Money> = None;
    let mut lines = Vec::new();
    for line in &card.lines {
        if line.class == LineClass::CoreDeposit.word() {
            deposit = Some(deposit.map_or(Ok(line.net), |sum| sum.checked_add(line.net))?);
        } else {
            lines.push((line.words.clone(), line.net));
        }
    }
    if card.rounding.minor != 0 {
        lines.push(("rounding".to_owned(), card.rounding));
    }
    let taxes = card.taxes.iter().filter(|tax| tax.tax.minor != 0);
    Ok(Choice {
        name: format!("option {}", card.cover),
        why: card.beside.advice.first().cloned().unwrap_or_default(),
        ready: if card.to_order.is_empty() {
            "parts are in the bins".to_owned()
        } else {
            "parts must be ordered".to_owned()
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
