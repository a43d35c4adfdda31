//! What is bought, and why: on imported history alone, and on the made-up shop.

use std::fmt::Write as _;

use crate::bench::{Bench, list, text};

/// A shop that has nothing but this history.
fn with_history(rows: &str) -> Bench {
    let bench = Bench::empty();
    assert!(bench.run(&["create"]).status.success());
    let done = bench.run(&["import", &bench.file("history.csv", rows)]);
    assert_eq!(done.status.code(), Some(0), "{}{}", text(&done.stdout), text(&done.stderr));
    bench
}

/// `part,month,quantity` for 24 months to 2026-10: level, falling to nothing, and now and then.
fn history() -> String {
    let mut rows = String::from("part,month,quantity\n");
    for month in 0..24 {
        let named = format!("{}-{:02}", 2024 + (10 + month) / 12, (10 + month) % 12 + 1);
        let falling = if month < 14 { 6 - month / 4 } else { 0 };
        let seldom = i32::from(month % 5 == 0);
        for (part, n) in [("LEVEL-1", 4), ("FALLS-1", falling), ("SELDOM-1", seldom)] {
            writeln!(rows, "{part},{named},{n}").unwrap();
        }
    }
    rows
}

#[test]
fn history_alone_is_advised_on() {
    let bench = with_history(&history());
    let line = ["buy", "advise", "--as-of", "2026-10-31", "--csv"];
    let csv = text(&bench.run(&line).stdout);
    let mut rows = csv.lines();
    let header = "part,forecast_per_month,reorder_point,order_up_to,class,method";
    assert_eq!(rows.next(), Some(header));
    let row = |part: &str| -> Vec<String> {
        let found = csv.lines().find(|row| row.starts_with(part)).unwrap();
        found.split(',').map(str::to_owned).collect()
    };
    assert_eq!(row("LEVEL-1")[4], "smooth");
    assert_eq!(row("SELDOM-1")[4], "intermittent");
    let level = |part: &str| row(part)[3].parse::<u64>().unwrap();
    // Four a month over two months: less than eight would not do, three times that is hoarding.
    assert!((8..=24).contains(&level("LEVEL-1")), "{csv}");
    assert!(level("FALLS-1") < level("LEVEL-1") / 2, "what fell is not hoarded: {csv}");
    let higher = ["buy", "advise", "--as-of", "2026-10-31", "--csv", "--service", "0.999"];
    assert!(text(&bench.run(&higher).stdout) != csv, "service moves the levels");
}

#[test]
fn nothing_after_the_day_is_seen() {
    let bench = with_history(&history());
    let line = ["buy", "advise", "--as-of", "2026-04-30", "--csv"];
    let before = bench.run(&line).stdout;
    let future = "part,month,quantity\nLEVEL-1,2026-05,400\nSELDOM-1,2026-09,70\nNEW-1,2026-08,9\n";
    assert!(bench.run(&["import", &bench.file("future.csv", future)]).status.success());
    assert_eq!(text(&bench.run(&line).stdout), text(&before));
    let later = ["buy", "advise", "--as-of", "2026-10-31", "--csv"];
    assert!(text(&bench.run(&later).stdout).contains("NEW-1"), "and afterwards it is");
}

#[test]
fn a_superseded_number_counts_with_what_took_its_place() {
    let bench = with_history(&history());
    let parts = "number,kind\nLEVEL-1,fan\nLEVEL-2,fan\n";
    let crosses = "from,kind,to\nLEVEL-2,replaces,LEVEL-1\n";
    assert!(bench.run(&["import", &bench.file("parts.csv", parts)]).status.success());
    assert!(bench.run(&["import", &bench.file("crosses.csv", crosses)]).status.success());
    let answer = bench.json(&["buy", "advise", "--as-of", "2026-10-31"]);
    let find =
        |part: &str| list(&answer["lines"]).iter().find(|line| line["part"] == part).cloned();
    let (old, new) = (find("LEVEL-1").unwrap(), find("LEVEL-2").unwrap());
    assert_eq!(old["order_up_to"], 0);
    assert!(old["why"].as_str().unwrap().contains("replaced by LEVEL-2"), "{old}");
    assert!(new["order_up_to"].as_u64().unwrap() >= 8, "{new}");
}

/// A customer asks for twelve in a month that had sold none: the buyer is told to have more, and the
/// service reached is that much lower. Tried alone or taken back it leaves both as they were.
#[test]
fn what_was_asked_for_and_not_in_is_bought_and_lowers_the_service_reached() {
    let bench = with_history(&history());
    let parts = "number,kind\nLEVEL-1,fan\nSELDOM-1,fan\n";
    assert!(bench.run(&["import", &bench.file("parts.csv", parts)]).status.success());
    let looks = || {
        let advised = bench.json(&["buy", "advise"]);
        let lines = list(&advised["lines"]);
        let line = lines.iter().find(|line| line["part"] == "SELDOM-1").unwrap();
        let service = bench.json(&["report", "service", "--from", "2024-11-01"]);
        (line["order_up_to"].as_u64().unwrap(), service["reached"].as_f64().unwrap())
    };
    let before = looks();
    assert_eq!(before.1, 1.0, "imported sales alone: all of them were there");
    let asked = ["stock", "asked", "seldom 1", "12"];
    let tried = bench.json(&[&asked[..], &["--dry-run"]].concat());
    assert_eq!((&tried["part"], &tried["lost_in_month"]), (&"SELDOM-1".into(), &12.0.into()));
    assert_eq!(looks(), before, "nothing was written");
    bench.json(&["stock", "asked", "SELDOM-1", "5"]);
    let noted = bench.json(&["stock", "asked", "SELDOM-1", "7"]);
    assert_eq!((&noted["quantity"], &noted["lost_in_month"]), (&7.0.into(), &12.0.into()));
    let after = looks();
    assert!(after.0 > before.0 && after.1 < before.1, "{before:?} {after:?}");
    let report = bench.json(&["report", "service", "--from", "2024-11-01"]);
    assert_eq!((&report["lost"], &report["short"][0]["part"]), (&12.0.into(), &"SELDOM-1".into()));
    let back = ["stock", "asked", "SELDOM-1", "13", "--take-back"];
    let refused = bench.run(&back);
    assert_eq!(refused.status.code(), Some(1));
    assert!(text(&refused.stderr).contains("only 12 were noted"), "{}", text(&refused.stderr));
    bench.json(&["stock", "asked", "SELDOM-1", "12", "--take-back"]);
    assert_eq!(looks(), before);
}

/// The counter's notes and a file's lost sales of the same month both count, whichever comes first.
#[test]
fn an_import_of_lost_sales_stands_beside_what_the_counter_noted() {
    let bench = with_history(&history());
    assert!(
        bench
            .run(&["import", &bench.file("parts.csv", "number,kind\nSELDOM-1,fan\n")])
            .status
            .success()
    );
    let noted = bench.json(&["stock", "asked", "SELDOM-1", "5"]);
    let month = noted["month"].as_str().unwrap();
    let lost = format!("part,month,quantity,mark\nSELDOM-1,{month},2,lost\n");
    let lost = bench.file("lost.csv", &lost);
    let all = || bench.json(&["report", "service", "--from", "2024-11-01"])["lost"].clone();
    for _ in 0..2 {
        assert!(bench.run(&["import", &lost]).status.success());
        assert_eq!(all(), 7.0);
    }
    // The shop's own export brought in again changes nothing either.
    let out = bench.file("out.csv", "");
    assert!(bench.run(&["export", "demand", &out, "--force"]).status.success());
    assert!(bench.run(&["import", &out]).status.success());
    assert_eq!(all(), 7.0);
}

#[test]
fn no_more_is_advised_than_the_bin_takes() {
    let bench = with_history(&history());
    for (name, rows) in [
        ("parts.csv", "number,kind\nLEVEL-1,fan\nSELDOM-1,fan\n"),
        ("bins.csv", "bin,aisle,holds_most\nA1,A,6\nA2,A,\n"),
        ("stock.csv", "part,bin,condition,quantity\nLEVEL-1,A1,new,1\nSELDOM-1,A1,new,2\n"),
    ] {
        let done = bench.run(&["import", &bench.file(name, rows)]);
        assert!(done.status.success(), "{}{}", text(&done.stdout), text(&done.stderr));
    }
    let line = || {
        let advised = bench.json(&["buy", "advise"]);
        list(&advised["lines"]).iter().find(|line| line["part"] == "LEVEL-1").unwrap().clone()
    };
    let cut = line();
    assert_eq!(
        (&cut["order"], &cut["order_up_to"], &cut["cut"]),
        (&3.into(), &4.into(), &"shelf".into())
    );
    assert!(cut["why"].as_str().unwrap().ends_with("the shelf takes 3 more"), "{cut}");
    let bins = bench.file("bins-out.csv", "");
    assert!(bench.run(&["export", "bins", &bins, "--force"]).status.success());
    assert!(std::fs::read_to_string(&bins).unwrap().contains("A1,A,,6"));
    // Now it lies where there is no limit.
    bench.json(&["stock", "move", "LEVEL-1", "A1", "1", "A2"]);
    let free = line();
    assert!(free["order"].as_u64().unwrap() > 3 && free["cut"].is_null(), "{free}");
}

#[test]
fn every_line_says_why_and_the_budget_is_kept() {
    let bench = Bench::with_samples();
    let line = ["buy", "advise", "--as-of", "2026-10-31"];
    let answer = bench.json(&line);
    let cents = |answer: &serde_json::Value| -> u64 {
        let amount = |line: &serde_json::Value| {
            let text = line["cost"]["amount"].as_str().unwrap_or("0").to_owned();
            (text.parse::<f64>().unwrap() * 100.0).round() as u64
        };
        list(&answer["lines"]).iter().map(amount).sum()
    };
    for due in list(&answer["lines"]).iter().filter(|line| line["order"] != 0) {
        let why = due["why"].as_str().unwrap();
        assert!(why.contains(" free") && why.contains("a month") && why.contains("asked"), "{why}");
        assert!(!due["if_not"].as_str().unwrap().is_empty());
    }
    assert!(cents(&answer) > 30_000, "the made-up shop wants more than the budget below");
    let kept = bench.json(&[&line[..], &["--budget", "300"]].concat());
    assert!((1..=30_000).contains(&cents(&kept)), "{}", cents(&kept));
    let refused = bench.run(&["buy", "advise", "--service", "95"]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(text(&refused.stderr).contains("0.95"), "{}", text(&refused.stderr));
}

#[test]
fn one_way_of_forecasting_can_be_forced_and_the_table_says_how_each_did() {
    let bench = with_history(&history());
    let advise = ["buy", "advise", "--as-of", "2026-10-31"];
    let forced = bench.json(&[&advise[..], &["--method", "croston"]].concat());
    for line in list(&forced["lines"]) {
        assert_eq!(line["method"], "croston", "{line}");
    }
    // All months equal: every smoothing forecasts just that.
    let level = list(&forced["lines"]).iter().find(|line| line["part"] == "LEVEL-1").unwrap();
    assert!((level["forecast_per_month"].as_f64().unwrap() - 4.0).abs() < 1e-9, "{level}");
    let methods = list(&forced["past"]).len();
    let past = text(&bench.run(&[&advise[..], &["--past"]].concat()).stdout);
    let told = past.lines().filter(|line| line.contains("looks)")).count();
    assert!(told == methods && methods >= 8, "{past}");
    let refused = bench.run(&[&advise[..], &["--method", "guess"]].concat());
    assert_eq!(refused.status.code(), Some(2));
}

/// Four a month for 21 months: about that is forecast for the three that follow, and four a month came.
#[test]
fn forecasts_are_set_against_what_came() {
    let bench = with_history(&history());
    let line = ["report", "forecast", "--from", "2026-08-01", "--to", "2026-10-31"];
    let report = bench.json(&line);
    assert_eq!(report["months"], 3);
    let level = list(&report["lines"]).iter().find(|line| line["part"] == "LEVEL-1").unwrap();
    assert_eq!(level["came"], 12.0);
    assert!((level["forecast"].as_f64().unwrap() - 12.0).abs() < 3.0, "{level}");
    let told = text(&bench.run(&line).stdout);
    assert!(told.contains("units forecast the day before"), "{told}");
}
