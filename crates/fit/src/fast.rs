//! What are the exponentials and logarithms of thousands of numbers, closely enough and fast?
//!
//! Single precision, relative error about 1e-7, no branches, so that loops over them are turned
//! into vector code. Source of the polynomials: the Cephes library (S. Moshier), `expf` and `logf`.

/// `eˣ`; below −87 it stays at e⁻⁸⁷.
#[inline]
pub(crate) fn exp(x: f32) -> f32 {
    /// Adding and taking away this rounds to a whole number, which stands in the low bits between.
    const ROUND: f32 = 12_582_912.0;
    let x = x.clamp(-87.0, 87.0);
    let rounded = x * std::f32::consts::LOG2_E + ROUND;
    let n = rounded - ROUND;
    let r = x - n * 0.693_359_4 + n * 2.121_944_4e-4;
    let p = [1.398_199_9e-3, 8.333_452e-3, 4.166_579_6e-2, 1.666_666_5e-1, 0.5]
        .iter()
        .fold(1.987_569_2e-4, |p, c| p * r + c);
    let power = (rounded.to_bits().wrapping_sub(ROUND.to_bits()).wrapping_add(127)) << 23;
    (p * r * r + r + 1.0) * f32::from_bits(power)
}

/// `ln x` of a positive normal number.
#[inline]
pub(crate) fn ln(x: f32) -> f32 {
    /// √½, where the exponent turns over.
    const TURN: i32 = 0x3f35_04f3;
    let exponent = (x.to_bits() as i32 - TURN) >> 23;
    let f = f32::from_bits((x.to_bits() as i32 - (exponent << 23)) as u32) - 1.0;
    let p = [
        -0.115_146_1,
        1.167_699_9e-1,
        -1.242_014_1e-1,
        1.424_932_3e-1,
        -1.666_805_8e-1,
        2.000_071_5e-1,
        -2.499_999_4e-1,
        0.333_333_3,
    ]
    .iter()
    .fold(7.037_683_6e-2, |p, c| p * f + c);
    f + (f * p - 0.5) * f * f + exponent as f32 * std::f32::consts::LN_2
}

/// Terms e⁻²⁴ of the largest and less are left out: a million of them are not a ten-thousandth of it.
const NEGLIGIBLE: f32 = 24.0;

/// `ln Σ eˣ`; `NEG_INFINITY` for nothing.
pub(crate) fn ln_sum_exp(numbers: &[f32]) -> f64 {
    let best = largest(numbers);
    if best == f32::NEG_INFINITY {
        return f64::NEG_INFINITY;
    }
    let mut sum = 0.0;
    // Relatives stand together in a catalogue, so that most blocks have no term that counts.
    for block in numbers.chunks(32) {
        if largest(block) >= best - NEGLIGIBLE {
            sum += f64::from(block.iter().map(|number| exp(number - best)).sum::<f32>());
        }
    }
    f64::from(best) + sum.ln()
}

/// The largest of `numbers`; `NEG_INFINITY` for nothing.
pub(crate) fn largest(numbers: &[f32]) -> f32 {
    let (whole, rest) = numbers.as_chunks::<16>();
    let mut lanes = [f32::NEG_INFINITY; 16];
    for numbers in whole {
        for (lane, number) in lanes.iter_mut().zip(numbers) {
            *lane = if *number > *lane { *number } else { *lane };
        }
    }
    lanes.iter().chain(rest).copied().fold(f32::NEG_INFINITY, f32::max)
}

/// The places of the `wanted` largest numbers, the largest first, equals in their order.
pub(crate) fn largest_places(numbers: &[f32], wanted: usize) -> Vec<u32> {
    let order =
        |a: &u32, b: &u32| numbers[*b as usize].total_cmp(&numbers[*a as usize]).then(a.cmp(b));
    let wanted = wanted.clamp(1, numbers.len().max(1));
    let mut places: Vec<u32> = Vec::with_capacity(4 * wanted);
    let mut cut = f32::NEG_INFINITY;
    for (at, number) in numbers.iter().enumerate() {
        // A later equal of the last kept number would not be kept either.
        if *number > cut || places.len() < wanted {
            places.push(at as u32);
            if places.len() == 4 * wanted {
                places.select_nth_unstable_by(wanted - 1, order);
                places.truncate(wanted);
                cut = numbers[places[wanted - 1] as usize];
            }
        }
    }
    places.sort_unstable_by(order);
    places.truncate(wanted);
    places
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn exp_and_ln_are_those_of_the_standard_library(x in -80.0_f32..80.0) {
            prop_assert!((super::exp(x) / x.exp() - 1.0).abs() < 1e-5);
            prop_assert!((super::ln(x.exp()) - x).abs() < 1e-5 * x.abs().max(1.0));
        }

        #[test]
        fn largest_places_are_those_of_a_full_sort(
            numbers in prop::collection::vec((-9..9_i8).prop_map(f32::from), 0..300),
            wanted in 1..40_usize,
        ) {
            let mut sorted: Vec<u32> = (0..numbers.len() as u32).collect();
            sorted.sort_by(|a, b| numbers[*b as usize].total_cmp(&numbers[*a as usize]));
            sorted.truncate(wanted);
            prop_assert_eq!(super::largest_places(&numbers, wanted), sorted);
        }

        #[test]
        fn the_sum_of_exponentials_is_the_slow_one(
            numbers in prop::collection::vec(-300.0_f32..300.0, 1..3000)
        ) {
            let slow: Vec<f64> = numbers.iter().map(|number| f64::from(*number)).collect();
            let slow = binwright_evidence::ln_sum_exp(&slow);
            prop_assert!((super::ln_sum_exp(&numbers) - slow).abs() < 1e-4);
        }
    }
}
