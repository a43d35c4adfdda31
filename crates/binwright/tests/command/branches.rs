//! Does a shop that is a chain see its branches, and does stock travel between them?

use serde_json::json;

use crate::bench::{Bench, list, text};

/// South has what the made-up shop has, North two plates.
fn chain() -> Bench {
    let bench = Bench::with_samples();
    bench.says("branch name South");
    bench.says("branch add North");
    bench.says("branch way North South --minutes 35 --cost 6.50");
    let bins = bench.file("north.csv", "bin,aisle,branch\nN1,1,north\n");
    assert!(bench.run(&["import", &bins]).status.success());
    bench.does("stock receive RP-1107C N1 2 --unit-cost 20.00");
    bench
}

impl Bench {
    /// Runs a line of words that must succeed, and returns what it prints.
    fn says(&self, line: &str) -> String {
        let words: Vec<&str> = line.split(' ').collect();
        let done = self.run(&words);
        assert_eq!(done.status.code(), Some(0), "{line}: {}", text(&done.stderr));
        text(&done.stdout)
    }
}

#[test]
fn a_shop_that_is_one_place_says_nothing_of_branches() {
    let bench = Bench::with_samples();
    let line = bench.json(&["show", "RP-1107C"])[0]["stock"][0].clone();
    let keys: Vec<&String> = line.as_object().unwrap().keys().collect();
    assert_eq!(keys, ["bin", "condition", "free", "on_hand"]);
    let bins = bench.says("export bins");
    assert_eq!(bins.lines().next(), Some("bin,aisle,description,holds_most"));
    assert!(bench.refuses("branch list").contains("one place"));
    assert!(bench.refuses("branch add North").contains("branch name NAME"));
    assert!(bench.refuses("--branch North show RP-1107C").contains("no branch `North`"));
}

#[test]
fn the_counter_sees_its_own_stock_first_and_how_far_away_the_rest_is() {
    let bench = chain();
    let of = |branch: &str| {
        let card = bench.json(&["--branch", branch, "show", "RP-1107C"]);
        list(&card[0]["stock"]).to_vec()
    };
    let (first, last) = (of("north")[0].clone(), of("South").last().unwrap().clone());
    assert_eq!((&first["bin"], &first["branch"]), (&json!("N1"), &json!("North")));
    assert!(first["minutes_away"].is_null());
    assert_eq!((&last["bin"], &last["minutes_away"]), (&json!("N1"), &json!(35)));
    let card = bench.says("--branch South show RP-1107C");
    assert!(card.contains("N1 new 2 free at North, 35 min away"), "{card}");
    let listed = bench.says("--branch South branch list");
    assert_eq!(listed, "South, here\nNorth\nSouth - North: 35 min, 6.50 EUR a trip\n");
    let bins = bench.file("bins-out.csv", "");
    bench.says(&format!("export bins {bins} --force"));
    let bins = std::fs::read_to_string(bins).unwrap();
    assert!(bins.starts_with("bin,aisle,description,holds_most,branch\r\n"), "{bins}");
    assert!(bins.contains("N1,1,,,North"), "{bins}");
}

/// Two at 20.00: one comes, one is given up.
#[test]
fn what_is_sent_is_on_its_way_until_it_comes_or_is_given_up() {
    let bench = chain();
    let refused = bench.refuses("stock transfer RP-1107C A2-04 1 A2-04");
    assert!(refused.contains("stock move"), "{refused}");
    let before = bench.on_hand("RP-1107C", "A2-04", "new");
    let sent = bench.does("stock transfer RP-1107C N1 2 A2-04 --reference J-7");
    assert_eq!(sent["movements"][0]["reason"], "transfer-out");
    let transfer = sent["posting"].as_i64().unwrap();
    let on_way = bench.json(&["stock", "transit"]);
    let line = &on_way[0];
    assert_eq!((&line["transfer"], &line["to_branch"]), (&json!(transfer), &json!("South")));
    let worth = line["value"]["amount"].as_str().unwrap().to_owned();
    assert_eq!(bench.json(&["stock", "value"])["in_transit"]["amount"], worth);
    let listed = bench.says("stock transit");
    assert!(listed.contains("2 x RP-1107C new  North N1 > South A2-04"), "{listed}");
    let arrived = bench.does(&format!("stock arrive {transfer} 1"));
    assert_eq!(arrived["movements"][0]["reason"], "transfer-in");
    let given_up = bench.does(&format!("stock arrive {transfer} --lost 1"));
    assert_eq!(given_up["movements"][1]["reason"], "scrap");
    assert_eq!(bench.on_hand("RP-1107C", "A2-04", "new"), before + 1.0);
    assert!(bench.refuses("stock transit").contains("nothing is on its way"));
    assert!(bench.refuses(&format!("stock arrive {transfer}")).contains("stock transit"));
    bench.says("check");
}

/// South's one plate is never used; North sold one lately and has none, and the supplier's costs more than
/// the trip. What is advised is sent, then there is nothing more to advise.
#[test]
fn the_buyer_is_told_what_another_branch_has_too_many_of() {
    let bench = chain();
    let parts = bench.file("parts.csv", "number,kind\nSLOW-1,fan\n");
    let suppliers = bench.file("sup.csv", "supplier,currency\nQuillan,EUR\n");
    let offers = bench.file("off.csv", "supplier,part,amount,currency\nQuillan,SLOW-1,30.00,EUR\n");
    for file in [&parts, &suppliers, &offers] {
        let done = bench.run(&["import", file]);
        assert!(done.status.success(), "{}{}", text(&done.stdout), text(&done.stderr));
    }
    bench.does("stock receive SLOW-1 A2-04 9 --unit-cost 25.00");
    bench.does("stock receive SLOW-1 N1 4 --unit-cost 25.00");
    bench.does("stock sell SLOW-1 N1 4");
    let advised = bench.json(&["buy", "transfers", "--order-cost", "5.00"]);
    let line = list(&advised).iter().find(|line| line["part"] == "SLOW-1").unwrap();
    assert_eq!((&line["from"], &line["to"]), (&json!("South"), &json!("North")));
    let why = line["why"].as_str().unwrap();
    assert!(why.contains("South has 9 and needs 0: the trip costs 6.50 EUR and 35 min"), "{why}");
    let many = line["quantity"].as_u64().unwrap();
    bench.does(&format!("stock transfer SLOW-1 A2-04 {many} N1"));
    let advised = bench.run(&["buy", "transfers", "--order-cost", "5.00", "--json"]);
    assert!(!text(&advised.stdout).contains("SLOW-1"), "what is on its way counts");
}

#[test]
fn a_bin_that_is_new_is_of_the_branch_one_works_at() {
    let bench = chain();
    let bins = bench.file("more.csv", "bin,aisle\nN2,1\n");
    bench.says(&format!("--branch North import {bins}"));
    let listed = bench.says("export bins");
    assert!(
        listed.lines().any(|line| line.starts_with("N2,") && line.ends_with(",North")),
        "{listed}"
    );
    // One that is there stays where it is.
    bench.says(&format!("--branch South import {bins}"));
    assert_eq!(bench.says("export bins"), listed);
}

/// The desk's own file names its branch; what is said of the shop or typed goes before it.
#[test]
fn a_desk_knows_its_branch_and_a_quote_takes_from_its_bins_first() {
    let bench = chain();
    let desk = bench.path(".config/binwright/desk.toml");
    std::fs::create_dir_all(desk.parent().unwrap()).unwrap();
    std::fs::write(&desk, "branch = \"North\"\n").unwrap();
    assert!(bench.says("branch list").contains("North, here"));
    assert!(bench.says("--branch South branch list").contains("South, here"));
    bench.does("stock receive RP-1131C N1 2 --condition used-good --unit-cost 20.00");
    let line = "quote make alternator charge-voltage=low ripple=high bplus-to-case=one --unit AU-1112 \
                --cover 1 --dry-run";
    let from = |line: &str| {
        let mut words: Vec<&str> = line.split(' ').collect();
        words.push("--json");
        text(&bench.run(&words).stdout)
    };
    assert!(from(line).contains("\"N1\""), "{}", from(line));
    let south = from(&format!("--branch South {line}"));
    assert!(south.contains("\"A1-05\"") && !south.contains("\"N1\""), "{south}");
    std::fs::write(&desk, "brunch = \"North\"\n").unwrap();
    let refused = bench.refuses("branch list");
    assert!(refused.contains("desk.toml") && refused.contains("branch = \"North\""), "{refused}");
}

#[test]
fn a_shop_that_is_one_place_does_not_mind_where_a_desk_is() {
    let bench = Bench::with_samples();
    let desk = bench.path(".config/binwright/desk.toml");
    std::fs::create_dir_all(desk.parent().unwrap()).unwrap();
    std::fs::write(&desk, "branch = \"North\"\n").unwrap();
    bench.says("show RP-1107C");
}

/// Two branches that use one part in the proportion of three to one; the shop's imported months are
/// shared out so, and only what is ordered for a branch counts there.
#[test]
fn a_branch_is_advised_by_its_own_demand_stock_and_orders() {
    let bench = chain();
    let file = |name: &str, content: &str| {
        let file = bench.file(name, content);
        bench.says(&format!("import {file}"));
    };
    file("parts.csv", "number,kind\nFAST-1,fan\n");
    file("sup.csv", "supplier,currency\nQuillan,EUR\n");
    file("off.csv", "supplier,part,amount,currency\nQuillan,FAST-1,3.00,EUR\n");
    file("dem.csv", "part,2025-01\nFAST-1,40\n");
    for (bin, sold, left) in [("A2-04", "9", "12"), ("N1", "3", "13")] {
        bench.does(&format!("stock receive FAST-1 {bin} {left} --unit-cost 2.00"));
        bench.does(&format!("stock sell FAST-1 {bin} {sold}"));
    }
    let of = |line: &str| {
        let advised = bench.json(&line.split(' ').collect::<Vec<_>>());
        let found = list(&advised["lines"]).iter().find(|line| line["part"] == "FAST-1").cloned();
        (advised["branch"].clone(), found.unwrap())
    };
    let free = |line: &serde_json::Value| line["free"].as_f64().unwrap();
    let months = |line: &serde_json::Value| line["forecast_per_month"].as_f64().unwrap();
    let (pooled, south, north) = (
        of("buy advise --all"),
        of("buy advise --all --branch South"),
        of("buy advise --all --branch north"),
    );
    assert_eq!((&pooled.0, &south.0, &north.0), (&json!(null), &json!("South"), &json!("North")));
    assert_eq!((free(&pooled.1), free(&south.1), free(&north.1)), (13.0, 3.0, 10.0));
    assert!(months(&south.1) > months(&north.1), "{south:?} {north:?}");
    assert!(months(&pooled.1) > months(&south.1), "{pooled:?}");
    assert!(bench.says("buy advise --all --branch North").contains("for North alone"));
    let drafted = bench.json(&["order", "basket", "--draft", "--branch", "North", "FAST-1=7"]);
    let order = drafted["drafts"][0]["order"].as_str().unwrap().to_owned();
    assert_eq!(drafted["drafts"][0]["branch"], "North");
    bench.says(&format!("order send {order}"));
    let on_order = |line: &str| of(line).1["on_order"].as_f64().unwrap();
    assert_eq!(on_order("buy advise --all"), 7.0);
    assert_eq!(on_order("buy advise --all --branch North"), 7.0);
    assert_eq!(on_order("buy advise --all --branch South"), 0.0);
    bench.does("stock transfer FAST-1 N1 2 A2-04");
    assert_eq!(on_order("buy advise --all --branch South"), 2.0);
}
