//! How do two rows compare? The rows of a kind, laid out for comparing many pairs quickly.

use std::collections::HashMap;

use binwright_catalog::{Domain, Kind};

use super::{ODDS_MIN, Weights};
use crate::table::{PackedPoint, Table};

/// Values closer than this are the same value, written differently.
const SAME: f64 = 0.02;
/// A value that is not known.
pub const GAP: u32 = u32::MAX;
/// Layout distances are compared in steps of this many mm.
const DISTANCE_STEP_MM: f64 = 0.3;
/// Comparing layouts is worth its cost only for pairs at least this likely without them.
const ODDS_FOR_LAYOUT: f64 = -9.0;

/// The rows of a kind, row by row.
pub struct Frame {
    pub rows: usize,
    pub width: usize,
    /// Whether the values of a column are measured along a scale.
    pub scales: Vec<bool>,
    /// Values as numbers of their column's dictionary, row by row; [`GAP`] where not known.
    pub codes: Vec<u32>,
    /// By column: the value behind each code, ascending.
    pub values: Vec<Vec<f64>>,
    /// By column and code: the log share of the rows that have it, among those that know.
    pub ln_shares: Vec<Vec<f64>>,
    /// By column: values this close are near.
    pub near: Vec<f64>,
    /// By column: whether it is a length in mm.
    pub lengths: Vec<bool>,
    pub stems: Vec<u64>,
    /// Log share of each stem.
    ln_stems: HashMap<u64, f64>,
    /// Sorted codes of role pair and distance, all rows one after the other.
    signatures: Vec<u32>,
    signature_starts: Vec<u32>,
}

/// How two values of one column compare.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    Equal,
    Near,
    Far,
}

impl Frame {
    pub fn new(kind: &Kind, table: &Table) -> Self {
        let (rows, width) = (table.len(), table.columns.len());
        let mut frame = Self {
            rows,
            width,
            scales: Vec::with_capacity(width),
            codes: vec![GAP; rows * width],
            values: Vec::with_capacity(width),
            ln_shares: Vec::with_capacity(width),
            near: Vec::with_capacity(width),
            lengths: Vec::with_capacity(width),
            stems: table.stems.clone(),
            ln_stems: HashMap::new(),
            signatures: Vec::new(),
            signature_starts: vec![0],
        };
        for (at, (column, measure)) in table.columns.iter().zip(&kind.measures).enumerate() {
            let scale = measure.domain.is_continuous();
            frame.lengths.push(measure.domain == Domain::Length);
            frame.scales.push(scale);
            frame.add_column(at, column, scale);
        }
        let known = table.stems.iter().filter(|stem| **stem != 0);
        let mut counts: HashMap<u64, f64> = HashMap::new();
        known.for_each(|stem| *counts.entry(*stem).or_default() += 1.0);
        let total = counts.values().sum::<f64>().max(1.0);
        frame.ln_stems = counts.into_iter().map(|(stem, n)| (stem, (n / total).ln())).collect();
        for row in 0..rows {
            signature(table.points_of(row), &mut frame.signatures);
            frame.signature_starts.push(frame.signatures.len() as u32);
        }
        frame
    }

    fn add_column(&mut self, at: usize, column: &[f64], scale: bool) {
        let mut values: Vec<f64> = column.iter().copied().filter(|v| !v.is_nan()).collect();
        values.sort_unstable_by(f64::total_cmp);
        let known = values.len().max(1) as f64;
        let mean = values.iter().sum::<f64>() / known;
        let sd = (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / known).sqrt();
        let floor = if self.lengths[at] { 0.6 } else { 0.0 };
        self.near.push((0.25 * sd).max(floor));
        let same = if scale { SAME } else { 0.0 };
        let mut counts: Vec<f64> = Vec::new();
        let mut firsts: Vec<f64> = Vec::new();
        for value in values {
            match firsts.last() {
                Some(first) if value - first <= same => {}
                _ => {
                    firsts.push(value);
                    counts.push(0.0);
                }
            }
            if let Some(count) = counts.last_mut() {
                *count += 1.0;
            }
        }
        for (row, value) in column.iter().enumerate().filter(|(_, value)| !value.is_nan()) {
            let code = firsts.partition_point(|first| first <= value) - 1;
            self.codes[row * self.width + at] = code as u32;
        }
        self.ln_shares.push(counts.iter().map(|count| (count / known).ln()).collect());
        self.values.push(firsts);
    }

    pub fn row(&self, row: u32) -> &[u32] {
        &self.codes[row as usize * self.width..][..self.width]
    }

    /// How the codes `a` and `b` of `column` compare; `None` where one is not known.
    pub fn compare(&self, column: usize, a: u32, b: u32) -> Option<Agreement> {
        if a == GAP || b == GAP {
            return None;
        }
        if a == b {
            return Some(Agreement::Equal);
        }
        let values = &self.values[column];
        let off = (values[a as usize] - values[b as usize]).abs();
        let near = self.scales[column] && off <= self.near[column];
        Some(if near { Agreement::Near } else { Agreement::Far })
    }

    /// The weight of `column` for rows with the codes `a` and `b`; 0 where one is not known.
    pub fn weight(&self, weights: &Weights, column: usize, a: u32, b: u32) -> f64 {
        let learnt = &weights.columns[column];
        match self.compare(column, a, b) {
            None => 0.0,
            Some(Agreement::Equal) if weights.by_rarity => {
                learnt.equal - self.ln_shares[column][a as usize]
            }
            Some(Agreement::Equal) => learnt.equal,
            Some(Agreement::Near) => learnt.near,
            Some(Agreement::Far) => learnt.far,
        }
    }

    /// Log odds that two rows are relatives, and on how many measures they are equal.
    pub fn odds(&self, weights: &Weights, a: u32, b: u32) -> (f64, usize) {
        let (left, right) = (self.row(a), self.row(b));
        let mut odds = weights.ln_prior + self.stem_weight(weights, a, b);
        let mut equal = 0;
        for column in 0..self.width {
            equal += usize::from(left[column] == right[column] && left[column] != GAP);
            odds += self.weight(weights, column, left[column], right[column]);
        }
        if odds > ODDS_FOR_LAYOUT
            && let Some(class) = self.layout_class(a, b)
        {
            odds += weights.layout[class];
        }
        (odds, equal)
    }

    /// The pair with its log odds when it is likely enough and fit to lend.
    pub fn kept(&self, weights: &Weights, a: u32, b: u32) -> Option<(u32, u32, f32)> {
        let (odds, equal) = self.odds(weights, a, b);
        let enough = if self.width <= 7 { 2 } else { 3 };
        let fit = equal >= enough || self.same_stem(a, b) == Some(true);
        (fit && odds as f32 > ODDS_MIN).then_some((a, b, odds as f32))
    }

    /// Whether the rows share their stem; `None` where one has none.
    pub fn same_stem(&self, a: u32, b: u32) -> Option<bool> {
        let (left, right) = (self.stems[a as usize], self.stems[b as usize]);
        (left != 0 && right != 0).then_some(left == right)
    }

    fn stem_weight(&self, weights: &Weights, a: u32, b: u32) -> f64 {
        match self.same_stem(a, b) {
            None => 0.0,
            Some(false) => weights.stem[1],
            Some(true) if weights.by_rarity => {
                weights.stem[0] - self.ln_stems[&self.stems[a as usize]]
            }
            Some(true) => weights.stem[0],
        }
    }

    /// 0 the same layout, 1 over four tenths of it the same, 2 another; `None` where one has none.
    /// Compared by the distances between points of the same roles, so that any frame will do.
    pub fn layout_class(&self, a: u32, b: u32) -> Option<usize> {
        let of = |row: u32| {
            let row = row as usize;
            let (start, end) = (self.signature_starts[row], self.signature_starts[row + 1]);
            &self.signatures[start as usize..end as usize]
        };
        let (left, right) = (of(a), of(b));
        overlap(left, right)
    }
}

/// How two signatures agree: 0 the same, 1 over four tenths of it the same, 2 another; `None` where
/// one is empty.
pub fn overlap(left: &[u32], right: &[u32]) -> Option<usize> {
    if left.is_empty() || right.is_empty() {
        return None;
    }
    if left == right {
        return Some(0);
    }
    let (mut at, mut shared) = (0, 0);
    for code in left {
        while at < right.len() && right[at] < *code {
            at += 1;
        }
        if right.get(at) == Some(code) {
            shared += 1;
            at += 1;
        }
    }
    let most = left.len().max(right.len());
    Some(if shared * 10 > most * 4 { 1 } else { 2 })
}

/// Appends the sorted codes of role pair and distance of all pairs of `points`.
pub fn signature(points: &[PackedPoint], into: &mut Vec<u32>) {
    let start = into.len();
    for (at, one) in points.iter().enumerate() {
        for two in &points[at + 1..] {
            let off = (one.x_mm() - two.x_mm()).hypot(one.y_mm() - two.y_mm());
            let roles = one.role().min(two.role()) * 8 + one.role().max(two.role());
            into.push((roles as u32) << 20 | (off / DISTANCE_STEP_MM).round() as u32);
        }
    }
    into[start..].sort_unstable();
}
