//! How often do close relatives differ on a measure, and by how much?

use std::collections::BTreeMap;

use super::Differences;

/// Relatives at least this likely are close.
const ODDS_FOR_CLOSE: f32 = 2.0;
/// Values closer than this are the same value, written differently.
const SAME: f64 = 0.02;
/// Differences are gathered in so many steps to one blur.
const STEPS_TO_A_BLUR: f64 = 12.0;
/// As many pairs that differ weigh as much as the blur.
const BLUR_COUNTS: f64 = 20.0;
/// Steps kept, the commonest.
const KEPT: usize = 16;

impl Default for Differences {
    /// Where nothing was learnt relatives agree on 85 of 100 measures.
    fn default() -> Self {
        Self { share: 0.15, steps: Vec::new() }
    }
}

impl Differences {
    /// Returns how the close ones among `pairs` differ in `column`, which is measured along a
    /// `scale` or not.
    pub fn new(column: &[f64], blur: f64, scale: bool, pairs: &[(u32, u32, f32)]) -> Self {
        let start = Self::default().share;
        // A few pairs are seen before any is.
        let (mut both, mut differ) = (10.0, 10.0 * start);
        let mut steps: BTreeMap<u32, (f64, f64)> = BTreeMap::new();
        for (a, b, _) in pairs.iter().filter(|pair| pair.2 > ODDS_FOR_CLOSE) {
            let off = (column[*a as usize] - column[*b as usize]).abs();
            if off.is_nan() {
                continue;
            }
            both += 1.0;
            if off > SAME {
                differ += 1.0;
                let step = steps.entry((off / blur * STEPS_TO_A_BLUR) as u32).or_default();
                *step = (step.0 + off, step.1 + 1.0);
            }
        }
        let of_all = |(sum, n): (f64, f64)| (sum / n, n / (differ + BLUR_COUNTS));
        let mut steps: Vec<(f64, f64)> =
            if scale { steps.into_values().map(of_all).collect() } else { Vec::new() };
        steps.sort_by(|a, b| b.1.total_cmp(&a.1));
        steps.truncate(KEPT);
        Self { share: differ / both, steps }
    }
}
