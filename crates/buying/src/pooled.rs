//! What will each part sell a month, judged by all parts of the shop together?
//!
//! A part alone sells too seldom to tell; together they tell how far a part's recent months should be
//! believed. Each part has a state: its discounted sales, pulled a little toward what is usual for its
//! kind. The rate of the months to come is `usual · exp(β · features)`, and β is learned by replaying
//! the past: every part at every earlier month, against what followed. The scatter of what followed
//! gives the variance ([`spread`]). Everything is linear in parts times months.
//!
//! The features are what a study of a few thousand spare-part series found to help; smoothing each part
//! alone, averages of forecasts and analogues did not.

mod drift;
mod fit;
pub mod spread;
mod state;

pub use spread::Spread;

use drift::Drifts;
use fit::{FEATURES, Row};
use state::{State, Trends};

/// What is known of one part's past.
#[derive(Debug, Clone, Copy)]
pub struct Series<'a> {
    /// Demand per month, oldest first, every series up to the same newest month.
    pub months: &'a [f64],
    /// Parts of one family (kind, or closer relatives) rise and fall together.
    pub family: usize,
    /// Demand a month expected from elsewhere (the units that carry the part), if anything is.
    pub expected: Option<f64>,
}

/// What is expected of one part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecast {
    /// Units a month, for every month ahead.
    pub rate: f64,
    /// Recent over long-run demand of the part: above 1 it rises.
    pub trend: f64,
    /// Whether it never sold, so that all is borrowed from the family or from what was expected.
    pub borrowed: bool,
}

/// The shop's experience: how a part's state turned into what it sold.
#[derive(Debug, Clone, PartialEq)]
pub struct Pool {
    beta: [f64; FEATURES],
    usual: Vec<f64>,
    drifts: Drifts,
    horizon: usize,
}

impl Pool {
    /// Learns from all parts, looking `horizon` months ahead (at least 1), by months up to the `skip`-th from the end.
    pub fn learn(series: &[Series<'_>], horizon: usize, skip: usize) -> Self {
        let drifts = Drifts::over(panel(series));
        let mut pool = Self { beta: fit::BUILT_IN, usual: usual(series, skip), drifts, horizon };
        let trends = Trends::of(series, pool.usual.len());
        let past = Replay::of(series, horizon, skip);
        let origins = past.panel.saturating_sub(skip + horizon + past.warm);
        let stride = (series.len() * origins).div_ceil(ROWS_MAX).max(1);
        let mut rows = Vec::new();
        for (at, one) in series.iter().enumerate() {
            past.part(one, |ago, state, sold| {
                if (at * 7 + ago) % stride == 0 {
                    let usual = pool.usual_of(one);
                    let x = state.features(
                        &pool.drifts,
                        usual,
                        trends.of_family(one.family, ago, state),
                    );
                    let usual = usual * state.lives() * horizon as f64;
                    rows.push(Row { x, usual, sold });
                }
            });
        }
        let groups = (pool.usual.len() * origins.max(1)) as f64;
        pool.beta = fit::ridge(&rows, horizon as f64, groups, series.len() as f64);
        pool
    }

    /// Forecasts every part as seen `skip` months before the newest.
    pub fn forecast(&self, series: &[Series<'_>], skip: usize) -> Vec<Forecast> {
        let trends = Trends::of(series, self.usual.len());
        let panel = panel(series);
        series
            .iter()
            .map(|one| {
                let end = one.months.len().saturating_sub(skip);
                let state = State::after(&one.months[..end], panel - one.months.len());
                self.of_state(one, &state, trends.of_family(one.family, skip, &state))
            })
            .collect()
    }

    fn of_state(&self, one: &Series<'_>, state: &State, trend: f64) -> Forecast {
        let usual = self.usual_of(one);
        let rate = usual
            * state.lives()
            * fit::growth(&self.beta, &state.features(&self.drifts, usual, trend));
        Forecast { rate, trend: state.trend(), borrowed: !state.started() }
    }

    fn usual_of(&self, one: &Series<'_>) -> f64 {
        let expected = one.expected.filter(|rate| rate.is_finite() && *rate > 0.0);
        expected.unwrap_or(self.usual[one.family]).max(RATE_MIN)
    }
}

/// More rows than this teach the few coefficients nothing more.
const ROWS_MAX: usize = 60_000;

/// No part is thought to sell less than once in eight years.
const RATE_MIN: f64 = 0.01;

/// The usual rate of each family, shrunk to that of the shop as if it had five parts more. The mean is that of
/// ln(1 + rate), so that a few fast parts do not speak for all.
fn usual(series: &[Series<'_>], skip: usize) -> Vec<f64> {
    let families = series.iter().map(|one| one.family + 1).max().unwrap_or(1);
    let (mut sums, mut counts) = (vec![0.0; families], vec![0.0; families]);
    for one in series {
        let end = one.months.len().saturating_sub(skip);
        let state = State::after(&one.months[..end], 0);
        if state.started() {
            sums[one.family] += state.recent().ln_1p();
            counts[one.family] += 1.0;
        }
    }
    let (sum, count) = (sums.iter().sum::<f64>(), counts.iter().sum::<f64>());
    let shop = if count > 0.0 { sum / count } else { RATE_MIN };
    sums.iter()
        .zip(&counts)
        .map(|(sum, count)| ((sum + 5.0 * shop) / (count + 5.0)).exp_m1())
        .collect()
}

/// Months of the longest series: those the shop has records of.
fn panel(series: &[Series<'_>]) -> usize {
    series.iter().map(|one| one.months.len()).max().unwrap_or(0)
}

/// The past as it is gone through again.
struct Replay {
    /// Months the shop has records of.
    panel: usize,
    /// Newest months that are not looked at.
    skip: usize,
    /// Months ahead.
    horizon: usize,
    /// First months of the records that only build up the states.
    warm: usize,
}

impl Replay {
    fn of(series: &[Series<'_>], horizon: usize, skip: usize) -> Self {
        let panel = panel(series);
        Self { panel, skip, horizon, warm: (panel.saturating_sub(skip) / 3).min(12) }
    }

    /// Calls `seen(ago, state, sold)` for each month of a part from its first sale to `horizon` months before
    /// the newest looked at: how many months before the newest known it was, the state after it, and what the
    /// `horizon` months after it sold, without what is beyond all that went before.
    fn part(&self, one: &Series<'_>, mut seen: impl FnMut(usize, &State, f64)) {
        let months = &one.months[..one.months.len().saturating_sub(self.skip)];
        let Some(last) = months.len().checked_sub(self.horizon) else { return };
        let before = self.panel - one.months.len();
        let mut state = State::new(before);
        let mut sold: f64 = months.iter().take(self.horizon).sum();
        for at in 0..last {
            state.step(months[at]);
            sold += months[at + self.horizon] - months[at];
            if before + at + 1 >= self.warm && state.started() {
                let cap = self.horizon as f64 * state.cap();
                seen(one.months.len() - 1 - at, &state, sold.clamp(0.0, cap));
            }
        }
    }
}
