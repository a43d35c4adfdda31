//! What is each gap lent? The values of its relatives, weighed by how likely relatives they are.

use binwright_catalog::Kind;
use rayon::prelude::*;

use super::frame::{Frame, GAP};
use super::layouts;
use super::{Differences, Kin, Lending, Lent, LentColumn, Weights, bin};
use crate::table::Table;

/// Values kept a gap.
const VALUES: usize = 4;
/// What is left at least for the kind's own spread.
const BACKGROUND_MIN: f64 = 1e-4;
/// Of a column's own spread, the share that is even over its values.
const EVEN: f64 = 0.05;

/// The relatives of every row.
pub struct Neighbours {
    starts: Vec<u32>,
    list: Vec<(u32, f32)>,
}

impl Neighbours {
    /// The relatives of `row` with their log odds.
    pub fn of(&self, row: u32) -> &[(u32, f32)] {
        &self.list[self.starts[row as usize] as usize..self.starts[row as usize + 1] as usize]
    }
}

/// Turns pairs into lists by row.
pub fn neighbours(rows: usize, pairs: &[(u32, u32, f32)]) -> Neighbours {
    let mut starts = vec![0_u32; rows + 1];
    for &(a, b, _) in pairs {
        starts[a as usize + 1] += 1;
        starts[b as usize + 1] += 1;
    }
    for at in 1..starts.len() {
        starts[at] += starts[at - 1];
    }
    let mut next = starts.clone();
    let mut list = vec![(0, 0.0); pairs.len() * 2];
    for &(a, b, odds) in pairs {
        for (row, other) in [(a, b), (b, a)] {
            list[next[row as usize] as usize] = (other, odds);
            next[row as usize] += 1;
        }
    }
    Neighbours { starts, list }
}

/// The spread of one column's values over the kind.
pub struct Spread {
    /// Chance of each code.
    chances: Vec<f64>,
    /// Sums of the chances before each code, for the chance of a stretch of values.
    sums: Vec<f64>,
    known: f64,
}

impl Spread {
    pub fn new(frame: &Frame, column: usize) -> Self {
        let shares = &frame.ln_shares[column];
        let even = EVEN / shares.len().max(1) as f64;
        let chances: Vec<f64> = shares.iter().map(|ln| (1.0 - EVEN) * ln.exp() + even).collect();
        let mut sums = vec![0.0];
        for chance in &chances {
            sums.push(sums[sums.len() - 1] + chance);
        }
        let gaps = (0..frame.rows as u32).filter(|row| frame.row(*row)[column] == GAP).count();
        Self { chances, sums, known: (frame.rows - gaps) as f64 }
    }

    /// The chance of `code` as seen without one of the rows that have it.
    pub fn without(&self, code: u32) -> f64 {
        let even = EVEN / self.chances.len().max(1) as f64;
        let share = (self.chances[code as usize] - even) / (1.0 - EVEN);
        let left = (share * self.known - 1.0).max(0.0) / (self.known - 1.0).max(1.0);
        (1.0 - EVEN) * left + even
    }

    /// The chance of `code` among the values within two blurs of the value behind `lent`; of
    /// words and counts, among all values.
    pub fn near(&self, frame: &Frame, column: usize, code: u32, lent: u32, blur: f64) -> f64 {
        if !frame.scales[column] {
            return self.chances[code as usize];
        }
        let values = &frame.values[column];
        let centre = values[lent as usize];
        if (values[code as usize] - centre).abs() > 2.0 * blur {
            return 0.0;
        }
        let from = values.partition_point(|value| *value < centre - 2.0 * blur);
        let to = values.partition_point(|value| *value <= centre + 2.0 * blur);
        self.chances[code as usize] / (self.sums[to] - self.sums[from])
    }
}

/// Returns what every gap of `table` is lent by the relatives in `kin`. Runs on every load: its
/// cost grows with the gaps times their relatives.
pub fn lend(kind: &Kind, table: &Table, kin: &Kin, weights: &Weights) -> Lending {
    if kin.pairs.is_empty() || weights.columns.len() != kind.measures.len() {
        return Lending::default();
    }
    let near = neighbours(table.len(), &kin.pairs);
    let columns = table
        .columns
        .par_iter()
        .zip(&weights.columns)
        .zip(&kind.measures)
        .map(|((column, learnt), measure)| {
            let scale = measure.domain.is_continuous();
            let differences = Differences::new(column, learnt.blur, scale, &kin.pairs);
            LentColumn { differences, ..lend_column(column, &near, weights, learnt.blur) }
        })
        .collect();
    Lending { columns, layouts: layouts::lend(table, kin, &near, weights) }
}

fn lend_column(column: &[f64], near: &Neighbours, weights: &Weights, blur: f64) -> LentColumn {
    let mut lent = LentColumn { starts: vec![0], blur, ..LentColumn::default() };
    let mut offers: Vec<(f64, f64, f32, u32)> = Vec::new();
    for row in (0..column.len() as u32).filter(|row| column[*row as usize].is_nan()) {
        offers.clear();
        let mut total = 1.0;
        for &(other, odds) in near.of(row) {
            let value = column[other as usize];
            if value.is_nan() {
                continue;
            }
            let at = bin(f64::from(odds));
            total += weights.exact[at] + weights.near[at];
            match offers.iter_mut().find(|offer| offer.0.to_bits() == value.to_bits()) {
                Some(offer) => {
                    offer.1 += weights.exact[at];
                    offer.2 += weights.near[at] as f32;
                }
                None => offers.push((value, weights.exact[at], weights.near[at] as f32, other)),
            }
        }
        if offers.is_empty() {
            continue;
        }
        offers.sort_by(|a, b| (b.1 + f64::from(b.2)).total_cmp(&(a.1 + f64::from(a.2))));
        let scale = (1.0 - BACKGROUND_MIN) / total;
        lent.rows.push(row);
        lent.values.extend(offers.iter().take(VALUES).map(|&(value, exact, near, from)| Lent {
            from,
            value,
            exact: (exact * scale) as f32,
            near: near * scale as f32,
        }));
        lent.starts.push(lent.values.len() as u32);
    }
    lent
}
