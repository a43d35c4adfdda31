//! Is every edit of the file itself found?

use std::fs;
use std::io::Write;

use binwright_store::{Store, Trouble};

use super::suite::support::{movement, post, shop};

fn check(store: &Store) -> Vec<Trouble> {
    store.check("2031-03-01".parse().unwrap()).unwrap()
}

/// The rows of one leaf page lie one before the other: what lies between the references of two
/// neighbours is exactly the bytes of ledger rows. A growing table leaves dead copies of rows behind,
/// so the live one is the one whose change is read.
#[test]
fn every_single_bit_flip_in_a_ledger_row_is_found() {
    let flips = std::env::var("STORE_FLIPS").ok().and_then(|n| n.parse().ok()).unwrap_or(1_000);
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    for at in 0..60 {
        let reference = format!("REF-{at:06}");
        post(&mut store, &binwright_store::Movement { reference, ..movement(0, 0, 2) }).unwrap();
    }
    drop(store);
    let path = dir.path().join("shop.db");
    let whole = fs::read(&path).unwrap();
    let place = |at: usize| {
        let text = format!("REF-{at:06}");
        let is_read = |from: &usize| {
            let mut flipped = whole.clone();
            flipped[*from] ^= 1;
            fs::write(&path, flipped).unwrap();
            let db = rusqlite::Connection::open(&path).unwrap();
            let query = "SELECT COUNT(*) FROM movement WHERE reference = ?1";
            db.query_row(query, [&text], |row| row.get::<_, i64>(0)).unwrap() == 0
        };
        let mut copies =
            (0..whole.len()).filter(|from| whole[*from..].starts_with(text.as_bytes()));
        copies.find(is_read).unwrap()
    };
    let rows: Vec<_> = (10..40)
        .map(|at| place(at + 1)..place(at))
        .filter(|row| row.start < row.end && row.len() < 300)
        .collect();
    assert!(rows.len() > 15);
    let mut chance = 0x2545_f491_4f6c_dd1d_u64;
    let (mut unreadable, mut by_chain) = (0, 0);
    for _ in 0..flips {
        chance = chance.wrapping_mul(6364136223846793005).wrapping_add(1442695040888963407);
        let row = &rows[(chance >> 33) as usize % rows.len()];
        let byte = row.start + (chance >> 40) as usize % row.len();
        let bit = (chance >> 60) as u32 % 8;
        let mut flipped = whole.clone();
        flipped[byte] ^= 1 << bit;
        fs::write(&path, &flipped).unwrap();
        let store = Store::open(dir.path()).unwrap();
        match store.check("2031-03-01".parse().unwrap()) {
            Ok(troubles) => {
                let at = byte - row.start;
                let bytes = &whole[row.start..row.end];
                assert!(
                    !troubles.is_empty(),
                    "bit {bit} of byte {at} of {} unseen: {bytes:02x?}",
                    row.len()
                );
                by_chain += usize::from(troubles.iter().any(|t| t.since.is_some()));
            }
            Err(_) => unreadable += 1,
        }
    }
    writeln!(std::io::stderr(), "{flips} flips: {by_chain} by the chain, {unreadable} unreadable")
        .unwrap();
    assert_eq!(unreadable, 0, "the check itself says what is wrong instead of failing");
}

/// In the engine's row format nothing (type 0) and zero (type 8) are one bit apart.
#[test]
fn undoing_nothing_and_undoing_movement_zero_are_told_apart() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    post(&mut store, &movement(0, 0, 2)).unwrap();
    drop(store);
    let db = rusqlite::Connection::open(dir.path().join("shop.db")).unwrap();
    db.execute_batch(
        "PRAGMA foreign_keys = OFF; DROP TRIGGER movement_is_not_changed;
         UPDATE movement SET undoes = 0 WHERE seq = 1",
    )
    .unwrap();
    db.close().unwrap();
    let troubles = check(&Store::open(dir.path()).unwrap());
    assert_eq!(troubles.first().and_then(|trouble| trouble.since), Some(1));
}
