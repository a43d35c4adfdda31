//! How is one measure kept so that a reading weighs all rows of a kind in one pass?

use std::{
    collections::HashMap,
    hash::{BuildHasherDefault, Hasher},
};

use binwright_catalog::Domain;

use crate::{
    kin::{Differences, LentColumn},
    likelihood::{Curve, Reading},
};

/// Share of the kind's spread that is even over the range instead of following the catalogue.
const EVEN: f64 = 0.05;
/// Values lent to one gap.
const VALUES: usize = 4;
/// No reading speaks louder than this against a part; 32 of them stay within what a number holds.
const LEAST: f64 = 1e-9;

/// A column as codes into its distinct values: a reading is weighed once per value, then looked up.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    /// Distinct values, ascending.
    pub values: Vec<f64>,
    /// How many rows have each value.
    pub counts: Vec<u32>,
    codes: Codes,
    lent: Lent,
    /// By how much relatives that disagree differ.
    pub blur: f64,
    /// How close relatives differ.
    pub differences: Differences,
}

/// One code per row: the place of its value; the number of distinct values for a gap; and above
/// that the ways in which gaps are lent to.
#[derive(Debug, Clone)]
enum Codes {
    Short(Vec<u16>),
    Long(Vec<u32>),
}

/// What gaps are lent, each way once; those with most values first, so that no loop over them asks
/// how many there are.
#[derive(Debug, Clone, Default)]
struct Lent {
    /// The weight left to the kind's spread, by way.
    own: Vec<f32>,
    /// The values of the ways that have one, of those that have two, and so on.
    values: [Vec<LentCode>; VALUES],
}

#[derive(Debug, Clone, Copy)]
struct LentCode {
    code: u32,
    /// Of exactly this value, and of one near it.
    weights: [f32; 2],
}

impl Column {
    /// `column` holds one value per row, not-a-number for a gap.
    pub fn new(column: &[f64], lent: Option<&LentColumn>) -> Self {
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
        let lent = lent.map_or_else(Lent::default, |lent| Lent::new(lent, &values, &mut codes));
        let codes = if u16::try_from(values.len() + lent.own.len()).is_ok() {
            Codes::Short(codes.iter().map(|code| *code as u16).collect())
        } else {
            Codes::Long(codes)
        };
        Self { values, counts, codes, lent, blur, differences }
    }

    /// The code of `row`; the number of distinct values for a gap.
    pub fn code(&self, row: usize) -> usize {
        self.codes.of(row).min(self.values.len())
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

    /// What `row` is lent: `(code, exact, near)` each, and the weight left to the kind's spread.
    pub fn lent_to(&self, row: usize) -> Option<(impl Iterator<Item = (usize, f64, f64)>, f64)> {
        let at = self.codes.of(row).checked_sub(self.values.len() + 1)?;
        let values = self.lent.of(at).iter().map(|lent| {
            let [exact, near] = lent.weights.map(f64::from);
            (lent.code as usize, exact, near)
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
            *density = (*density / background).max(LEAST);
        }
        exact.push(1.0);
        near.push(1.0);
        Weights { exact, near, ln_background: background.ln() }
    }

    /// The density of `reading` on a close relative of each distinct value, one that differs.
    fn near(&self, reading: &Reading<'_>) -> Vec<f64> {
        let steps = &self.differences.steps;
        let blurred = 1.0 - steps.iter().map(|step| step.1).sum::<f64>();
        let mut densities = vec![reading.floor(); self.values.len()];
        self.add_rise(&reading.curve(self.blur), blurred, &mut densities);
        let mut curve = reading.curve(0.0);
        for (off, share) in steps {
            for off in [*off, -*off] {
                curve.value = reading.value - off;
                self.add_rise(&curve, 0.5 * share, &mut densities);
            }
        }
        densities
    }

    /// The density of `reading` on each distinct value blurred by `blur`.
    pub fn densities(&self, reading: &Reading<'_>, blur: f64) -> Vec<f64> {
        let mut densities = vec![reading.floor(); self.values.len()];
        self.add_rise(&reading.curve(blur), 1.0, &mut densities);
        densities
    }

    /// Adds `share` of what the density rises above its floor.
    fn add_rise(&self, curve: &Curve<'_>, share: f64, densities: &mut [f64]) {
        for (low, high) in curve.windows() {
            let from = self.values.partition_point(|value| *value < low);
            let to = self.values.partition_point(|value| *value <= high).max(from);
            let middle = f64::midpoint(low, high);
            curve.add_rise(&self.values[from..to], middle, share, &mut densities[from..to]);
        }
    }

    /// What each code is worth, for [`multiply`]; `relatives` has one a value and one for a gap.
    pub fn worth(&self, weights: &Weights, relatives: &[f64]) -> Vec<Worth> {
        let pairs: Vec<[f32; 2]> = weights
            .exact
            .iter()
            .zip(&weights.near)
            .map(|(exact, near)| [*exact as f32, *near as f32])
            .collect();
        let mut worth = Vec::with_capacity(pairs.len() + self.lent.own.len());
        let relatives = weights.exact.iter().zip(relatives);
        worth.extend(relatives.map(|(own, other)| [*own, own * other].map(|ratio| ratio as f32)));
        self.lent.weigh::<4>(&pairs, &mut worth);
        self.lent.weigh::<3>(&pairs, &mut worth);
        self.lent.weigh::<2>(&pairs, &mut worth);
        self.lent.weigh::<1>(&pairs, &mut worth);
        worth
    }

    /// Multiplies each of `scores`, one a row of `rows`, by the ratio of its value; `ratios` ends
    /// with that of a gap, which what is lent to it does not change.
    pub fn multiply_at(&self, rows: &[u32], ratios: &[f64], scores: &mut [f64]) {
        fn look_up<C: Copy + Into<u32>>(
            codes: &[C],
            rows: &[u32],
            ratios: &[f64],
            scores: &mut [f64],
        ) {
            let gap = ratios.len() - 1;
            for (score, row) in scores.iter_mut().zip(rows) {
                *score *= ratios[(codes[*row as usize].into() as usize).min(gap)];
            }
        }
        match &self.codes {
            Codes::Short(codes) => look_up(codes, rows, ratios, scores),
            Codes::Long(codes) => look_up(codes, rows, ratios, scores),
        }
    }
}

impl Codes {
    fn of(&self, row: usize) -> usize {
        match self {
            Self::Short(codes) => codes[row] as usize,
            Self::Long(codes) => codes[row] as usize,
        }
    }
}

impl Lent {
    /// Appends to `worth` that of the ways with `N` values; `pairs` is for each value what it is
    /// worth exactly and nearly.
    fn weigh<const N: usize>(&self, pairs: &[[f32; 2]], worth: &mut Vec<Worth>) {
        let ways = self.values[N - 1].as_chunks::<N>().0;
        let before: usize = (N..VALUES).map(|n| self.values[n].len() / (n + 1)).sum();
        worth.extend(ways.iter().zip(&self.own[before..]).map(|(values, own)| {
            let mut sums = [*own, 0.0];
            for LentCode { code, weights } in values {
                let pair = pairs[*code as usize];
                sums = [sums[0] + weights[0] * pair[0], sums[1] + weights[1] * pair[1]];
            }
            [sums[0] + sums[1]; 2]
        }));
    }

    /// The values of the way at place `at`.
    fn of(&self, mut at: usize) -> &[LentCode] {
        for n in (1..=VALUES).rev() {
            let values = &self.values[n - 1];
            if at < values.len() / n {
                return &values[at * n..(at + 1) * n];
            }
            at -= values.len() / n;
        }
        &[]
    }

    /// Gives the gaps in `codes` that are lent to codes of their own.
    fn new(column: &LentColumn, values: &[f64], codes: &mut [u32]) -> Self {
        let mut offers: Vec<LentCode> = Vec::with_capacity(column.values.len());
        let mut gaps = Vec::with_capacity(column.rows.len());
        for (row, bounds) in column.rows.iter().zip(column.starts.windows(2)) {
            let first = offers.len();
            let lent = &column.values[bounds[0] as usize..bounds[1] as usize];
            for lent in lent.iter().take(VALUES) {
                let mut code = codes[lent.from as usize] as usize;
                if values.get(code) != Some(&lent.value) {
                    code = values.partition_point(|known| *known < lent.value);
                }
                // A value no row has any more (its lender was changed) is worth nothing.
                if values.get(code) == Some(&lent.value) {
                    let weights = [lent.exact, lent.near];
                    offers.push(LentCode { code: code as u32, weights });
                }
            }
            if offers.len() > first {
                gaps.push((*row, first..offers.len()));
            }
        }
        gaps.sort_by_key(|(_, offers)| std::cmp::Reverse(offers.len()));
        let mut lent = Self::default();
        let mut places: HashMap<u64, u32, ByMix> = HashMap::default();
        for (row, range) in gaps {
            let place = places.entry(LentCode::hash(&offers[range.clone()]));
            codes[row as usize] = *place.or_insert_with(|| lent.push(&offers[range]));
            codes[row as usize] += values.len() as u32 + 1;
        }
        lent
    }

    /// Takes in what one gap, or several alike, are lent and returns its place. Those with most
    /// values come first.
    fn push(&mut self, offers: &[LentCode]) -> u32 {
        let lent: f32 = offers.iter().flat_map(|offer| offer.weights).sum();
        self.own.push((1.0 - lent).max(1e-4));
        self.values[offers.len() - 1].extend_from_slice(offers);
        self.own.len() as u32 - 1
    }
}

impl LentCode {
    fn hash(offers: &[Self]) -> u64 {
        let mut hash = Mix::default();
        for Self { code, weights } in offers {
            hash.write_u64(u64::from(*code));
            let [exact, near] = weights.map(|weight| u64::from(weight.to_bits()));
            hash.write_u64(exact << 32 | near);
        }
        hash.finish()
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
    pub ln_background: f64,
}

/// How much better a code explains a reading than the kind's spread does: as the part's own, and
/// as that of a relative which may differ.
pub(crate) type Worth = [f32; 2];
/// The product of many.
pub(crate) type Product = [f64; 2];

/// Rows weighed at a time, so that what they are worth stays in the nearest cache.
const BLOCK: usize = 1024;
/// Columns looked up at a time: the product of so many is within what single precision holds, as
/// each is at least [`LEAST`] and hardly more than there are rows.
const ABREAST: usize = 4;

/// Multiplies for each of `rows` what its codes in `columns` are worth and hands over the products,
/// a block of rows after the other.
pub(crate) fn multiply(
    rows: usize,
    columns: &[(&Column, Vec<Worth>)],
    mut take: impl FnMut(&[Product]),
) {
    let (mut short, mut long) = (Vec::new(), Vec::new());
    for (column, worth) in columns {
        match &column.codes {
            Codes::Short(codes) => short.push((codes.as_slice(), worth.as_slice())),
            Codes::Long(codes) => long.push((codes.as_slice(), worth.as_slice())),
        }
    }
    let mut products = vec![[1.0; 2]; BLOCK.min(rows)];
    for from in (0..rows).step_by(BLOCK) {
        let products = &mut products[..BLOCK.min(rows - from)];
        look_up_all(&short, true, from, products);
        look_up_all(&long, short.is_empty(), from, products);
        take(products);
    }
}

fn look_up_all<C: Copy + Into<u32>>(
    columns: &[(&[C], &[Worth])],
    mut first: bool,
    from: usize,
    products: &mut [Product],
) {
    let times = columns.len().div_ceil(ABREAST).max(1);
    for columns in columns.chunks(columns.len().div_ceil(times).max(1)) {
        match *columns {
            [a, b, c, d] => look_up([a, b, c, d], first, from, products),
            [a, b, c] => look_up([a, b, c], first, from, products),
            [a, b] => look_up([a, b], first, from, products),
            [a] => look_up([a], first, from, products),
            _ => {}
        }
        first = false;
    }
}

/// So many columns at once that a row's product need not be laid down between them; the `first`
/// ones forget what was there.
fn look_up<C: Copy + Into<u32>, const N: usize>(
    columns: [(&[C], &[Worth]); N],
    first: bool,
    from: usize,
    products: &mut [Product],
) {
    let columns = columns.map(|(codes, worth)| (&codes[from..from + products.len()], worth));
    for (row, product) in products.iter_mut().enumerate() {
        let mut both = [1.0_f32; 2];
        for (codes, worth) in &columns {
            let [own, other] = worth[codes[row].into() as usize];
            both = [both[0] * own, both[1] * other];
        }
        let before = if first { [1.0; 2] } else { *product };
        *product = [before[0] * f64::from(both[0]), before[1] * f64::from(both[1])];
    }
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
