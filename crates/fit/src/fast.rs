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

/// Numbers tested at a time for whether any of them counts.
const BLOCK: usize = 64;

/// `ln Σ eˣ`; `NEG_INFINITY` for nothing.
pub(crate) fn ln_sum_exp(numbers: &[f32]) -> f64 {
    let best = largest(numbers);
    if best == f32::NEG_INFINITY {
        return f64::NEG_INFINITY;
    }
    // Relatives stand together in a catalogue, so that many blocks have no term that counts.
    let blocks = blocks_reaching(numbers, best - NEGLIGIBLE);
    let sum: f64 = blocks.map(|(_, block)| f64::from(sum_exp(block, best))).sum();
    f64::from(best) + sum.ln()
}

/// `Σ eˣ⁻ᵇ`, summed side by side.
fn sum_exp(numbers: &[f32], b: f32) -> f32 {
    let (whole, rest) = numbers.as_chunks::<16>();
    let mut lanes = [0.0_f32; 16];
    for numbers in whole {
        for (lane, number) in lanes.iter_mut().zip(numbers) {
            *lane += exp(number - b);
        }
    }
    lanes.iter().sum::<f32>() + rest.iter().map(|number| exp(number - b)).sum::<f32>()
}

/// The places and numbers of at least `cut`, in their order.
pub(crate) fn reaching(numbers: &[f32], cut: f32) -> impl Iterator<Item = (usize, f32)> {
    blocks_reaching(numbers, cut).flat_map(move |(first, block)| {
        let numbers = block.iter().enumerate().filter(move |(_, number)| **number >= cut);
        numbers.map(move |(at, number)| (first + at, *number))
    })
}

/// The blocks with a number of at least `cut`, and where they begin.
fn blocks_reaching(numbers: &[f32], cut: f32) -> impl Iterator<Item = (usize, &[f32])> {
    let blocks = numbers.chunks(BLOCK).enumerate().map(|(at, block)| (at * BLOCK, block));
    blocks.filter(move |(_, block)| {
        block.iter().fold(0_u32, |reach, number| reach + u32::from(*number >= cut)) > 0
    })
}

/// The largest of `numbers`; `NEG_INFINITY` for nothing.
pub(crate) fn largest(numbers: &[f32]) -> f32 {
    let larger = |a: f32, b: f32| if b > a { b } else { a };
    let (whole, rest) = numbers.as_chunks::<16>();
    let mut lanes = [f32::NEG_INFINITY; 16];
    for numbers in whole {
        for (lane, number) in lanes.iter_mut().zip(numbers) {
            *lane = larger(*lane, *number);
        }
    }
    for half in [8, 4, 2, 1] {
        for at in 0..half {
            lanes[at] = larger(lanes[at], lanes[at + half]);
        }
    }
    rest.iter().copied().fold(lanes[0], larger)
}

/// The places of the `wanted` largest numbers, the largest first, equals in their order.
pub(crate) fn largest_places(numbers: &[f32], wanted: usize) -> Vec<u32> {
    let wanted = wanted.clamp(1, numbers.len().max(1));
    // So many blocks have a number of at least `cut` that none below it is wanted.
    let mut bests: Vec<f32> = numbers.chunks(BLOCK).map(largest).collect();
    let cut = if bests.len() < wanted {
        f32::NEG_INFINITY
    } else {
        *bests.select_nth_unstable_by(wanted - 1, |a, b| b.total_cmp(a)).1
    };
    let order = |a: &(f32, u32), b: &(f32, u32)| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1));
    let mut found: Vec<(f32, u32)> =
        reaching(numbers, cut).map(|(at, number)| (number, at as u32)).collect();
    if found.len() > wanted {
        found.select_nth_unstable_by(wanted - 1, order);
        found.truncate(wanted);
    }
    found.sort_unstable_by(order);
    found.into_iter().map(|(_, at)| at).collect()
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
