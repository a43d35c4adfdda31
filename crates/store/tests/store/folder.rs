//! What is opened, what is refused, and is what is refused left as it was?

use std::fs;
use std::path::Path;

use binwright_catalog::Currency;
use binwright_store::{Store, StoreError};

use crate::support::{is_sound, movement, on_hand, post, shop};

#[test]
fn a_newer_store_is_refused_untouched() {
    let dir = tempfile::tempdir().unwrap();
    drop(shop(dir.path(), 2, 1));
    let path = dir.path().join("shop.db");
    let newer = rusqlite::Connection::open(&path).unwrap();
    newer
        .execute(
            "INSERT INTO refinery_schema_history (version, name, applied_on, checksum)
             SELECT 999, 'later', applied_on, checksum FROM refinery_schema_history LIMIT 1",
            [],
        )
        .unwrap();
    newer.close().unwrap();
    let list = || {
        let mut all: Vec<_> =
            fs::read_dir(dir.path()).unwrap().map(|e| e.unwrap().file_name()).collect();
        all.sort();
        all
    };
    let (before, files) = (fs::read(&path).unwrap(), list());
    let refused = Store::open(dir.path()).unwrap_err();
    assert!(matches!(refused, StoreError::TooNew { found: 999, .. }), "{refused}");
    assert_eq!(fs::read(&path).unwrap(), before);
    assert_eq!(list(), files);
}

#[test]
fn what_is_no_shop_is_said_to_be_none_and_a_shop_is_not_made_twice() {
    let dir = tempfile::tempdir().unwrap();
    assert!(matches!(Store::open(dir.path()), Err(StoreError::NotAShop { .. })));
    fs::write(dir.path().join("shop.db"), "").unwrap();
    assert!(matches!(Store::open(dir.path()), Err(StoreError::NotAShop { .. })));
    fs::remove_file(dir.path().join("shop.db")).unwrap();
    drop(shop(dir.path(), 1, 0));
    let again = Store::create(dir.path(), "Again", Currency::EUR);
    assert!(matches!(again, Err(StoreError::IsAShop { .. })));
    assert_eq!(Store::open(dir.path()).unwrap().identity().unwrap().name, "Test bench");
}

#[test]
fn a_backup_is_a_sound_store_of_that_moment() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    post(&mut store, &movement(0, 0, 3)).unwrap();
    let copy = tempfile::tempdir().unwrap();
    store.backup(&copy.path().join("shop.db")).unwrap();
    post(&mut store, &movement(0, 0, 4)).unwrap();
    let copied = Store::open(copy.path()).unwrap();
    is_sound(&copied);
    assert_eq!((on_hand(&copied, 0, 0), on_hand(&store, 0, 0)), (3, 7));
}

/// A bare file name has the empty path as its parent.
#[test]
fn a_backup_goes_into_the_folder_one_stands_in() {
    let dir = tempfile::tempdir().unwrap();
    let store = shop(dir.path(), 1, 1);
    let name = format!("binwright-store-test-{}.db", std::process::id());
    let made = store.backup(Path::new(&name));
    let there = fs::remove_file(&name);
    assert!(made.is_ok() && there.is_ok(), "{made:?}");
}
