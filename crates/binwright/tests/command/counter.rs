//! The counter's job: which part is this, what does it cross to, where does it lie?

use serde_json::Value;

use crate::bench::{Bench, PLATE, POINTS, list, text};

#[test]
fn the_demo_walks_from_a_measured_plate_to_its_bin_and_price() {
    let bench = Bench::empty();
    let dir = bench.path("demo").display().to_string();
    let done = bench.run(&["demo", "--dir", &dir]);
    assert!(done.status.success(), "{}", text(&done.stderr));
    let said = text(&done.stdout);
    let told = ["RP-1107C", "WRONG HAND", "replaced by RP-1131C", "A2-04 new 3 free", "46.90 EUR"];
    for words in told {
        assert!(said.contains(words), "`{words}` is missing in\n{said}");
    }
    assert!(!said.contains('\x1b'), "no colour into a pipe");
    let again = bench.run(&["demo", "--dir", &dir]);
    assert_eq!(again.status.code(), Some(1), "a folder in use is left alone");
}

#[test]
fn the_points_tell_a_plate_from_its_mirror_image() {
    let bench = Bench::with_samples();
    let by_caliper = bench.json(&PLATE);
    let chance = |candidate: &Value| candidate["probability"].as_f64().unwrap();
    let first = chance(&by_caliper["candidates"][0]);
    assert!(first < 0.6, "calipers cannot decide between the two hands: {first}");
    let all: f64 = list(&by_caliper["candidates"]).iter().map(chance).sum();
    assert!(all + by_caliper["none"].as_f64().unwrap() <= 1.0 + 1e-9);

    let line = [&PLATE[..], &["--layout", POINTS]].concat();
    let by_points = bench.json(&line);
    let candidates = list(&by_points["candidates"]);
    assert_eq!(candidates[0]["number"], "RP-1107C");
    assert!(chance(&candidates[0]) > 0.8);
    let mirror = candidates.iter().find(|c| c["number"] == "RP-1107A").unwrap();
    assert_eq!(mirror["wrong_hand"], true);
}

#[test]
fn a_reading_far_outside_the_kind_is_to_be_taken_again() {
    let bench = Bench::with_samples();
    for reading in ["outline_od=900", "outline_od=5", "phase_lugs=40"] {
        let found = bench.json(&["fit", "rectifier-plate", reading]);
        let (measure, taken) = reading.split_once('=').unwrap();
        assert_eq!(found["far"][0]["measure"], measure, "{found}");
        assert_eq!(found["far"][0]["taken"], taken);
        let said = text(&bench.run(&["fit", "rectifier-plate", reading]).stdout);
        assert!(said.contains("read it again") && !said.contains(" likely, none"), "{said}");
    }
    assert_eq!(bench.json(&["fit", "bearing", "bore=500"])["far"][0]["unit"], "mm");
    for well in ["phase_lugs=5", "outline_od=112.1"] {
        assert_eq!(bench.json(&["fit", "rectifier-plate", well])["far"], Value::Null, "{well}");
    }
    for (line, told) in [
        (["fit", "rectifier-plate", "outline_od=-3"], "is no length"),
        (["fit", "rectifier-plate", "outline_od=0"], "is no length"),
        (["find", "RP-1107C", "--limit=0"], "from 1 on"),
    ] {
        let refused = bench.run(&line);
        assert!(!refused.status.success() && text(&refused.stderr).contains(told), "{line:?}");
    }
}

#[test]
fn a_point_without_a_match_is_named() {
    let bench = Bench::with_samples();
    let layout = "hole@0,0/6.2; hole@92.1,0/6.2; stud:B+@46,31.5/M8";
    let line = ["fit", "rectifier-plate", "phase_lugs=4", "outline_od=112.1", "--layout", layout];
    let found = bench.json(&line);
    let candidates = list(&found["candidates"]);
    let plate = candidates.iter().find(|c| c["number"] == "RP-1107C").unwrap();
    let points = &plate["layout_points"];
    assert_eq!((&points["matched"], &points["taken"]), (&2.into(), &3.into()), "{points}");
    assert_eq!(points["unmatched"], serde_json::json!(["stud B+"]));
    let said = text(&bench.run(&line).stdout);
    assert!(said.contains("2 of 3 points within 0.05 mm; stud B+ has no match"), "{said}");
}

#[test]
fn a_miscounted_lug_still_finds_the_plate() {
    let bench = Bench::with_samples();
    let line = ["fit", "plate", "phase_lugs=5", "outline_od=112.1", "--layout", POINTS];
    let found = bench.json(&line);
    let numbers: Vec<_> = list(&found["candidates"]).iter().map(|c| &c["number"]).collect();
    assert!(numbers.iter().any(|number| **number == "RP-1107C"), "{numbers:?}");
}

#[test]
fn without_a_kind_every_kind_with_the_measures_is_weighed() {
    let bench = Bench::with_samples();
    let found = bench.json(&["fit", "bore=17", "od=40", "width=12"]);
    assert!(list(&found["kinds"]).iter().any(|kind| kind == "bearing"), "{}", found["kinds"]);
    assert_eq!(found["candidates"][0]["kind"], "bearing");
}

#[test]
fn worn_mistyped_and_partial_numbers_are_found() {
    let bench = Bench::with_samples();
    for (typed, house) in [
        ("rp 1131 c", "RP-1131C"),
        ("RP-1l31C", "RP-1131C"),
        ("RP-11?1C", "RP-1131C"),
        ("RP-1131*", "RP-1131C"),
        ("RP-1311C", "RP-1131C"),
        ("1131C", "RP-1131C"),
        ("166-2334", "RP-1131C"),
        ("17x40x12", "BG-174012"),
    ] {
        let found = bench.json(&["find", typed]);
        assert!(list(&found["hits"]).iter().any(|h| h["number"] == house), "{typed}: {found}");
    }
    assert_eq!(bench.run(&["find", "no such thing at all"]).status.code(), Some(1));
}

#[test]
fn a_batch_answers_line_by_line_and_goes_on_after_a_bad_one() {
    let bench = Bench::with_samples();
    let good = r#"{"id":"a","kind":"rectifier-plate","sd_mm":0.2,
        "measures":{"outline_od":112.1,"phase_lugs":4},
        "points":[["hole",0,0],["hole",92.1,0],["stud:B+",81.8,7.2]],"distances":[92.1]}"#;
    let inches = r#"{"id":"b","kind":"bearing","measures":{"bore":"17 mm","od":"1.5748 in"}}"#;
    let questions = format!("{}\nnot json\n{inches}\n", good.replace('\n', " "));
    let file = bench.file("questions.jsonl", &questions);
    let done = bench.run(&["fit", "--batch", &file]);
    assert_eq!(done.status.code(), Some(1), "one line could not be answered");
    let said = text(&done.stdout);
    let lines: Vec<Value> = said.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!(lines.len(), 3);
    assert_eq!(lines[0]["id"], "a");
    assert!(list(&lines[0]["candidates"]).len() >= 10);
    assert!(lines[0]["next"][0]["gain_bits"].as_f64().is_some());
    assert_eq!(lines[1]["line"], 2);
    assert_eq!(lines[2]["candidates"][0]["kind"], "bearing");
}

#[test]
fn a_units_bill_shows_what_is_free() {
    let bench = Bench::with_samples();
    let unit = bench.json(&["show", "AU-1112"]);
    let plate = list(&unit["bill"]).iter().find(|line| line["role"] == "rectifier").unwrap();
    assert_eq!((&plate["part"], &plate["free"]), (&"RP-1107C".into(), &0.0.into()));
}
