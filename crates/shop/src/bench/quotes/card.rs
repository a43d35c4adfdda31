//! How does a quote stand, as it is shown, printed and handed out?

use std::collections::BTreeMap;

use binwright_catalog::{Condition, Machine, Money, Quantity};
use binwright_store::{
    OpenHold, QuoteLine, QuoteReading, QuoteState, Revision, StoredQuote, ToOrder,
};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::ShopError;

/// What a tax line is worth without knowing where the shop stands.
pub const TAX_NOTE: &str = "Tax goes by the rates in the shop's settings; rules vary by place and by \
                            what is sold, and local law decides.";

/// What stands on a quote beside its lines.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Beside {
    /// Findings with their probability, likeliest first.
    pub findings: Vec<(String, f64)>,
    /// What would kill the new part again, and what speaks for a whole unit.
    pub advice: Vec<String>,
    /// What was to come along and does not, and why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left_out: Option<String>,
    /// What else is to be looked at.
    pub look_at: Vec<String>,
    /// What can hurt while it is mended.
    pub cautions: Vec<String>,
    /// Whose rules come first.
    pub deference: String,
}

/// A quote, and the job it became.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct QuoteCard {
    /// Its number.
    pub number: String,
    /// 1 for the first.
    pub revision: u32,
    /// open, lapsed, accepted, issued, closed or dropped.
    pub state: &'static str,
    /// For whom.
    pub customer: String,
    /// Which machine.
    pub machine: Machine,
    /// Number of the unit; empty when it is not known.
    pub unit: String,
    /// The day it was made.
    pub issued: Date,
    /// The last day it is valid.
    pub valid_until: Date,
    /// Name of the repair option.
    pub cover: String,
    /// Its lines.
    pub lines: Vec<LineOnPaper>,
    /// Tax by class and rate.
    pub taxes: Vec<TaxOnPaper>,
    /// Sum before tax.
    pub net: Money,
    /// Sum of taxes.
    pub tax: Money,
    /// What rounding the total adds or takes.
    pub rounding: Money,
    /// What is paid.
    pub total: Money,
    /// Said beside the taxes.
    pub tax_note: &'static str,
    /// What it holds, bin by bin.
    pub holds: Vec<Held>,
    /// What is in no bin yet.
    pub to_order: Vec<Lacking>,
    /// What left the bins for it and was not put back.
    pub issues: Vec<Issued>,
    /// What stands beside the lines.
    pub beside: Beside,
    /// What was read before the repair: check, outcome, as typed.
    pub before: Vec<[String; 3]>,
    /// What was read in the closing test.
    pub closing: Vec<[String; 3]>,
    /// Keys of the faults truly found.
    pub faults: Vec<String>,
    /// Why it was dropped, or closed against its closing test.
    pub note: String,
    /// Who made this revision.
    pub who: String,
    /// Whether the last step was only judged.
    pub dry_run: bool,
}

/// A line on paper.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineOnPaper {
    /// `part`, `labour`, `consumable` or `core-deposit`.
    pub class: String,
    /// What a person reads.
    pub words: String,
    /// House number, for a part.
    pub part: Option<String>,
    /// Its condition.
    pub condition: Option<Condition>,
    /// How many; of labour, minutes.
    pub quantity: Quantity,
    /// What one costs; `None` for labour.
    pub each: Option<Money>,
    /// Before tax.
    pub net: Money,
    /// Its share of the tax.
    pub tax: Money,
}

/// The tax on one class of lines.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TaxOnPaper {
    /// The class.
    pub class: String,
    /// The rate.
    pub percent: String,
    /// What it is taken of.
    pub net: Money,
    /// The tax.
    pub tax: Money,
}

/// Stock promised to a quote.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Held {
    /// House number.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
    /// The last day; `None` for a job, which holds until it is issued.
    pub until: Option<Date>,
}

/// Pieces that left a bin for a job.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Issued {
    /// Number of the movement, to undo it by.
    pub movement: i64,
    /// House number.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
}

impl QuoteCard {
    /// What is to be done with it next, and by which command.
    pub fn next_step(&self) -> Option<String> {
        let (number, machine) = (&self.number, self.machine);
        match self.state {
            _ if self.dry_run => None,
            "open" => Some(format!(
                "`binwright quote accept {number}` when the customer takes it, then `quote issue \
                 {number}` takes the parts out, and `quote close {number}` names the closing test"
            )),
            "accepted" => {
                Some(format!("`binwright quote issue {number}` takes the parts out of their bins"))
            }
            "issued" => Some(format!(
                "`binwright quote close {number} CHECK=READING ... --fault FAULT` with the closing test \
                 (alone it says which checks) and what was truly found (`bench faults {machine}`)"
            )),
            _ => None,
        }
    }

    /// Whether `other` offers the same on the same readings for as long.
    pub fn offers_the_same(&self, other: &Self) -> bool {
        self.cover == other.cover
            && self.lines == other.lines
            && self.total == other.total
            && self.valid_until == other.valid_until
            && self.before == other.before
            && self.to_order == other.to_order
            && self.beside == other.beside
    }
}

/// Pieces that are in no bin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lacking {
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
}

impl From<ToOrder> for Lacking {
    fn from(missing: ToOrder) -> Self {
        let ToOrder { part, condition, quantity } = missing;
        Self { part, condition, quantity }
    }
}

pub(super) fn card(quote: StoredQuote, today: Date) -> Result<QuoteCard, ShopError> {
    let Revision { revision, issued, valid_until, cover, words, lines, net, tax, .. } =
        quote.newest.clone();
    let lapsed = quote.state == QuoteState::Open && valid_until < today;
    let live: Vec<&OpenHold> = quote.holds.iter().filter(|h| h.hold.until >= today).collect();
    let waits = matches!(quote.state, QuoteState::Open | QuoteState::Accepted);
    let trio = |r: QuoteReading| [r.check, r.outcome, r.typed];
    Ok(QuoteCard {
        to_order: if waits { lacking(&lines, &live) } else { Vec::new() },
        holds: live.into_iter().map(held).collect(),
        taxes: taxes(&lines)?,
        lines: lines.into_iter().map(on_paper).collect(),
        number: quote.number,
        issues: Vec::new(),
        state: if lapsed { "lapsed" } else { quote.state.word() },
        customer: quote.customer,
        machine: quote.machine,
        unit: quote.unit,
        rounding: quote.newest.rounding,
        total: quote.newest.total,
        tax_note: TAX_NOTE,
        beside: serde_json::from_str(&words).unwrap_or_default(),
        before: quote.before.into_iter().map(trio).collect(),
        closing: quote.closing.into_iter().map(trio).collect(),
        faults: quote.faults,
        note: quote.note,
        who: quote.newest.who,
        dry_run: false,
        revision,
        issued,
        valid_until,
        cover,
        net,
        tax,
    })
}

fn held(open: &OpenHold) -> Held {
    let hold = &open.hold;
    Held {
        part: hold.part.clone(),
        bin: hold.bin.clone(),
        condition: hold.condition,
        quantity: hold.quantity,
        until: (hold.until != Date::MAX).then_some(hold.until),
    }
}

fn on_paper(line: QuoteLine) -> LineOnPaper {
    let (part, condition) = line.part.unzip();
    LineOnPaper {
        class: line.class,
        words: line.words,
        part,
        condition,
        quantity: line.quantity,
        each: line.each,
        net: line.net,
        tax: line.tax,
    }
}

fn taxes(lines: &[QuoteLine]) -> Result<Vec<TaxOnPaper>, ShopError> {
    let mut taxes: Vec<TaxOnPaper> = Vec::new();
    for line in lines.iter().filter(|line| !line.tax_percent.is_empty()) {
        let same =
            |tax: &&mut TaxOnPaper| tax.class == line.class && tax.percent == line.tax_percent;
        match taxes.iter_mut().find(same) {
            Some(tax) => {
                tax.net = tax.net.checked_add(line.net)?;
                tax.tax = tax.tax.checked_add(line.tax)?;
            }
            None => taxes.push(TaxOnPaper {
                class: line.class.clone(),
                percent: line.tax_percent.clone(),
                net: line.net,
                tax: line.tax,
            }),
        }
    }
    Ok(taxes)
}

/// What the lines want beyond what is held.
fn lacking(lines: &[QuoteLine], holds: &[&OpenHold]) -> Vec<Lacking> {
    let mut open: BTreeMap<(&str, Condition), i64> = BTreeMap::new();
    for line in lines {
        if let Some((part, condition)) = &line.part {
            *open.entry((part, *condition)).or_default() += line.quantity.thousandths();
        }
    }
    for hold in holds.iter().map(|open| &open.hold) {
        *open.entry((&hold.part, hold.condition)).or_default() -= hold.quantity.thousandths();
    }
    let left = open.into_iter().filter(|(_, left)| *left > 0);
    left.map(|((part, condition), left)| Lacking {
        part: part.to_owned(),
        condition,
        quantity: Quantity::from_thousandths(left),
    })
    .collect()
}
