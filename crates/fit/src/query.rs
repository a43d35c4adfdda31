//! What is asked at the counter, and what comes back?

use binwright_catalog::{Layout, Value};
use serde::Serialize;

use crate::registration::Motion;

/// What was taken on one removed part.
#[derive(Debug, Clone, PartialEq)]
pub struct Query {
    /// Place of the measure in the kind's list and its reading, each measure at most once.
    pub measured: Vec<(usize, Value)>,
    /// Standard deviation of a length reading in mm, instead of the instrument's own.
    pub sd_mm: Option<f64>,
    /// The points, in any frame; some may be missing.
    pub layout: Option<Layout>,
    /// Hole-to-hole distances in mm, in any order.
    pub distances_mm: Vec<f64>,
    /// How often a part that comes in is in no row at all.
    pub none_prior: f64,
}

impl Default for Query {
    fn default() -> Self {
        Self {
            measured: Vec::new(),
            sd_mm: None,
            layout: None,
            distances_mm: Vec::new(),
            none_prior: 0.05,
        }
    }
}

/// Which parts it may be.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The likeliest first, no more than asked for.
    pub candidates: Vec<Candidate>,
    /// Probability that it is none of ours; with the probabilities of *all* parts it sums to one.
    pub none: f64,
    /// Log of how well the kind as a whole explains what was taken, to weigh kinds against each other.
    pub ln_evidence: f64,
}

/// Parts that answer as one: interchangeable, or identical in everything known.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The store's ids of the parts, the best first.
    pub parts: Vec<u64>,
    /// The row of the best in the table.
    pub row: u32,
    /// Probability that the removed part is one of these.
    pub probability: f64,
    /// Whether it is the mirror image that fits: the other hand, or drawn from the wrong face.
    pub wrong_hand: bool,
    /// How the points lie on the best row's layout, when both are known and agree at all.
    pub registration: Option<Motion>,
    /// One per reading, in the order given, against the best row.
    pub measures: Vec<Deviation>,
}

/// How one reading compares with one part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deviation {
    /// Place of the measure in the kind's list.
    pub measure: usize,
    /// The part's value as the column keeps it, or what a relative lends; `None` when unknown.
    pub nominal: Option<f64>,
    /// The row whose value was lent.
    pub lent_from: Option<u32>,
    /// Reading less nominal, in the measure's unit; an angle the short way round; `None` for words.
    pub deviation: Option<f64>,
    /// How to take it.
    pub verdict: Verdict,
}

/// Whether a deviation is plausible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Within two standard deviations, worn within its allowance, or equal.
    Inside,
    /// Within four standard deviations, or a count off by one.
    Near,
    /// Beyond; the deviation's sign says which way.
    Outside,
    /// A word that is another.
    Another,
    /// The part's value is not known.
    Unknown,
}

impl Verdict {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Near => "near",
            Self::Outside => "outside",
            Self::Another => "another",
            Self::Unknown => "unknown",
        }
    }
}

/// Something not taken yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Observation {
    /// Place of the measure in the kind's list.
    Measure(usize),
    /// The points.
    Layout,
}

/// What something not taken yet would be worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Next {
    /// What to take.
    pub what: Observation,
    /// Expected drop in uncertainty.
    pub gain_bits: f64,
    /// What it costs.
    pub minutes: f64,
}
