//! Which parts are relatives, and what do they lend to each other's gaps?
//!
//! Found from the rows alone, by record linkage after Fellegi and Sunter (1969), "A theory for
//! record linkage", J. Am. Stat. Assoc. 64(328), 1183–1210: two rows that agree on rare values are
//! likely siblings of one family; how likely, and how much a sibling's value is worth to a gap,
//! is learnt from the catalogue itself. [`relatives`] runs when the index is built, [`lend`]
//! whenever a kind is loaded.

mod differences;
mod frame;
mod layouts;
mod learn;
mod lend;
mod pairs;

use binwright_catalog::Kind;
use serde::{Deserialize, Serialize};

use crate::table::Table;
use frame::Frame;

pub use lend::lend;

/// Pairs of rows that are likely relatives, found from the rows alone.
#[derive(Debug, Clone, Default)]
pub struct Kin {
    /// `(row, row, log odds that the two are relatives)`, lower row first, each pair once. Only
    /// pairs fit to lend are kept (enough equal measures, or the same stem).
    pub pairs: Vec<(u32, u32, f32)>,
}

/// What the gaps of one kind are lent: per column, for each row with a gap, up to four values.
#[derive(Debug, Clone, Default)]
pub struct Lending {
    /// One per measure of the kind.
    pub columns: Vec<LentColumn>,
    /// For rows without a layout: ascending by row, the heaviest first of each. The rest of a
    /// row's weight is the kind's own spread.
    pub layouts: Vec<LentLayout>,
}

/// The layout of one row, lent to another that has none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LentLayout {
    /// The row with the gap.
    pub row: u32,
    /// The lending row.
    pub from: u32,
    /// Weight that the part has exactly this layout.
    pub exact: f32,
}

/// What the gaps of one column are lent. `rows` is ascending; a row without relatives is absent
/// and takes the kind's own spread.
#[derive(Debug, Clone, Default)]
pub struct LentColumn {
    /// The rows that are lent something.
    pub rows: Vec<u32>,
    /// Where each row's values start in `values`; one more entry than `rows`.
    pub starts: Vec<u32>,
    /// What is lent, the heaviest first.
    pub values: Vec<Lent>,
    /// Standard deviation by which a lent value may be off, for the blurred share.
    pub blur: f64,
    /// How close relatives differ.
    pub differences: Differences,
}

impl LentColumn {
    /// The rows that are lent something, ascending, each with what it is lent.
    pub(crate) fn each(&self) -> impl Iterator<Item = (u32, &[Lent])> {
        let lent = self.starts.windows(2).map(|at| &self.values[at[0] as usize..at[1] as usize]);
        self.rows.iter().copied().zip(lent)
    }

    /// What `row` is lent, the heaviest first; nothing for most.
    pub(crate) fn lent_to(&self, row: u32) -> &[Lent] {
        let bounds = |at: usize| self.starts[at] as usize..self.starts[at + 1] as usize;
        self.rows.binary_search(&row).map_or(&[], |at| &self.values[bounds(at)])
    }
}

/// The weight that is left to the kind's own spread where `lent` is lent.
pub(crate) fn left_of(lent: f32) -> f32 {
    (1.0 - lent).max(1e-4)
}

/// How close relatives differ on one measure.
#[derive(Debug, Clone)]
pub struct Differences {
    /// The share of them that differs at all.
    pub share: f64,
    /// Of a measure along a scale: by how much, either way, and how often among those that differ.
    /// What is left of one is spread by the column's blur.
    pub steps: Vec<(f64, f64)>,
}

/// One value lent to a gap. The rest of the weight is the kind's own spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lent {
    /// The lending row, to say where the value comes from.
    pub from: u32,
    /// The value, encoded as in the column.
    pub value: f64,
    /// Weight that the part has exactly this value.
    pub exact: f32,
    /// Weight that the part's value is near it.
    pub near: f32,
}

/// How relatives of one kind agree, and how much they lend: learnt by [`relatives`], kept by the
/// index. All weights are natural logarithms of likelihood ratios.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Weights {
    /// Log odds that two rows are relatives before they are compared.
    ln_prior: f64,
    /// One per measure of the kind.
    columns: Vec<ColumnWeights>,
    /// The same stem (its rarity apart, when learnt), another stem.
    stem: [f64; 2],
    /// The same layout, over four tenths of it the same, another.
    layout: [f64; 3],
    /// Whether an agreement weighs more the rarer its value is.
    by_rarity: bool,
    /// By bin of the log odds: weight lent for exactly the value, relative to the kind's spread.
    exact: [f64; BINS],
    /// The same for a value near it.
    near: [f64; BINS],
}

/// How relatives agree on one measure.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
struct ColumnWeights {
    /// Equal values (rarity apart, when learnt).
    equal: f64,
    /// Unequal, but by less than a quarter of the kind's spread or 0.6 mm.
    near: f64,
    /// Farther apart.
    far: f64,
    /// Root mean square difference where close relatives disagree, in the measure's unit.
    blur: f64,
}

/// Bins of the log odds, by their upper ends; the last is open.
const BIN_ENDS: [f64; 11] = [-6.0, -4.0, -2.0, -1.0, 0.0, 1.0, 2.0, 4.0, 6.0, 9.0, 13.0];
/// The number of bins.
const BINS: usize = BIN_ENDS.len() + 1;
/// Pairs less likely than this lend nothing worth keeping.
const ODDS_MIN: f32 = -11.0;
/// Below this number of rows nothing can be learnt and fixed weights serve.
const ROWS_TO_LEARN: usize = 300;
/// With fewer relatives a row than this, families are too rare for lending to gain.
const RELATIVES_MIN: f64 = 0.5;

/// The bin of log odds `odds`.
fn bin(odds: f64) -> usize {
    BIN_ENDS.iter().position(|end| odds < *end).unwrap_or(BIN_ENDS.len())
}

/// Returns the likely relatives among the rows of `table` and how they agree. No pairs where the
/// catalogue has hardly any families.
pub fn relatives(kind: &Kind, table: &Table) -> (Kin, Weights) {
    let frame = Frame::new(kind, table);
    if frame.rows < ROWS_TO_LEARN {
        let weights = learn::fixed(&frame);
        return (Kin { pairs: pairs::all(&frame, &weights) }, weights);
    }
    let first = learn::first_guess(&frame);
    let candidates = pairs::from_blocks(&frame, &first);
    let (mut weights, relatives_a_row) = learn::agreement(&frame, first, &candidates);
    if relatives_a_row < RELATIVES_MIN {
        return (Kin::default(), weights);
    }
    let pairs = pairs::worth_keeping(&frame, &weights, &candidates);
    learn::shares(&frame, &mut weights, &pairs);
    (Kin { pairs }, weights)
}

/// Returns the likely relatives of a few `rows` among all of `table`, weighed as was learnt before.
/// Cost grows with the rows of the table times `rows`.
pub fn relatives_of(kind: &Kind, table: &Table, weights: &Weights, rows: &[u32]) -> Kin {
    if weights.columns.len() != kind.measures.len() {
        return Kin::default();
    }
    let frame = Frame::new(kind, table);
    let of_row = |&row: &u32| {
        let others = (0..frame.rows as u32).filter(|other| *other != row);
        let mut found: Vec<(u32, f32)> = others
            .filter_map(|other| {
                let (_, _, odds) = frame.kept(weights, row.min(other), row.max(other))?;
                Some((other, odds))
            })
            .collect();
        let reach = pairs::reach(&found);
        found.retain(|(_, odds)| *odds >= reach);
        found.into_iter().map(move |(other, odds)| (row.min(other), row.max(other), odds))
    };
    let mut found: Vec<(u32, u32, f32)> = rows.iter().flat_map(of_row).collect();
    found.sort_unstable_by_key(|pair| (pair.0, pair.1));
    found.dedup_by_key(|pair| (pair.0, pair.1));
    Kin { pairs: found }
}

#[cfg(test)]
mod tests;
