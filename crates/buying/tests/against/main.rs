//! Do the formulas give what published libraries and textbooks give? One module a reference table of
//! `tests/reference/`; each says where its numbers come from.

mod classical;
mod economic;
mod levels;
mod replenish;

use std::collections::HashMap;

/// One row of a reference table by its headers.
struct Row(HashMap<String, String>);

impl Row {
    fn text(&self, column: &str) -> &str {
        &self.0[column]
    }

    /// The number in a column; `None` when the cell is empty.
    fn number(&self, column: &str) -> Option<f64> {
        let cell = self.text(column);
        (!cell.is_empty()).then(|| cell.parse().expect("a number in the reference table"))
    }

    fn must(&self, column: &str) -> f64 {
        self.number(column).expect("a cell that is filled in every such row")
    }

    /// The numbers of a cell, parted by semicolons.
    fn numbers(&self, column: &str) -> Vec<f64> {
        self.text(column).split(';').map(|cell| cell.parse().expect("a number")).collect()
    }
}

fn rows(table: &str) -> Vec<Row> {
    let path = format!("{}/../../tests/reference/{table}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).expect("the reference table");
    reader.deserialize().map(|row| Row(row.expect("a row of the table"))).collect()
}

/// Compares relative to the larger of one and the wanted value.
#[track_caller]
fn close(what: &str, found: f64, wanted: f64, tolerance: f64) {
    let off = (found - wanted).abs() / wanted.abs().max(1.0);
    assert!(off <= tolerance, "{what}: {found} where {wanted} is right, off by {off:e}");
}
