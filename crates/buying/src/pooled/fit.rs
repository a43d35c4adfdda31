//! Which coefficients would have forecast the past best?

use nalgebra::{SMatrix, SVector};

/// One, state, state above two knots, long memory over state, age, long memory of what is well known, family's trend.
pub(super) const FEATURES: usize = 8;

/// Coefficients of a shop that has no past: believe three quarters of what a slow part shows, all of what a
/// fast one shows, half of its family's trend. Ours, near what pooled fits of intermittent parts give.
pub(super) const BUILT_IN: [f64; FEATURES] = [0.0, 0.75, 0.1, 0.15, 0.0, 0.0, 0.0, 0.5];

/// How firmly each built-in coefficient is held: one over its variance between shops. Our guess.
const FIRM: [f64; FEATURES] = [16.0, 40.0, 40.0, 40.0, 20.0, 40.0, 40.0, 8.0];

/// Above this many units ahead, a part's scatter grows with its mean rather than with the root of it.
const ROOT_UP_TO: f64 = 4.0;

/// The share of demand by which a family strays from its trend in a month for no reason, squared.
const FAMILY_STRAY: f64 = 0.01;

/// Below so many parts the built-in coefficients are held firmer: what a part did in all its months is one story.
const PARTS_FEW: f64 = 30.0;

/// One part at one earlier month: its features, the usual sales of the months ahead, and what they were.
pub(super) struct Row {
    pub(super) x: [f64; FEATURES],
    pub(super) usual: f64,
    pub(super) sold: f64,
}

/// The factor on the usual rate.
pub(super) fn growth(beta: &[f64; FEATURES], x: &[f64; FEATURES]) -> f64 {
    beta.iter().zip(x).map(|(b, x)| b * x).sum::<f64>().clamp(-8.0, 8.0).exp()
}

/// Quasi-likelihood regression with logarithmic link (variance in proportion to the mean, for large means to
/// its square), pulled toward [`BUILT_IN`]. Rows overlap `overlap` times over, and those of a family and
/// month (there are `groups`) stray together, as do those of a part (of `parts`); all make the pull firmer. Source of the method: Wedderburn
/// (1974), Biometrika 61(3), 439–447; solved by Fisher's scoring.
pub(super) fn ridge(rows: &[Row], overlap: f64, groups: f64, parts: f64) -> [f64; FEATURES] {
    let built_in = SVector::from(BUILT_IN);
    let mut beta = built_in;
    for _ in 0..12 {
        let mut slope = SVector::<f64, FEATURES>::zeros();
        let mut curve = SMatrix::<f64, FEATURES, FEATURES>::zeros();
        let (mut scatter, mut weights) = (0.0, 0.0);
        for row in rows {
            let mean = row.usual * growth(&beta.into(), &row.x);
            let damp = 1.0 / (1.0 + mean / ROOT_UP_TO);
            let x = SVector::from(row.x);
            slope += x * ((row.sold - mean) * damp);
            curve.ger(mean * damp, &x, &x, 1.0);
            scatter += (row.sold - mean).powi(2) * damp / mean;
            weights += mean * damp;
        }
        // What a row says is spread over the rows it overlaps with and thinned by its scatter.
        let said_often = overlap * (scatter / rows.len().max(1) as f64).max(1.0);
        let mut pull = SVector::from(FIRM) * (said_often * (1.0 + PARTS_FEW / parts.max(1.0)));
        pull[FEATURES - 1] *= 1.0 + FAMILY_STRAY * weights / said_often / groups;
        slope -= pull.component_mul(&(beta - built_in));
        curve += SMatrix::from_diagonal(&pull);
        let Some(step) = curve.cholesky().map(|curve| curve.solve(&slope)) else { break };
        beta += step.map(|change| change.clamp(-0.5, 0.5));
        if step.amax() < 1e-4 {
            break;
        }
    }
    beta.into()
}
