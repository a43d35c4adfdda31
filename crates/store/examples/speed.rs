//! How fast are parts put and movements posted, beside the bare engine and the disk?
//!
//! An invented shop of 200,000 parts with six measures, a layout on every other, and one more
//! number each; then movements, one transaction each, in turns with the same rows written by the
//! bare engine in a store of the same shape. Run with `cargo run --release --example speed`.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a measurement")]

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

use binwright_catalog::{Condition, Currency, Money, Part, PartNumber, Quantity, Value};
use binwright_store::{Bin, Keep, Movement, Put, Reason, Store, StoreError};

const PARTS: usize = 200_000;
/// Postings of a round, one transaction each, and rounds.
const ROUND: usize = 200;
const ROUNDS: usize = 31;

fn part(at: usize) -> Part {
    let measure = |key: usize| {
        (format!("measure-{key}"), Value::Number((at * 37 % 9_973) as f64 / 100.0 + key as f64))
    };
    let layout = format!("hole@0,0/6.2; hole@{},0/6.2; stud:B+@46,31.5/M8", at % 100 + 1);
    Part {
        house: format!("RP {at:07}"),
        kind: format!("kind-{}", at % 20),
        description: "plate with studs".into(),
        maker: "Zorvex".into(),
        measures: (0..6).map(measure).collect::<BTreeMap<_, _>>(),
        layout: at.is_multiple_of(2).then(|| layout.parse().unwrap()),
        numbers: vec![PartNumber { text: format!("ZX-{at}"), user: "Zorvex".into() }],
        ..Part::default()
    }
}

fn a_second(what: &str, count: usize, start: Instant) {
    println!("{what:<44}{:>10.0} a second", count as f64 / start.elapsed().as_secs_f64());
}

fn put_all(store: &mut Store, parts: &[Part], expected: Put) {
    let start = Instant::now();
    store
        .write(Keep::Yes, |w| -> Result<(), StoreError> {
            for part in parts {
                assert_eq!(w.put_part(part)?.1, expected);
            }
            Ok(())
        })
        .unwrap();
    a_second(&format!("parts put, {expected:?}"), parts.len(), start);
}

/// The same statements with the same bytes, without the ledger's thinking.
fn bare(db: &rusqlite::Connection) -> Duration {
    let first: i64 =
        db.query_row("SELECT COALESCE(MAX(seq), 0) FROM movement", [], |row| row.get(0)).unwrap();
    let start = Instant::now();
    for at in 1..=ROUND as i64 {
        db.execute_batch("BEGIN IMMEDIATE").unwrap();
        db.prepare_cached(
            "INSERT INTO movement (seq, part_id, bin_id, condition, quantity, reason, reference,
                who, at, posting, value, day, hash)
             VALUES (?1, ?2, 1, 'new', 1000, 'receive', 'PO-77', 'Ann', '2031-03-01T12:00:00Z', ?1,
                1250, '2031-03-01', randomblob(32))",
        )
        .unwrap()
        .execute((first + at, at * 7 % 1_000 + 1))
        .unwrap();
        db.prepare_cached(
            "INSERT INTO balance (part_id, bin_id, condition, on_hand) VALUES (?1, 1, 'new', 1000)
             ON CONFLICT DO UPDATE SET on_hand = on_hand + 1000",
        )
        .unwrap()
        .execute([at * 7 % 1_000 + 1])
        .unwrap();
        db.prepare_cached(
            "INSERT INTO worth (part_id, condition, on_hand, value) VALUES (?1, 'new', 1000, 1250)
             ON CONFLICT DO UPDATE SET on_hand = on_hand + 1000, value = value + 1250",
        )
        .unwrap()
        .execute([at * 7 % 1_000 + 1])
        .unwrap();
        db.execute_batch("COMMIT").unwrap();
    }
    start.elapsed()
}

fn post_all(store: &mut Store) -> Duration {
    let start = Instant::now();
    for at in 0..ROUND {
        let movement = Movement {
            part: format!("RP {:07}", at * 7 % 1_000),
            bin: "A1".into(),
            condition: Condition::New,
            quantity: Quantity::ONE,
            unit_cost: Some(Money { minor: 1250, currency: Currency::EUR }),
            reason: Reason::Receive,
            reference: "PO-77".into(),
            note: String::new(),
            who: "Ann".into(),
            day: "2031-03-01".parse().unwrap(),
            at: "2031-03-01T12:00:00Z".parse().unwrap(),
        };
        store.write(Keep::Yes, |w| w.post(&movement)).unwrap();
    }
    start.elapsed()
}

fn main() {
    let dir = tempfile::tempdir_in(std::env::args().nth(1).unwrap_or_else(|| ".".into())).unwrap();
    let mut file = File::create(dir.path().join("sync")).unwrap();
    let start = Instant::now();
    for _ in 0..500 {
        file.write_all(&[7; 4096]).unwrap();
        file.sync_data().unwrap();
    }
    println!("fdatasync after 4 KiB {:.3} ms", start.elapsed().as_secs_f64() * 1e3 / 500.0);

    let mut store = Store::create(dir.path(), "Speed", Currency::EUR).unwrap();
    let bin = Bin { name: "A1".into(), aisle: "A".into(), description: String::new() };
    store.write(Keep::Yes, |w| w.put_bin(&bin)).unwrap();
    let parts: Vec<Part> = (0..PARTS).map(part).collect();
    put_all(&mut store, &parts, Put::Added);
    put_all(&mut store, &parts, Put::Unchanged);
    let start = Instant::now();
    let mut read = 0;
    store
        .each_part(None, |_| -> Result<(), StoreError> {
            read += 1;
            Ok(())
        })
        .unwrap();
    a_second("parts read", read, start);

    post_in_turns(&mut store, dir.path());
    let start = Instant::now();
    assert_eq!(store.check("2031-03-01".parse().unwrap()).unwrap(), []);
    println!("check of {} movements {:.0} ms", ROUNDS * ROUND, start.elapsed().as_secs_f64() * 1e3);
    let start = Instant::now();
    store.backup(&dir.path().join("copy.db")).unwrap();
    println!("backup {:.0} ms", start.elapsed().as_secs_f64() * 1e3);
    drop(store);
    let start = Instant::now();
    let store = Store::open(dir.path()).unwrap();
    let found = store.parts_by_number("zx-777").unwrap();
    println!("open and find {found:?} {:.2} ms", start.elapsed().as_secs_f64() * 1e3);
}

/// In turns, so that both meet the same noise. The bare engine works on a copy: what it writes has
/// no hashes and must not reach the store.
fn post_in_turns(store: &mut Store, dir: &Path) {
    let path = dir.join("bare.db");
    store.backup(&path).unwrap();
    let db = rusqlite::Connection::open(&path).unwrap();
    db.pragma_update(None, "journal_mode", "WAL").unwrap();
    db.pragma_update(None, "synchronous", "FULL").unwrap();
    db.pragma_update(None, "cache_size", -96 * 1024).unwrap();
    let (mut ours, mut bares) = (Duration::ZERO, Duration::ZERO);
    let mut shares: Vec<f64> = Vec::new();
    for _ in 0..ROUNDS {
        let (our, bare) = (post_all(store), bare(&db));
        (ours, bares) = (ours + our, bares + bare);
        shares.push(bare.as_secs_f64() / our.as_secs_f64());
    }
    shares.sort_unstable_by(f64::total_cmp);
    let postings = (ROUNDS * ROUND) as f64;
    for (what, took) in [("postings, store", ours), ("postings, bare engine", bares)] {
        println!("{what:<44}{:>10.0} a second", postings / took.as_secs_f64());
    }
    println!("store as a share of the bare engine, median {:>8.0} %", shares[ROUNDS / 2] * 100.0);
}
