//! What does a desk get back? Plain values, the same for the command, its JSON and the screens.

use binwright_catalog::{Condition, CrossKind, Machine, Money, Quantity};
pub use binwright_fit::Verdict;
use binwright_store::StockLine;
use serde::Serialize;

use crate::age::StockAge;

/// Version of the JSON answers; rises when a field changes its meaning or goes.
pub const ANSWER_VERSION: u32 = 1;

/// The answer to "which part is this?".
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FitAnswer {
    /// The asker's own name for the question, given back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Keys of the kinds that were weighed.
    pub kinds: Vec<String>,
    /// Probability that it is none of the shop's parts.
    pub none: f64,
    /// The likely parts, most likely first.
    pub candidates: Vec<Candidate>,
    /// Readings that lie far outside what the leading kind has: taken wrongly, most likely.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub far: Vec<FarOff>,
    /// What to take next, most worth a minute first.
    pub next: Vec<NextMeasure>,
    /// How old its stock figures are, in a shop on a server.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock_as_of: Option<StockAge>,
}

/// A reading far outside what parts of its kind have.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FarOff {
    /// Key of the measure.
    pub measure: String,
    /// What a person reads.
    pub label: String,
    /// What a person calls the kind.
    pub kind: String,
    /// Unit, by its UCUM code; `1` for counts.
    pub unit: String,
    /// As taken.
    pub taken: String,
    /// The least that parts of the kind have, in the unit.
    pub low: f64,
    /// The most, in the unit.
    pub high: f64,
}

impl FarOff {
    /// `outline across: 900 mm is far outside what rectifier plate parts have here, 60 to 180 mm: read
    /// it again`
    pub fn in_full(&self) -> String {
        let Self { label, kind, taken, low, high, .. } = self;
        let unit = self.spoken_unit();
        format!(
            "{label}: {taken}{unit} is far outside what {kind} parts have here, \
             {low} to {high}{unit}: read it again"
        )
    }

    /// `read again: outline across 900, parts have 60 to 180 mm`
    pub fn in_short(&self) -> String {
        let Self { label, taken, low, high, .. } = self;
        let unit = self.spoken_unit();
        format!("read again: {label} {taken}, parts have {low} to {high}{unit}")
    }

    fn spoken_unit(&self) -> String {
        if self.unit == "1" { String::new() } else { format!(" {}", self.unit) }
    }
}

/// One answer to "which part is this?": a part, or several that are interchangeable.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Candidate {
    /// House number.
    pub number: String,
    /// House numbers of the parts that are interchangeable with it.
    pub also: Vec<String>,
    /// Probability that the removed part is this one.
    pub probability: f64,
    /// Key of its kind.
    pub kind: String,
    /// What a person calls it.
    pub description: String,
    /// Who makes it.
    pub maker: String,
    /// The layout fits only in the mirror: it looks like it and will not go in.
    pub wrong_hand: bool,
    /// Root mean square distance of the layout's points after the best turn and shift, in mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layout_rms_mm: Option<f64>,
    /// Which of the measured points lie on the part's, where a layout was taken.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layout_points: Option<PointsMatched>,
    /// Every measure that was taken, against the part's own.
    pub measures: Vec<Compared>,
    /// Where it lies and what stands in for it.
    #[serde(flatten)]
    pub supply: Supply,
}

/// Which of the measured points lie on the part's.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PointsMatched {
    /// How many lie on a point of the part.
    pub matched: usize,
    /// How many were measured.
    pub taken: usize,
    /// Those that lie on none: `stud B+`.
    pub unmatched: Vec<String>,
}

impl Candidate {
    /// `points within 0.05 mm` when all are; else `2 of 3 points within 0.05 mm; stud B+ has no
    /// match`; nothing where no points were laid on.
    pub fn points_in_words(&self) -> Option<String> {
        let rms = self.layout_rms_mm?;
        let PointsMatched { matched, taken, unmatched } = self.layout_points.as_ref()?;
        let within = format!("{matched} of {taken} points within {rms:.2} mm");
        Some(match unmatched.len() {
            0 => format!("points within {rms:.2} mm"),
            1 => format!("{within}; {} has no match", unmatched[0]),
            _ => format!("{within}; {} have no match", unmatched.join(", ")),
        })
    }
}

/// One measure that was taken, against what is known of the part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// Key of the measure.
    pub measure: String,
    /// What a person reads.
    pub label: String,
    /// Unit, by its UCUM code.
    pub unit: String,
    /// As taken.
    pub taken: String,
    /// As known; absent when it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nominal: Option<String>,
    /// The relative a missing value was lent by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lent_by: Option<String>,
    /// Taken less nominal, in the unit; absent for words and gaps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub deviation: Option<f64>,
    /// Whether that is plausible.
    pub verdict: Verdict,
}

/// A measure (or the layout) worth taking next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextMeasure {
    /// Key of the measure, or `layout`.
    pub measure: String,
    /// What a person reads.
    pub label: String,
    /// Expected drop of doubt, in bits.
    pub gain_bits: f64,
    /// Minutes to take it.
    pub minutes: f64,
    /// How to take it.
    pub how: String,
}

/// Where a part lies, what it costs, what it crosses to and where it sits.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Supply {
    /// Stock by bin and condition.
    pub stock: Vec<InBin>,
    /// List prices.
    pub prices: Vec<Price>,
    /// Relations to other parts.
    pub crosses: Vec<CrossTo>,
    /// Units that take it.
    pub units: Vec<UnitRole>,
}

/// Stock of one part in one bin and condition.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InBin {
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// What lies there.
    pub on_hand: Quantity,
    /// What is not promised to anybody.
    pub free: Quantity,
    /// Whose bin it is, where there are several branches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub branch: Option<String>,
    /// How far that branch is, when it is another and the way is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub minutes_away: Option<u32>,
    /// Whether that branch is this one; `None` in a shop that is one place, or where nobody said which
    /// branch this is.
    #[serde(skip)]
    pub here: Option<bool>,
}

impl InBin {
    /// As a person reads it: `A-03-2 new 3 free of 4`, `N-01 new 2 free at North, 35 min away`.
    pub fn words(&self) -> String {
        let Self { bin, condition, free, on_hand, .. } = self;
        let of = if free == on_hand { String::new() } else { format!(" of {on_hand}") };
        format!("{bin} {condition} {free} free{of}{}", self.away())
    }

    /// Where it is, unless it is here: ` at North, 35 min away`.
    pub fn away(&self) -> String {
        let branch = self.branch.as_ref().filter(|_| self.here != Some(true));
        let at = branch.map_or_else(String::new, |branch| format!(" at {branch}"));
        let far = self.minutes_away.map_or_else(String::new, |far| format!(", {far} min away"));
        at + &far
    }
}

/// What is free over all bins; cores are not for sale.
pub(crate) fn free(lines: &[StockLine]) -> Quantity {
    let for_sale = lines.iter().filter(|line| line.condition != Condition::Core);
    for_sale.fold(Quantity::ZERO, |sum, line| sum.saturating_add(line.free()))
}

/// One list price.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Price {
    /// Whose list.
    pub list: String,
    /// What it says.
    pub price: Money,
    /// Whether parts are sold by this list.
    #[serde(skip)]
    pub sells: bool,
}

/// One relation, seen from the part that was asked for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CrossTo {
    /// The relation.
    pub kind: CrossKind,
    /// Whether the part asked for stands on the left ("replaces") or right ("is replaced by").
    pub forward: bool,
    /// House number of the other part; of a chain of replacements, the last.
    pub number: String,
    /// The house numbers passed on the way to the end of a chain.
    pub by_way_of: Vec<String>,
    /// How many (`contains`).
    pub quantity: Quantity,
    /// What must be said of it.
    pub remark: String,
    /// Free stock of the other part, all bins, cores left out.
    pub free: Quantity,
    /// Where the other part lies.
    pub stock: Vec<InBin>,
}

impl CrossTo {
    /// The relation in words, as read from the part that was asked for.
    pub fn words(&self) -> &'static str {
        match (self.kind, self.forward) {
            (CrossKind::Same, _) => "same as",
            (CrossKind::Replaces, true) => "replaces",
            (CrossKind::Replaces, false) => "replaced by",
            (CrossKind::StandsIn, true) => "can stand in for",
            (CrossKind::StandsIn, false) => "may be stood in for by",
            (CrossKind::Contains, true) => "contains",
            (CrossKind::Contains, false) => "contained in",
        }
    }
}

/// A unit and the role a part has in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnitRole {
    /// The unit's number.
    pub unit: String,
    /// What a person calls the unit.
    pub description: String,
    /// What the part does there.
    pub role: String,
}

/// The answer to "which number, or what, is meant?".
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Found {
    /// What published standards say of the text, a sentence each.
    pub standard: Vec<String>,
    /// The unit that bears the number, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// The parts that may be meant, nearest first.
    pub hits: Vec<Hit>,
    /// How old its stock figures are, in a shop on a server.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock_as_of: Option<StockAge>,
}

/// One part found by number or words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Hit {
    /// House number.
    pub number: String,
    /// The number that was hit, as written; empty for a hit by words.
    pub matched: String,
    /// In what way it was hit.
    pub how: &'static str,
    /// Distance from what was typed: 0 is the same, look-alikes 0.3, worn 0.5, other edits 1.
    pub distance: f64,
    /// Key of its kind.
    pub kind: String,
    /// What a person calls it.
    pub description: String,
    /// Who makes it.
    pub maker: String,
    /// Where it lies and what stands in for it.
    #[serde(flatten)]
    pub supply: Supply,
}

/// All of one part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartCard {
    /// House number.
    pub number: String,
    /// Key of its kind.
    pub kind: String,
    /// What a person calls it.
    pub description: String,
    /// Who makes it.
    pub maker: String,
    /// Other numbers, with who uses them.
    pub numbers: Vec<(String, String)>,
    /// Label, value with unit, by measure in counter rank.
    pub measures: Vec<(String, String)>,
    /// The layout as text, when known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layout: Option<String>,
    /// Where it lies and what stands in for it.
    #[serde(flatten)]
    pub supply: Supply,
    /// How old its stock figures are, in a shop on a server.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock_as_of: Option<StockAge>,
}

/// All of one unit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct UnitCard {
    /// The unit's number.
    pub number: String,
    /// Which machine.
    pub machine: Machine,
    /// What a person calls it.
    pub description: String,
    /// Who makes it.
    pub maker: String,
    /// Voltage class.
    pub volts: Option<u16>,
    /// Rated current.
    pub amps: Option<u16>,
    /// Its bill.
    pub bill: Vec<InRole>,
    /// How old its stock figures are, in a shop on a server.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stock_as_of: Option<StockAge>,
}

/// One line of a unit's bill with the stock behind it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InRole {
    /// What the part does.
    pub role: String,
    /// House number.
    pub part: String,
    /// What a person calls it.
    pub description: String,
    /// How many the unit takes.
    pub quantity: Quantity,
    /// What must be said of it.
    pub remark: String,
    /// Free stock, all bins, cores left out.
    pub free: Quantity,
}
