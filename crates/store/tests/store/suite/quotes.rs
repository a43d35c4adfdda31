//! Does a quote hold its stock, let it go, and turn it into movements, through every kill?

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader};

use binwright_catalog::{Condition, Currency, Machine, Money, Quantity};
use binwright_store::{
    Keep, QuoteLine, QuoteReading, QuoteState, Revision, Side, Store, StoreError, StoredQuote,
    Writer,
};
use jiff::Timestamp;
use jiff::civil::{Date, date};
use tempfile::TempDir;

use super::super::ground::open;
use super::support::{is_sound, movement, on_hand, post, shop, spawn, spawned};

const TODAY: Date = date(2031, 3, 1);
const CORES_UNTIL: Date = date(2031, 4, 30);

fn now() -> Timestamp {
    "2031-03-01T12:00:00Z".parse().unwrap()
}

fn eur(minor: i64) -> Money {
    Money { minor, currency: Currency::EUR }
}

/// So many of each of these parts, at 10.00 each, an hour of work, 19 % on the parts.
fn revision(parts: &[(usize, i32)]) -> Revision {
    let mut lines: Vec<QuoteLine> = parts
        .iter()
        .map(|&(part, pieces)| QuoteLine {
            class: "part".into(),
            words: format!("plate {part}"),
            part: Some((format!("RP{part:04}"), Condition::New)),
            quantity: Quantity::whole(pieces),
            each: Some(eur(1_000)),
            net: eur(1_000 * i64::from(pieces)),
            tax: eur(190 * i64::from(pieces)),
            tax_percent: "19".into(),
        })
        .collect();
    lines.push(QuoteLine {
        class: "labour".into(),
        words: "fit".into(),
        part: None,
        quantity: Quantity::whole(60),
        each: None,
        net: eur(6_000),
        tax: eur(0),
        tax_percent: String::new(),
    });
    let sum = |of: fn(&QuoteLine) -> Money| eur(lines.iter().map(|line| of(line).minor).sum());
    let (net, tax) = (sum(|line| line.net), sum(|line| line.tax));
    Revision {
        revision: 0,
        issued: TODAY,
        valid_until: date(2031, 3, 22),
        hold_until: date(2031, 3, 6),
        cover: "1".into(),
        asked: "{}".into(),
        words: "{}".into(),
        total: eur(net.minor + tax.minor),
        rounding: eur(0),
        net,
        tax,
        lines,
        who: "Ann".into(),
        at: now(),
    }
}

fn stocked(dir: &TempDir) -> Store {
    let mut store = shop(dir.path(), 2, 2);
    for (part, bin, pieces) in [(0, 0, 2), (0, 1, 5), (1, 0, 1)] {
        post(&mut store, &movement(part, bin, pieces)).unwrap();
    }
    store
}

fn add(store: &mut Store, parts: &[(usize, i32)]) -> (String, Vec<Quantity>) {
    let (number, missing) = store
        .write(Keep::Yes, |w| w.quote_add("Berta", Machine::Alternator, "", &revision(parts), &[]))
        .unwrap();
    (number, missing.into_iter().map(|missing| missing.quantity).collect())
}

fn free(store: &Store, part: usize, today: Date) -> i64 {
    let id = store.parts_by_number(&format!("RP{part:04}")).unwrap()[0];
    let lines = store.stock(id, today).unwrap();
    lines.iter().map(|line| line.free().thousandths() / 1000).sum()
}

fn held(quote: &StoredQuote) -> Vec<(String, i64)> {
    let of = |open: &binwright_store::OpenHold| {
        (open.hold.bin.clone(), open.hold.quantity.thousandths() / 1000)
    };
    quote.holds.iter().map(of).collect()
}

#[test]
fn a_quote_holds_its_stock_until_its_day_and_what_is_missing_is_told() {
    let dir = TempDir::new().unwrap();
    let mut store = stocked(&dir);
    let (number, missing) = add(&mut store, &[(0, 6), (1, 3)]);
    assert_eq!((number.as_str(), &missing[..]), ("Q-0001", &[Quantity::whole(2)][..]));
    let quote = store.quote("q1").unwrap();
    let bins = [("B1".to_owned(), 5), ("B0".to_owned(), 1), ("B0".to_owned(), 1)];
    assert_eq!(held(&quote), bins, "the fullest bin first, then what is left");
    assert_eq!((free(&store, 0, TODAY), free(&store, 1, TODAY)), (1, 0));
    assert_eq!(free(&store, 0, date(2031, 3, 6)), 1, "the last day it holds");
    assert_eq!(free(&store, 0, date(2031, 3, 7)), 7, "a lapsed quote lets go by itself");
    assert_eq!(quote.newest.lines.len(), 3);
    assert_eq!(quote.newest.total, eur(9 * 1_190 + 6_000));
    is_sound(&store);
}

/// What a customer paid as a deposit is what goes back: the line with its tax.
#[test]
fn deposits_are_owed_once_the_parts_are_issued() {
    let dir = TempDir::new().unwrap();
    let mut store = stocked(&dir);
    let mut revision = revision(&[(1, 1), (0, 2)]);
    let deposit = QuoteLine {
        class: "core-deposit".into(),
        words: "deposit".into(),
        part: None,
        net: eur(5_000),
        tax: eur(950),
        ..revision.lines[1].clone()
    };
    revision.lines.insert(2, deposit);
    let (number, _) = store
        .write(Keep::Yes, |w| w.quote_add("Berta", Machine::Alternator, "", &revision, &[]))
        .unwrap();
    store.write(Keep::Yes, |w| w.quote_accept(&number, TODAY)).unwrap();
    assert_eq!(store.cores().unwrap(), [], "nothing is owed before the parts are handed over");
    let issue = |w: &mut Writer<'_>| w.quote_issue("q1", "Ann", now(), TODAY, CORES_UNTIL);
    store.write(Keep::DryRun, issue).unwrap();
    assert_eq!(store.cores().unwrap(), [], "a dry run writes nothing down");
    store.write(Keep::Yes, issue).unwrap();
    let [ref line] = store.cores().unwrap()[..] else { panic!("one debt") };
    let debt = &line.debt;
    assert_eq!(
        (debt.side, debt.party.as_str(), debt.item.as_str()),
        (Side::Customer, "Berta", "RP 0000")
    );
    assert_eq!((debt.quantity, debt.deposit), (Quantity::whole(2), eur(5_950)));
    assert_eq!((debt.reference.as_str(), debt.until), ("Q-0001", Some(CORES_UNTIL)));
    is_sound(&store);
}

#[test]
fn a_quote_taken_becomes_a_job_and_its_holds_become_movements() {
    let dir = TempDir::new().unwrap();
    let mut store = stocked(&dir);
    let (number, _) = add(&mut store, &[(0, 2), (1, 2)]);
    let missing = store.write(Keep::Yes, |w| w.quote_accept(&number, TODAY)).unwrap();
    assert_eq!(missing[0].quantity, Quantity::ONE);
    assert_eq!(free(&store, 0, date(2032, 1, 1)), 5, "a job holds until it is issued");
    let issue = |store: &mut Store| {
        store.write(Keep::Yes, |w| w.quote_issue(&number, "Ann", now(), TODAY, CORES_UNTIL))
    };
    let short = issue(&mut store).unwrap_err();
    assert!(matches!(short, StoreError::QuoteShort { ref part, .. } if part == "RP 0001"));
    assert_eq!(store.quote(&number).unwrap().state, QuoteState::Accepted, "nothing was issued");
    post(&mut store, &movement(1, 1, 4)).unwrap();
    let fill = |store: &mut Store| store.write(Keep::Yes, |w| w.jobs_fill(TODAY)).unwrap();
    let filled = fill(&mut store);
    assert_eq!((filled[0].number.as_str(), filled[0].lacks.len()), (number.as_str(), 0));
    assert_eq!(free(&store, 1, TODAY), 3, "what came is held for the job");
    assert!(fill(&mut store).is_empty(), "nothing more is waited for");
    assert_eq!(issue(&mut store).unwrap().len(), 3);
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 1, 0), on_hand(&store, 1, 1)), (0, 0, 3));
    assert!(issue(&mut store).is_err(), "once");
    let reading =
        QuoteReading { check: "ripple".into(), outcome: "low".into(), typed: "0.05V".into() };
    let close = |store: &mut Store| {
        let faults = ["diode-shorted".to_owned()];
        store.write(Keep::Yes, |w| {
            w.quote_close(&number, std::slice::from_ref(&reading), &faults, "")
        })
    };
    close(&mut store).unwrap();
    let closed = store.quotes(Some(QuoteState::Closed)).unwrap().remove(0);
    assert_eq!((closed.closing.len(), closed.faults.len(), closed.holds.len()), (1, 1, 0));
    assert!(close(&mut store).is_err(), "once");
    is_sound(&store);
}

#[test]
fn a_revision_lets_the_old_stock_go_and_the_old_paper_stands() {
    let dir = TempDir::new().unwrap();
    let mut store = stocked(&dir);
    let (number, _) = add(&mut store, &[(0, 7)]);
    store.write(Keep::Yes, |w| w.quote_revise(&number, &revision(&[(0, 3)]), &[])).unwrap();
    assert_eq!(free(&store, 0, TODAY), 4);
    let old = store.quote_revision(&number, 1).unwrap();
    assert_eq!(old.lines[0].quantity, Quantity::whole(7));
    assert_eq!(store.quote(&number).unwrap().newest.revision, 2);
    store.write(Keep::Yes, |w| w.quote_drop(&number, "too dear")).unwrap();
    assert_eq!(free(&store, 0, TODAY), 7);
    let again = store.write(Keep::Yes, |w| w.quote_drop(&number, "")).unwrap_err();
    assert!(matches!(again, StoreError::QuoteState { state: "dropped", .. }));
}

#[test]
fn a_quote_past_its_day_is_not_taken_and_one_that_let_go_takes_what_is_left() {
    let dir = TempDir::new().unwrap();
    let mut store = stocked(&dir);
    let (first, _) = add(&mut store, &[(0, 6)]);
    let (second, _) = add(&mut store, &[(0, 1)]);
    let late = date(2031, 3, 10);
    let mut sold = movement(0, 1, -3);
    sold.day = late;
    post(&mut store, &sold).unwrap();
    let missing = store.write(Keep::Yes, |w| w.quote_accept(&first, late)).unwrap();
    assert_eq!(missing[0].quantity, Quantity::whole(2), "seven less three sold leave four of six");
    let lapsed = store.write(Keep::Yes, |w| w.quote_accept(&second, date(2031, 3, 23)));
    assert!(matches!(lapsed, Err(StoreError::QuoteLapsed { .. })));
    assert!(matches!(store.quote("Q-9"), Err(StoreError::NoSuchQuote { .. })));
    assert!(matches!(store.quote("x1"), Err(StoreError::NoSuchQuote { .. })));
}

/// Takes quotes through all their steps as fast as it goes, saying each step that was acknowledged.
#[test]
#[ignore = "runs in a process of its own, to be killed"]
#[allow(clippy::print_stdout, reason = "the test that spawned it reads what was acknowledged")]
fn walks_quotes_until_it_is_killed() {
    let Some((dir, _)) = spawned() else { return };
    let mut store = open(&dir).unwrap();
    loop {
        let (number, _) = add(&mut store, &[(0, 2), (1, 1)]);
        println!("ack {number} open");
        store.write(Keep::Yes, |w| w.quote_accept(&number, TODAY)).unwrap();
        println!("ack {number} accepted");
        store
            .write(Keep::Yes, |w| w.quote_issue(&number, "Ann", now(), TODAY, CORES_UNTIL))
            .unwrap();
        println!("ack {number} issued");
        store.write(Keep::Yes, |w| w.quote_close(&number, &[], &[], "")).unwrap();
        println!("ack {number} closed");
    }
}

/// Killed between and inside its steps, a quote stands at the last step acknowledged or the one
/// after, and what is held and issued is exactly what that step says.
#[test]
fn holds_survive_a_kill_between_any_two_steps() {
    let dir = TempDir::new().unwrap();
    let mut store = shop(dir.path(), 2, 1);
    for part in [0, 1] {
        post(&mut store, &movement(part, 0, 100_000)).unwrap();
    }
    drop(store);
    let order = ["open", "accepted", "issued", "closed"];
    let mut acknowledged: BTreeMap<String, usize> = BTreeMap::new();
    for round in 0..12_usize {
        let mut child =
            spawn(concat!(module_path!(), "::walks_quotes_until_it_is_killed"), dir.path(), 0);
        let out = BufReader::new(child.stdout.take().unwrap());
        // Killed after ever another number of steps: so after each of the four in turn.
        let mut left = 5 + round * 3;
        for line in out.lines() {
            let line = line.unwrap();
            let Some((number, step)) = line.strip_prefix("ack ").and_then(|l| l.split_once(' '))
            else {
                continue;
            };
            let step = order.iter().position(|known| *known == step).unwrap();
            acknowledged.insert(number.to_owned(), step);
            left = left.saturating_sub(1);
            if left == 0 {
                let _ = child.kill();
            }
        }
        child.wait().unwrap();
        let store = open(dir.path()).unwrap();
        is_sound(&store);
        let mut out_of = [0_i64, 0];
        let mut held_of = [0_i64, 0];
        for quote in store.quotes(None).unwrap() {
            let step = order.iter().position(|known| *known == quote.state.word()).unwrap();
            let told = acknowledged.get(&quote.number).map_or(-1, |step| *step as i64);
            assert!(
                (told..=told + 1).contains(&(step as i64)),
                "{} was told {told} and stands at {step}",
                quote.number
            );
            let holds =
                if step < 2 { vec![("B0".to_owned(), 2), ("B0".to_owned(), 1)] } else { vec![] };
            assert_eq!(held(&quote), holds, "{} at {step}", quote.number);
            for (part, pieces) in [(0, 2), (1, 1)] {
                *(if step < 2 { &mut held_of[part] } else { &mut out_of[part] }) += pieces;
            }
        }
        for part in [0, 1] {
            assert_eq!(on_hand(&store, part, 0), 100_000 - out_of[part]);
            assert_eq!(free(&store, part, TODAY), 100_000 - out_of[part] - held_of[part]);
        }
    }
    assert!(acknowledged.len() > 30, "{} quotes", acknowledged.len());
}
