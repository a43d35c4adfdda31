//! How is a shop made on a server? In a database of its own; the test's folder keeps the address, so
//! that other processes find it.

use std::fs;
use std::path::Path;

use binwright_catalog::Currency;
use binwright_store::{Place, Store, StoreError};

use super::cluster::new_database;
use super::proxy::Proxy;
use crate::file::ground as file;

pub fn create(dir: &Path) -> Store {
    let place = new_database().unwrap_or_else(|| dir.join("shop").to_string_lossy().into_owned());
    fs::write(dir.join("place"), place).unwrap();
    Store::create_at(&place_of(dir), "Test bench", Currency::EUR).unwrap()
}

pub fn open(dir: &Path) -> Result<Store, StoreError> {
    Store::open_at(&place_of(dir))
}

pub fn place_of(dir: &Path) -> Place {
    let place = fs::read_to_string(dir.join("place")).unwrap();
    Place::named(place.as_ref(), dir).unwrap()
}

/// Whether there is a server, or a file stands in for it.
pub fn is_on_a_server(dir: &Path) -> bool {
    matches!(place_of(dir), Place::Server(_))
}

/// What `start` makes on the server's port, and the shop's place through it.
pub fn through(dir: &Path, start: impl Fn(u16) -> Proxy) -> (Proxy, Place) {
    let address = fs::read_to_string(dir.join("place")).unwrap();
    let (before, rest) = address.rsplit_once(':').unwrap();
    let (port, name) = rest.split_once('/').unwrap();
    let proxy = start(port.parse().unwrap());
    let address = format!("{before}:{}/{name}?sslmode=disable", proxy.port);
    (proxy, Place::named(address.as_ref(), dir).unwrap())
}

/// Does something behind the program's back.
pub fn meddle(dir: &Path, words: &str) -> Result<(), Box<dyn std::error::Error>> {
    let place = fs::read_to_string(dir.join("place"))?;
    if !is_on_a_server(dir) {
        let words = words.replace(LET_GO, file::LET_GO);
        return file::meddle(Path::new(&place), &words);
    }
    Ok(postgres::Client::connect(&place, postgres::NoTls)?.batch_execute(words)?)
}

/// What lets go of the ledger.
pub const LET_GO: &str = "DROP TRIGGER movement_stays ON movement";
