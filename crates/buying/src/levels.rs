//! How much stock does a forecast ask for? Demand over the time to be covered, as a distribution.
//!
//! Worked values: `tests/reference/poisson_negbin_levels.csv`.

use statrs::function::gamma::ln_gamma;

/// Chances below this are not carried on.
const NEGLIGIBLE: f64 = 1e-13;

/// Means above this are counted in larger steps, so that no distribution grows without bound.
const STEPS_MAX: f64 = 2_000.0;

/// Demand over the time that stock has to cover (lead plus review), in units of issue.
#[derive(Debug, Clone, PartialEq)]
pub struct LeadDemand {
    /// Chance of at most 0, 1, 2 ... steps; beyond the end it is one.
    at_most: Vec<f64>,
    /// Expected demand, in steps.
    mean: f64,
    /// Units in a step: 1 unless demand is very large.
    step: u64,
}

impl LeadDemand {
    /// Poisson demand of that mean.
    pub fn poisson(mean: f64) -> Self {
        Self::negative_binomial(mean, 1.0)
    }

    /// Negative binomial demand of that mean whose variance is `variance_to_mean` times the mean; Poisson
    /// when that is 1 or less. A mean of zero or less is no demand; means above 10^12 and ratios above 2,000
    /// count as those.
    pub fn negative_binomial(mean: f64, variance_to_mean: f64) -> Self {
        if mean.is_nan() || mean <= 0.0 {
            return Self { at_most: vec![1.0], mean: 0.0, step: 1 };
        }
        let mean = mean.min(1e12);
        let step = (mean / STEPS_MAX).ceil().max(1.0);
        let (mean, ratio) = (mean / step, (variance_to_mean / step).clamp(1.0, STEPS_MAX));
        Self { at_most: running_sum(mean, ratio), mean, step: step as u64 }
    }

    /// The distribution of what was seen, each count equally likely.
    pub fn empirical(counts: &[u32]) -> Self {
        let mut at_most = vec![0.0; counts.iter().max().map_or(1, |&most| most as usize + 1)];
        let share = 1.0 / counts.len() as f64;
        counts.iter().for_each(|&count| at_most[count as usize] += share);
        let mut sum = 0.0;
        at_most.iter_mut().for_each(|chance| {
            sum += *chance;
            *chance = sum;
        });
        Self { mean: mean_of(&at_most), at_most, step: 1 }
    }

    /// The same with each cumulative chance `p` put right to `corrected(p)`, which must not fall in `p` and
    /// keep 0 and 1: what a forecaster whose chances were off should have said.
    #[must_use]
    pub fn recalibrated(&self, corrected: impl Fn(f64) -> f64) -> Self {
        let at_most: Vec<f64> = self.at_most.iter().map(|&p| corrected(p)).collect();
        Self { mean: mean_of(&at_most), at_most, step: self.step }
    }

    /// Chances of at most 0, 1, 2 ... steps.
    pub(crate) fn cumulative(&self) -> &[f64] {
        &self.at_most
    }

    /// Units in a step.
    pub(crate) fn step(&self) -> u64 {
        self.step
    }

    /// Expected demand.
    pub fn mean(&self) -> f64 {
        self.mean * self.step as f64
    }

    /// The chance that demand is at most `stock`.
    pub fn at_most(&self, stock: u64) -> f64 {
        self.steps(stock / self.step)
    }

    fn steps(&self, steps: u64) -> f64 {
        usize::try_from(steps).ok().and_then(|at| self.at_most.get(at)).copied().unwrap_or(1.0)
    }

    /// Expected demand beyond `stock`.
    pub fn expected_short(&self, stock: u64) -> f64 {
        let covered: f64 =
            self.at_most.iter().take((stock / self.step) as usize).map(|p| 1.0 - p).sum();
        (self.mean - covered).max(0.0) * self.step as f64
    }

    /// Expected stock left of `stock`.
    pub fn expected_left(&self, stock: u64) -> f64 {
        stock as f64 - self.mean() + self.expected_short(stock)
    }

    /// The least stock that lasts with chance `service` at least.
    pub fn level_for_cycle_service(&self, service: f64) -> u64 {
        self.at_most.partition_point(|&p| p < service) as u64 * self.step
    }

    /// The least stock whose expected shortage leaves `fill` of demand served at once.
    pub fn level_for_fill(&self, fill: f64) -> u64 {
        let mut short = self.mean;
        let mut level = 0;
        for p in &self.at_most {
            if 1.0 - short / self.mean >= fill || self.mean == 0.0 {
                break;
            }
            short -= 1.0 - p;
            level += 1;
        }
        level * self.step
    }
}

/// Cumulative chances of a negative binomial, grown from its mode so that nothing underflows.
fn running_sum(mean: f64, ratio: f64) -> Vec<f64> {
    // p(k+1) / p(k) = (mean/ratio + k·(ratio-1)/ratio) / (k+1), which is Poisson's for ratio 1.
    let (first, slope) = (mean / ratio, (ratio - 1.0) / ratio);
    let growth = |k: f64| (first + k * slope) / (k + 1.0);
    let mode = ((first - 1.0) / (1.0 - slope)).ceil().max(0.0);
    let ln_at_mode = if slope > 0.0 {
        let r = mean / (ratio - 1.0);
        ln_gamma(r + mode) - ln_gamma(r) - ln_gamma(mode + 1.0) - r * ratio.ln() + mode * slope.ln()
    } else {
        mode * mean.ln() - mean - ln_gamma(mode + 1.0)
    };
    let mut chances = vec![0.0; mode as usize + 1];
    chances[mode as usize] = ln_at_mode.exp();
    for k in (0..mode as usize).rev() {
        chances[k] = chances[k + 1] / growth(k as f64);
    }
    let mut last = chances[mode as usize];
    while last > NEGLIGIBLE || (chances.len() as f64) < mean {
        last *= growth(chances.len() as f64 - 1.0);
        chances.push(last);
    }
    let mut sum = 0.0;
    chances.iter_mut().for_each(|chance| {
        sum += *chance;
        *chance = sum.min(1.0);
    });
    chances
}

/// The sum of what lies above each count.
fn mean_of(at_most: &[f64]) -> f64 {
    at_most.iter().map(|p| 1.0 - p).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_demand_is_counted_in_steps_and_keeps_its_quantiles() {
        let grams = LeadDemand::negative_binomial(100_000.0, 400.0);
        assert!(grams.at_most.len() < 10_000);
        let sd = (100_000.0_f64 * 400.0).sqrt();
        let level = grams.level_for_cycle_service(0.95) as f64;
        assert!(((level - 100_000.0) / sd - 1.645).abs() < 0.1, "{level}");
    }

    #[test]
    fn a_correction_that_changes_nothing_changes_nothing() {
        let demand = LeadDemand::negative_binomial(3.0, 2.0);
        let same = demand.recalibrated(|p| p);
        assert_eq!(same.level_for_fill(0.97), demand.level_for_fill(0.97));
        assert!((same.mean() - demand.mean()).abs() < 1e-9);
    }

    #[test]
    fn seen_counts_are_their_own_distribution() {
        let seen = LeadDemand::empirical(&[0, 0, 3, 1]);
        assert_eq!(seen.level_for_cycle_service(0.5), 0);
        assert_eq!(seen.level_for_cycle_service(0.75), 1);
        assert!((seen.mean() - 1.0).abs() < 1e-12);
        assert!((seen.expected_short(1) - 0.5).abs() < 1e-12);
    }
}
