//! With the shop's server out of reach, does looking up go on, is posting refused, and is nothing lost?
//! Where no server is installed there is nothing to see.

use serde_json::{Value, json};

use crate::bench::{Bench, PLATE, list, text};
use crate::cluster::{Cluster, FAST};
use crate::screens::Tty;

/// The made-up shop on a server of its own.
fn on_a_server() -> Option<(Bench, Cluster)> {
    let server = Cluster::new(FAST)?;
    Some((Bench::on_server(&server.new_database()).filled(), server))
}

/// An answer without what says how old it is, and that.
fn aged(mut answer: Value) -> (Value, Value) {
    let card = if answer.is_array() { &mut answer[0] } else { &mut answer };
    let age = card.as_object_mut().unwrap().remove("stock_as_of").unwrap_or_default();
    (answer, age)
}

#[test]
fn find_fit_and_show_go_on_and_say_how_old_their_stock_is() {
    let Some((bench, server)) = on_a_server() else { return };
    let lines = [
        vec!["find", "RP-11O7"],
        PLATE.to_vec(),
        vec!["show", "RP-1107C"],
        vec!["show", "AU-1112"],
    ];
    let there: Vec<_> = lines.iter().map(|line| aged(bench.json(line))).collect();
    server.stop_hard();
    for (line, (answer, age)) in lines.iter().zip(there) {
        assert_eq!(age["server_out_of_reach"], false, "{line:?}: {age}");
        let (away, age) = aged(bench.json(line));
        assert_eq!(away, answer, "{line:?}");
        assert_eq!(age["server_out_of_reach"], true, "{line:?}: {age}");
        assert!(age["minutes_ago"].is_i64() && age["as_of"].is_string(), "{age}");
        let said = text(&bench.run(line).stdout);
        let last = said.lines().last().unwrap();
        assert!(last.starts_with("stock as of "), "{said}");
        assert!(last.ends_with(": the server is out of reach"), "{said}");
        let plain = bench.run(&[line.as_slice(), &["--plain"]].concat());
        assert!(text(&plain.stderr).starts_with("stock as of "), "{}", text(&plain.stderr));
    }
}

#[test]
fn what_would_post_is_refused_in_words_and_can_be_done_when_the_line_is_back() {
    let Some((bench, server)) = on_a_server() else { return };
    let line = ["stock", "sell", "RP-1131C", "A2-04", "1", "--reference", "R. Mott"];
    server.stop_hard();
    let refused = bench.run(&line);
    assert_eq!(refused.status.code(), Some(1));
    let said = text(&refused.stderr);
    assert!(
        said.contains("is out of reach since ") && said.contains("when the line is back"),
        "{said}"
    );
    let again = "not done: binwright stock sell RP-1131C A2-04 1 --reference 'R. Mott'";
    assert!(said.lines().any(|line| line == again), "{said}");
    let told = bench.run(&[&line[..], &["--json"]].concat());
    let told: Value = serde_json::from_slice(&told.stderr).unwrap();
    assert_eq!(told["not_done"], json!(format!("{} --json", &again[10..])));
    server.start();
    let free = |bench: &Bench| {
        let card = bench.json(&["show", "RP-1131C"]);
        let line = list(&card[0]["stock"]).iter().find(|line| line["bin"] == "A2-04").cloned();
        line.unwrap()["free"].as_f64().unwrap()
    };
    let before = free(&bench);
    assert_eq!(bench.run(&line).status.code(), Some(0));
    assert_eq!(free(&bench), before - 1.0, "it was not posted before");
}

/// A slip that cannot be posted stays as it was typed; when the server is back, Enter posts it.
#[test]
fn the_screens_go_on_without_the_server_and_with_it_again() {
    let Some((bench, server)) = on_a_server() else { return };
    let mut tty = Tty::open(&bench, "");
    tty.wait_for(&["[F2 counter]", "Test shop"]);
    tty.type_in("RP-1131C");
    tty.wait_for(&["▸", "A2-04"]);
    server.stop_hard();
    tty.wait_for(&["server out of reach: stock as of", "posting has to wait"]);
    tty.press("\x1b");
    tty.wait_until_gone("RP-1131C");
    tty.type_in("RP-1107C");
    tty.wait_for(&["▸ same number", "RP-1107C Pontrell"]);
    tty.press("\x1b");
    tty.wait_until_gone("RP-1107C");
    tty.type_in("RP-1131C");
    tty.wait_for(&["▸", "A2-04"]);
    tty.press("\r");
    tty.type_in("s1");
    tty.press("\r");
    tty.wait_for(&["is out of reach since", "RP-1131C", "server out of reach: stock as of"]);
    server.start();
    tty.wait_until_gone("posting has to wait");
    tty.press("\r");
    tty.wait_for(&[", sale: -1 x RP-1131C in A2-04 new"]);
    tty.press("\x03");
    assert_eq!(tty.end(), 0);
}
