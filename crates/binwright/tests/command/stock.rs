//! The stock desk: what comes, goes, is promised, counted, worth, owed; and the copy for the safe.

use std::io::Write;
use std::process::Stdio;

use serde_json::Value;

use crate::bench::{Bench, list, text};

fn shop() -> Bench {
    let bench = Bench::with_samples();
    bench.does("stock receive RP-1107B A1-02 4 --unit-cost 20.00 --reference PO-1");
    bench
}

impl Bench {
    /// Runs a line of words, none with a blank, that must succeed.
    pub fn does(&self, line: &str) -> Value {
        let words: Vec<&str> = line.split(' ').chain(["--who", "Ann"]).collect();
        let done = self.run(&[&words[..], &["--json"]].concat());
        assert_eq!(done.status.code(), Some(0), "{line}: {}", text(&done.stderr));
        serde_json::from_slice(&done.stdout).unwrap()
    }

    /// Runs a line that must be refused, and returns why.
    pub fn refuses(&self, line: &str) -> String {
        let words: Vec<&str> = line.split(' ').collect();
        let done = self.run(&words);
        assert_eq!(done.status.code(), Some(1), "{line}: {}", text(&done.stdout));
        text(&done.stderr)
    }

    pub fn on_hand(&self, part: &str, bin: &str, condition: &str) -> f64 {
        let card = self.json(&["show", part]);
        let stock = list(&card[0]["stock"]);
        let here = |line: &&Value| line["bin"] == bin && line["condition"] == condition;
        stock.iter().find(here).map_or(0.0, |line| line["on_hand"].as_f64().unwrap())
    }
}

/// Opening stock has no cost: 4 pieces at nothing and 4 at 20.00 are worth 80.00.
#[test]
fn stock_moves_at_its_average_and_a_mistake_is_mended_by_a_counter_movement() {
    let bench = shop();
    let sold = bench.does("stock sell RP-1107B A1-02 3 --reference T-9");
    assert_eq!(sold["movements"][0]["value"]["amount"], "-30.00");
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "new"), 5.0);
    let seq = sold["posting"].as_i64().unwrap();
    let undone = bench.does(&format!("stock undo {seq}"));
    assert_eq!(undone["movements"][0]["undoes"], seq);
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "new"), 8.0);
    assert!(bench.refuses(&format!("stock undo {seq}")).contains("undone already"));
    let history = bench.json(&["stock", "history", "RP-1107B", "--last", "2"]);
    assert_eq!(history[0]["reason"], "undo");
    assert_eq!(history[1]["undone_by"], history[0]["seq"]);
    let value = bench.json(&["stock", "value"]);
    assert_eq!(value["total"]["amount"], "80.00");
    let before = bench.json(&["stock", "value", "--on", "2020-01-01"]);
    assert_eq!(before["total"]["amount"], "0.00");
}

#[test]
fn a_dry_run_judges_and_leaves_nothing() {
    let bench = shop();
    let tried = bench.does("stock sell RP-1107B A1-02 3 --dry-run");
    assert_eq!(
        (&tried["dry_run"], &tried["movements"][0]["quantity"]),
        (&true.into(), &(-3.0).into())
    );
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "new"), 8.0);
    assert!(bench.refuses("stock sell RP-1107B A1-02 9 --dry-run").contains("short by 1"));
    let place = "hold place RP-1107B A1-02 6 --reference Q-1 --until 9999-12-31 --dry-run";
    for line in [place, "count open --bin A1-02 --dry-run"] {
        let words: Vec<&str> = line.split(' ').collect();
        assert_eq!(bench.json(&words)["dry_run"], true, "{line}");
        let said = text(&bench.run(&words).stdout);
        assert!(said.contains("nothing was written"), "{line}: {said}");
    }
    for kept in ["hold", "count"] {
        assert!(list(&bench.json(&[kept, "list"])).is_empty(), "{kept}");
    }
}

#[test]
fn the_same_mark_posts_once() {
    let bench = shop();
    let first = bench.does("stock issue RP-1107B A1-02 1 --reference J-4 --key J-4/1");
    let again = bench.does("stock issue RP-1107B A1-02 1 --reference J-4 --key J-4/1");
    assert_eq!(first["posting"], again["posting"]);
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "new"), 7.0);
    assert!(bench.refuses("stock issue RP-1107B A1-02 2 --key J-4/1").contains("other movements"));
}

#[test]
fn a_core_is_tested_before_it_is_good_and_never_sold_as_it_is() {
    let bench = shop();
    bench.does("stock return-in RP-1107B A1-02 2 --condition core --reference J-4");
    assert!(bench.refuses("stock sell RP-1107B A1-02 1 --condition core").contains("not sold"));
    let regrade = "stock regrade RP-1107B A1-02 1 used-good --condition core";
    assert!(bench.refuses(regrade).contains("before it was tested"));
    let done = bench.does(&format!("{regrade} --readings drops:0.52,0.53"));
    assert_eq!(done["movements"][0]["note"], "drops:0.52,0.53");
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "used-good"), 1.0);
    bench.does("stock regrade RP-1107B A1-02 1 scrap --condition used-good");
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "used-good"), 0.0);
    bench.does("stock move RP-1107B A1-02 1 A1-03 --condition core");
    assert_eq!(bench.on_hand("RP-1107B", "A1-03", "core"), 1.0);
}

/// BS-9001 contains a BS-1130A, a BG-174714, a BG-153511 and an SR-1140A.
#[test]
fn kits_are_broken_and_built_and_what_lies_in_them_is_seen_once() {
    let bench = shop();
    let none = bench.run(&["stock", "of", "BS-1130A", "--json"]);
    let before: Value = serde_json::from_slice(&none.stdout).unwrap();
    bench.does("stock receive BS-9001 C1-02 2 --unit-cost 40.00");
    let seen = bench.json(&["stock", "of", "BS-1130A"]);
    let kits = |seen: &Value| seen["free_in_kits"].as_f64().unwrap();
    assert_eq!(kits(&seen) - kits(&before), 2.0);
    let broken = bench.does("stock break BS-9001 C1-02 1 --parts-bin C1-03");
    assert_eq!(list(&broken["movements"]).len(), 5);
    let value: f64 = list(&broken["movements"])
        .iter()
        .map(|line| line["value"]["amount"].as_str().unwrap().parse::<f64>().unwrap())
        .sum();
    assert!(value.abs() < 1e-9, "a broken kit is worth what its parts are: {value}");
    assert_eq!(bench.on_hand("BG-153511", "C1-03", "new"), 1.0);
    bench.does("stock build BS-9001 C1-02 1 --parts-bin C1-03");
    assert_eq!(bench.on_hand("BG-153511", "C1-03", "new"), 0.0);
    assert!(bench.refuses("stock break RP-1107B A1-02 1").contains("no kit"));
}

/// RP-1131C took the place of RP-1123C, that of RP-1107C; RP-1107D may stand in for RP-1107C.
#[test]
fn old_numbers_are_counted_in_and_stand_ins_named_with_their_remark() {
    let bench = shop();
    bench.does("stock receive RP-1107C A1-03 2");
    let seen = bench.json(&["stock", "of", "RP-1131C"]);
    let hows: Vec<_> = list(&seen["own"]).iter().map(|l| (&l["part"], &l["how"])).collect();
    for (part, how) in
        [("RP-1131C", "itself"), ("RP-1123C", "old number"), ("RP-1107C", "old number")]
    {
        assert!(hows.contains(&(&part.into(), &how.into())), "{hows:?}");
    }
    let own: f64 = list(&seen["own"]).iter().map(|line| line["free"].as_f64().unwrap()).sum();
    assert_eq!(seen["free"].as_f64().unwrap(), own);
    let stands = list(&seen["stand_ins"]).iter().find(|line| line["part"] == "RP-1107D").unwrap();
    assert!(stands["remark"].as_str().unwrap().contains("B+"));
}

#[test]
fn a_hold_keeps_its_stock_until_it_is_posted_or_let_go() {
    let bench = shop();
    let hold = "hold place RP-1107B A1-02 6 --reference Q-1 --until 9999-12-31";
    let words: Vec<&str> = hold.split(' ').collect();
    let held = bench.json(&words);
    assert!(bench.refuses("stock sell RP-1107B A1-02 3").contains("2 free"));
    assert_eq!(list(&bench.json(&["hold", "list"])).len(), 1);
    let id = held["hold"].as_i64().unwrap();
    bench.does(&format!("hold post {id}"));
    assert!(bench.refuses(&format!("hold release {id}")).contains("not open"));
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "new"), 2.0);
    let past = "hold place RP-1107B A1-02 1 --reference Q-2 --until 2020-01-01";
    assert!(bench.refuses(past).contains("is past"));
}

#[test]
fn a_count_is_blind_taken_twice_where_it_differs_and_seen_by_a_second() {
    let bench = shop();
    let sheet = bench.does("count open --bin A1-02");
    let id = sheet["sheet"].as_i64().unwrap().to_string();
    let written = bench.run(&["count", "sheet", &id]);
    let csv = text(&written.stdout);
    assert!(csv.starts_with("bin,part,condition,counted\n"));
    assert!(csv.lines().skip(1).all(|line| line.ends_with(',')), "no book on it: {csv}");
    let filled = csv.replace("RP-1107B,new,", "RP-1107B,new,2");
    let filled = bench.file("counted.csv", &filled);
    bench.does(&format!("count enter {id} {filled}"));
    assert!(bench.refuses(&format!("count post {id} --partly")).contains("counted again"));
    // One is sold between the first count and the second.
    bench.does("stock sell RP-1107B A1-02 1");
    bench.does(&format!("count enter {id} --part RP-1107B --bin A1-02 --counted 1"));
    // After the second count another: the book was 7 then, 1 was there.
    bench.does("stock sell RP-1107B A1-02 1");
    let review = bench.json(&["count", "review", &id]);
    assert_eq!(review["differences"][0]["correction"], -6.0);
    let alone = bench.refuses(&format!("count post {id} --partly --who Ann --second ann"));
    assert!(alone.contains("60.00 EUR"), "{alone}");
    let left = bench.refuses(&format!("count post {id} --second Bea"));
    assert!(left.contains("5 lines are not counted") && left.contains("--partly"), "{left}");
    let posted = bench.does(&format!("count post {id} --partly --second Bea"));
    assert_eq!(posted["movements"][0]["reason"], "count");
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "new"), 0.0);
    assert!(bench.refuses(&format!("count post {id}")).contains("is closed"));
    assert!(bench.run(&["check"]).status.success());
}

#[test]
fn a_scanner_counts_bins_and_pieces() {
    let bench = shop();
    let id = bench.does("count open --bin A1-02")["sheet"].as_i64().unwrap().to_string();
    let mut child = bench
        .command(&["count", "enter", &id, "--scan"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let codes = b"A1-02\r\nRP-1107B\r\n=7\r\nRP-1107B\r\nA1-03\r\nRP-1107C\r\n";
    child.stdin.take().unwrap().write_all(codes).unwrap();
    let done = child.wait_with_output().unwrap();
    let said = text(&done.stdout);
    assert!(done.status.success() && said.contains("not on the sheet before, counted in: A1-03"));
    let review = bench.json(&["count", "review", &id]);
    let differences = list(&review["differences"]);
    assert_eq!(differences.len(), 1, "eight lie there as the book says: {review}");
    assert_eq!(
        (&differences[0]["part"], &differences[0]["correction"]),
        (&"RP-1107C".into(), &1.0.into())
    );
}

#[test]
fn what_was_counted_is_not_due_again() {
    let bench = shop();
    let due = |bench: &Bench| {
        let sheet = bench.does("count open --due --dry-run");
        list(&sheet["lines"]).len()
    };
    let all = due(&bench);
    let id = bench.does("count open --bin A1-02")["sheet"].as_i64().unwrap();
    bench.does(&format!("count enter {id} --part RP-1107B --bin A1-02 --counted 8"));
    assert_eq!(bench.does(&format!("count post {id} --partly"))["posting"], Value::Null);
    assert_eq!(due(&bench), all - 1);
    assert!(bench.refuses("count open --class brisk").contains("fast, middle, slow"));
}

#[test]
fn deposits_are_kept_apart_and_go_back_piece_by_piece() {
    let bench = shop();
    let debt = bench.does("cores owe customer Ilka AL-112 3 --deposit 100.00 --until 2020-06-30");
    bench.does("cores owe supplier Tarnbrook RP-1131C 2 --deposit 30.00");
    let id = debt["debt"].as_i64().unwrap();
    let back = bench.does(&format!("cores returned {id} 1"));
    assert_eq!(back["deposit"]["amount"], "33.33");
    bench.does(&format!("cores kept {id} 1"));
    let cores = bench.json(&["cores", "list", "customer"]);
    let line = &list(&cores["lines"])[0];
    assert_eq!((&line["owed"], &line["deposit"]["amount"]), (&1.0.into(), &"33.33".into()));
    assert_eq!(line["late"], true);
    assert_eq!(cores["held_for_customers"]["amount"], "33.33");
    assert_eq!(cores["kept_from_customers"]["amount"], "33.34");
    assert_eq!(cores["lying_with_suppliers"]["amount"], "30.00");
    bench.does(&format!("cores returned {id} 1"));
    assert!(bench.refuses(&format!("cores returned {id} 1")).contains("not owed"));
}

#[test]
fn a_core_that_came_back_lies_in_its_bin_until_the_supplier_gets_it() {
    let bench = shop();
    let owed = |side: &str| {
        bench.does(&format!("cores owe {side} Ilka RP-1107B 1 --deposit 20.00"))["debt"].to_string()
    };
    let (theirs, ours, again) = (owed("customer"), owed("supplier"), owed("supplier"));
    let tried = bench.does(&format!("cores returned {theirs} 1 --bin A1-02 --dry-run"));
    assert!(tried["posting"].is_i64());
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "core"), 0.0);
    assert!(bench.refuses(&format!("cores returned {theirs} 1 --bin Z9")).contains("no bin"));
    bench.does(&format!("cores returned {theirs} 1 --bin A1-02"));
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "core"), 1.0);
    bench.does(&format!("cores returned {ours} 1 --bin A1-02"));
    assert_eq!(bench.on_hand("RP-1107B", "A1-02", "core"), 0.0);
    assert!(bench.refuses(&format!("cores returned {again} 1 --bin A1-02")).contains("short by 1"));
    let left = bench.json(&["cores", "list", "supplier"]);
    assert_eq!(list(&left["lines"]).len(), 1, "what was refused is still owed");
}

/// One bit in the middle of the index's largest file of descriptions: it opens, and finds, as before.
#[test]
fn the_check_finds_a_flipped_bit_in_the_index_and_a_rebuild_mends_it() {
    let bench = shop();
    let shops = std::fs::read_dir(bench.path("cache").join("binwright")).unwrap();
    let parts = shops.map(|shop| shop.unwrap().path().join("parts")).find(|dir| dir.is_dir());
    let files = std::fs::read_dir(parts.unwrap()).unwrap().map(|file| file.unwrap().path());
    let stored = files.filter(|file| file.extension().is_some_and(|ending| ending == "store"));
    let file = stored.max_by_key(|file| file.metadata().unwrap().len()).unwrap();
    let mut bytes = std::fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&file, bytes).unwrap();
    let found = bench.run(&["check"]);
    assert_eq!(found.status.code(), Some(1), "{}", text(&found.stdout));
    assert!(text(&found.stdout).contains(".store` of the index is damaged"));
    assert!(bench.run(&["index", "--rebuild"]).status.success());
    assert!(bench.run(&["check"]).status.success());
}

#[test]
fn a_backup_is_restored_into_a_new_folder_and_checked() {
    let bench = shop();
    let file = bench.path("copy.db").display().to_string();
    let settings = bench.path("shop").join("settings.toml");
    std::fs::write(&settings, "[shop]\nname = \"By the canal\"\n").unwrap();
    assert!(bench.run(&["backup", &file]).status.success());
    let folder = bench.path("again").display().to_string();
    let done = bench.json(&["restore", &file, &folder]);
    assert!(done["movements"].as_i64().unwrap() > 100);
    let restored = bench.path("again").join("settings.toml");
    assert_eq!(std::fs::read(restored).unwrap(), std::fs::read(settings).unwrap());
    assert_eq!(
        bench.json(&["find", "RP-1131C", "--shop", &folder])["hits"][0]["number"],
        "RP-1131C"
    );
    assert_eq!(bench.run(&["restore", &file, &folder]).status.code(), Some(1), "not over a shop");
    let mut bytes = std::fs::read(&file).unwrap();
    let name = bytes.windows(4).rposition(|four| four == b"PO-1").unwrap();
    bytes[name] ^= 1;
    let bad = bench.path("bad.db");
    std::fs::write(&bad, bytes).unwrap();
    let elsewhere = bench.path("elsewhere");
    let (bad, to) = (bad.display().to_string(), elsewhere.display().to_string());
    let refused = bench.run(&["restore", &bad, &to]);
    assert_eq!(refused.status.code(), Some(1));
    assert!(text(&refused.stderr).contains("not as it was posted"), "{}", text(&refused.stderr));
    assert!(!elsewhere.exists());
}
