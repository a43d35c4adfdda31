//! How is a sum split so that its parts add up to it?

/// Splits `total` over `weights` so that the parts add up to it exactly.
///
/// Each gets its share cut down to a whole number; what is left goes one by one to the largest
/// remainders, the earlier of equals first. When the weights sum to nothing the first gets everything.
/// Source: the method of largest remainder (Hamilton).
pub(crate) fn by_largest_remainder(total: i64, weights: &[i64]) -> Vec<i64> {
    let sum: i128 = weights.iter().copied().map(i128::from).sum();
    if sum == 0 {
        return (0..weights.len()).map(|at| if at == 0 { total } else { 0 }).collect();
    }
    let share = |weight: i64| i128::from(total) * i128::from(weight) * sum.signum();
    let cut = |weight: &i64| share(*weight).div_euclid(sum.abs()) as i64;
    let mut parts: Vec<i64> = weights.iter().map(cut).collect();
    let left = total - parts.iter().sum::<i64>();
    let mut order: Vec<usize> = (0..weights.len()).collect();
    order.sort_by_key(|at| std::cmp::Reverse(share(weights[*at]).rem_euclid(sum.abs())));
    for at in order.into_iter().take(left as usize) {
        parts[at] += 1;
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Three parties of equal votes and one seat: the earlier of equals gets it.
    #[test]
    fn largest_remainder_splits_seats() {
        assert_eq!(by_largest_remainder(1, &[1, 1, 1]), [1, 0, 0]);
        // Worked example of the method: 100 seats over 47 000, 16 000, 15 900, 12 000, 6 000, 3 100 votes
        // give 47, 16, 16, 12, 6, 3 (widely printed, values from memory).
        let votes = [47_000, 16_000, 15_900, 12_000, 6_000, 3_100];
        assert_eq!(by_largest_remainder(100, &votes), [47, 16, 16, 12, 6, 3]);
        assert_eq!(by_largest_remainder(7, &[0, 0]), [7, 0]);
    }

    proptest! {
        #[test]
        fn parts_of_a_split_add_up_and_are_within_one_of_their_share(
            total in -1_000_000..1_000_000_i64,
            weights in prop::collection::vec(0..100_000_i64, 1..20),
        ) {
            let parts = by_largest_remainder(total, &weights);
            prop_assert_eq!(parts.iter().sum::<i64>(), total);
            let sum: i64 = weights.iter().sum();
            if sum > 0 {
                for (part, weight) in parts.iter().zip(&weights) {
                    let exact = total as f64 * *weight as f64 / sum as f64;
                    prop_assert!((*part as f64 - exact).abs() < 1.0 + 1e-6);
                }
            }
        }
    }
}
