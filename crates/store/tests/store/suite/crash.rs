//! Is what was acknowledged there after a kill, and can two processes sell one piece?

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::time::Duration;

use binwright_store::{Store, StoreError};

use super::super::ground::open;
use super::support::{is_sound, movement, on_hand, post, shop, spawn, spawned};

const WRITERS: usize = 3;

/// Posts one piece after the other into its own bin and says so after each.
#[test]
#[ignore = "run in a process of its own by the test below"]
fn posts_until_killed() {
    let Some((dir, role)) = spawned() else { return };
    let mut store = open(&dir).unwrap();
    let mut out = std::io::stdout();
    loop {
        post(&mut store, &movement(0, role, 1)).unwrap();
        writeln!(out, "ack").unwrap();
        out.flush().unwrap();
    }
}

/// Method: three processes post in tight loops and are killed at an odd moment; as many rounds as
/// `STORE_KILL_ROUNDS` says. At most the one piece a writer had in hand is there unacknowledged.
#[test]
fn no_acknowledged_movement_is_lost_to_a_kill() {
    let rounds = std::env::var("STORE_KILL_ROUNDS").ok().and_then(|n| n.parse().ok()).unwrap_or(50);
    let dir = tempfile::tempdir().unwrap();
    drop(shop(dir.path(), 1, WRITERS));
    let mut acknowledged = 0;
    for round in 0..rounds {
        let before = stock(&open(dir.path()).unwrap());
        let acks = kill_all(dir.path(), Duration::from_millis(30 + round * 37 % 90));
        let store = open(dir.path()).unwrap();
        let after = stock(&store);
        for writer in 0..WRITERS {
            let posted = after[writer] - before[writer];
            let acked = acks[writer];
            assert!(posted == acked || posted == acked + 1, "{posted} there, {acked} told");
            acknowledged += acked;
        }
        is_sound(&store);
    }
    // How many depends on the machine; of none nothing would be proved.
    assert!(acknowledged > 0, "nobody came to post in {rounds} rounds");
    writeln!(std::io::stderr(), "{acknowledged} acknowledged in {rounds} rounds, 0 lost").unwrap();
}

fn stock(store: &Store) -> Vec<i64> {
    (0..WRITERS).map(|bin| on_hand(store, 0, bin)).collect()
}

fn kill_all(dir: &Path, after: Duration) -> Vec<i64> {
    let mut writers: Vec<_> = (0..WRITERS)
        .map(|role| spawn(concat!(module_path!(), "::posts_until_killed"), dir, role))
        .collect();
    let counts: Vec<_> = writers
        .iter_mut()
        .map(|writer| {
            let out = BufReader::new(writer.stdout.take().unwrap());
            std::thread::spawn(move || {
                out.lines().map_while(Result::ok).filter(|line| line.ends_with("ack")).count()
            })
        })
        .collect();
    std::thread::sleep(after);
    for writer in &mut writers {
        writer.kill().unwrap();
    }
    for writer in &mut writers {
        writer.wait().unwrap();
    }
    counts.into_iter().map(|count| count.join().unwrap() as i64).collect()
}

const PIECES: usize = 1000;

/// Tries to sell the one piece there is of every part.
#[test]
#[ignore = "run in a process of its own by the test below"]
fn sells_all_it_can() {
    let Some((dir, _)) = spawned() else { return };
    let mut store = open(&dir).unwrap();
    while !dir.join("go").exists() {
        std::thread::yield_now();
    }
    let mut sold = 0;
    for part in 0..PIECES {
        match post(&mut store, &movement(part, 0, -1)) {
            Ok(_) => sold += 1,
            Err(StoreError::Short { .. }) => {}
            Err(other) => panic!("{other}"),
        }
    }
    writeln!(std::io::stdout(), "sold {sold}").unwrap();
}

#[test]
fn two_processes_never_sell_the_same_last_piece() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), PIECES, 1);
    store
        .write(binwright_store::Keep::Yes, |w| {
            (0..PIECES).try_for_each(|part| w.post(&movement(part, 0, 1)).map(drop))
        })
        .unwrap();
    let rivals: Vec<_> = (0..2)
        .map(|at| spawn(concat!(module_path!(), "::sells_all_it_can"), dir.path(), at))
        .collect();
    std::fs::write(dir.path().join("go"), "").unwrap();
    let sold: Vec<usize> = rivals
        .into_iter()
        .map(|rival| {
            let out = rival.wait_with_output().unwrap();
            assert!(out.status.success());
            let text = String::from_utf8(out.stdout).unwrap();
            let line = text.lines().find_map(|line| line.split_once("sold ")).unwrap();
            line.1.trim().parse().unwrap()
        })
        .collect();
    assert_eq!(sold.iter().sum::<usize>(), PIECES, "{sold:?}");
    is_sound(&store);
}

const EACH: i64 = 20;

/// Posts with a pause after each, as a person would, and says how long each took.
#[test]
#[ignore = "run in a process of its own by the test below"]
fn posts_with_pauses() {
    let Some((dir, _)) = spawned() else { return };
    let mut store = open(&dir).unwrap();
    let mut out = std::io::stdout();
    for _ in 0..EACH {
        let start = std::time::Instant::now();
        post(&mut store, &movement(0, 0, 1)).unwrap();
        writeln!(out, "took {}", start.elapsed().as_micros()).unwrap();
        std::thread::sleep(Duration::from_millis(50));
    }
}

/// Eight people at eight desks: nobody is told that the store is busy, nothing is lost.
#[test]
fn eight_processes_post_side_by_side_without_a_busy_error() {
    let dir = tempfile::tempdir().unwrap();
    let store = shop(dir.path(), 1, 1);
    let desks: Vec<_> = (0..8)
        .map(|at| spawn(concat!(module_path!(), "::posts_with_pauses"), dir.path(), at))
        .collect();
    let mut took_us: Vec<u64> = Vec::new();
    for desk in desks {
        let out = desk.wait_with_output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stdout));
        let text = String::from_utf8(out.stdout).unwrap();
        took_us.extend(text.lines().filter_map(|line| {
            line.split_once("took ").and_then(|(_, us)| us.trim().parse::<u64>().ok())
        }));
    }
    assert_eq!(on_hand(&store, 0, 0), 8 * EACH);
    is_sound(&store);
    took_us.sort_unstable();
    let at = |share: usize| took_us[took_us.len() * share / 100];
    writeln!(std::io::stderr(), "a posting took {} us p50, {} us p99", at(50), at(99)).unwrap();
}
