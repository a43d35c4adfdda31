//! What is opened, what is refused, and is what is refused left as it was?

use std::fs;
use std::path::Path;

use binwright_catalog::{Currency, Quantity};
use binwright_store::{Store, StoreError};

use super::suite::support::{is_sound, movement, on_hand, post, shop};

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

/// The fixture is a store as the program of version 2 wrote it.
#[test]
fn an_old_store_is_copied_then_brought_up_to_date_with_its_chain_unbroken() {
    let dir = tempfile::tempdir().unwrap();
    super::faults::old_store(dir.path());
    let mut store = Store::open(dir.path()).unwrap();
    is_sound(&store);
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 0, 1)), (5, 2));
    assert_eq!(store.holds("2031-03-01".parse().unwrap()).unwrap().len(), 1);
    post(&mut store, &movement(0, 0, -4)).unwrap();
    assert!(post(&mut store, &movement(0, 0, -1)).is_err(), "one is held");
    is_sound(&store);
    let value = store.value_on("2026-11-25".parse().unwrap()).unwrap();
    assert_eq!(value.len(), 3, "of the day of their time");
    let copy = rusqlite::Connection::open(dir.path().join("shop-before-2.db")).unwrap();
    let query = "SELECT MAX(version) FROM refinery_schema_history";
    assert_eq!(copy.query_row(query, [], |row| row.get::<_, u32>(0)).unwrap(), 2);
    // An old row says no value, day, note or key; written in later they break the chain.
    drop(store);
    let db = rusqlite::Connection::open(dir.path().join("shop.db")).unwrap();
    db.execute_batch(
        "DROP TRIGGER movement_is_not_changed; UPDATE movement SET value = 100 WHERE seq = 2",
    )
    .unwrap();
    db.close().unwrap();
    let troubles = Store::open(dir.path()).unwrap().check("2031-03-01".parse().unwrap()).unwrap();
    assert_eq!(troubles[0].since, Some(2));
}

/// The fixture is a store as the program of version 6 wrote it.
#[test]
fn a_store_of_version_6_keeps_what_was_in_it() {
    let dir = tempfile::tempdir().unwrap();
    let db = rusqlite::Connection::open(dir.path().join("shop.db")).unwrap();
    db.execute_batch(include_str!("old/v6.sql")).unwrap();
    db.close().unwrap();
    let store = Store::open(dir.path()).unwrap();
    is_sound(&store);
    assert_eq!(store.last_movement().unwrap(), 8);
    let mut lying = 0;
    store
        .each_stock(|row| -> Result<(), StoreError> {
            lying += row.on_hand.thousandths();
            Ok(())
        })
        .unwrap();
    assert_eq!(lying, 15_000);
    assert_eq!(store.holds("2030-12-31".parse().unwrap()).unwrap().len(), 1);
    assert_eq!(store.suppliers().unwrap().len(), 3);
    assert!(dir.path().join("shop-before-6.db").exists());
}

/// The fixture is a store as the program of version 11 wrote it; the newest today, it is opened by all that come.
#[test]
fn a_store_of_version_11_keeps_its_branches_and_what_is_on_its_way() {
    let dir = tempfile::tempdir().unwrap();
    let db = rusqlite::Connection::open(dir.path().join("shop.db")).unwrap();
    db.execute_batch(include_str!("old/v11.sql")).unwrap();
    db.close().unwrap();
    let store = Store::open(dir.path()).unwrap();
    is_sound(&store);
    assert_eq!(store.last_movement().unwrap(), 6);
    assert_eq!(store.branches().unwrap(), ["South", "North"]);
    let part = store.part_named("RP-1107B").unwrap();
    let lying: Vec<_> = store
        .stock(part, "2030-12-31".parse().unwrap())
        .unwrap()
        .into_iter()
        .map(|line| (line.branch.clone(), line.on_hand, line.free()))
        .collect();
    let whole = Quantity::whole;
    let here = |branch: &str, on_hand, free| (branch.to_owned(), whole(on_hand), whole(free));
    assert_eq!(lying, [here("South", 5, 4), here("North", 1, 1)]);
    assert_eq!(store.in_transit().unwrap()[0].quantity, whole(1));
    assert_eq!(store.under_way().unwrap()[0].quantity, whole(1));
}

/// Method: a process posts without a pause while copies are made; every copy is a sound store.
#[test]
fn a_backup_is_whole_while_others_post() {
    let dir = tempfile::tempdir().unwrap();
    let store = shop(dir.path(), 1, 3);
    let mut writer = super::suite::support::spawn(
        "store::file::suite::crash::posts_until_killed",
        dir.path(),
        0,
    );
    let mut last = 0;
    for round in 0..8 {
        let copy = dir.path().join(format!("copy-{round}.db"));
        store.backup(&copy).unwrap();
        let to = dir.path().join(format!("restored-{round}"));
        let restored = Store::restore(&copy, &to, "2031-03-01".parse().unwrap()).unwrap();
        let there = on_hand(&restored, 0, 0);
        assert!(there >= last, "copies do not go back");
        last = there;
        assert_ne!(restored.identity().unwrap().id, store.identity().unwrap().id);
    }
    writer.kill().unwrap();
    writer.wait().unwrap();
    assert!(last > 0, "somebody posted meanwhile");
}

#[test]
fn a_backup_holds_what_is_the_shops_own_and_nothing_else() {
    let dir = tempfile::tempdir().unwrap();
    let store = shop(dir.path(), 1, 1);
    let own =
        ["settings.toml", "the mark.png", "kinds/spacer.toml", "faults/own.toml", "labels/a.toml"];
    for folder in ["kinds", "faults", "labels"] {
        fs::create_dir(dir.path().join(folder)).unwrap();
    }
    for name in own.iter().chain(&["kinds/notes.txt", "stray.toml"]) {
        fs::write(dir.path().join(name), name).unwrap();
    }
    let copy = dir.path().join("copy.db");
    store.backup(&copy).unwrap();
    let (today, to) = ("2031-03-01".parse().unwrap(), dir.path().join("again"));
    Store::restore(&copy, &to, today).unwrap();
    for name in own {
        assert_eq!(fs::read_to_string(to.join(name)).unwrap(), name);
    }
    assert!(!to.join("kinds/notes.txt").exists() && !to.join("stray.toml").exists());
    let db = rusqlite::Connection::open(&copy).unwrap();
    db.execute("UPDATE own_file SET name = 'kinds/../../out.toml' WHERE name LIKE 'kinds%'", [])
        .unwrap();
    db.close().unwrap();
    let astray = Store::restore(&copy, &dir.path().join("third"), today).unwrap_err();
    assert!(astray.to_string().contains("no shop has a file"), "{astray}");
    assert!(!dir.path().join("third").exists() && !dir.path().join("out.toml").exists());
}

#[test]
fn of_the_copies_made_before_migrations_the_newest_three_stay() {
    let dir = tempfile::tempdir().unwrap();
    for name in ["shop-before-1.db", "shop-before-1-2.db", "shop-before-1-3.db"] {
        fs::write(dir.path().join(name), name).unwrap();
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    super::faults::old_store(dir.path());
    Store::open(dir.path()).unwrap();
    let there = |name: &str| dir.path().join(name).exists();
    assert!(!there("shop-before-1.db"), "the oldest goes");
    for kept in ["shop-before-1-2.db", "shop-before-1-3.db", "shop-before-2.db"] {
        assert!(there(kept), "{kept}");
    }
}

#[test]
fn a_backup_that_is_not_sound_is_not_restored() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    post(&mut store, &movement(0, 0, 3)).unwrap();
    let copy = dir.path().join("copy.db");
    store.backup(&copy).unwrap();
    let db = rusqlite::Connection::open(&copy).unwrap();
    db.execute("UPDATE balance SET on_hand = 9000", []).unwrap();
    db.close().unwrap();
    let today = "2031-03-01".parse().unwrap();
    let to = dir.path().join("again");
    let refused = Store::restore(&copy, &to, today).unwrap_err();
    assert!(matches!(refused, StoreError::Damaged { .. }), "{refused}");
    assert!(!to.exists() && !dir.path().join("again.new").exists());
    let over = Store::restore(&copy, dir.path(), today);
    assert!(matches!(over, Err(StoreError::NotEmpty { .. })));
}
