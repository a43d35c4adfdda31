//! Does what other programs read keep its shape? Every field of the JSON answers and every column
//! of the tab-separated ones is pinned: a field that goes or changes its meaning raises
//! `ANSWER_VERSION` and is told in the change.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::bench::{Bench, PLATE, samples, text};

/// The paths of all fields below `value`: `candidates[].stock[].bin`.
fn paths(value: &Value, at: &str, into: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) => {
            for (name, inner) in fields {
                let dot = if at.is_empty() { "" } else { "." };
                paths(inner, &format!("{at}{dot}{name}"), into);
            }
        }
        Value::Array(items) => {
            items.iter().for_each(|item| paths(item, &format!("{at}[]"), into));
        }
        _ => {
            into.insert(at.to_owned());
        }
    }
}

const SUPPLY: &str = "crosses[].by_way_of[] crosses[].forward crosses[].free crosses[].kind \
    crosses[].number crosses[].quantity crosses[].remark crosses[].stock[].bin \
    crosses[].stock[].condition crosses[].stock[].free crosses[].stock[].on_hand prices[].list \
    prices[].price.amount prices[].price.currency stock[].bin stock[].condition stock[].free \
    stock[].on_hand units[].description units[].role units[].unit";

fn pinned(own: &str, supply_at: &str) -> BTreeSet<String> {
    let own = own.split_whitespace().map(str::to_owned);
    own.chain(SUPPLY.split_whitespace().map(|path| format!("{supply_at}{path}"))).collect()
}

#[test]
fn the_fields_of_json_answers_are_pinned() {
    let bench = Bench::with_samples();
    let fit = [&PLATE[..], &["--limit", "10"]].concat();
    let rows = [
        (
            fit,
            pinned(
                "kinds[] none candidates[].number candidates[].also[] \
                 candidates[].probability candidates[].kind candidates[].description \
                 candidates[].maker candidates[].wrong_hand candidates[].measures[].measure \
                 candidates[].measures[].label candidates[].measures[].unit \
                 candidates[].measures[].taken candidates[].measures[].nominal \
                 candidates[].measures[].lent_by candidates[].measures[].deviation \
                 candidates[].measures[].verdict next[].measure next[].label next[].gain_bits \
                 next[].minutes next[].how",
                "candidates[].",
            ),
        ),
        (
            vec!["find", "RP-11*", "--limit", "40"],
            pinned(
                "standard[] hits[].number hits[].matched hits[].how hits[].distance hits[].kind \
                 hits[].description hits[].maker",
                "hits[].",
            ),
        ),
        (
            vec!["show", "RP-1131C"],
            pinned(
                "[].number [].kind [].description [].maker [].numbers[][] [].measures[][] \
                 [].layout",
                "[].",
            ),
        ),
    ];
    for (line, pins) in rows {
        let mut seen = BTreeSet::new();
        paths(&bench.json(&line), "", &mut seen);
        let new: Vec<_> = seen.difference(&pins).collect();
        assert!(new.is_empty(), "{line:?} has fields nobody pinned: {new:?}");
        // What one answer need not have: a lender, a chain's way, a sentence of a standard; and
        // one part alone may lie nowhere and sit in nothing.
        let may_lack = |path: &&String| {
            ["lent_by", "by_way_of[]", "also[]", "standard[]"].iter().any(|end| path.ends_with(end))
                || (line[0] == "show" && (path.contains("crosses") || path.contains("units")))
        };
        let gone: Vec<_> = pins.difference(&seen).filter(|path| !may_lack(path)).collect();
        assert!(gone.is_empty(), "{line:?} lost fields: {gone:?}");
    }
}

#[test]
fn the_columns_of_plain_answers_are_pinned() {
    let bench = Bench::with_samples();
    let parts = samples().join("parts.csv").display().to_string();
    let fit = PLATE.to_vec();
    for (line, columns) in [
        (fit, 6),
        (vec!["find", "RP-1131C"], 8),
        (vec!["kinds"], 2),
        (vec!["import", "--dry-run", &parts], 6),
        (vec!["paths"], 2),
    ] {
        let done = bench.run(&[&line[..], &["--plain"]].concat());
        let said = text(&done.stdout);
        let first = said.lines().next().unwrap_or_default();
        assert_eq!(first.split('\t').count(), columns, "{line:?}: {first:?}");
    }
}

/// Lines of the stock desk with the fields of their answers. What is left out when there is none
/// (`undoes`, `undone_by`, `until`, `posting`) is there on these lines.
const STOCK_DESK: &str = include_str!("stock_desk_fields.txt");

#[test]
fn the_fields_of_the_stock_desk_are_pinned() {
    let bench = Bench::with_samples();
    let (copy, again) = (bench.path("copy.db"), bench.path("again"));
    let (copy, again) = (copy.display().to_string(), again.display().to_string());
    let (mut told, mut posted) = (String::new(), String::new());
    for row in STOCK_DESK.lines().filter(|row| row.starts_with("$ ")) {
        let line = row[2..].replace("COPY", &copy).replace("AGAIN", &again);
        let line = line.replace("POSTED", &posted);
        let words: Vec<&str> = line.split(' ').collect();
        let mut seen = BTreeSet::new();
        let answer = bench.json(&words);
        posted = answer["posting"].to_string();
        paths(&answer, "", &mut seen);
        let seen: Vec<String> = seen.into_iter().collect();
        told.push_str(&format!("{row}\n{}\n", seen.join(" ")));
    }
    assert_eq!(told, STOCK_DESK, "a field that goes or changes its meaning raises ANSWER_VERSION");
}
