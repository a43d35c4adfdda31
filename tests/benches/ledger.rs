//! How fast are parts put and movements posted, beside the bare engine and the disk?
//!
//! `cargo bench -p binwright-tests --bench ledger [-- FOLDER]`; FOLDER says on which disk. An
//! invented shop of 200,000 parts with six measures, a layout on every other, and one more number
//! each; then movements, one transaction each, in turns with the same rows written by the bare
//! engine in a store of the same shape; then eight desks with 50 ms to think, and four writers that
//! never pause, each a process of its own.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a measurement")]

use std::collections::BTreeMap;
use std::fs::File;
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

use binwright_catalog::{Condition, Currency, Money, Part, PartNumber, Quantity, Value};
use binwright_store::{Bin, Keep, Movement, Put, Reason, Store, StoreError};
use binwright_tests::figures::{Goal, Report};

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

fn a_second(report: &mut Report, what: &str, count: usize, start: Instant) {
    report.figure(what, count as f64 / start.elapsed().as_secs_f64(), "a second", Goal::None);
}

fn put_all(report: &mut Report, store: &mut Store, parts: &[Part], expected: Put) {
    let start = Instant::now();
    store
        .write(Keep::Yes, |w| -> Result<(), StoreError> {
            for part in parts {
                assert_eq!(w.put_part(part)?.1, expected);
            }
            Ok(())
        })
        .unwrap();
    a_second(report, &format!("parts put, {expected:?}"), parts.len(), start);
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
        store.write(Keep::Yes, |w| w.post(&receipt(at))).unwrap();
    }
    start.elapsed()
}

/// Postings of a desk that thinks; seconds that writers without a pause post for.
const THOUGHTFUL: usize = 100;
const TIGHT: Duration = Duration::from_secs(5);
/// The part of a process that was started by this one.
const ROLE: &str = "LEDGER_BENCH_ROLE";

fn receipt(at: usize) -> Movement {
    Movement {
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
    }
}

/// Posts with 50 ms between and prints how long each took, or without and prints how many it were.
fn desk(role: &str, dir: &Path) {
    let mut store = Store::open(dir).unwrap();
    let mut post = |at| store.write(Keep::Yes, |w| w.post(&receipt(at))).unwrap();
    if role == "thoughtful" {
        for at in 0..THOUGHTFUL {
            let start = Instant::now();
            post(at);
            println!("{}", start.elapsed().as_micros());
            std::thread::sleep(Duration::from_millis(50));
        }
    } else {
        let (start, mut posted) = (Instant::now(), 0);
        while start.elapsed() < TIGHT {
            post(posted);
            posted += 1;
        }
        println!("{posted}");
    }
}

/// What `count` desks in processes of their own print.
fn desks(role: &str, count: usize, dir: &Path) -> Vec<u64> {
    let start = |_| {
        let program = std::env::current_exe().unwrap();
        let out = std::process::Stdio::piped();
        std::process::Command::new(program).arg(dir).env(ROLE, role).stdout(out).spawn().unwrap()
    };
    let all: Vec<_> = (0..count).map(start).collect();
    let mut told = Vec::new();
    for desk in all {
        let out = desk.wait_with_output().unwrap();
        assert!(out.status.success(), "nobody is told that the store is busy");
        let text = String::from_utf8(out.stdout).unwrap();
        told.extend(text.lines().map(|line| line.parse::<u64>().unwrap()));
    }
    told.sort_unstable();
    told
}

fn post_side_by_side(report: &mut Report, dir: &Path) {
    let took_us = desks("thoughtful", 8, dir);
    let at = |share: usize| took_us[took_us.len() * share / 100] as f64 / 1e3;
    report.figure("8 desks, 50 ms to think, p50", at(50), "ms", Goal::None);
    report.figure("8 desks, 50 ms to think, p99", at(99), "ms", Goal::AtMost(20.0));
    let posted = desks("tight", 4, dir);
    let all: u64 = posted.iter().sum();
    let each = all as f64 / TIGHT.as_secs_f64();
    report.figure("4 writers without a pause", each, "a second", Goal::None);
    let least = posted[0] as f64 * 400.0 / all as f64;
    report.figure("the least of them, of a fair share", least, "%", Goal::AtLeast(70.0));
}

fn main() {
    if let (Ok(role), Some(dir)) = (std::env::var(ROLE), std::env::args().nth(1)) {
        return desk(&role, Path::new(&dir));
    }
    let dir = tempfile::tempdir_in(
        std::env::args().nth(1).filter(|folder| folder != "--bench").unwrap_or_else(|| ".".into()),
    )
    .unwrap();
    let mut file = File::create(dir.path().join("sync")).unwrap();
    let start = Instant::now();
    for _ in 0..500 {
        file.write_all(&[7; 4096]).unwrap();
        file.sync_data().unwrap();
    }
    let mut report = Report::begin("ledger").unwrap();
    report.of(PARTS, &format!("a ledger beside {PARTS} parts"));
    report.figure("fdatasync after 4 KiB", ms(start) / 500.0, "ms", Goal::Yardstick);

    let mut store = Store::create(dir.path(), "Speed", Currency::EUR).unwrap();
    let bin = Bin { name: "A1".into(), aisle: "A".into(), ..Bin::default() };
    store.write(Keep::Yes, |w| w.put_bin(&bin)).unwrap();
    let parts: Vec<Part> = (0..PARTS).map(part).collect();
    put_all(&mut report, &mut store, &parts, Put::Added);
    put_all(&mut report, &mut store, &parts, Put::Unchanged);
    let start = Instant::now();
    let mut read = 0;
    store
        .each_part(None, |_| -> Result<(), StoreError> {
            read += 1;
            Ok(())
        })
        .unwrap();
    a_second(&mut report, "parts read", read, start);

    post_in_turns(&mut report, &mut store, dir.path());
    post_side_by_side(&mut report, dir.path());
    let start = Instant::now();
    assert_eq!(store.check("2031-03-01".parse().unwrap()).unwrap(), []);
    let movements = store.last_movement().unwrap();
    report.figure(&format!("check of {movements} movements"), ms(start), "ms", Goal::None);
    let start = Instant::now();
    store.backup(&dir.path().join("copy.db")).unwrap();
    report.figure("backup", ms(start), "ms", Goal::None);
    drop(store);
    let start = Instant::now();
    let store = Store::open(dir.path()).unwrap();
    let found = store.parts_by_number("zx-777").unwrap();
    assert_eq!(found.len(), 1);
    report.figure("open and find one number", ms(start), "ms", Goal::AtMost(50.0));
}

fn ms(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1e3
}

/// In turns, so that both meet the same noise. The bare engine works on a copy: what it writes has
/// no hashes and must not reach the store.
fn post_in_turns(report: &mut Report, store: &mut Store, dir: &Path) {
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
    let rate = |took: Duration| postings / took.as_secs_f64();
    report.figure("postings", rate(ours), "a second", Goal::None);
    report.figure("postings, bare engine", rate(bares), "a second", Goal::Yardstick);
    let share = shares[ROUNDS / 2] * 100.0;
    report.figure("postings beside it, median", share, "%", Goal::AtLeast(75.0));
}
