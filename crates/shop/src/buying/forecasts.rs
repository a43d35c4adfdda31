//! How far were forecasts from what came? Those of the day before a period, against the period.

use std::collections::HashMap;

use binwright_buying::MONTH_DAYS;
use jiff::ToSpan;
use serde::Serialize;

use super::advise::AdviceAsked;
use super::reports::Period;
use crate::{Shop, ShopError};

/// How far forecasts were from what came.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ForecastReport {
    /// The days.
    pub period: Period,
    /// How many months that is; so many up to the last day are compared.
    pub months: usize,
    /// Units that were forecast, over all parts.
    pub forecast: f64,
    /// Units that were wanted.
    pub came: f64,
    /// Units by which the parts were off, above or below, added up.
    pub off: f64,
    /// The same had every part been forecast what it sold in as many months before.
    pub off_as_before: f64,
    /// Part by part, the furthest off first.
    pub lines: Vec<ForecastLine>,
}

/// How far the forecast of a part was from what came.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ForecastLine {
    /// House number, or the number that was imported.
    pub part: String,
    /// How it was forecast.
    pub method: &'static str,
    /// Units that were forecast.
    pub forecast: f64,
    /// Units that were wanted.
    pub came: f64,
}

impl Shop {
    /// Forecasts all parts as of the day before `period`, when nothing of it was known, and says how far that
    /// was from what came. A part nobody had wanted before counts as forecast at nought.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn forecast_report(&self, period: Period) -> Result<ForecastReport, ShopError> {
        let months = period.months();
        let before = self.advise(&AdviceAsked::on(period.from.saturating_sub(1.day())))?;
        let known: HashMap<&str, (f64, &'static str)> = before
            .lines
            .iter()
            .map(|line| (line.part.as_str(), (line.forecast_per_month, line.method)))
            .collect();
        let mut off_as_before = 0.0;
        let mut lines: Vec<ForecastLine> = Vec::new();
        // Known today, a replaced part's months are those of the part that took its place.
        for line in self.advise(&AdviceAsked::on(period.to))?.lines {
            let (rest, last) = line.months.split_at(line.months.len().saturating_sub(months));
            let came: f64 = last.iter().sum();
            let as_before: f64 = rest.iter().rev().take(months).sum();
            off_as_before += (as_before - came).abs();
            let (monthly, method) = known.get(line.part.as_str()).copied().unwrap_or((0.0, "none"));
            let forecast = monthly * months as f64;
            lines.push(ForecastLine { part: line.part, method, forecast, came });
        }
        let off = |line: &ForecastLine| (line.forecast - line.came).abs();
        lines.sort_by(|a, b| off(b).total_cmp(&off(a)).then_with(|| a.part.cmp(&b.part)));
        Ok(ForecastReport {
            period,
            months,
            forecast: lines.iter().map(|line| line.forecast).sum(),
            came: lines.iter().map(|line| line.came).sum(),
            off: lines.iter().map(off).sum(),
            off_as_before,
            lines,
        })
    }
}

impl Period {
    /// Its length in months, rounded; one at least.
    fn months(self) -> usize {
        ((self.days() as f64 / MONTH_DAYS).round() as usize).max(1)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::Date;

    use super::*;

    #[test]
    fn a_period_is_so_many_months_long() {
        let day = |text: &str| text.parse::<Date>().unwrap();
        let rows = [
            ("2031-01-01", "2031-03-31", 3),
            ("2031-01-01", "2031-01-31", 1),
            ("2030-11-26", "2031-11-25", 12),
            ("2031-05-10", "2031-05-12", 1),
        ];
        for (from, to, months) in rows {
            assert_eq!(Period { from: day(from), to: day(to) }.months(), months, "{from} {to}");
        }
    }
}
