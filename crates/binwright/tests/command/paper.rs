//! Does the command put the right things on paper? What is drawn is measured in `binwright-print`;
//! here it is asked whether the shop's own parts, bins and orders get there.

use std::fs;
use std::io::Write as _;
use std::process::Command;

use crate::bench::{Bench, text};

/// Whether the other program is here that reads a PDF (`pdftotext` of poppler); what is asked of one
/// is passed over where it is not.
fn can_read() -> bool {
    let here = Command::new("pdftotext").arg("-v").output().is_ok();
    if !here {
        // Past the harness, which keeps to itself what a passing test prints.
        std::io::stderr()
            .write_all(b"no poppler here: what is printed is not read back\n")
            .unwrap();
    }
    here
}

/// The text of a PDF, read by another program.
fn read(path: &str) -> String {
    let done = Command::new("pdftotext").args([path, "-"]).output().unwrap();
    assert!(done.status.success(), "{}", text(&done.stderr));
    text(&done.stdout)
}

#[test]
fn an_outline_names_the_part_its_points_and_its_mirror_twin() {
    if !can_read() {
        return;
    }
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
fn a_plate_of_another_size_is_no_mirror_twin() {
    if !can_read() {
        return;
    }
    let bench = Bench::with_samples();
    let file = bench.path("plate.pdf").display().to_string();
    assert!(bench.run(&["paper", "outline", "RP-1107B", "--out", &file]).status.success());
    let words = read(&file);
    assert!(words.contains("RP-1107B") && !words.contains("RP-1907A"), "{words}");
}

#[test]
fn labels_of_parts_and_bins_come_on_the_sheet_that_was_named() {
    if !can_read() {
        return;
    }
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

/// x and y of the circles of that diameter on a page of SVG.
fn circles(svg: &str, diameter_mm: f64) -> Vec<[f64; 2]> {
    let number = |tag: &str, key: &str| -> f64 {
        let from = tag.split(&format!(" {key}=\"")).nth(1).expect(key);
        from.split('"').next().unwrap().parse().unwrap()
    };
    let tags = svg.split("<circle").skip(1).map(|tag| format!(" {}", tag.trim_start()));
    tags.filter(|tag| (2.0 * number(tag, "r") - diameter_mm).abs() < 1e-6)
        .map(|tag| [number(&tag, "cx"), number(&tag, "cy")])
        .collect()
}

/// The second part is the first turned by a quarter about its zero and shifted by (10, 5): what stood at
/// (x, y) stands at (10 − y, 5 + x).
#[test]
fn candidates_are_laid_on_one_another_wherever_their_zero_is() {
    let bench = Bench::with_samples();
    let rows = "number,kind,layout\n\
                ZZ-1,rectifier-plate,\"hole@0,0/6.2; hole@92,0/6.2; stud:B+@30,40/M8\"\n\
                ZZ-2,rectifier-plate,\"hole@10,5/6.2; hole@10,97/6.2; stud:B+@-30,35/M8\"\n";
    let file = bench.file("parts.csv", rows);
    assert!(bench.run(&["import", &file]).status.success());
    let out = bench.path("both.svg").display().to_string();
    let done = bench.run(&["paper", "outline", "ZZ-1", "ZZ-2", "--out", &out]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let svg = fs::read_to_string(&out).unwrap();
    assert!(svg.contains("Turned by -90.0° and shifted by -5.0, 10.0 mm"), "{svg}");
    let holes = circles(&svg, 6.2);
    assert_eq!(holes.len(), 4, "two of each");
    for [x, y] in &holes[..2] {
        let near = |[u, v]: &&[f64; 2]| (u - x).hypot(v - y) < 0.02;
        assert_eq!(holes[2..].iter().filter(near).count(), 1, "{holes:?}");
    }
}

#[test]
fn a_job_goes_from_quote_to_ticket_and_pick_list_on_paper() {
    if !can_read() {
        return;
    }
    let bench = Bench::with_samples();
    let settings = "[shop]\nlogo = \"sign.png\"\naddress = [\"Mill Lane 3\"]\n";
    fs::write(bench.path("shop").join("settings.toml"), settings).unwrap();
    let file = bench.path("paper.pdf").display().to_string();
    let bring = ["alternator", "charge-voltage=low", "ripple=high", "bplus-to-case=one"];
    for (cover, customer) in [("1", "Berta"), ("2", "Berta")] {
        let make = ["--unit", "AU-1112", "--cover", cover, "--customer", customer];
        bench.json(&[&["quote", "make"], &bring[..], &make].concat());
    }
    let out = ["--out", &file, "--force"];
    let lost = bench.run(&[&["paper", "quote", "Q-0001"], &out[..]].concat());
    assert!(text(&lost.stderr).contains("sign.png"), "a logo that is not there is named");
    let logo = concat!(env!("CARGO_MANIFEST_DIR"), "/../print/tests/rendered/logo.png");
    fs::copy(logo, bench.path("shop").join("sign.png")).unwrap();
    let written = |line: &[&str]| {
        let done = bench.run(&[line, &out[..]].concat());
        assert!(done.status.success(), "{line:?}: {}", text(&done.stderr));
        read(&file)
    };
    let quote = written(&["paper", "quote", "Q-0001", "Q-0002"]);
    for words in ["Berta", "option 1", "option 2", "used-good", "Q-0002", "to pay", "Mill Lane 3"] {
        assert!(quote.contains(words), "`{words}` is missing in\n{quote}");
    }
    bench.json(&["quote", "accept", "Q-0001"]);
    let ticket = written(&["paper", "ticket", "Q-0001"]);
    let findings = bench.json(&[&["bench"], &bring[..]].concat());
    let leading = &findings["findings"][0];
    let why = leading["speaks_for"][0]["words"].as_str().unwrap();
    let first_word = why.split_whitespace().next().unwrap();
    for words in [
        "Findings",
        "Checks left",
        "before it goes out",
        "Parts",
        "fit 1 x RP-1",
        "Caution",
        first_word,
    ] {
        assert!(ticket.contains(words), "`{words}` is missing in\n{ticket}");
    }
    let pick = written(&["paper", "pick", "Q-1"]);
    assert!(pick.contains("RP-1131C"), "{pick}");
}

#[test]
fn counts_orders_and_old_parts_come_on_paper_with_every_line() {
    if !can_read() {
        return;
    }
    let bench = Bench::with_samples();
    let file = bench.path("paper.pdf").display().to_string();
    let written = |line: &[&str]| {
        let done = bench.run(&[line, &["--out", &file, "--force"]].concat());
        assert!(done.status.success(), "{line:?}: {}", text(&done.stderr));
        read(&file)
    };
    bench.json(&["count", "open", "--bin", "A2-04"]);
    let sheet = written(&["paper", "count", "1"]);
    assert!(sheet.contains("A2-04"), "{sheet}");
    let basket = ["order", "basket", "RP-1107A=4", "RP-1107C=3", "--draft"];
    let order = bench.json(&basket)["drafts"][0]["order"].as_str().unwrap().to_owned();
    let order = written(&["paper", "order", &order]);
    for words in ["RP-1107A", "RP-1107C", "Deliver to"] {
        assert!(order.to_lowercase().contains(&words.to_lowercase()), "`{words}` in\n{order}");
    }
    let owed = ["cores", "owe", "customer", "Ilka", "AL-112", "3", "--deposit", "100.00"];
    bench.json(&[&owed[..], &["--reference", "R-7"]].concat());
    let receipt = written(&["paper", "cores", "R-7"]);
    for words in ["Ilka", "AL-112", "100.00"] {
        assert!(receipt.contains(words), "`{words}` in\n{receipt}");
    }
    let nothing = bench.run(&["paper", "pick", "NONE", "--out", &file, "--force"]);
    assert_eq!(nothing.status.code(), Some(1));
}
