//! What is a row without a layout lent? The layouts of its relatives, as often as relatives share theirs.

use std::ops::RangeInclusive;

use super::frame::{overlap, signature};
use super::lend::Neighbours;
use super::{BINS, Kin, LentLayout, Weights, bin};
use crate::table::Table;

/// Relatives less likely than this lend no layout.
const ODDS_MIN: f32 = -2.0;
/// Layouts kept a row.
const KEPT: usize = 3;
/// Pairs looked at to learn how often relatives share a layout, at most.
const LEARNT_FROM: usize = 20_000;
/// Whatever was seen, a share stays within these.
const SHARES: RangeInclusive<f64> = 0.02..=0.95;

/// Returns what every row without a layout is lent.
pub fn lend(table: &Table, kin: &Kin, near: &Neighbours, weights: &Weights) -> Vec<LentLayout> {
    let shares = shares(table, kin, weights);
    let mut lent = Vec::new();
    let mut offers: Vec<(u32, f64)> = Vec::new();
    for row in (0..table.len() as u32).filter(|row| table.points_of(*row as usize).is_empty()) {
        offers.clear();
        let mut total = 1.0;
        for &(other, odds) in near.of(row).iter().filter(|relative| relative.1 > ODDS_MIN) {
            let points = table.points_of(other as usize);
            if points.is_empty() {
                continue;
            }
            let share = shares[bin(f64::from(odds))];
            let weight = share / (1.0 - share);
            total += weight;
            match offers.iter_mut().find(|offer| table.points_of(offer.0 as usize) == points) {
                Some(offer) => offer.1 += weight,
                None => offers.push((other, weight)),
            }
        }
        offers.sort_by(|a, b| b.1.total_cmp(&a.1));
        lent.extend(offers.iter().take(KEPT).map(|&(from, weight)| LentLayout {
            row,
            from,
            exact: (weight / total) as f32,
        }));
    }
    lent
}

/// By bin of the log odds without the layout: how often two relatives have the same one.
fn shares(table: &Table, kin: &Kin, weights: &Weights) -> [f64; BINS] {
    // One of five is seen before any is.
    let mut seen = [(1.0, 5.0); BINS];
    let (mut left, mut right) = (Vec::new(), Vec::new());
    let stride = kin.pairs.len().div_ceil(LEARNT_FROM).max(1);
    for &(a, b, odds) in kin.pairs.iter().step_by(stride) {
        let (a, b) = (table.points_of(a as usize), table.points_of(b as usize));
        left.clear();
        right.clear();
        signature(a, &mut left);
        signature(b, &mut right);
        // What the layouts say of the pair must not be known when they are foretold.
        if let Some(class) = overlap(&left, &right) {
            let (same, all) = &mut seen[bin(f64::from(odds) - weights.layout[class])];
            *all += 1.0;
            // Mirror images have the same distances, but are not the same.
            *same += f64::from(u8::from(a == b));
        }
    }
    seen.map(|(same, all)| f64::clamp(same / all, *SHARES.start(), *SHARES.end()))
}
