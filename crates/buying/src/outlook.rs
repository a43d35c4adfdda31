//! What will be asked of each part while its stock has to last?

use crate::LeadDemand;
use crate::past::{self, Method, PastLoss};
use crate::pooled::spread::size_of;
use crate::pooled::{Forecast, Pool, Series, Spread};

/// The forecast of all parts; each list has one entry a part, in the order asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// Rates.
    pub forecasts: Vec<Forecast>,
    /// Demand over the months to be covered.
    pub demands: Vec<LeadDemand>,
    /// How each was forecast.
    pub methods: Vec<Method>,
    /// How each method would have done so far.
    pub past: Vec<PastLoss>,
}

impl Outlook {
    /// Forecasts all parts over the months each has to be covered (lead plus review time, above zero).
    pub fn of(series: &[Series<'_>], cover_months: &[f64]) -> Self {
        Self::by(None, series, cover_months)
    }

    /// The same with every part that ever sold forecast by `method`, when one is given.
    pub fn by(method: Option<Method>, series: &[Series<'_>], cover_months: &[f64]) -> Self {
        let panel = series.iter().map(|one| one.months.len()).max().unwrap_or(0);
        // A horizon needs room to be replayed in; a longer one is scaled from the longest that has it.
        let whole = |months: f64| (months.round() as usize).clamp(1, (panel / 4).max(1));
        let horizons: Vec<usize> = cover_months.iter().map(|&months| whole(months)).collect();
        let usual = median(horizons.clone());
        let pool = Pool::learn(series, usual, 0);
        let past = past::replay(series, usual);
        let method = method.or(past.better_alone);
        let mut forecasts = pool.forecast(series, 0);
        let mut spreads: Vec<Spread> = Vec::new();
        let (demands, methods) = forecasts
            .iter_mut()
            .zip(cover_months.iter().zip(horizons))
            .enumerate()
            .map(|(part, (forecast, (&months, horizon)))| {
                if let Some((alone, demand)) = method
                    .filter(|_| !forecast.borrowed)
                    .and_then(|method| Some((method, method.alone(series[part].months, months)?)))
                {
                    forecast.rate = demand.mean() / months;
                    return (demand, alone);
                }
                // One that is within a quarter serves: the scatter is scaled to the months asked for.
                let near = |spread: &Spread| spread.horizon().abs_diff(horizon) * 4 <= horizon;
                let at = spreads.iter().position(near).unwrap_or_else(|| {
                    spreads.push(Spread::learn(&pool, series, horizon, 0));
                    spreads.len() - 1
                });
                let shape = match method {
                    Some(Method::Pooled(shape)) => shape,
                    _ => past.shapes[size_of(forecast.rate * months)],
                };
                (spreads[at].demand(part, forecast, months, shape), Method::Pooled(shape))
            })
            .unzip();
        Self { forecasts, demands, methods, past: past.losses }
    }
}

fn median(mut values: Vec<usize>) -> usize {
    values.sort_unstable();
    values.get(values.len() / 2).copied().unwrap_or(1)
}
