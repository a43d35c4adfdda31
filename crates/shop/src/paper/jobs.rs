//! What goes on paper for a job? The quote the customer gets, the ticket the bench gets.

use binwright_catalog::Money;
use binwright_print::{self as print, Choice, Pages, Setting, ShelfLine, Ticket, TicketFinding};

use crate::bench::QuoteCard;
use crate::{Shop, ShopError};

/// Class of the lines that come back to the customer.
const DEPOSIT: &str = "core-deposit";

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

    /// The ticket of a quote or job: what was found, what to look at, what can hurt, what to take
    /// from which bin.
    ///
    /// # Errors
    ///
    /// When the quote is not known.
    pub fn ticket_paper(&self, number: &str, setting: &Setting) -> Result<Pages, ShopError> {
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
        let findings = card.beside.findings.iter().map(|(name, probability)| TicketFinding {
            name: name.clone(),
            probability: *probability,
            why: String::new(),
        });
        let mut cautions = card.beside.cautions.clone();
        cautions.push(card.beside.deference.clone());
        let mut work = vec![card.cover.clone()];
        work.extend(card.beside.look_at.iter().map(|what| format!("look at: {what}")));
        work.extend(card.beside.advice.iter().cloned());
        let ticket = Ticket {
            job: card.number.clone(),
            customer: card.customer.clone(),
            unit: card.unit.clone(),
            complaint: card.note.clone(),
            findings: findings.collect(),
            checks_left: Vec::new(),
            cautions,
            parts,
            work,
        };
        Ok(print::ticket(&ticket, setting)?)
    }
}

fn choice(card: &QuoteCard) -> Result<Choice, ShopError> {
    let mut deposit: Option<Money> = None;
    let mut lines = Vec::new();
    for line in &card.lines {
        if line.class == DEPOSIT {
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
