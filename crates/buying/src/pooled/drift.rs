//! Does a part sell less or more with every month, and what then do its past months say of the next ones?
//!
//! Its rate may have stayed, or gone by the same factor each month since its first sale. The dates of its
//! sales say how likely each is, and its memories are brought to the months ahead accordingly: a part that
//! fades slowly is not held up by how well it once sold, and one that merely had a bad year is.

use super::state::{KEEP, KEEP_LONG};

/// Logarithms of the factor a month, and how often each is met with. More parts fade for years than grow. Our guess.
const WAYS: [(f64, f64); 5] = [(0.0, 12.0), (-0.02, 1.0), (-0.04, 1.2), (0.02, 0.5), (0.04, 0.3)];

/// Months from the newest to the middle of those that are forecast.
const AHEAD_MONTHS: f64 = 1.5;

/// Rates stray by themselves: however many were sold, the dates tell no more than those of so many sales. Our guess.
const SALES_TOLD: f64 = 100.0;

/// What each way comes to after so many months.
#[derive(Debug, Clone, PartialEq)]
struct After {
    /// Logarithm of the mean month over the first one.
    mean_ln: [f64; WAYS.len()],
    /// The months ahead over what the state says, and over what the long memory says.
    ahead: [[f64; WAYS.len()]; 2],
}

/// The ways a rate may go, by the months they have gone on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Drifts(Vec<After>);

impl Drifts {
    /// For parts of up to so many months.
    pub(super) fn over(months: usize) -> Self {
        let mut sold = [0.0; WAYS.len()];
        // What the memories weigh, and what they would hold had each month sold as the newest times what it was above it.
        let mut memories = [(KEEP, 0.0, [0.0; WAYS.len()]), (KEEP_LONG, 0.0, [0.0; WAYS.len()])];
        let after = |month: i32| {
            for ((drift, _), sold) in WAYS.iter().zip(&mut sold) {
                *sold += (drift * f64::from(month)).exp();
            }
            for (keep, weight, held) in &mut memories {
                let kept = keep.powi(month);
                *weight += kept;
                for ((drift, _), held) in WAYS.iter().zip(held) {
                    *held += kept * (-drift * f64::from(month)).exp();
                }
            }
            After {
                mean_ln: sold.map(|sold| (sold / f64::from(month + 1)).ln()),
                ahead: memories.map(|(_, weight, held)| {
                    std::array::from_fn(|way| {
                        weight / held[way] * (WAYS[way].0 * AHEAD_MONTHS).exp()
                    })
                }),
            }
        };
        Self((0..).take(months).map(after).collect())
    }

    /// What the months ahead sell over what the state says, and over what the long memory says, of a part that
    /// in `months` months sold as much as tells like `sales` single sales, in month `middle` (from 0) on average.
    pub(super) fn ahead(&self, months: usize, sales: f64, middle: f64) -> [f64; 2] {
        let Some(after) = months.checked_sub(1).and_then(|at| self.0.get(at)) else {
            return [1.0; 2];
        };
        let told = sales / (1.0 + sales / SALES_TOLD);
        let likely: [f64; WAYS.len()] = std::array::from_fn(|way| {
            let (drift, often) = WAYS[way];
            if drift == 0.0 {
                often
            } else {
                often * (told * (drift * middle - after.mean_ln[way])).exp()
            }
        });
        let all: f64 = likely.iter().sum();
        after.ahead.map(|ahead| likely.iter().zip(ahead).map(|(l, a)| l * a).sum::<f64>() / all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sales of 4 % less each month for 57 months lie at month 19.5 on average, of a steady part at month 28.
    #[test]
    fn the_dates_of_many_sales_tell_a_part_that_fades_from_one_that_stays() {
        let drifts = Drifts::over(60);
        let [state, long] = drifts.ahead(57, 60.0, 19.5);
        // Exactly: the long memory holds 2.6 times what sells now, and 1.5 months ahead are 6 % less.
        assert!((0.35..0.5).contains(&long) && (0.7..0.82).contains(&state), "{state} {long}");
        let [state, long] = drifts.ahead(57, 60.0, 28.0);
        assert!(state > 0.97 && long > 0.95, "{state} {long}");
        let [_, few] = drifts.ahead(57, 3.0, 19.5);
        assert!(few > 0.8, "three sales tell little: {few}");
    }
}
