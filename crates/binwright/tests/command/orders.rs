//! The buyer's orders: from a basket weighed over the samples' three suppliers to the last piece.

use std::io::Write;
use std::process::{Output, Stdio};

use serde_json::Value;

use crate::bench::{Bench, list, text};

fn shop() -> Bench {
    Bench::with_samples()
}

impl Bench {
    /// Runs a line that is fed `typed`.
    fn fed(&self, line: &[&str], typed: &str) -> Output {
        let mut command = self.command(line);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        child.stdin.take().unwrap().write_all(typed.as_bytes()).unwrap();
        child.wait_with_output().unwrap()
    }
}

/// Two lines, one supplier without a minimum: drafted, sent.
fn sent() -> (Bench, String) {
    let bench = shop();
    let drafted = bench.does("order basket RP-1107A=4 RP-1107C=3 --draft");
    let drafts = list(&drafted["drafts"]);
    assert_eq!(drafts.len(), 1, "{drafted}");
    let order = drafts[0]["order"].as_str().unwrap().to_owned();
    bench.does(&format!("order send {order}"));
    (bench, order)
}

fn lines(order: &Value) -> Vec<(f64, f64, f64)> {
    let number = |line: &Value, key: &str| line[key].as_f64().unwrap();
    list(&order["lines"])
        .iter()
        .map(|line| (number(line, "received"), number(line, "outstanding"), number(line, "over")))
        .collect()
}

/// `import-samples/offers.csv` and `suppliers.csv`, added up by hand: four RP-1107A cost 17.94 at
/// Tarnbrook and 20.35 at Quillmere. 71.76 is above Tarnbrook's least order of 50, and with its freight
/// of 14.50 comes to 86.26; Quillmere's 81.40 with 9.80 to 91.20.
#[test]
fn a_basket_goes_where_goods_and_freight_together_cost_least() {
    let bench = shop();
    let basket = bench.does("order basket RP-1107A=4 --day-cost 0");
    let orders = list(&basket["orders"]);
    assert_eq!(orders.len(), 1);
    assert_eq!(orders[0]["supplier"], "Tarnbrook Supply");
    assert_eq!(basket["paid"]["amount"], "86.26");
    let why = orders[0]["lines"][0]["why"].as_str().unwrap();
    assert!(why.contains("17.94 EUR each in 3 days; else Quillmere Electric 20.35 EUR"), "{why}");
    // Two come to 35.88, less than Tarnbrook takes an order for.
    let few = bench.does("order basket RP-1107A=2 --day-cost 0");
    assert_eq!(few["orders"][0]["supplier"], "Quillmere Electric");
    assert_eq!(few["paid"]["amount"], "50.50");
}

/// A bound of no time leaves only the rule of thumb, and the answer says so.
#[test]
fn a_basket_says_how_good_it_is() {
    let bench = shop();
    let least = bench.does("order basket RP-1107A=4 RP-1107C=2 --gap 0");
    assert_eq!((&least["proof"], &least["gap"]["amount"]), (&"least".into(), &"0.00".into()));
    let hasty = bench.does("order basket RP-1107A=4 RP-1107C=2 --seconds 0");
    assert_eq!((&hasty["proof"], &hasty["gap"]), (&"rule of thumb".into(), &Value::Null));
    let said = bench.run(&["order", "basket", "RP-1107A=4", "--seconds", "0"]);
    assert!(text(&said.stdout).contains("found by rule of thumb"), "{}", text(&said.stdout));
    assert!(bench.refuses("order basket RP-1107A=0").contains("not above nought"));
    assert!(bench.refuses("order basket RP-1107A").contains("RP-1107C=4"));
}

#[test]
fn a_basket_without_parts_takes_all_that_is_due() {
    let bench = shop();
    let basket = bench.does("order basket --seconds 5");
    let advised = bench.json(&["buy", "advise"]);
    let due: Vec<&Value> =
        list(&advised["lines"]).iter().filter(|line| line["order"].as_u64() > Some(0)).collect();
    let bought = list(&basket["orders"]).iter().flat_map(|order| list(&order["lines"]));
    let mut told: Vec<&str> =
        bought.chain(list(&basket["left"])).map(|line| line["part"].as_str().unwrap()).collect();
    let mut wanted: Vec<&str> = due.iter().map(|line| line["part"].as_str().unwrap()).collect();
    told.sort_unstable();
    wanted.sort_unstable();
    assert!(!wanted.is_empty());
    assert_eq!(told, wanted);
}

/// Four ordered: three come, then three more, two of them beyond the order; the second delivery is
/// undone, and one is still to come.
#[test]
fn an_order_is_received_in_part_then_over_then_undone() {
    let (bench, order) = sent();
    let before = bench.on_hand("RP-1107A", "A1-02", "new");
    let part = bench.does(&format!("order receive {order} 1 A1-02 3 --note D-77"));
    assert_eq!(part["order"]["state"], "part received");
    assert_eq!(lines(&part["order"]), [(3.0, 1.0, 0.0), (0.0, 3.0, 0.0)]);
    assert_eq!(part["movements"][0]["reference"], order.as_str());
    let many = bench.refuses(&format!("order receive {order} 1 A1-02 3"));
    assert!(many.contains("3 x RP-1107A") && many.contains("still to come: 1"), "{many}");
    let dear = bench.refuses(&format!("order receive {order} 1 A1-02 1 --each 1800.00"));
    assert!(dear.contains("1800.00 EUR each") && dear.contains("--sure"), "{dear}");
    let over = bench.does(&format!("order receive {order} 1 A1-02 3 --each 18.00 --sure"));
    assert_eq!(lines(&over["order"])[0], (6.0, 0.0, 2.0));
    // Of the freight of 14.50 the first three took 14.50 x 53.82 / 133.74 = 5.84; the one that was still
    // to come takes 8.66 x 17.94 / 79.92 of the rest, and the two beyond the order none.
    assert_eq!(over["movements"][0]["value"]["amount"], "55.94");
    assert_eq!(over["order"]["lines"][0]["arrivals"][1]["freight"]["amount"], "1.94");
    assert_eq!(bench.on_hand("RP-1107A", "A1-02", "new"), before + 6.0);
    bench.does(&format!("stock undo {}", over["posting"]));
    let after = bench.json(&["order", "show", &order]);
    assert_eq!(lines(&after), [(3.0, 1.0, 0.0), (0.0, 3.0, 0.0)]);
    assert_eq!(after["state"], "part received");
    assert_eq!(bench.on_hand("RP-1107A", "A1-02", "new"), before + 3.0);
    assert!(bench.run(&["check"]).status.success());
}

#[test]
fn what_comes_short_late_or_in_place_of_another_is_told_by_line() {
    let (bench, order) = sent();
    bench.does(&format!("order acknowledge {order} --theirs TB/5"));
    let instead = bench.does(&format!("order receive {order} 2 A1-03 2 --substitute RP-1107D"));
    assert_eq!(instead["movements"][0]["part"], "RP-1107D");
    assert_eq!(instead["order"]["lines"][1]["arrivals"][0]["substitute"], true);
    let later = bench.does(&format!("order settle {order} 1 back-ordered --due 2020-05-01"));
    let line = &later["order"]["lines"][0];
    assert_eq!((&line["rest"], &line["late"]), (&"back-ordered".into(), &true.into()));
    bench.does(&format!("order settle {order} 1 short --note discontinued"));
    let done = bench.does(&format!("order settle {order} 2 short"));
    assert_eq!(
        (&done["order"]["state"], &done["order"]["theirs"]),
        (&"received".into(), &"TB/5".into())
    );
    assert!(bench.refuses(&format!("order cancel {order}")).contains("is received"));
    assert!(bench.refuses(&format!("order settle {order} 9 short")).contains("no line 9"));
}

#[test]
fn a_delivery_under_a_mark_is_taken_in_once_and_a_dry_run_not_at_all() {
    let (bench, order) = sent();
    let tried = bench.does(&format!("order receive {order} 1 A1-02 4 --dry-run"));
    assert_eq!((&tried["dry_run"], lines(&tried["order"])[0].0), (&true.into(), 4.0));
    assert_eq!(lines(&bench.json(&["order", "show", &order]))[0].0, 0.0);
    for _ in 0..2 {
        bench.does(&format!("order receive {order} 1 A1-02 4 --key D-77/1"));
    }
    assert_eq!(lines(&bench.json(&["order", "show", &order]))[0], (4.0, 0.0, 0.0));
}

#[test]
fn a_scanner_puts_a_delivery_into_its_bins() {
    let (bench, order) = sent();
    let card = bench.json(&["order", "show", &order]);
    let theirs = card["lines"][0]["number"].as_str().unwrap();
    let codes = format!("A1-02\r\n{theirs}\r\n{theirs}\r\nA1-03\r\nRP-1107C\r\n=3\r\n");
    let done = bench.fed(&["order", "receive", &order, "--scan", "--json"], &codes);
    let received: Value = serde_json::from_slice(&done.stdout).unwrap();
    assert_eq!(lines(&received["order"]), [(2.0, 2.0, 0.0), (3.0, 0.0, 0.0)]);
    assert_eq!(bench.on_hand("RP-1107C", "A1-03", "new"), 3.0);
    let astray = bench.fed(&["order", "receive", &order, "--scan"], "A1-02\nBS-9001\n");
    assert_eq!(astray.status.code(), Some(1));
    assert!(text(&astray.stderr).contains("nor on this order"), "{}", text(&astray.stderr));
}

/// CWE-1236: a supplier's number that a spreadsheet would run is defused in CSV.
#[test]
fn the_sheet_a_supplier_gets_runs_nothing_and_overwrites_nothing() {
    let bench = shop();
    let offers = bench.file(
        "offers.csv",
        "supplier,part,amount,currency,number\nQuillmere Electric,RP-1107A,1.00,EUR,=2+3\n",
    );
    assert!(bench.run(&["import", &offers]).status.success());
    let drafted = bench.does("order basket RP-1107A=2 --draft");
    let order = drafted["drafts"][0]["order"].as_str().unwrap().to_owned();
    let (csv, xlsx) = (bench.path("order.csv"), bench.path("order.xlsx"));
    let (csv_name, xlsx_name) = (csv.display().to_string(), xlsx.display().to_string());
    bench.does(&format!("order send {order} {csv_name} --dry-run"));
    assert!(!csv.exists());
    assert_eq!(bench.json(&["order", "show", &order])["state"], "draft");
    bench.does(&format!("order send {order} {csv_name}"));
    let sheet = std::fs::read_to_string(&csv).unwrap();
    let head = "order,line,number,our_number,description,quantity,each,amount,currency,due\r\n";
    assert!(sheet.starts_with(head), "{sheet}");
    assert!(sheet.contains(&format!("{order},1,'=2+3,RP-1107A,")), "{sheet}");
    assert!(sheet.contains(",2,1.00,2.00,EUR,"), "{sheet}");
    let there = bench.refuses(&format!("order send {order} {csv_name}"));
    assert!(there.contains("is there already"), "{there}");
    bench.does(&format!("order send {order} {xlsx_name}"));
    assert!(std::fs::read(&xlsx).unwrap().starts_with(b"PK"), "a workbook is a ZIP");
    assert!(bench.refuses(&format!("order send {order}")).contains("is sent"));
}

#[test]
fn only_an_order_of_which_nothing_came_is_called_off() {
    let (bench, order) = sent();
    let tried = bench.does(&format!("order cancel {order} --dry-run"));
    assert_eq!((&tried["dry_run"], &tried["order"]["state"]), (&true.into(), &"cancelled".into()));
    assert_eq!(bench.json(&["order", "list"])[0]["state"], "sent");
    bench.does(&format!("order cancel {order}"));
    assert!(bench.refuses(&format!("order receive {order} 1 A1-02 1")).contains("is cancelled"));
    assert!(bench.refuses("order show X-1").contains("name of an order"));
}

/// Three deliveries, all on the day they were sent: what was seen wins over the three days stated.
#[test]
fn lead_times_are_learnt_from_three_receipts_on() {
    let bench = shop();
    let drafted = bench.does("order basket RP-1107A=4 RP-1107C=3 RP-1107D=3 --draft --day-cost 0");
    let draft = &drafted["drafts"][0];
    let (order, supplier) = (draft["order"].as_str().unwrap(), draft["supplier"].clone());
    assert_eq!(list(&draft["lines"]).len(), 3, "{draft}");
    bench.does(&format!("order send {order}"));
    let mut days = Vec::new();
    for line in 1..=3 {
        days.push(bench.does("order basket RP-1107A=4 --day-cost 0"));
        bench.does(&format!("order receive {order} {line} A1-02 1"));
    }
    let stated = days[2]["orders"][0]["lines"][0]["lead_days"].as_u64();
    assert!(stated > Some(0), "two receipts teach nothing yet");
    let learnt = bench.does("order basket RP-1107A=4 --day-cost 0");
    let line = &learnt["orders"][0]["lines"][0];
    assert_eq!(line["lead_days"], 0, "{learnt}");
    assert!(line["why"].as_str().unwrap().contains("in 0 days (learnt)"));
    let leads = bench.json(&["report", "leads"]);
    assert_eq!((&leads[0]["supplier"], &leads[0]["receipts"]), (&supplier, &3.into()));
    assert_eq!((&leads[0]["used"], &leads[1]["used"]), (&true.into(), &false.into()));
}

/// A 4 at 20.00 come in, 3 of which go at their average; opening stock of 4 costs nothing: 10.00 each.
#[test]
fn reports_tell_fast_dead_turns_service_and_aged_cores() {
    let bench = shop();
    bench.does("stock receive RP-1107B A1-02 4 --unit-cost 20.00");
    bench.does("stock sell RP-1107B A1-02 2 --reference T-1");
    bench.does("stock issue RP-1107B A1-02 1 --reference J-1");
    let wrong = bench.does("stock issue RP-1107B A1-02 1 --reference J-2");
    bench.does(&format!("stock undo {}", wrong["posting"]));
    let today = wrong["movements"][0]["day"].as_str().unwrap();
    let fast = bench.json(&["report", "fast", "--from", today]);
    let line = list(&fast["lines"]).iter().find(|line| line["part"] == "RP-1107B").unwrap();
    assert_eq!((&line["picks"], &line["units"]), (&2.into(), &3.0.into()), "an undone one is none");
    let turns = bench.json(&["report", "turns", "--from", today]);
    assert_eq!(turns["all"]["cost"]["amount"], "30.00");
    // Nothing of worth lay there the day before, 50.00 do now.
    assert_eq!(turns["all"]["mean_value"]["amount"], "25.00");
    let dead = bench.json(&["report", "dead", "--from", today]);
    let parts: Vec<_> = list(&dead["lines"]).iter().map(|line| &line["part"]).collect();
    assert!(!parts.contains(&&"RP-1107B".into()) && parts.len() > 10, "{parts:?}");
    let lost = bench
        .file("lost.csv", &format!("part,month,quantity,mark\nRP-1107B,{},1,lost\n", &today[..7]));
    assert_eq!(bench.run(&["import", "--table", "demand", &lost]).status.code(), Some(0));
    let service = bench.json(&["report", "service", "--from", &format!("{}-01", &today[..7])]);
    assert_eq!((&service["lost"], &service["reached"]), (&1.0.into(), &0.75.into()), "3 of 4");
    bench.does("cores owe customer Ilka AL-112 2 --deposit 50.00 --until 2020-06-30");
    let cores = bench.json(&["report", "cores"]);
    assert_eq!((&cores[0]["age_days"], &cores[0]["late"]), (&0.into(), &true.into()));
}
