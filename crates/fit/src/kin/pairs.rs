//! Which pairs of rows are worth comparing? Those that share three rare values, or a stem.

use std::collections::HashMap;

use rayon::prelude::*;

use super::frame::{Frame, GAP};
use super::lend::neighbours;
use super::{ODDS_MIN, Weights};

/// Rows that share a key are compared with each other only while they are so few: a key shared
/// by more says nothing.
const BLOCK_MAX: usize = 60;
/// The same in a large kind, where chance fills the blocks.
const BLOCK_MAX_LARGE: usize = 25;
const LARGE: usize = 150_000;
/// Columns that make keys, the ones with most values first. Relatives share most of their values,
/// so that nearly every pair of them shares three of these.
const KEY_COLUMNS: usize = 14;
/// A row in a crowded kind has many faint relatives; the likeliest of them tell all there is.
const RELATIVES_MAX: usize = 8;
/// Candidates are kept a little below the odds that count, since the odds are not learnt yet.
const SLACK: f32 = 4.0;

/// All pairs that are likely enough: for few rows.
pub fn all(frame: &Frame, weights: &Weights) -> Vec<(u32, u32, f32)> {
    let rows = frame.rows as u32;
    (0..rows).flat_map(|a| (a + 1..rows).filter_map(move |b| frame.kept(weights, a, b))).collect()
}

/// The candidates that are likely enough under what was learnt, and among the likeliest of one of
/// their two rows.
pub fn worth_keeping(
    frame: &Frame,
    weights: &Weights,
    candidates: &[(u32, u32)],
) -> Vec<(u32, u32, f32)> {
    let likely: Vec<_> =
        candidates.par_iter().filter_map(|&(a, b)| frame.kept(weights, a, b)).collect();
    let near = neighbours(frame.rows, &likely);
    let reach: Vec<f32> =
        (0..frame.rows as u32).into_par_iter().map(|row| reach(near.of(row))).collect();
    let among = |row: u32, odds: f32| odds >= reach[row as usize];
    likely.into_iter().filter(|&(a, b, odds)| among(a, odds) || among(b, odds)).collect()
}

/// The log odds that a relative must reach to be among the [`RELATIVES_MAX`] likeliest of a row.
pub fn reach(relatives: &[(u32, f32)]) -> f32 {
    let mut odds: Vec<f32> = relatives.iter().map(|relative| relative.1).collect();
    if odds.len() <= RELATIVES_MAX {
        return f32::NEG_INFINITY;
    }
    *odds.select_nth_unstable_by(RELATIVES_MAX - 1, |a, b| b.total_cmp(a)).1
}

/// The pairs that share three key values (two where there are few columns) or a stem, each once,
/// as far as they are likely under the first guess. Pairs are judged as they come and never held
/// all at once.
pub fn from_blocks(frame: &Frame, guess: &Weights) -> Vec<(u32, u32)> {
    let columns = key_columns(frame);
    let size = if frame.width <= 7 { 2 } else { 3 };
    let keys = choices(columns.len(), size);
    let mut found: Vec<(u32, u32)> = keys
        .par_iter()
        .filter(|key| key.iter().any(|at| frame.scales[columns[*at]]))
        .flat_map_iter(|key| of_key(frame, guess, &columns, key))
        .collect();
    found.extend(of_stems(frame, guess, &columns, size));
    found.par_sort_unstable();
    found
}

/// Columns measured along a scale first, then by number of values.
fn key_columns(frame: &Frame) -> Vec<usize> {
    let mut columns: Vec<usize> = (0..frame.width).collect();
    columns.sort_by_key(|at| std::cmp::Reverse((frame.scales[*at], frame.values[*at].len())));
    columns.truncate(KEY_COLUMNS);
    columns
}

/// All ways to choose `size` of `count` places, each ascending.
fn choices(count: usize, size: usize) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = (0..count).map(|at| vec![at]).collect();
    for _ in 1..size {
        all = all
            .into_iter()
            .flat_map(|key| {
                let last = key[key.len() - 1];
                (last + 1..count).map(move |at| [&key[..], &[at]].concat())
            })
            .collect();
    }
    all
}

fn of_key(frame: &Frame, guess: &Weights, columns: &[usize], key: &[usize]) -> Vec<(u32, u32)> {
    let mut keyed: Vec<(u64, u32)> = (0..frame.rows as u32)
        .filter_map(|row| {
            let codes = frame.row(row);
            let mix = |sum: u64, at: &usize| {
                let code = codes[columns[*at]];
                (code != GAP).then(|| {
                    (sum ^ u64::from(code)).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(29)
                })
            };
            Some((key.iter().try_fold(0, mix)?, row))
        })
        .collect();
    keyed.sort_unstable();
    let most = if frame.rows > LARGE { BLOCK_MAX_LARGE } else { BLOCK_MAX };
    let mut found = Vec::new();
    for block in keyed.chunk_by(|a, b| a.0 == b.0).filter(|block| (2..=most).contains(&block.len()))
    {
        for (at, (_, a)) in block.iter().enumerate() {
            for (_, b) in &block[at + 1..] {
                if is_first_key(frame, columns, key, *a, *b) && likely(frame, guess, *a, *b) {
                    found.push((*a, *b));
                }
            }
        }
    }
    found
}

/// Whether `key` is the first that the two rows share, so that each pair comes up once.
fn is_first_key(frame: &Frame, columns: &[usize], key: &[usize], a: u32, b: u32) -> bool {
    let (left, right) = (frame.row(a), frame.row(b));
    let last = key[key.len() - 1];
    (0..=last).all(|at| {
        let column = columns[at];
        let equal = left[column] == right[column] && left[column] != GAP;
        equal == key.contains(&at)
    })
}

fn likely(frame: &Frame, guess: &Weights, a: u32, b: u32) -> bool {
    frame.odds(guess, a, b).0 as f32 > ODDS_MIN - SLACK
}

/// The pairs that share a stem and too few key values to have come up already.
fn of_stems(frame: &Frame, guess: &Weights, columns: &[usize], size: usize) -> Vec<(u32, u32)> {
    let mut by_stem: HashMap<u64, Vec<u32>> = HashMap::new();
    for (row, stem) in frame.stems.iter().enumerate().filter(|(_, stem)| **stem != 0) {
        by_stem.entry(*stem).or_default().push(row as u32);
    }
    let mut found = Vec::new();
    for block in by_stem.values().filter(|block| (2..=BLOCK_MAX).contains(&block.len())) {
        for (at, a) in block.iter().enumerate() {
            for b in &block[at + 1..] {
                let (left, right) = (frame.row(*a), frame.row(*b));
                let equal = |c: &&usize| left[**c] == right[**c] && left[**c] != GAP;
                if columns.iter().filter(equal).count() < size && likely(frame, guess, *a, *b) {
                    found.push((*a, *b));
                }
            }
        }
    }
    found
}
