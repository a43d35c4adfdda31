//! How is one measure kept so that a reading weighs all rows of a kind in one pass?

use std::{
    collections::HashMap,
    hash::{BuildHasherDefault, Hasher},
};

use binwright_catalog::{Domain, Measure};

use crate::{
    kin::{Differences, LentColumn, left_of},
    multiply::Codes,
};

/// A column as codes into its distinct values: a reading is weighed once per value, then looked up.
#[derive(Debug)]
pub(crate) struct Column {
    /// Distinct values, ascending.
    pub values: Vec<f64>,
    /// How many rows have each value.
    pub counts: Vec<u32>,
    /// How many rows have one.
    pub known: f64,
    /// The share of these that has each value.
    pub shares: Vec<f32>,
    /// One per row: the place of its value; the number of distinct values for a gap; and above
    /// that the ways in which gaps are lent to.
    pub codes: Codes,
    pub lent: Ways,
    /// By how much relatives that disagree differ.
    pub blur: f64,
    /// How close relatives differ.
    pub differences: Differences,
}

/// What gaps are lent, each way once; by value, since a reading says nothing of most values.
#[derive(Debug, Default)]
pub(crate) struct Ways {
    /// By way: the weight left to the kind's spread, and that of all values lent.
    pub own: Vec<[f32; 2]>,
    /// Where each value's portions start in `portions`; one more entry than values.
    pub starts: Vec<u32>,
    pub portions: Vec<Portion>,
}

/// A value's part in one way.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Portion {
    pub way: u32,
    /// Of exactly this value, and of one near it.
    pub weights: [f32; 2],
}

impl Column {
    /// `column` holds one value per row, not-a-number for a gap.
    pub fn new(column: &[f64], domain: Domain, lent: Option<&LentColumn>) -> Self {
        let mut places: HashMap<u64, u32, ByMix> = HashMap::default();
        let mut values = Vec::new();
        let mut codes = Vec::with_capacity(column.len());
        for value in column {
            codes.push(if value.is_nan() {
                u32::MAX
            } else {
                *places.entry((value + 0.0).to_bits()).or_insert_with(|| {
                    values.push(value + 0.0);
                    values.len() as u32 - 1
                })
            });
        }
        let mut order: Vec<u32> = (0..values.len() as u32).collect();
        order.sort_unstable_by(|a, b| values[*a as usize].total_cmp(&values[*b as usize]));
        let mut ranks = vec![0; order.len()];
        for (rank, first) in order.iter().enumerate() {
            ranks[*first as usize] = rank as u32;
        }
        let values: Vec<f64> = order.iter().map(|first| values[*first as usize]).collect();
        let gap = values.len() as u32;
        let mut counts = vec![0; values.len() + 1];
        for code in &mut codes {
            *code = if *code == u32::MAX { gap } else { ranks[*code as usize] };
            counts[*code as usize] += 1;
        }
        counts.pop();
        let (blur, differences) =
            lent.map_or_else(Default::default, |lent| (lent.blur, lent.differences.clone()));
        let near = domain.is_continuous();
        let lent = lent.map(|lent| Ways::new(lent, near, &values, &mut codes)).unwrap_or_default();
        let codes = Codes::new(codes, values.len() + 1 + lent.own.len());
        let known: f64 = counts.iter().map(|n| f64::from(*n)).sum();
        let shares = counts.iter().map(|n| (f64::from(*n) / known) as f32).collect();
        Self { values, counts, known, shares, codes, lent, blur, differences }
    }

    /// The code of `row`; the number of distinct values for a gap.
    pub fn code(&self, row: usize) -> usize {
        self.codes.of(row).min(self.values.len())
    }

    /// The code of `value`, when a row has it.
    pub fn code_of(&self, value: f64) -> Option<usize> {
        code_of(&self.values, value)
    }

    /// Stirs the code of each row into its hash, and counts it in `known` unless it is a gap.
    pub fn stir(&self, hashes: &mut [Mix], known: &mut [u8]) {
        fn each<C: Copy + Into<u32>>(codes: &[C], gap: u32, hashes: &mut [Mix], known: &mut [u8]) {
            for ((hash, known), code) in hashes.iter_mut().zip(known).zip(codes) {
                // What a gap is lent is not known of the part.
                let code = (*code).into().min(gap);
                hash.write_u64(u64::from(code));
                *known = known.saturating_add(u8::from(code != gap));
            }
        }
        let gap = self.values.len() as u32;
        match &self.codes {
            Codes::Short(codes) => each(codes, gap, hashes, known),
            Codes::Long(codes) => each(codes, gap, hashes, known),
        }
    }

    /// Width of the values: what a slip, or a part not seen yet, is spread over. For words, how
    /// many there are.
    pub fn span(&self, measure: &Measure) -> f64 {
        let distinct = self.values.len().max(2) as f64;
        match measure.domain {
            Domain::Angle => 360.0,
            Domain::Choice | Domain::Thread | Domain::Code => {
                distinct.max(measure.choices.len() as f64)
            }
            Domain::Length | Domain::Number | Domain::Count => {
                let (low, high) = self.range(measure);
                let counted = f64::from(u8::from(measure.domain == Domain::Count));
                high - low + counted
            }
        }
    }

    /// Lowest and highest value of the kind, by its declaration and by its rows.
    pub fn range(&self, measure: &Measure) -> (f64, f64) {
        let [mut low, mut high] = measure.range.unwrap_or([f64::INFINITY, f64::NEG_INFINITY]);
        if let (Some(first), Some(last)) = (self.values.first(), self.values.last()) {
            (low, high) = (low.min(*first), high.max(*last));
        }
        if low < high { (low, high) } else { (low.min(high) - 0.5, low.max(high) + 0.5) }
    }
}

impl Ways {
    /// Gives the gaps in `codes` that are lent to codes of their own. `near`: whether the measure
    /// has values that are nearly right; else what is lent for them is left to the kind's spread.
    fn new(column: &LentColumn, near: bool, values: &[f64], codes: &mut [u32]) -> Self {
        let mut ways = Self::default();
        let mut portions: Vec<(u32, Portion)> = Vec::new();
        let mut places: HashMap<u64, u32, ByMix> = HashMap::default();
        let mut offers: Vec<(u32, [f32; 2])> = Vec::new();
        for (row, lent) in column.each() {
            offers.clear();
            // A value no row has any more (its lender was changed) is worth nothing.
            let known = lent.iter().filter_map(|lent| {
                Some((code_of(values, lent.value)? as u32, [lent.exact, lent.near]))
            });
            offers.extend(known);
            if offers.is_empty() {
                continue;
            }
            let place = *places.entry(hash(&offers)).or_insert_with(|| {
                let way = ways.own.len() as u32;
                let mut own = left_of(offers.iter().flat_map(|offer| offer.1).sum());
                let mut lent = 0.0;
                for (code, mut weights) in offers.iter().copied() {
                    if !near {
                        own += std::mem::take(&mut weights[1]);
                    }
                    lent += weights[0] + weights[1];
                    portions.push((code, Portion { way, weights }));
                }
                ways.own.push([own, lent]);
                way
            });
            codes[row as usize] = place + values.len() as u32 + 1;
        }
        portions.sort_by_key(|(code, _)| *code);
        let starts = (0..=values.len() as u32).map(|code| portions.partition_point(|p| p.0 < code));
        ways.starts = starts.map(|start| start as u32).collect();
        ways.portions = portions.into_iter().map(|(_, portion)| portion).collect();
        ways
    }
}

fn code_of(values: &[f64], value: f64) -> Option<usize> {
    // Zero has one sign.
    values.binary_search_by(|known| known.total_cmp(&(value + 0.0))).ok()
}

fn hash(offers: &[(u32, [f32; 2])]) -> u64 {
    let mut hash = Mix::default();
    for (code, weights) in offers {
        hash.write_u64(u64::from(*code));
        let [exact, near] = weights.map(|weight| u64::from(weight.to_bits()));
        hash.write_u64(exact << 32 | near);
    }
    hash.finish()
}

/// Makes hashers of our own numbers.
pub(crate) type ByMix = BuildHasherDefault<Mix>;

/// Hashes one 64-bit key by a multiplication; keys are values of a column or places of rows, not an
/// attacker's.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Mix(u64);

impl Hasher for Mix {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u32(&mut self, key: u32) {
        self.write_u64(u64::from(key));
    }

    fn write_u64(&mut self, key: u64) {
        let mixed = (self.0 ^ key).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        self.0 = mixed ^ (mixed >> 32);
    }
}
