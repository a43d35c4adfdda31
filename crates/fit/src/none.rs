//! Is it none of ours? Weighs all rows against a part that is in no row.

use crate::{
    model::{Model, Weighed},
    query::Query,
    weigh::Room,
};

/// What the rows together are worth, and what none of them is.
pub(crate) struct Posterior {
    /// The sum of all rows' ratios.
    rows: f64,
    pub none: f64,
    /// Log of rows and none together, over the kind's spread.
    pub ln_evidence: f64,
}

impl Posterior {
    pub fn new(model: &Model, query: &Query, weighed: &[Weighed<'_>], room: &mut Room) -> Self {
        let scores = &room.scores;
        let n = scores.own.len() as f64;
        if scores.own.is_empty() {
            return Self { rows: 0.0, none: 1.0, ln_evidence: 0.0 };
        }
        let [rows, relatives] = scores.sums.map(|sum| sum.max(f64::MIN_POSITIVE));
        let ours = rows.ln() - n.ln();
        let sibling = relatives.ln() - n.ln();
        // A part of another family: half the kind's spread measure by measure (1 in these ratios),
        // half the catalogue with every part moved a good way.
        let family = f64::midpoint(1.0, model.sample.mean(weighed, room)).ln();
        let other = ln_mean(sibling, family);
        let odds = query.none_prior.ln() - (-query.none_prior).ln_1p() + other - ours;
        let none = 1.0 / (1.0 + (-odds).exp());
        let evidence = ours + (-query.none_prior).ln_1p();
        Self { rows, none, ln_evidence: evidence - (1.0 - none).max(1e-300).ln() }
    }

    /// Probability of rows whose scores sum to this.
    pub fn probability(&self, score: f64) -> f64 {
        (1.0 - self.none) * score / self.rows
    }
}

/// `ln ½(eᵃ + eᵇ)`.
fn ln_mean(a: f64, b: f64) -> f64 {
    a.max(b) + f64::midpoint(1.0, (-(a - b).abs()).exp()).ln()
}
