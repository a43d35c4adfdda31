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

/// So many blocks are aimed at, of 8 to 64 numbers; the largest of each is known, so that most numbers
/// need not be looked at again.
const BLOCKS: usize = 512;

/// The sum of the products of `a` and `b`, in lanes: each waits for the one before it no longer.
pub(crate) fn dot(a: &[f32], b: &[f32]) -> f32 {
    let (whole_a, rest_a) = a.as_chunks::<8>();
    let (whole_b, rest_b) = b.as_chunks::<8>();
    let mut lanes = [0.0; 8];
    for (a, b) in whole_a.iter().zip(whole_b) {
        for ((lane, a), b) in lanes.iter_mut().zip(a).zip(b) {
            *lane += a * b;
        }
    }
    let rest = rest_a.iter().zip(rest_b).map(|(a, b)| a * b);
    lanes.into_iter().chain(rest).sum()
}

/// The largest of `numbers`; `NEG_INFINITY` for nothing.
fn largest(numbers: &[f64]) -> f64 {
    let larger = |a: f64, b: &f64| if *b > a { *b } else { a };
    let (whole, rest) = numbers.as_chunks::<8>();
    let mut lanes = [f64::NEG_INFINITY; 8];
    for numbers in whole {
        for (lane, number) in lanes.iter_mut().zip(numbers) {
            *lane = larger(*lane, number);
        }
    }
    lanes.iter().chain(rest).fold(f64::NEG_INFINITY, larger)
}

/// Numbers and where the large ones among them are.
#[derive(Debug)]
pub(crate) struct Peaks<'a> {
    pub numbers: &'a [f64],
    /// Numbers to a block.
    block: usize,
    /// The largest of each block.
    blocks: Vec<f64>,
}

impl<'a> Peaks<'a> {
    pub fn of(numbers: &'a [f64]) -> Self {
        let block = (numbers.len() / BLOCKS).next_power_of_two().clamp(8, 64);
        Self { numbers, block, blocks: numbers.chunks(block).map(largest).collect() }
    }

    /// The largest; `NEG_INFINITY` of nothing.
    pub fn largest(&self) -> f64 {
        largest(&self.blocks)
    }

    /// Hands over the places and numbers of at least `cut`, in their order.
    pub fn each_reaching(&self, cut: f64, mut meet: impl FnMut(u32, f64)) {
        let blocks =
            self.numbers.chunks(self.block).zip(&self.blocks).zip((0..).step_by(self.block));
        for ((block, _), start) in blocks.filter(|((_, largest), _)| **largest >= cut) {
            for (eight, start) in block.chunks(8).zip((start..).step_by(8)) {
                // A bit each, all compared before any is met: a branch on each would be guessed wrong.
                let mut left =
                    eight.iter().rev().fold(0_u8, |bits, n| bits << 1 | u8::from(*n >= cut));
                while left != 0 {
                    let place = left.trailing_zeros();
                    meet(start + place, eight[place as usize]);
                    left &= left - 1;
                }
            }
        }
    }

    /// A number that at least `wanted` reach, when there are so many, and not many more.
    pub fn cut(&self, wanted: usize) -> f64 {
        if self.blocks.len() < wanted.max(1) {
            return f64::NEG_INFINITY;
        }
        let mut blocks = self.blocks.clone();
        *blocks.select_nth_unstable_by(wanted.max(1) - 1, |a, b| b.total_cmp(a)).1
    }

    /// The places of the `wanted` largest numbers, the largest first, equals in their order.
    pub fn places(&self, wanted: usize) -> Vec<u32> {
        let wanted = wanted.clamp(1, self.numbers.len().max(1));
        let order = |a: &(u32, f64), b: &(u32, f64)| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0));
        let mut found = Vec::with_capacity(2 * wanted);
        self.each_reaching(self.cut(wanted), |place, number| found.push((place, number)));
        if found.len() > wanted {
            found.select_nth_unstable_by(wanted - 1, order);
            found.truncate(wanted);
        }
        found.sort_unstable_by(order);
        found.into_iter().map(|(at, _)| at).collect()
    }
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
        fn lanes_sum_what_one_by_one_does(
            pairs in prop::collection::vec((-9..9_i8, -9..9_i8), 0..50),
        ) {
            let (a, b): (Vec<f32>, Vec<f32>) =
                pairs.iter().map(|(a, b)| (f32::from(*a), f32::from(*b))).unzip();
            let slow: i32 = pairs.iter().map(|(a, b)| i32::from(*a) * i32::from(*b)).sum();
            prop_assert_eq!(super::dot(&a, &b) as i32, slow);
        }

        #[test]
        fn the_largest_places_are_those_of_a_full_sort(
            numbers in prop::collection::vec((-9..9_i8).prop_map(f64::from), 0..5_000),
            wanted in 1..40_usize,
        ) {
            let mut sorted: Vec<u32> = (0..numbers.len() as u32).collect();
            sorted.sort_by(|a, b| numbers[*b as usize].total_cmp(&numbers[*a as usize]));
            sorted.truncate(wanted);
            prop_assert_eq!(super::Peaks::of(&numbers).places(wanted), sorted);
        }

        #[test]
        fn what_reaches_a_cut_is_what_does_one_by_one(
            numbers in prop::collection::vec((-9..9_i8).prop_map(f64::from), 0..5_000),
            cut in -9..9_i8,
        ) {
            let cut = f64::from(cut);
            let places = (0_u32..).zip(numbers.iter().copied());
            let slow: Vec<(u32, f64)> = places.filter(|(_, number)| *number >= cut).collect();
            let peaks = super::Peaks::of(&numbers);
            let mut quick = Vec::new();
            peaks.each_reaching(cut, |place, number| quick.push((place, number)));
            prop_assert_eq!(quick, slow);
            let largest = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            prop_assert!(peaks.largest().total_cmp(&largest).is_eq());
        }
    }
}
