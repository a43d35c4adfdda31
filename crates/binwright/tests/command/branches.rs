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
