//! How far from its forecast does a part's demand fall? Variance, and the shape around it.
//!
//! Measured on the forecasts the pool would have made at earlier months, so the doubt about the rate is
//! in it. A part's own scatter is pulled toward that of parts with a like mean.

use serde::Serialize;

use super::{Forecast, Pool, Replay, Series, state::Trends};
use crate::levels::LeadDemand;

/// A part's scatter is believed like so many separate looks of parts with a like mean.
const LOOKS_LIKE_MEAN: f64 = 12.0;

/// Looks that tell the correction of the shape; more would cost time and tell little.
const LOOKS_MAX: usize = 12_000;

/// The correction is believed against none as if it had so many separate looks of nothing wrong.
const LOOKS_RIGHT: f64 = 60.0;

/// One look at a part says no more than so many times the scatter of parts with a like mean.
const SCATTER_MAX: f64 = 10.0;

/// The shape of demand around its mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// Poisson: single sales at random.
    Poisson,
    /// Negative binomial: with the scatter that was seen.
    NegativeBinomial,
    /// The same, its chances put right by how often they came true.
    Empirical,
}

/// The scatter of all parts over one horizon.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    horizon: usize,
    bands: [f64; BANDS],
    parts: Vec<f64>,
    corrections: [Correction; SIZES],
}

impl Spread {
    /// Measures the scatter around what `pool` would have forecast `horizon` months ahead, by months up to
    /// the `skip`-th from the end.
    pub fn learn(pool: &Pool, series: &[Series<'_>], horizon: usize, skip: usize) -> Self {
        let trends = Trends::of(series, pool.usual.len());
        let past = Replay::of(series, horizon, skip);
        let mut bands = [[0.0; 2]; BANDS];
        // What was said and what came, of all parts one after the other, and where each one's end.
        let (mut looks, mut ends) = (Vec::<[f32; 2]>::new(), Vec::with_capacity(series.len()));
        for one in series {
            past.part(one, |ago, state, sold| {
                let trend = trends.of_family(one.family, ago, state);
                let mean = pool.of_state(one, state, trend).rate * horizon as f64;
                let [scatter, count] = &mut bands[band_of(mean) as usize];
                *scatter += (sold - mean).powi(2) / mean;
                *count += 1.0;
                looks.push([mean as f32, sold as f32]);
            });
            ends.push(looks.len());
        }
        let overlap = horizon as f64;
        let stride = (looks.len() / LOOKS_MAX).max(1);
        // A band nobody was in: somewhat more than Poisson (our guess), worth twenty looks.
        let bands = bands.map(|[sum, count]| (sum + 26.0 * overlap) / (count + 20.0 * overlap));
        let corrections = Default::default();
        let mut spread = Self { horizon, bands, parts: Vec::new(), corrections };
        let (mut begin, mut nth) = (0, 0);
        for (now, end) in pool.forecast(series, skip).iter().zip(ends) {
            let of_part = looks[begin..end].iter().map(|look| look.map(f64::from));
            begin = end;
            let like = spread.of_mean(now.rate * overlap);
            let believed = LOOKS_LIKE_MEAN * overlap;
            let count = of_part.len() as f64;
            let scatter: f64 = of_part
                .clone()
                .map(|[mean, sold]| ((sold - mean).powi(2) / mean).min(SCATTER_MAX * like))
                .sum();
            let ratio = (scatter + believed * like) / (count + believed);
            spread.parts.push(ratio);
            for [mean, sold] in of_part {
                nth += 1;
                if nth % stride == 0 {
                    spread.corrections[size_of(mean)].look(mean, ratio, sold.round() as u64);
                }
            }
        }
        let separate = stride as f64 / overlap;
        spread.corrections.iter_mut().for_each(|correction| correction.settle(separate));
        spread
    }

    /// The variance-to-mean ratio of parts with a like mean, between the bands' middles.
    fn of_mean(&self, mean: f64) -> f64 {
        let at = (band_of(mean) - 0.5).clamp(0.0, BANDS as f64 - 1.0);
        let (low, share) = (at.floor() as usize, at.fract());
        self.bands[low] * (1.0 - share) + self.bands[(low + 1).min(BANDS - 1)] * share
    }

    /// Demand of part `part` over `months`, as forecast. Over another time than the horizon the excess
    /// over Poisson grows with its root: between none (sizes vary) and in proportion (the rate is in doubt).
    pub fn demand(
        &self,
        part: usize,
        forecast: &Forecast,
        months: f64,
        shape: Shape,
    ) -> LeadDemand {
        let mean = forecast.rate * months;
        let ratio = if forecast.borrowed { self.of_mean(mean) } else { self.parts[part] };
        let ratio = 1.0 + (ratio - 1.0).max(0.0) * (months / self.horizon as f64).sqrt();
        match shape {
            Shape::Poisson => LeadDemand::poisson(mean),
            Shape::NegativeBinomial => LeadDemand::negative_binomial(mean, ratio),
            Shape::Empirical => {
                let correction = &self.corrections[size_of(mean)];
                LeadDemand::negative_binomial(mean, ratio).recalibrated(|p| correction.of(p))
            }
        }
    }

    /// Months ahead the scatter was measured over.
    pub fn horizon(&self) -> usize {
        self.horizon
    }
}

/// Bands of mean, two to a doubling, from 1/64 to 2^14.
const BANDS: usize = 40;

fn band_of(mean: f64) -> f64 {
    (2.0 * (mean.max(1e-9).log2() + 6.0)).clamp(0.0, BANDS as f64 - 1.0)
}

/// Sizes of mean demand whose shape is corrected, and chosen, each by itself.
pub(crate) const SIZES: usize = 4;

/// The size a mean belongs to.
pub(crate) fn size_of(mean: f64) -> usize {
    [0.5, 1.5, 5.0].iter().filter(|&&bound| mean >= bound).count()
}

/// Chances at which the truth is compared with what was said.
const KNOTS: [f64; 15] =
    [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 0.98, 0.99, 0.995, 1.0];

/// How often demand that was said to come with chance `p` did come. Source: Czado, Gneiting and Held (2009),
/// Biometrics 65(4), 1254–1261 (the probability integral transform of counts, not randomised).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Correction {
    came: [f64; KNOTS.len()],
    looks: f64,
}

impl Default for Correction {
    fn default() -> Self {
        Self { came: [0.0; KNOTS.len()], looks: 0.0 }
    }
}

impl Correction {
    /// Takes in a count and the negative binomial that was said of it.
    fn look(&mut self, mean: f64, ratio: f64, sold: u64) {
        let said = LeadDemand::negative_binomial(mean, ratio);
        let (below, at_most) =
            (sold.checked_sub(1).map_or(0.0, |less| said.at_most(less)), said.at_most(sold));
        for (came, knot) in self.came.iter_mut().zip(KNOTS) {
            *came += ((knot - below) / (at_most - below).max(1e-12)).clamp(0.0, 1.0);
        }
        self.looks += 1.0;
    }

    /// Turns counts into chances; a look counts as `separate` separate ones.
    fn settle(&mut self, separate: f64) {
        let (told, right) = (separate.min(1.0), LOOKS_RIGHT);
        for (came, knot) in self.came.iter_mut().zip(KNOTS) {
            *came = (*came * told + right * knot) / (self.looks * told + right);
        }
    }

    fn of(&self, p: f64) -> f64 {
        let above = KNOTS.partition_point(|&knot| knot < p).clamp(1, KNOTS.len() - 1);
        let share = (p - KNOTS[above - 1]) / (KNOTS[above] - KNOTS[above - 1]);
        self.came[above - 1] + share * (self.came[above] - self.came[above - 1])
    }
}
