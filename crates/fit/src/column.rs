//! How is one measure kept so that a reading weighs all rows of a kind in one pass?

use std::{
    collections::HashMap,
    hash::{BuildHasherDefault, Hasher},
};

use binwright_catalog::Domain;

use crate::{
    fast,
    kin::{Differences, LentColumn},
    likelihood::Reading,
};

/// Share of the kind's spread that is even over the range instead of following the catalogue.
const EVEN: f64 = 0.05;

/// A column as codes into its distinct values: a reading is weighed once per value, then looked up.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    /// Distinct values, ascending.
    pub values: Vec<f64>,
    /// How many rows have each value.
    pub counts: Vec<u32>,
    codes: Codes,
    lent: LentRows,
    /// By how much relatives that disagree differ.
    pub blur: f64,
    /// How close relatives differ.
    pub differences: Differences,
}

/// One code per row; the number of distinct values stands for a gap.
#[derive(Debug, Clone)]
enum Codes {
    Short(Vec<u16>),
    Long(Vec<u32>),
}

/// The rows with a gap that is lent to, ascending: the first value of all of them, then the second
/// of those that have one, and so on, so that no loop over them asks how many there are.
#[derive(Debug, Clone, Default)]
struct LentRows {
    rows: Vec<u32>,
    /// The weight left to the kind's spread.
    own: Vec<f32>,
    slots: Vec<Vec<LentCode>>,
}

#[derive(Debug, Clone, Copy)]
struct LentCode {
    /// Place in the rows that are lent to.
    at: u32,
    code: u32,
    exact: f32,
    near: f32,
}

impl Column {
    /// `column` holds one value per row, not-a-number for a gap.
    pub fn new(column: &[f64], lent: Option<&LentColumn>) -> Self {
        let mut places: HashMap<u64, u32, BuildHasherDefault<Mix>> = HashMap::default();
        let mut values = Vec::new();
        let mut firsts = Vec::with_capacity(column.len());
        for value in column {
            firsts.push(if value.is_nan() {
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
        for code in &mut firsts {
            *code = if *code == u32::MAX { gap } else { ranks[*code as usize] };
            counts[*code as usize] += 1;
        }
        counts.pop();
        let codes = if u16::try_from(gap).is_ok() {
            Codes::Short(firsts.iter().map(|code| *code as u16).collect())
        } else {
            Codes::Long(firsts)
        };
        let mut coded = Self {
            values,
            counts,
            codes,
            lent: LentRows::default(),
            blur: 0.0,
            differences: Differences::default(),
        };
        if let Some(lent) = lent {
            coded.lend(lent);
        }
        coded
    }

    fn lend(&mut self, lent: &LentColumn) {
        self.blur = lent.blur;
        self.differences = lent.differences.clone();
        for (at, row) in lent.rows.iter().enumerate() {
            let mut own = 1.0_f32;
            let mut slot = 0;
            for value in &lent.values[lent.starts[at] as usize..lent.starts[at + 1] as usize] {
                let mut code = self.code(value.from as usize);
                if self.values.get(code) != Some(&value.value) {
                    code = self.values.partition_point(|known| *known < value.value);
                }
                // A value no row has any more (its lender was changed) is worth nothing.
                if self.values.get(code) == Some(&value.value) {
                    if self.lent.slots.len() == slot {
                        self.lent.slots.push(Vec::new());
                    }
                    let (at, code) = (at as u32, code as u32);
                    let lent = LentCode { at, code, exact: value.exact, near: value.near };
                    self.lent.slots[slot].push(lent);
                    slot += 1;
                    own -= value.exact + value.near;
                }
            }
            self.lent.rows.push(*row);
            self.lent.own.push(own.max(1e-4));
        }
    }

    /// The code of `row`; the number of distinct values for a gap.
    pub fn code(&self, row: usize) -> usize {
        match &self.codes {
            Codes::Short(codes) => codes[row] as usize,
            Codes::Long(codes) => codes[row] as usize,
        }
    }

    /// Stirs the code of each row into its hash, and counts it in `known` unless it is a gap.
    pub fn stir(&self, hashes: &mut [Mix], known: &mut [u8]) {
        fn each<C: Copy + Into<u32>>(codes: &[C], gap: u32, hashes: &mut [Mix], known: &mut [u8]) {
            for ((hash, known), code) in hashes.iter_mut().zip(known).zip(codes) {
                hash.write_u64(u64::from((*code).into()));
                *known = known.saturating_add(u8::from((*code).into() != gap));
            }
        }
        let gap = self.values.len() as u32;
        match &self.codes {
            Codes::Short(codes) => each(codes, gap, hashes, known),
            Codes::Long(codes) => each(codes, gap, hashes, known),
        }
    }

    /// What `row` is lent: `(code, exact, near)` each, and the weight left to the kind's spread.
    pub fn lent_to(&self, row: usize) -> Option<(impl Iterator<Item = (usize, f64, f64)>, f64)> {
        let at = self.lent.rows.binary_search(&(row as u32)).ok()?;
        let values = self.lent.slots.iter().map_while(move |slot| {
            let place = slot.binary_search_by_key(&(at as u32), |lent| lent.at).ok()?;
            let lent = slot[place];
            Some((lent.code as usize, f64::from(lent.exact), f64::from(lent.near)))
        });
        Some((values, f64::from(self.lent.own[at])))
    }

    /// How many rows have a value.
    pub fn known(&self) -> f64 {
        self.counts.iter().map(|n| f64::from(*n)).sum()
    }

    /// Width of the values: what a slip, or a part not seen yet, is spread over. For words, how
    /// many there are.
    pub fn span(&self, measure: &binwright_catalog::Measure) -> f64 {
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
    pub fn range(&self, measure: &binwright_catalog::Measure) -> (f64, f64) {
        let [mut low, mut high] = measure.range.unwrap_or([f64::INFINITY, f64::NEG_INFINITY]);
        if let (Some(first), Some(last)) = (self.values.first(), self.values.last()) {
            (low, high) = (low.min(*first), high.max(*last));
        }
        if low < high { (low, high) } else { (low.min(high) - 0.5, low.max(high) + 0.5) }
    }

    /// Weighs one reading against all distinct values.
    pub fn weigh(&self, reading: &Reading<'_>, span: f64) -> Weights {
        let mut exact = self.densities(reading, 0.0);
        let spread: f64 =
            exact.iter().zip(&self.counts).map(|(density, n)| density * f64::from(*n)).sum();
        let known = self.known();
        let background =
            if known > 0.0 { (1.0 - EVEN) * spread / known + EVEN / span } else { 1.0 / span };
        let mut near = if is_plain(reading.measure.domain) {
            self.near(reading)
        } else {
            vec![background; exact.len()]
        };
        for density in exact.iter_mut().chain(&mut near) {
            *density /= background;
        }
        exact.push(1.0);
        near.push(1.0);
        let ln = exact.iter().map(|ratio| fast::ln(*ratio as f32)).collect();
        Weights { exact, near, ln, ln_background: background.ln() }
    }

    /// The density of `reading` on a close relative of each distinct value, one that differs.
    fn near(&self, reading: &Reading<'_>) -> Vec<f64> {
        let steps = &self.differences.steps;
        let blurred = 1.0 - steps.iter().map(|step| step.1).sum::<f64>();
        let mut densities = vec![reading.floor(); self.values.len()];
        self.add_densities(reading, self.blur, blurred, &mut densities);
        for (off, share) in steps {
            for off in [*off, -*off] {
                let mut reading = reading.clone();
                reading.value -= off;
                self.add_densities(&reading, 0.0, 0.5 * share, &mut densities);
            }
        }
        densities
    }

    /// The density of `reading` on each distinct value blurred by `blur`.
    pub fn densities(&self, reading: &Reading<'_>, blur: f64) -> Vec<f64> {
        let mut densities = vec![reading.floor(); self.values.len()];
        self.add_densities(reading, blur, 1.0, &mut densities);
        densities
    }

    /// Adds `share` of what the density rises above its floor.
    fn add_densities(&self, reading: &Reading<'_>, blur: f64, share: f64, densities: &mut [f64]) {
        let (low, high) = reading.window(blur);
        let from = self.values.partition_point(|value| *value < low);
        let to = self.values.partition_point(|value| *value <= high).max(from);
        for (density, value) in densities[from..to].iter_mut().zip(&self.values[from..to]) {
            *density += share * (reading.density(*value, blur) - reading.floor());
        }
    }

    /// Adds to each of `scores` (rows from `from` on) the log of how much better the row explains
    /// the reading than the kind's spread does; gaps add nothing here.
    pub fn add(&self, weights: &Weights, from: usize, scores: &mut [f32]) {
        fn look_up<C: Copy + Into<u32>>(codes: &[C], ln: &[f32], scores: &mut [f32]) {
            for (score, code) in scores.iter_mut().zip(codes) {
                *score += ln[(*code).into() as usize];
            }
        }
        let rows = from..from + scores.len();
        match &self.codes {
            Codes::Short(codes) => look_up(&codes[rows], &weights.ln, scores),
            Codes::Long(codes) => look_up(&codes[rows], &weights.ln, scores),
        }
    }

    /// Adds what lent values say to the rows that have a gap here.
    pub fn add_lent(&self, weights: &Weights, scores: &mut [f32]) {
        let table: Vec<[f32; 2]> = weights
            .exact
            .iter()
            .zip(&weights.near)
            .map(|(exact, near)| [*exact as f32, *near as f32])
            .collect();
        let mut ratios = self.lent.own.clone();
        for lent in self.lent.slots.iter().flatten() {
            let [exact, near] = table[lent.code as usize];
            ratios[lent.at as usize] += lent.exact * exact + lent.near * near;
        }
        for ratio in &mut ratios {
            *ratio = fast::ln(*ratio);
        }
        for (row, ln) in self.lent.rows.iter().zip(&ratios) {
            scores[*row as usize] += ln;
        }
    }
}

/// Whether a value that is nearly right is nearly as likely: true of plain numbers only.
fn is_plain(domain: Domain) -> bool {
    matches!(domain, Domain::Length | Domain::Number | Domain::Angle)
}

/// What one reading says of each distinct value, as ratios to the kind's spread; the last entry
/// stands for a gap and is 1.
#[derive(Debug, Clone)]
pub(crate) struct Weights {
    pub exact: Vec<f64>,
    /// With values blurred by what relatives differ.
    pub near: Vec<f64>,
    ln: Vec<f32>,
    pub ln_background: f64,
}

/// Hashes one 64-bit key by a multiplication; keys are values of a column, not an attacker's.
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

    fn write_u64(&mut self, key: u64) {
        let mixed = (self.0 ^ key).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        self.0 = mixed ^ (mixed >> 32);
    }
}
