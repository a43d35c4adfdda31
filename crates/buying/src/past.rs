//! Which way of forecasting would have served this shop best so far?
//!
//! The last three horizons are set aside; everything is learned on the months before them, then each
//! method says its quantiles of the demand to come, and loses what it was off (pinball loss).

use serde::Serialize;

use crate::LeadDemand;
use crate::classical;
use crate::pooled::spread::{SIZES, Shape, size_of};
use crate::pooled::{Pool, Series, Spread};

/// A way of forecasting a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// All parts of the shop together, with a shape.
    Pooled(Shape),
    /// Single exponential smoothing.
    Ses,
    /// Croston's.
    Croston,
    /// Croston's, constants chosen.
    CrostonOptimised,
    /// Croston's, bias corrected.
    Sba,
    /// Teunter, Syntetos and Babai's.
    Tsb,
    /// Smoothing of blocks.
    Adida,
    /// Smoothing of blocks of many lengths.
    Imapa,
}

impl Method {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Pooled(Shape::Poisson) => "pooled-poisson",
            Self::Pooled(Shape::NegativeBinomial) => "pooled-negative-binomial",
            Self::Pooled(Shape::Empirical) => "pooled-empirical",
            Self::Ses => "ses",
            Self::Croston => "croston",
            Self::CrostonOptimised => "croston-optimised",
            Self::Sba => "sba",
            Self::Tsb => "tsb",
            Self::Adida => "adida",
            Self::Imapa => "imapa",
        }
    }

    /// Every way, the pooled ones first.
    pub const ALL: [Self; 10] = METHODS;

    /// The way with that word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|method| method.word() == word)
    }

    /// Demand over `ahead` months by a part's own history; `None` for what needs the other parts. Negative
    /// binomial with the variance of the months seen.
    pub fn alone(self, months: &[f64], ahead: f64) -> Option<LeadDemand> {
        let rate = match self {
            Self::Pooled(_) => return None,
            Self::Ses => classical::ses(months, 0.1),
            Self::Croston => classical::croston(months),
            Self::CrostonOptimised => classical::croston_optimised(months),
            Self::Sba => classical::sba(months),
            Self::Tsb => classical::tsb(months),
            Self::Adida => classical::adida(months),
            Self::Imapa => classical::imapa(months),
        };
        let count = months.len() as f64;
        let mean = months.iter().sum::<f64>() / count;
        let squares: f64 = months.iter().map(|sold| (sold - mean).powi(2)).sum();
        let ratio = if mean > 0.0 { squares / (count - 1.0).max(1.0) / mean } else { 1.0 };
        Some(LeadDemand::negative_binomial(rate * ahead, ratio))
    }
}

const METHODS: [Method; 10] = [
    Method::Pooled(Shape::Poisson),
    Method::Pooled(Shape::NegativeBinomial),
    Method::Pooled(Shape::Empirical),
    Method::Ses,
    Method::Croston,
    Method::CrostonOptimised,
    Method::Sba,
    Method::Tsb,
    Method::Adida,
    Method::Imapa,
];

/// What a method lost.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PastLoss {
    /// The method.
    pub method: Method,
    /// Mean pinball loss of its quantiles, in units of issue a part and horizon.
    pub loss: f64,
    /// Parts times horizons compared.
    pub looks: usize,
}

/// The table of past losses, and the shape that did best at each size of mean.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Past {
    pub(crate) losses: Vec<PastLoss>,
    pub(crate) shapes: [Shape; SIZES],
    /// The way that looks at each part alone and lost so much less that it serves this shop better.
    pub(crate) better_alone: Option<Method>,
}

/// The services the quantiles are compared at.
const SERVICES: [f64; 5] = [0.5, 0.8, 0.9, 0.95, 0.98];

/// So many parts tell the methods apart, and so many teach the pool that is put to the test; more are not asked.
const PARTS_MAX: usize = 600;
const POOL_MAX: usize = 6_000;

/// Within so much of the least loss the empirical shape is taken: its chances come true.
const TIE: f64 = 1.01;

/// The pool is left for another way that lost less than this share of its loss. Below that its chances, which come
/// true, count for more (our choice): where rates wander, smoothing of blocks loses two hundredths less in the
/// simulation and needs up to 6 % less stock at equal fill; where they stay, it needs as much more.
pub const CLEARLY: f64 = 0.95;

/// A shape must win over so many looks to be chosen.
const LOOKS_MIN: usize = 100;

/// Replays the last three horizons of so many months.
pub(crate) fn replay(series: &[Series<'_>], horizon: usize) -> Past {
    let every = series.len().div_ceil(POOL_MAX).max(1);
    let series: Vec<Series<'_>> = series.iter().copied().step_by(every).collect();
    let series = series.as_slice();
    let stride = series.len().div_ceil(PARTS_MAX).max(1);
    let oldest = 3 * horizon;
    let pool = Pool::learn(series, horizon, oldest);
    let spread = Spread::learn(&pool, series, horizon, oldest);
    let (mut lost, mut looks) = ([[0.0; METHODS.len()]; SIZES], [0; SIZES]);
    for back in (1..=3).map(|times| times * horizon) {
        let forecasts = pool.forecast(series, back);
        for (part, one) in series.iter().enumerate().step_by(stride) {
            let Some(end) = one.months.len().checked_sub(back).filter(|&end| end > 0) else {
                continue;
            };
            let (before, after) = one.months.split_at(end);
            let sold: f64 = after[..horizon].iter().sum();
            let ahead = horizon as f64;
            let size = size_of(forecasts[part].rate * ahead);
            looks[size] += 1;
            for (lost, method) in lost[size].iter_mut().zip(METHODS) {
                let demand = match method {
                    Method::Pooled(shape) => spread.demand(part, &forecasts[part], ahead, shape),
                    _ => method.alone(before, ahead).unwrap_or_else(|| LeadDemand::poisson(0.0)),
                };
                *lost += pinball(&demand, sold);
            }
        }
    }
    let all = looks.iter().sum::<usize>();
    let losses: Vec<PastLoss> = METHODS
        .iter()
        .enumerate()
        .map(|(at, &method)| PastLoss {
            method,
            loss: lost.iter().map(|lost| lost[at]).sum::<f64>() / all.max(1) as f64,
            looks: all,
        })
        .collect();
    let shapes = std::array::from_fn(|size| {
        let [poisson, negative_binomial, empirical, ..] = lost[size];
        if looks[size] < LOOKS_MIN {
            Shape::NegativeBinomial
        } else if empirical <= TIE * poisson.min(negative_binomial) {
            Shape::Empirical
        } else if negative_binomial <= poisson {
            Shape::NegativeBinomial
        } else {
            Shape::Poisson
        }
    });
    let better_alone = better_alone(&losses).filter(|_| all >= LOOKS_MIN);
    Past { losses, shapes, better_alone }
}

fn better_alone(losses: &[PastLoss]) -> Option<Method> {
    let least = |pooled: bool| {
        let of_kind = losses.iter().filter(|one| matches!(one.method, Method::Pooled(_)) == pooled);
        of_kind.min_by(|a, b| a.loss.total_cmp(&b.loss))
    };
    let (pooled, alone) = (least(true)?, least(false)?);
    (alone.loss < CLEARLY * pooled.loss).then_some(alone.method)
}

/// The mean over [`SERVICES`] of what the quantile is off, short weighing `p` and over `1 - p`.
/// Source: Koenker and Bassett (1978), Econometrica 46(1), 33–50.
fn pinball(demand: &LeadDemand, sold: f64) -> f64 {
    let loss = |service: f64| {
        let off = sold - demand.level_for_cycle_service(service) as f64;
        if off > 0.0 { service * off } else { (service - 1.0) * off }
    };
    SERVICES.map(loss).iter().sum::<f64>() / SERVICES.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_pool_is_left_only_for_what_clearly_lost_less() {
        let losses =
            |ses: f64| {
                let pooled = Method::Pooled(Shape::NegativeBinomial);
                [(pooled, 1.0), (Method::Ses, ses), (Method::Tsb, 2.0)]
                    .map(|(method, loss)| PastLoss { method, loss, looks: 500 })
            };
        assert_eq!(better_alone(&losses(0.98)), None);
        assert_eq!(better_alone(&losses(0.90)), Some(Method::Ses));
    }
}
