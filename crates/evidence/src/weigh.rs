//! How much is each hypothesis worth after what was observed?

use crate::EvidenceError;

/// Returns `ln Σ exp(x)`, without overflow or underflow; `NEG_INFINITY` for no terms at all.
pub fn ln_sum_exp(ln_terms: &[f64]) -> f64 {
    let largest = ln_terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if largest.is_infinite() {
        return largest;
    }
    largest + ln_terms.iter().map(|ln| (ln - largest).exp()).sum::<f64>().ln()
}

/// Turns log weights into probabilities in place and returns the log of their sum (the evidence).
///
/// The weights need no common scale; `NEG_INFINITY` rules a hypothesis out.
///
/// # Errors
///
/// [`EvidenceError::NotANumber`] for a NaN or `+∞`, [`EvidenceError::NothingLeft`] when every
/// hypothesis is ruled out; the slice is untouched then.
pub fn normalise_ln(ln_weights: &mut [f64]) -> Result<f64, EvidenceError> {
    if let Some(at) = ln_weights.iter().position(|ln| ln.is_nan() || *ln == f64::INFINITY) {
        return Err(EvidenceError::NotANumber { at });
    }
    let ln_evidence = ln_sum_exp(ln_weights);
    if ln_evidence == f64::NEG_INFINITY {
        return Err(EvidenceError::NothingLeft);
    }
    for ln in ln_weights {
        *ln = (*ln - ln_evidence).exp();
    }
    Ok(ln_evidence)
}

/// Returns the probability of each hypothesis: prior times likelihood, summing to one (Bayes).
///
/// `priors` need not sum to one; `ln_likelihoods` are natural logarithms, one per hypothesis.
///
/// # Errors
///
/// [`EvidenceError::Length`] when the two slices differ in length, otherwise as [`normalise_ln`].
///
/// ```
/// # use binwright_evidence::posterior;
/// let p = posterior(&[0.9, 0.1], &[0.02_f64.ln(), 0.80_f64.ln()])?;
/// assert!((p[1] - 0.08 / 0.098).abs() < 1e-12, "a rare fault that fits beats a common one");
/// # Ok::<(), binwright_evidence::EvidenceError>(())
/// ```
pub fn posterior(priors: &[f64], ln_likelihoods: &[f64]) -> Result<Vec<f64>, EvidenceError> {
    if priors.len() != ln_likelihoods.len() {
        return Err(EvidenceError::Length { found: ln_likelihoods.len(), wanted: priors.len() });
    }
    let mut weights: Vec<f64> =
        priors.iter().zip(ln_likelihoods).map(|(p, l)| p.ln() + l).collect();
    normalise_ln(&mut weights)?;
    Ok(weights)
}

/// Returns the uncertainty of `probabilities` (which sum to one) in bits: 0 = sure, 3 = one of eight.
///
/// Source: Shannon (1948), "A mathematical theory of communication", `−Σ p log₂ p`.
pub fn entropy_bits(probabilities: &[f64]) -> f64 {
    -probabilities.iter().filter(|p| **p > 0.0).map(|p| p * p.log2()).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn one_of_eight_is_three_bits_and_certainty_is_none() {
        assert!((entropy_bits(&[0.125; 8]) - 3.0).abs() < 1e-12);
        assert!(entropy_bits(&[1.0, 0.0]).abs() < 1e-12);
    }

    #[test]
    fn weights_far_below_the_smallest_float_still_normalise() {
        let mut ln = [-5000.0, -5000.0 - 3.0_f64.ln()];
        assert!((normalise_ln(&mut ln).unwrap() - (-5000.0 + (4.0_f64 / 3.0).ln())).abs() < 1e-9);
        assert!((ln[0] - 0.75).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_weighed_is_refused() {
        assert_eq!(normalise_ln(&mut []), Err(EvidenceError::NothingLeft));
        assert_eq!(normalise_ln(&mut [f64::NEG_INFINITY]), Err(EvidenceError::NothingLeft));
        assert_eq!(normalise_ln(&mut [0.0, f64::NAN]), Err(EvidenceError::NotANumber { at: 1 }));
        assert_eq!(posterior(&[1.0], &[]), Err(EvidenceError::Length { found: 0, wanted: 1 }));
    }

    proptest! {
        #[test]
        fn posterior_sums_to_one_and_keeps_the_ratios(
            rows in prop::collection::vec((1e-6..1.0_f64, -800.0..0.0_f64), 2..40)
        ) {
            let (priors, ln): (Vec<f64>, Vec<f64>) = rows.into_iter().unzip();
            let p = posterior(&priors, &ln).unwrap();
            prop_assert!((p.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            let odds = (priors[0] / priors[1]).ln() + ln[0] - ln[1];
            if p[0] > 0.0 && p[1] > 1e-280 && p[0] > 1e-280 {
                prop_assert!(((p[0] / p[1]).ln() - odds).abs() < 1e-6);
            }
        }

        #[test]
        fn observations_weigh_the_same_one_by_one_or_all_at_once(
            rows in prop::collection::vec((1e-3..1.0_f64, -20.0..0.0_f64, -20.0..0.0_f64), 1..40)
        ) {
            let priors: Vec<f64> = rows.iter().map(|r| r.0).collect();
            let first: Vec<f64> = rows.iter().map(|r| r.1).collect();
            let second: Vec<f64> = rows.iter().map(|r| r.2).collect();
            let both: Vec<f64> = rows.iter().map(|r| r.1 + r.2).collect();
            let stepwise = posterior(&posterior(&priors, &first).unwrap(), &second).unwrap();
            for (a, b) in stepwise.iter().zip(posterior(&priors, &both).unwrap()) {
                prop_assert!((a - b).abs() < 1e-9);
            }
        }
    }
}
