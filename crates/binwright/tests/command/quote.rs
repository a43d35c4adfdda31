//! The bench's second half: a repair option is quoted, held, taken, issued, tested and learnt from.

use serde_json::Value;

use crate::bench::{Bench, list, text};

const SHORTED: [&str; 6] =
    ["alternator", "charge-voltage=low", "ripple=high", "bplus-to-case=one", "--unit", "AU-1112"];
const PASSED: [&str; 5] =
    ["charge-voltage=in-range", "ripple=low", "drain=normal", "spin=smooth", "full-field=full"];

fn made(bench: &Bench, more: &[&str]) -> Value {
    let line = [&["quote", "make"], &SHORTED[..], &["--cover", "1", "--customer", "Berta"], more];
    bench.json(&line.concat())
}

/// The option that takes a plate out of a bin.
fn plate_option(bench: &Bench) -> (String, Value) {
    let found = bench.json(&[&["bench"], &SHORTED[..]].concat());
    let in_bin = |option: &&Value| {
        let take = &option["takes"][0];
        take["part"] == "RP-1131C" && !list(&take["from"]).is_empty()
    };
    let option = list(&found["repair"]["options"]).iter().find(in_bin).unwrap().clone();
    (option["name"].as_str().unwrap().to_owned(), option)
}

/// Pieces that may be sold, over all bins.
fn free(bench: &Bench, part: &str) -> i64 {
    let card = bench.json(&["show", part]);
    let lines = list(&card[0]["stock"]).iter().filter(|line| line["condition"] != "core");
    lines.map(|line| line["free"].as_f64().unwrap().round() as i64).sum()
}

fn amount(money: &Value) -> i64 {
    money["amount"].as_str().unwrap().replace('.', "").parse().unwrap()
}

#[test]
fn a_quote_adds_up_holds_its_stock_and_lets_it_go() {
    let bench = Bench::with_samples();
    let settings =
        "[quoting]\nlabour_hour = \"72.00\"\n[quoting.tax_percent]\npart = 19\nlabour = 7\n";
    std::fs::write(bench.path("shop").join("settings.toml"), settings).unwrap();
    let (cover, option) = plate_option(&bench);
    let before = free(&bench, "RP-1131C");
    assert_eq!(cover, "1", "the plate in the bin is the cheapest");
    let quote = made(&bench, &[]);
    assert_eq!(quote["number"], "Q-0001");
    assert_eq!(quote["state"], "open");
    assert_eq!(amount(&quote["total"]), amount(&option["total"]), "the price that was shown");
    let sum = |of: &str| list(&quote["lines"]).iter().map(|line| amount(&line[of])).sum::<i64>();
    assert_eq!(sum("net"), amount(&quote["net"]));
    assert_eq!(sum("tax"), amount(&quote["tax"]));
    assert_eq!(
        amount(&quote["net"]) + amount(&quote["tax"]) + amount(&quote["rounding"]),
        amount(&quote["total"])
    );
    let labour = list(&quote["lines"]).iter().find(|line| line["class"] == "labour").unwrap();
    assert_eq!(amount(&labour["net"]), 5400, "45 minutes at 72.00 an hour");
    assert_eq!(free(&bench, "RP-1131C"), before - 1);
    let said = text(&bench.run(&["quote", "show", "Q-0001"]).stdout);
    for words in ["held ", "CAUTION", "local law decides", "mind ", "Berta", "total"] {
        assert!(said.contains(words), "`{words}` is missing in\n{said}");
    }
    assert!(bench.run(&["quote", "drop", "1", "--why", "too dear"]).status.success());
    assert_eq!(free(&bench, "RP-1131C"), before);
    assert!(bench.run(&["check"]).status.success());
}

#[test]
fn a_dry_run_makes_nothing() {
    let bench = Bench::with_samples();
    let quote = made(&bench, &["--dry-run"]);
    assert_eq!(quote["number"], "Q-0001");
    assert_eq!(bench.run(&["quote", "list"]).status.code(), Some(1), "there are none");
    let wrong = bench.run(&[&["quote", "make"], &SHORTED[..], &["--cover", "9"]].concat());
    assert_eq!(wrong.status.code(), Some(1));
    assert!(text(&wrong.stderr).contains("There are 1"), "{}", text(&wrong.stderr));
}

/// A dry run tells of the quote as the step would leave it, and leaves it as it is.
#[test]
fn every_step_of_a_job_can_be_tried_first() {
    let bench = Bench::with_samples();
    let tried = made(&bench, &["--dry-run"]);
    let quote = made(&bench, &[]);
    assert_eq!((&tried["holds"], &tried["to_order"]), (&quote["holds"], &quote["to_order"]));
    assert_eq!((&tried["dry_run"], &quote["dry_run"]), (&true.into(), &false.into()));
    let steps: [(&[&str], &str); 4] = [
        (&["accept", "1"], "accepted"),
        (&["issue", "1"], "issued"),
        (&["close", "1", "--anyway", "no vehicle here", "--fault", "unknown"], "closed"),
        (&["drop", "1", "--why", "too dear"], "dropped"),
    ];
    for (at, (step, state)) in steps.iter().enumerate() {
        let step = [&["quote"], *step].concat();
        if *state == "dropped" {
            made(&bench, &[]);
        }
        let number = if *state == "dropped" { "Q-0002" } else { "Q-0001" };
        let step: Vec<&str> = step.iter().map(|w| if *w == "1" { number } else { w }).collect();
        let before = bench.json(&["quote", "show", number]);
        let tried = bench.json(&[&step[..], &["--dry-run"]].concat());
        assert_eq!((&tried["state"], &tried["dry_run"]), (&(*state).into(), &true.into()), "{at}");
        assert_eq!(bench.json(&["quote", "show", number]), before, "{state}");
        let said = text(&bench.run(&[&step[..], &["--dry-run"]].concat()).stdout);
        assert!(said.contains("dry run: nothing was written"), "{said}");
        assert_eq!(bench.json(&step)["state"], *state);
    }
}

#[test]
fn a_revision_may_take_the_stock_its_quote_holds() {
    let bench = Bench::with_samples();
    // The regulator that is worth changing too has no price among the samples.
    let none = made(&bench, &["--while-in-there", "--dry-run"]);
    let why =
        "nothing comes along while in there: RG-1120B, BK-1190A have no price in list `counter`";
    assert_eq!(none["beside"]["left_out"], why);
    let price = bench.file("price.csv", "part,list,amount,currency\nRG-1120B,counter,38.00,EUR\n");
    assert!(bench.run(&["import", &price]).status.success());
    let first = made(&bench, &[]);
    let again = bench.json(&["quote", "revise", "Q-0001", "--while-in-there"]);
    assert_eq!((&again["revision"], &again["customer"]), (&2.into(), &"Berta".into()));
    assert_eq!(again["lines"][0], first["lines"][0], "the same part at the same price");
    assert!(list(&again["lines"]).len() > list(&first["lines"]).len(), "and what came along");
    let bins = |quote: &Value| list(&quote["holds"])[0]["bin"].clone();
    assert_eq!(bins(&again), bins(&first));
    let third = bench.json(&["quote", "revise", "Q-0001", "spin=smooth"]);
    assert_eq!(list(&third["before"]).len(), list(&first["before"]).len() + 1, "one more reading");
}

#[test]
fn a_job_is_issued_tested_and_closed_and_the_next_one_learns() {
    let bench = Bench::with_samples();
    made(&bench, &[]);
    let held = list(&bench.json(&["quote", "show", "1"])["holds"]).len();
    assert_eq!(bench.run(&["quote", "issue", "1"]).status.code(), Some(1), "not taken yet");
    let job = bench.json(&["quote", "accept", "1"]);
    assert_eq!(job["state"], "accepted");
    assert_eq!(job["holds"][0]["until"], Value::Null, "until it is issued");
    let issued = bench.json(&["quote", "issue", "1", "--who", "Ann"]);
    assert_eq!((&issued["state"], list(&issued["holds"]).len()), (&"issued".into(), 0));
    let said = text(&bench.run(&["quote", "show", "1"]).stdout);
    let movement = &list(&issued["issues"])[0]["movement"];
    for words in [format!("out of A1-05, movement {movement}"), format!("stock undo {movement}")] {
        assert!(said.contains(&words), "`{words}` is missing in\n{said}");
    }
    let moved = text(&bench.run(&["stock", "history", "--reference", "Q-0001"]).stdout);
    assert_eq!(moved.lines().count(), held, "a movement a hold:\n{moved}");

    let short = bench.run(&["quote", "close", "1", "ripple=low"]);
    assert_eq!(short.status.code(), Some(1));
    for words in ["`drain=normal` was not read", "CAUTION", "--anyway"] {
        assert!(text(&short.stderr).contains(words), "`{words}`: {}", text(&short.stderr));
    }
    let bad = [&["quote", "close", "1"], &PASSED[..1], &["ripple=high"], &PASSED[2..]].concat();
    assert!(text(&bench.run(&bad).stderr).contains("ripple is high"));
    let unsaid = bench.run(&[&["quote", "close", "1"], &PASSED[..]].concat());
    assert_eq!(unsaid.status.code(), Some(1));
    for words in ["which fault was truly found is not said", "bench faults alternator", "unknown"] {
        assert!(text(&unsaid.stderr).contains(words), "`{words}`: {}", text(&unsaid.stderr));
    }
    let found = ["--fault", "diode-shorted"];
    let closed = bench.json(&[&["quote", "close", "1"], &PASSED[..], &found].concat());
    assert_eq!((&closed["state"], list(&closed["closing"]).len()), (&"closed".into(), 5));

    // One job beside 200: the prior of 0.07 becomes (0.07 · 200 + 1) / 201.
    let learnt = bench.json(&["bench", "learnt"]);
    assert_eq!(learnt["jobs"], 1);
    let prior = list(&learnt["moved"][0][1])
        .iter()
        .find(|moved| moved["fault"] == "diode-shorted" && moved["outcome"] == Value::Null)
        .unwrap();
    let after = prior["after"].as_f64().unwrap();
    assert!((after - 15.0 / 201.0).abs() < 1e-9, "{after}");
    let shown = |bench: &Bench| {
        bench.json(&[&["bench"], &SHORTED[..]].concat())["findings"][0]["probability"].clone()
    };
    let with = shown(&bench);
    std::fs::write(bench.path("shop").join("settings.toml"), "[learning]\non = false\n").unwrap();
    let without = shown(&bench);
    assert!(with.as_f64() > without.as_f64(), "{with} {without}");
    assert_eq!(bench.json(&["bench", "learnt"])["jobs"], 0);
}

#[test]
fn a_job_may_be_closed_against_its_test_when_it_says_why() {
    let bench = Bench::with_samples();
    made(&bench, &[]);
    for step in ["accept", "issue"] {
        assert!(bench.run(&["quote", step, "1"]).status.success(), "{step}");
    }
    let why = "customer has no vehicle here";
    let closed = bench.json(&["quote", "close", "1", "--anyway", why, "--fault", "unknown"]);
    assert_eq!(closed["note"], why);
    let said = text(&bench.run(&["quote", "show", "1"]).stdout);
    assert!(said.contains("this job teaches nothing"), "{said}");
    assert_eq!(bench.json(&["bench", "learnt"])["jobs"], 0, "no fault was named");
}

#[test]
fn quotes_are_made_line_by_line() {
    let bench = Bench::with_samples();
    let unit = r#"{"id":"a","machine":"alternator","unit":"AU-1112","readings":["B-09=one","B-06=high"],"cover":"1","customer":"C-7"}"#;
    let file = bench.file(
        "quotes.jsonl",
        &format!("{unit}\n{{\"id\":\"b\",\"machine\":\"starter\",\"cover\":\"7\"}}\n"),
    );
    let done = bench.run(&["quote", "make", "--batch", &file]);
    assert_eq!(done.status.code(), Some(1), "one line could not be answered");
    let said = text(&done.stdout);
    let lines: Vec<Value> = said.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    assert_eq!((&lines[0]["id"], &lines[1]["id"]), (&"a".into(), &"b".into()));
    assert_eq!(lines[0]["customer"], "C-7");
    assert_eq!(list(&bench.json(&["quote", "list", "open"])).len(), 1);
}
