//! Did the probabilities that were given come true?
//!
//! A forecast is a pair: the probability given, and whether it came true. For accuracy tests.

/// Returns how far, on average, the probability given lies from the share that came true.
///
/// Forecasts are sorted into `bins` equal ranges of probability; each bin counts by its share of the
/// forecasts. 0 = honest, and 0 for no forecasts. Source: expected calibration error as in Guo,
/// Pleiss, Sun and Weinberger (2017), "On calibration of modern neural networks".
///
/// ```
/// # use binwright_evidence::calibration::expected_calibration_error;
/// let boastful = [(0.95, true), (0.95, false), (0.95, true), (0.95, false)];
/// assert!((expected_calibration_error(&boastful, 10) - 0.45).abs() < 1e-12);
/// ```
pub fn expected_calibration_error(forecasts: &[(f64, bool)], bins: usize) -> f64 {
    let bins = bins.max(1);
    let mut excess = vec![0.0; bins]; // probability given minus times it came true
    for &(probability, came_true) in forecasts {
        let bin = ((probability * bins as f64) as usize).min(bins - 1);
        excess[bin] += probability - f64::from(u8::from(came_true));
    }
    excess.iter().map(|e| e.abs()).sum::<f64>() / (forecasts.len().max(1) as f64)
}

/// Returns the mean squared distance between forecast and fact: 0 = sure and right, 1 = sure and wrong.
///
/// Source: Brier (1950), "Verification of forecasts expressed in terms of probability".
pub fn brier(forecasts: &[(f64, bool)]) -> f64 {
    let squared = |&(p, came_true): &(f64, bool)| (p - f64::from(u8::from(came_true))).powi(2);
    forecasts.iter().map(squared).sum::<f64>() / (forecasts.len().max(1) as f64)
}

/// Returns the chance that a forecast that came true was given more than one that did not.
///
/// 1 = perfect order, 0.5 = a coin; equal probabilities count half. `None` when all or none came
/// true. Source: area under the ROC curve as the Mann-Whitney statistic, Hanley and McNeil (1982).
pub fn auroc(forecasts: &[(f64, bool)]) -> Option<f64> {
    let mut ordered = forecasts.to_vec();
    ordered.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut misses_below, mut wins) = (0.0, 0.0);
    for tied in ordered.chunk_by(|a, b| a.0.total_cmp(&b.0).is_eq()) {
        let hits = tied.iter().filter(|f| f.1).count() as f64;
        let misses = tied.len() as f64 - hits;
        wins += hits * (misses_below + misses / 2.0);
        misses_below += misses;
    }
    let pairs = misses_below * (forecasts.len() as f64 - misses_below);
    (pairs > 0.0).then(|| wins / pairs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Worked examples of scikit-learn's `roc_auc_score` and `brier_score_loss` documentation, values
    /// from memory.
    #[test]
    fn library_examples_come_out_the_same() {
        let ranked = [(0.1, false), (0.4, false), (0.35, true), (0.8, true)];
        assert!((auroc(&ranked).unwrap() - 0.75).abs() < 1e-12);
        let weather = [(0.1, false), (0.9, true), (0.8, true), (0.3, false)];
        assert!((brier(&weather) - 0.0375).abs() < 1e-12);
    }

    #[test]
    fn forecasts_that_come_true_as_often_as_said_have_no_calibration_error() {
        let honest: Vec<_> = (0..10).map(|i| (0.7, i < 7)).collect();
        assert!(expected_calibration_error(&honest, 10) < 1e-12);
        assert!(expected_calibration_error(&[(1.0, true)], 10) < 1e-12, "the last bin holds 1");
    }

    #[test]
    fn order_has_no_value_when_only_one_kind_came_true() {
        assert_eq!(auroc(&[(0.2, true), (0.9, true)]), None);
        assert_eq!(auroc(&[]), None);
    }

    proptest! {
        #[test]
        fn auroc_is_the_share_of_pairs_in_the_right_order(
            coarse in prop::collection::vec((0..6_u8, any::<bool>()), 2..40)
        ) {
            let forecasts: Vec<_> = coarse.iter().map(|(p, t)| (f64::from(*p) / 5.0, *t)).collect();
            let (mut wins, mut pairs) = (0.0, 0.0);
            for hit in coarse.iter().filter(|f| f.1) {
                for miss in coarse.iter().filter(|f| !f.1) {
                    pairs += 1.0;
                    wins += match hit.0.cmp(&miss.0) {
                        std::cmp::Ordering::Greater => 1.0,
                        std::cmp::Ordering::Equal => 0.5,
                        std::cmp::Ordering::Less => 0.0,
                    };
                }
            }
            match auroc(&forecasts) {
                Some(area) => prop_assert!((area - wins / pairs).abs() < 1e-12),
                None => prop_assert!(pairs == 0.0),
            }
        }
    }
}
