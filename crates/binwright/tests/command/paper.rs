//! Does the command put the right things on paper? What is drawn is measured in `binwright-print`;
//! here it is asked whether the shop's own parts, bins and orders get there.

use std::fs;
use std::process::Command;

use crate::bench::{Bench, text};

/// The text of a PDF, read by another program (`pdftotext` of poppler).
fn read(path: &str) -> String {
    let done = Command::new("pdftotext").args([path, "-"]).output();
    let done = done.expect("pdftotext of poppler-utils, which .ci/run installs");
    assert!(done.status.success(), "{}", text(&done.stderr));
    text(&done.stdout)
}

#[test]
fn an_outline_names_the_part_its_points_and_its_mirror_twin() {
    let bench = Bench::with_samples();
    let file = bench.path("plate.pdf").display().to_string();
    let line = ["paper", "outline", "RP-1107C", "--out", &file, "--day", "2026-11-02"];
    let done = bench.run(&line);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let words = read(&file);
    for word in ["RP-1107C", "RP-1107A", "100 mm", "4 in"] {
        assert!(words.contains(word), "`{word}` is missing:\n{words}");
    }
    assert_eq!(bench.run(&line).status.code(), Some(1), "a file that is there is kept");
    let first = fs::read(&file).unwrap();
    assert!(bench.run(&[&line[..], &["--force"]].concat()).status.success());
    assert_eq!(fs::read(&file).unwrap(), first, "the same input and day give the same bytes");
}

#[test]
fn labels_of_parts_and_bins_come_on_the_sheet_that_was_named() {
    let bench = Bench::with_samples();
    let file = bench.path("labels.pdf").display().to_string();
    let line = ["paper", "labels", "RP-1131C", "A2-04", "--out", &file, "--on", "a4-4x12"];
    let done = bench.run(&line);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let words = read(&file);
    assert!(words.contains("RP-1131C") && words.contains("A2-04"), "{words}");
    let refused = bench.run(&["paper", "labels", "RP-1131C", "--out", &file, "--on", "nope"]);
    assert!(text(&refused.stderr).contains("a4-3x8"), "the sheets are named");
    assert!(text(&bench.run(&["paper", "sheets"]).stdout).contains("single-60x30"));
}

#[test]
fn a_page_can_be_a_drawing_and_a_bad_correction_is_refused() {
    let bench = Bench::with_samples();
    let file = bench.path("plate.svg").display().to_string();
    assert!(bench.run(&["paper", "outline", "RP-1131C", "--out", &file]).status.success());
    // A file a page: the drawing, then what does not fit beside it.
    let first = [bench.path("plate.svg"), bench.path("plate-1.svg")];
    let first = first.iter().find(|path| path.exists()).expect("a first page");
    assert!(fs::read_to_string(first).unwrap().contains("<svg"));
    for (scale, code) in [("1.002,0.997", 0), ("2,1", 1), ("one", 1)] {
        let line = ["paper", "outline", "RP-1131C", "--out", "-", "--printer-scale", scale];
        assert_eq!(bench.run(&line).status.code(), Some(code), "{scale}");
    }
    let without = bench.run(&["paper", "outline", "BE-NONE", "--out", "-"]);
    assert_eq!(without.status.code(), Some(1));
}
