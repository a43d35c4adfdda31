//! What would an observation that was not made yet be worth?

use crate::EvidenceError;

/// Returns the expected drop in uncertainty, in bits, from an observation not yet made.
///
/// `probabilities` sum to one, one per hypothesis. `likelihoods` holds one row per possible outcome,
/// one after the other, each with the probability of that outcome under every hypothesis (so a
/// *column* sums to one; a continuous reading comes as a grid of values with their widths worked in).
/// Never below zero; at most the present entropy. Source: mutual information,
/// `Σ p(h) P(o|h) log₂(P(o|h) / P(o))`, Lindley (1956), "On a measure of the information provided by
/// an experiment".
///
/// # Errors
///
/// [`EvidenceError::Length`] when `likelihoods` is not a whole number of rows.
///
/// ```
/// # use binwright_evidence::expected_gain_bits;
/// let sure_test = [1.0, 0.0, 0.0, 1.0];
/// assert!((expected_gain_bits(&[0.5, 0.5], &sure_test)? - 1.0).abs() < 1e-12);
/// let useless = [0.3, 0.3, 0.7, 0.7];
/// assert!(expected_gain_bits(&[0.5, 0.5], &useless)? < 1e-12);
/// # Ok::<(), binwright_evidence::EvidenceError>(())
/// ```
pub fn expected_gain_bits(
    probabilities: &[f64],
    likelihoods: &[f64],
) -> Result<f64, EvidenceError> {
    let hypotheses = probabilities.len();
    if hypotheses == 0 || !likelihoods.len().is_multiple_of(hypotheses) {
        let wanted = likelihoods.len().checked_div(hypotheses).unwrap_or(0) * hypotheses;
        return Err(EvidenceError::Length { found: likelihoods.len(), wanted });
    }
    let gain: f64 = likelihoods
        .chunks_exact(hypotheses)
        .map(|row| {
            let outcome: f64 = probabilities.iter().zip(row).map(|(p, l)| p * l).sum();
            let surprise = probabilities.iter().zip(row).filter(|(p, l)| **p > 0.0 && **l > 0.0);
            surprise.map(|(p, l)| p * l * (l / outcome).log2()).sum::<f64>()
        })
        .sum();
    Ok(gain.max(0.0)) // rounding can leave -1e-17
}

/// Returns bits per minute; a free observation ranks above all others, a useless one is worth 0.
pub fn gain_per_minute(gain_bits: f64, minutes: f64) -> f64 {
    match (gain_bits > 0.0, minutes > 0.0) {
        (false, _) => 0.0,
        (true, true) => gain_bits / minutes,
        (true, false) => f64::INFINITY,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{entropy_bits, posterior};
    use proptest::prelude::*;

    #[test]
    fn gain_per_minute_has_no_division_by_nothing() {
        assert!((gain_per_minute(0.6, 3.0) - 0.2).abs() < 1e-12);
        assert!(gain_per_minute(0.6, 0.0).is_infinite());
        assert!(gain_per_minute(0.0, 0.0).abs() < 1e-12);
    }

    #[test]
    fn a_ragged_table_is_refused() {
        let refused = Err(EvidenceError::Length { found: 3, wanted: 2 });
        assert_eq!(expected_gain_bits(&[0.5, 0.5], &[1.0, 1.0, 0.0]), refused);
        assert!(expected_gain_bits(&[], &[]).is_err());
    }

    proptest! {
        /// The other definition of the same thing: entropy now minus expected entropy afterwards.
        #[test]
        fn gain_is_the_expected_drop_in_entropy(
            prior in prop::collection::vec(0.01..1.0_f64, 5),
            table in prop::collection::vec(prop::collection::vec(0.01..1.0_f64, 4), 5),
        ) {
            let total: f64 = prior.iter().sum();
            let p: Vec<f64> = prior.iter().map(|w| w / total).collect();
            let row = |o: usize| -> Vec<f64> {
                table.iter().map(|t| t[o] / t.iter().sum::<f64>()).collect()
            };
            let likelihoods: Vec<f64> = (0..4).flat_map(row).collect();
            let after: f64 = (0..4)
                .map(|o| {
                    let outcome: f64 = p.iter().zip(row(o)).map(|(p, l)| p * l).sum();
                    let ln: Vec<f64> = row(o).iter().map(|l| l.ln()).collect();
                    outcome * entropy_bits(&posterior(&p, &ln).unwrap())
                })
                .sum();
            let gain = expected_gain_bits(&p, &likelihoods).unwrap();
            prop_assert!((gain - (entropy_bits(&p) - after)).abs() < 1e-9);
            prop_assert!(gain <= entropy_bits(&p) + 1e-12);
        }
    }
}
