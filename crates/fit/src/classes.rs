//! Which rows answer as one: interchangeable, or identical in everything known?

use std::{collections::HashMap, hash::Hasher, iter};

use crate::{
    column::{ByMix, Column, Mix},
    layouts::Layouts,
};

/// Rows of which less than this is known are not called identical.
const KNOWN_MIN: u8 = 3;

/// Rows that answer as one.
#[derive(Debug)]
pub(crate) struct Classes {
    /// The next row of each row's class, the first after the last; a row alone is its own.
    next: Vec<u32>,
    /// Rows of the largest class.
    pub largest: usize,
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
        let mut next: Vec<u32> = (0..n as u32).collect();
        let mut sizes = vec![1; n];
        for row in 0..n as u32 {
            let first = find(&mut of_row, row);
            if first != row {
                sizes[first as usize] += 1;
                next.swap(first as usize, row as usize);
            }
        }
        Self { next, largest: sizes.into_iter().max().unwrap_or(1) }
    }

    /// Whether no other row answers with `row`.
    pub fn is_alone(&self, row: u32) -> bool {
        self.next[row as usize] == row
    }

    /// All rows of the class of `row`, it first.
    pub fn rows(&self, row: u32) -> impl Iterator<Item = u32> {
        let next = move |known: &u32| Some(self.next[*known as usize]).filter(|next| *next != row);
        iter::successors(Some(row), next)
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
