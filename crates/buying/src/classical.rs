//! What does one part's own history say it will sell a month, by the textbook methods?
//!
//! Each takes dense months, oldest first, and returns one rate for every month ahead. Conventions and
//! worked values: `tests/reference/intermittent_worked.csv`. The methods are kept as yardsticks and
//! for a shop that wants them; [`crate::pooled`] is what is used unless told otherwise.

/// The smoothing constant of the methods that do not choose their own. Common practice, no source.
const ALPHA: f64 = 0.1;

/// Returns the newest level of single exponential smoothing: starts at the first value, the last one is used.
/// Zero of nothing.
pub fn ses(values: &[f64], alpha: f64) -> f64 {
    let Some((&first, later)) = values.split_first() else { return 0.0 };
    later.iter().fold(first, |level, &value| alpha * value + (1.0 - alpha) * level)
}

/// The months of demand alone: sizes, and months from one to the next, the first from the start.
struct Spells {
    sizes: Vec<f64>,
    intervals: Vec<f64>,
}

impl Spells {
    fn of(months: &[f64]) -> Self {
        let (mut sizes, mut intervals, mut last) = (Vec::new(), Vec::new(), 0);
        for (month, &size) in (1..).zip(months).filter(|&(_, &size)| size > 0.0) {
            sizes.push(size);
            intervals.push(f64::from(month - last));
            last = month;
        }
        Self { sizes, intervals }
    }
}

fn ratio(size: f64, interval: f64) -> f64 {
    if interval > 0.0 { size / interval } else { 0.0 }
}

/// Croston's method: smoothed size over smoothed interval. Source: Croston (1972), Oper. Res. Q. 23(3), 289–303.
pub fn croston(months: &[f64]) -> f64 {
    let Spells { sizes, intervals } = Spells::of(months);
    ratio(ses(&sizes, ALPHA), ses(&intervals, ALPHA))
}

/// Croston's method with each smoothing constant chosen by its own past errors.
pub fn croston_optimised(months: &[f64]) -> f64 {
    let Spells { sizes, intervals } = Spells::of(months);
    ratio(ses_optimised(&sizes), ses_optimised(&intervals))
}

/// Croston's method with the correction of its bias, half the smoothing constant.
/// Source: Syntetos and Boylan (2005), Int. J. Forecasting 21(2), 303–314.
pub fn sba(months: &[f64]) -> f64 {
    (1.0 - ALPHA / 2.0) * croston(months)
}

/// Smoothed chance of a sale times smoothed size; sinks while nothing sells.
/// Source: Teunter, Syntetos and Babai (2011), Eur. J. Oper. Res. 214(3), 606–615.
pub fn tsb(months: &[f64]) -> f64 {
    let sold: Vec<f64> = months.iter().map(|&size| f64::from(size > 0.0)).collect();
    ses(&sold, ALPHA) * ses(&Spells::of(months).sizes, ALPHA)
}

/// Smoothing of sums over blocks as long as the mean interval.
/// Source: Nikolopoulos et al. (2011), J. Oper. Res. Soc. 62(3), 544–554.
pub fn adida(months: &[f64]) -> f64 {
    blocks(months).map_or(0.0, |block| aggregated(months, block))
}

/// The mean of smoothing over blocks of every length up to the mean interval.
/// Source: Petropoulos and Kourentzes (2015), J. Oper. Res. Soc. 66(6), 914–924.
pub fn imapa(months: &[f64]) -> f64 {
    blocks(months).map_or(0.0, |longest| {
        (1..=longest).map(|block| aggregated(months, block)).sum::<f64>() / longest as f64
    })
}

/// The mean interval in whole months, halves to even; `None` when nothing was sold.
fn blocks(months: &[f64]) -> Option<usize> {
    let intervals = Spells::of(months).intervals;
    let mean = intervals.iter().sum::<f64>() / intervals.len() as f64;
    (!intervals.is_empty()).then(|| mean.round_ties_even() as usize)
}

fn aggregated(months: &[f64], block: usize) -> f64 {
    let sums: Vec<f64> =
        months[months.len() % block..].chunks_exact(block).map(|sum| sum.iter().sum()).collect();
    ses_optimised(&sums) / block as f64
}

/// SES with the constant in 0.1 to 0.3 that made the least squared errors one step ahead, the first value
/// left out; 0.2 when they do not tell.
fn ses_optimised(values: &[f64]) -> f64 {
    let loss = |alpha: f64| {
        let Some((&first, later)) = values.split_first() else { return 0.0 };
        let (mut level, mut squares) = (first, 0.0);
        for &value in later {
            squares += (value - level) * (value - level);
            level = alpha * value + (1.0 - alpha) * level;
        }
        squares
    };
    let flat = (loss(0.1) - loss(0.3)).abs() <= 1e-12 * loss(0.1) && loss(0.2) >= loss(0.1);
    let alpha = if flat { 0.2 } else { least(loss, 0.1, 0.3) };
    ses(values, alpha)
}

/// Golden-section search for where `of` is least between two bounds.
pub(crate) fn least(of: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
    let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
    let (mut at_a, mut at_b) = (of(a), of(b));
    while high - low > 1e-9 {
        if at_a < at_b {
            (high, b, at_b) = (b, a, at_a);
            a = high - golden * (high - low);
            at_a = of(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = low + golden * (high - low);
            at_b = of(b);
        }
    }
    f64::midpoint(low, high)
}
