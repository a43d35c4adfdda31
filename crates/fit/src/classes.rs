//! Which rows answer as one: interchangeable, or identical in everything known?

use std::{collections::HashMap, hash::Hasher};

use crate::{
    column::{ByMix, Column, Mix},
    layouts::Layouts,
};

/// Rows of which less than this is known are not called identical.
const KNOWN_MIN: u8 = 3;

/// Rows that answer as one.
#[derive(Debug)]
pub(crate) struct Classes {
    /// The first row of each row's class.
    pub of_row: Vec<u32>,
    /// All rows of the classes of more than one.
    rows: HashMap<u32, Vec<u32>, ByMix>,
}

impl Classes {
    pub fn new(groups: &[u64], columns: &[Column], layouts: &Layouts) -> Self {
        let n = groups.len();
        let mut of_row: Vec<u32> = (0..n as u32).collect();
        join(&mut of_row, groups.iter().map(|group| Some(*group)));
        let (hashes, known) = hash_rows(n, columns, layouts);
        let identical =
            hashes.iter().zip(&known).map(|(hash, known)| (*known >= KNOWN_MIN).then_some(*hash));
        join(&mut of_row, identical);
        let mut rows: HashMap<u32, Vec<u32>, ByMix> = HashMap::default();
        for row in 0..n as u32 {
            let first = find(&mut of_row, row);
            of_row[row as usize] = first;
            if first != row {
                rows.entry(first).or_insert_with(|| vec![first]).push(row);
            }
        }
        Self { of_row, rows }
    }

    /// All rows of the class of `row`.
    pub fn rows(&self, row: u32) -> &[u32] {
        // A row alone is its own first.
        let single = || &self.of_row[row as usize..=row as usize];
        self.rows.get(&self.of_row[row as usize]).map_or_else(single, Vec::as_slice)
    }

    /// How many classes `rows` belong to.
    pub fn count(&self, rows: &[u32]) -> usize {
        let mut firsts: Vec<u32> = rows.iter().map(|row| self.of_row[*row as usize]).collect();
        firsts.sort_unstable();
        firsts.dedup();
        firsts.len()
    }
}

/// A hash of everything known of each row, and how much that is.
fn hash_rows(n: usize, columns: &[Column], layouts: &Layouts) -> (Vec<u64>, Vec<u8>) {
    let mut hashes = vec![Mix::default(); n];
    let mut known = vec![0_u8; n];
    for column in columns {
        column.stir(&mut hashes, &mut known);
    }
    let none = layouts.len() as u32;
    for (row, (hash, known)) in hashes.iter_mut().zip(&mut known).enumerate() {
        let layout = layouts.of_row[row];
        hash.write_u64(u64::from(layout));
        *known = known.saturating_add(if layout == none { 0 } else { KNOWN_MIN });
    }
    (hashes.iter().map(Hasher::finish).collect(), known)
}

/// Joins the classes of rows with equal keys; a row without a key is left alone.
fn join(of_row: &mut [u32], keys: impl Iterator<Item = Option<u64>>) {
    let mut firsts: HashMap<u64, u32, ByMix> =
        HashMap::with_capacity_and_hasher(of_row.len(), ByMix::default());
    for (row, key) in keys.enumerate() {
        let Some(key) = key else { continue };
        let first = *firsts.entry(key).or_insert(row as u32);
        if first != row as u32 {
            let (a, b) = (find(of_row, first), find(of_row, row as u32));
            of_row[a.max(b) as usize] = a.min(b);
        }
    }
}

fn find(of_row: &mut [u32], mut row: u32) -> u32 {
    while of_row[row as usize] != row {
        of_row[row as usize] = of_row[of_row[row as usize] as usize];
        row = of_row[row as usize];
    }
    row
}
