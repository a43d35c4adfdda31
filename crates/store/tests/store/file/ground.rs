//! How is a shop made in a folder?

use std::path::Path;

use binwright_catalog::Currency;
use binwright_store::{Store, StoreError};

pub fn create(dir: &Path) -> Store {
    Store::create(dir, "Test bench", Currency::EUR).unwrap()
}

pub fn open(dir: &Path) -> Result<Store, StoreError> {
    Store::open(dir)
}

/// Does something behind the program's back.
pub fn meddle(dir: &Path, words: &str) -> Result<(), Box<dyn std::error::Error>> {
    let db = rusqlite::Connection::open(dir.join("shop.db"))?;
    db.execute_batch(words)?;
    Ok(db.close().map_err(|(_, error)| error)?)
}

/// What lets go of the ledger.
pub const LET_GO: &str = "DROP TRIGGER movement_is_not_changed";
