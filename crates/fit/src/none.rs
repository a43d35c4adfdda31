//! Is it none of ours? Weighs all rows against a part that is in no row.

use binwright_catalog::Domain;

use crate::{
    column::Column,
    fast,
    layout_weight::of_relative,
    model::{LayoutScores, Model, Weighed},
    query::Query,
};

/// A part of a family we do not have differs from those we have by about this much, in mm
/// (found by trial on invented catalogues).
const STRANGER_MM: f64 = 4.0;
/// The same of measures that are not lengths, as a share of their span.
const STRANGER_SHARE: f64 = 0.05;
/// As many rows stand for all when a stranger is weighed.
const SAMPLE: usize = 2048;
/// Rows this many nats below the best are too far from what was taken to be a relative of it.
const SIBLING_REACH: f32 = 12.0;
/// Where all rows have one value, another is at least this likely against it.
const OTHER_MIN: f64 = 0.01;
/// Relatives differ by this much where nothing was learnt, in standard deviations of a reading.
const SIBLING_SD: f64 = 6.0;

/// What the rows together are worth, and what none of them is.
pub(crate) struct Posterior {
    /// Log of the sum of all rows' ratios.
    ln_rows: f64,
    pub none: f64,
    /// Log of rows and none together, over the kind's spread.
    pub ln_evidence: f64,
}

impl Posterior {
    pub fn new(
        model: &Model,
        query: &Query,
        weighed: &[Weighed<'_>],
        scores: &[f32],
        layout: Option<&LayoutScores>,
    ) -> Self {
        let n = scores.len() as f64;
        if scores.is_empty() {
            return Self { ln_rows: f64::NEG_INFINITY, none: 1.0, ln_evidence: 0.0 };
        }
        let ln_rows = fast::ln_sum_exp(scores);
        let rows = ln_rows - n.ln();
        let sibling = sibling(model, weighed, scores, layout) - n.ln();
        let family = stranger(model, weighed);
        let other = ln_mean(sibling, family);
        let odds = query.none_prior.ln() - (-query.none_prior).ln_1p() + other - rows;
        let none = 1.0 / (1.0 + (-odds).exp());
        let evidence = rows + (-query.none_prior).ln_1p();
        Self { ln_rows, none, ln_evidence: evidence - (1.0 - none).max(1e-300).ln() }
    }

    /// Probability of a row with this score.
    pub fn probability(&self, score: f32) -> f64 {
        (1.0 - self.none) * (f64::from(score) - self.ln_rows).exp()
    }
}

/// Log of the rows' sum when each is replaced by a relative that is not in the catalogue: one that
/// differs on each measure as often, and by as much, as close relatives do.
fn sibling(
    model: &Model,
    weighed: &[Weighed<'_>],
    scores: &[f32],
    layout: Option<&LayoutScores>,
) -> f64 {
    let best = fast::largest(scores);
    let ratios: Vec<(&Column, Vec<f64>)> = weighed
        .iter()
        .map(|weighed| (&model.columns[weighed.column], relative(model, weighed)))
        .collect();
    let sum: f64 = fast::reaching(scores, best - SIBLING_REACH)
        .map(|(row, score)| {
            let measures: f64 = ratios.iter().map(|(column, r)| r[column.code(row)]).product();
            let points = layout.map_or(1.0, |layout| {
                let moved = layout.moved[model.layouts.of_row[row] as usize];
                of_relative(layout.ln[row], moved)
            });
            f64::from(fast::exp(score - best)) * measures * points
        })
        .sum();
    f64::from(best) + sum.ln()
}

/// For each value: how much better a relative, which may differ, explains the reading.
fn relative(model: &Model, weighed: &Weighed<'_>) -> Vec<f64> {
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
    let tables: Vec<(&Column, Vec<f64>)> = weighed
        .iter()
        .map(|weighed| {
            let column = &model.columns[weighed.column];
            let moved = match weighed.reading.measure.domain {
                Domain::Length => STRANGER_MM,
                Domain::Number | Domain::Angle => STRANGER_SHARE * model.spans[weighed.column],
                _ => return (column, weighed.weights.exact.clone()),
            };
            let background = weighed.weights.ln_background.exp();
            let mut ratios = column.densities(&weighed.reading, moved);
            for ratio in &mut ratios {
                *ratio /= background;
            }
            ratios.push(1.0);
            (column, ratios)
        })
        .collect();
    let rows = model.table().len();
    let sampled = (0..rows).step_by(rows.div_ceil(SAMPLE).max(1));
    let count = sampled.len() as f64;
    let sum: f64 = sampled
        .map(|row| tables.iter().map(|(column, ratios)| ratios[column.code(row)]).product::<f64>())
        .sum();
    f64::midpoint(1.0, sum / count.max(1.0)).ln()
}

/// `ln ½(eᵃ + eᵇ)`.
fn ln_mean(a: f64, b: f64) -> f64 {
    a.max(b) + f64::midpoint(1.0, (-(a - b).abs()).exp()).ln()
}
