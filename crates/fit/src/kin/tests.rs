//! Families are found from the rows alone, and their values fill each other's gaps.

use binwright_catalog::{Kind, Kinds};

use super::*;
use crate::table::{PackedPoint, UNKNOWN};

/// A fixed sequence of numbers below one, so that a test sees the same rows every time.
struct Sequence(u64);

impl Sequence {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

fn kind() -> Kind {
    let kinds = Kinds::builtin().unwrap();
    kinds.get("rectifier-plate").unwrap().clone()
}

/// Families of `size`: siblings differ in two of their values, and every fifth value is a gap.
/// Returns the table and the values before gaps were made.
fn families(rows: usize, size: usize) -> (Table, Vec<Vec<f64>>) {
    let kind = kind();
    let mut draw = Sequence(7);
    let (mut table, mut whole) = (Table::new(&kind), Vec::new());
    let mut family: Vec<f64> = Vec::new();
    for row in 0..rows {
        if row.is_multiple_of(size) {
            family = kind.measures.iter().map(|_| (draw.next() * 60.0).round() + 10.0).collect();
        }
        let mut values = family.clone();
        for _ in 0..2 {
            let at = (draw.next() * values.len() as f64) as usize;
            values[at] += 1.5;
        }
        whole.push(values.clone());
        for value in &mut values {
            if draw.next() < 0.2 {
                *value = UNKNOWN;
            }
        }
        table.push(row as u64, row as u64, 0, &values, &[]);
    }
    (table, whole)
}

#[test]
fn families_are_found_from_the_rows_alone() {
    let (table, _) = families(2_000, 5);
    let (kin, _) = relatives(&kind(), &table);
    let likely: Vec<_> = kin.pairs.iter().filter(|pair| pair.2 > 0.0).collect();
    let right = likely.iter().filter(|pair| pair.0 / 5 == pair.1 / 5).count();
    let all = 2_000 / 5 * 10;
    assert!(right * 100 > all * 95, "{right} of {all} pairs of siblings are found");
    assert!(right * 100 > likely.len() * 95, "{right} of {} pairs are siblings", likely.len());
}

#[test]
fn a_gap_is_lent_what_its_family_has() {
    for rows in [200, 2_000] {
        let (table, whole) = families(rows, 5);
        let (kin, weights) = relatives(&kind(), &table);
        let lending = lend(&kind(), &table, &kin, &weights);
        let (mut right, mut all) = (0, 0);
        for (at, column) in lending.columns.iter().enumerate() {
            for (place, row) in column.rows.iter().enumerate() {
                let values = &column.values
                    [column.starts[place] as usize..column.starts[place + 1] as usize];
                let sum: f32 = values.iter().map(|lent| lent.exact + lent.near).sum();
                assert!((0.0..1.0).contains(&sum), "weights leave something to the kind: {sum}");
                let truth = whole[*row as usize][at];
                right +=
                    usize::from((values[0].value - truth).abs() < 0.01 && values[0].exact > 0.5);
                all += 1;
            }
        }
        assert!(all > rows, "{all} gaps are lent something");
        assert!(right * 100 > all * 80, "{right} of {all} gaps of {rows} rows are lent the truth");
    }
}

#[test]
fn a_row_without_a_layout_is_lent_that_of_its_family() {
    let (mut table, _) = families(2_000, 5);
    // Of each family the second sibling has no layout; the others have one of their own family.
    let mut points = Vec::new();
    table.point_starts = vec![0];
    for row in 0..table.len() {
        let family = (row / 5) as f64;
        if row % 5 != 1 {
            let text =
                format!("hole@0,0; hole@{},0; stud@7,{}", 20.0 + family / 10.0, 9.0 + family);
            points.extend(PackedPoint::pack(&text.parse().unwrap()));
        }
        table.point_starts.push(points.len() as u32);
    }
    table.points = points;
    let (kin, weights) = relatives(&kind(), &table);
    let lent = lend(&kind(), &table, &kin, &weights).layouts;
    let right = lent.iter().filter(|lent| lent.from / 5 == lent.row / 5 && lent.exact > 0.8);
    let right = right.count();
    assert!(right * 100 > 400 * 95, "{right} of 400 rows are lent their family's layout");
    for offers in lent.chunk_by(|a, b| a.row == b.row) {
        assert_eq!(offers[0].row % 5, 1, "only rows without a layout are lent one");
        assert!(offers.iter().map(|lent| lent.exact).sum::<f32>() < 1.0);
    }
}

#[test]
fn without_families_nothing_is_lent() {
    let (table, _) = families(2_000, 1);
    assert!(relatives(&kind(), &table).0.pairs.is_empty());
}

#[test]
fn of_a_large_family_only_the_likeliest_relatives_are_kept() {
    let (table, _) = families(2_000, 40);
    let (kin, weights) = relatives(&kind(), &table);
    assert!(kin.pairs.len() > 2_000 && kin.pairs.len() <= 8 * 2_000, "{}", kin.pairs.len());
    let again = relatives_of(&kind(), &table, &weights, &[42]).pairs.len();
    assert!((1..=10).contains(&again), "{again} relatives of one row, ties included");
}

#[test]
fn a_row_added_later_finds_the_same_relatives() {
    let (table, _) = families(1_000, 5);
    let (kin, weights) = relatives(&kind(), &table);
    let of = |pairs: &[(u32, u32, f32)]| -> Vec<(u32, u32)> {
        let near = pairs.iter().filter(|pair| pair.2 > 0.0 && (pair.0 == 42 || pair.1 == 42));
        let mut near: Vec<_> = near.map(|pair| (pair.0, pair.1)).collect();
        near.sort_unstable();
        near
    };
    let again = relatives_of(&kind(), &table, &weights, &[42]);
    assert_eq!(of(&again.pairs), of(&kin.pairs));
    assert!(!of(&kin.pairs).is_empty());
}

/// Forty thousand rows of twenty measures: what it takes. Run by hand, in release.
#[test]
#[ignore = "measures time"]
#[allow(clippy::disallowed_methods, reason = "it is a measurement")]
fn cost_of_forty_thousand_rows() {
    let (table, _) = families(40_000, 5);
    let start = std::time::Instant::now();
    let (kin, weights) = relatives(&kind(), &table);
    println!("relatives: {:?}, {} pairs", start.elapsed(), kin.pairs.len());
    let start = std::time::Instant::now();
    let lending = lend(&kind(), &table, &kin, &weights);
    println!("lend: {:?}, {} columns", start.elapsed(), lending.columns.len());
}
