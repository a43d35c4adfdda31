//! Is it none of ours? Weighs all rows against a part that is in no row.

use binwright_catalog::Domain;

use crate::{
    column::Column,
    model::{Model, Scores, Weighed},
    query::Query,
};

/// A part of a family we do not have differs from those we have by about this much, in mm
/// (found by trial on invented catalogues).
const STRANGER_MM: f64 = 4.0;
/// The same of measures that are not lengths, as a share of their span.
const STRANGER_SHARE: f64 = 0.05;
/// As many rows stand for all when a stranger is weighed.
const SAMPLE: usize = 2048;
/// Where all rows have one value, another is at least this likely against it.
const OTHER_MIN: f64 = 0.01;
/// Relatives differ by this much where nothing was learnt, in standard deviations of a reading.
const SIBLING_SD: f64 = 6.0;

/// What the rows together are worth, and what none of them is.
pub(crate) struct Posterior {
    /// The sum of all rows' ratios.
    rows: f64,
    pub none: f64,
    /// Log of rows and none together, over the kind's spread.
    pub ln_evidence: f64,
}

impl Posterior {
    pub fn new(model: &Model, query: &Query, weighed: &[Weighed<'_>], scores: &Scores) -> Self {
        let n = scores.own.len() as f64;
        if scores.own.is_empty() {
            return Self { rows: 0.0, none: 1.0, ln_evidence: 0.0 };
        }
        let [rows, relatives] = scores.sums.map(|sum| sum.max(f64::MIN_POSITIVE));
        let ours = rows.ln() - n.ln();
        let sibling = relatives.ln() - n.ln();
        let family = stranger(model, weighed);
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

/// For each value, and last for a gap: how much better a relative, which may differ, explains the
/// reading than the part itself.
pub(crate) fn relative(model: &Model, weighed: &Weighed<'_>) -> Vec<f64> {
    let column = &model.columns[weighed.column];
    let share = column.differences.share;
    let mut ratios = changes(model, weighed);
    for ratio in &mut ratios {
        *ratio = 1.0 - share + share * *ratio;
    }
    ratios.push(1.0);
    ratios
}

/// For each value: how much better a relative with another value explains the reading.
fn changes(model: &Model, weighed: &Weighed<'_>) -> Vec<f64> {
    let column: &Column = &model.columns[weighed.column];
    let exact = weighed.weights.exact.iter();
    if !matches!(weighed.reading.measure.domain, Domain::Length | Domain::Number | Domain::Angle) {
        // Any other value as often as the kind has it; ratios are to the kind's spread of them all.
        let known = column.known() + 1.0;
        let shares = column.counts.iter().map(|n| f64::from(*n) / known);
        let other = |share: f64, exact: f64| ((1.0 - share * exact) / (1.0 - share)).max(OTHER_MIN);
        return exact.zip(shares).map(|(exact, share)| other(share, *exact) / exact).collect();
    }
    if column.blur > 0.0 {
        let near = &weighed.weights.near[..column.values.len()];
        return near.iter().zip(exact).map(|(near, exact)| near / exact).collect();
    }
    let background = weighed.weights.ln_background.exp();
    let blurred = column.densities(&weighed.reading, SIBLING_SD * weighed.reading.sd);
    blurred.iter().zip(exact).map(|(blurred, exact)| blurred / background / exact).collect()
}

/// Log of how well a part of another family explains the readings: half the kind's spread measure
/// by measure (1 in these ratios), half the catalogue with every part moved a good way.
fn stranger(model: &Model, weighed: &[Weighed<'_>]) -> f64 {
    let count = model.table().len() as u32;
    let rows: Vec<u32> = (0..count).step_by((count as usize).div_ceil(SAMPLE).max(1)).collect();
    let mut ratios = vec![1.0; rows.len()];
    for weighed in weighed {
        model.columns[weighed.column].multiply_at(&rows, &elsewhere(model, weighed), &mut ratios);
    }
    f64::midpoint(1.0, ratios.iter().sum::<f64>() / (rows.len().max(1) as f64)).ln()
}

/// For each value, and last for a gap: how much better a part that is a good way off from it
/// explains the reading than the kind's spread.
fn elsewhere(model: &Model, weighed: &Weighed<'_>) -> Vec<f64> {
    let moved = match weighed.reading.measure.domain {
        Domain::Length => STRANGER_MM,
        Domain::Number | Domain::Angle => STRANGER_SHARE * model.spans[weighed.column],
        _ => return weighed.weights.exact.clone(),
    };
    let background = weighed.weights.ln_background.exp();
    let mut ratios = model.columns[weighed.column].densities(&weighed.reading, moved);
    for ratio in &mut ratios {
        *ratio /= background;
    }
    ratios.push(1.0);
    ratios
}

/// `ln ½(eᵃ + eᵇ)`.
fn ln_mean(a: f64, b: f64) -> f64 {
    a.max(b) + f64::midpoint(1.0, (-(a - b).abs()).exp()).ln()
}
