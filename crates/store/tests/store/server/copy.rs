//! Does a shop move to a server and back without a change, through every stop on the way?

use std::collections::BTreeMap;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;

use binwright_catalog::{Currency, Machine};
use binwright_store::{Copied, CopyStep, Keep, Place, Store, StoreError};

use super::cluster::new_database;
use super::suite::support::{is_sound, movement, plate, post, spawn, spawned};
use super::worked::{DAY, fill, reading, revision};
use crate::file::ground as file;

/// Rows of the longest table: it takes more than two steps.
const LONG: u64 = 9_000;

/// A shop in the folder `from` with something in every table, and much in one of them.
fn worked(from: &Path) -> Store {
    let mut store = Store::create(from, "Test bench", Currency::EUR).unwrap();
    fill(&mut store);
    fs::create_dir(from.join("kinds")).unwrap();
    fs::write(from.join("kinds/fan.toml"), "key = 'fan'").unwrap();
    fs::write(from.join("settings.toml"), "rate = 1").unwrap();
    let many = format!(
        "WITH RECURSIVE n (at) AS (SELECT MAX(seq) + 1 FROM change UNION ALL SELECT at + 1 FROM n WHERE at < {LONG})
         INSERT INTO change (seq, part_id) SELECT at, 1 + at % 4 FROM n"
    );
    file::meddle(from, &many).unwrap();
    store
}

/// The places of a shop that goes from the first to the second, and on to the third.
fn places(dir: &Path) -> Option<[Place; 3]> {
    let server = Place::named(new_database()?.as_ref(), dir).unwrap();
    Some([dir.join("from").into(), server, dir.join("back").into()])
}

fn copy(from: &Place, to: &Place) -> Result<Copied, StoreError> {
    Store::open_at(from)?.copy_to(to, DAY, |_| Ok(()))
}

/// Copies `steps` steps and stops. An error tells that it did not come to its end.
fn copy_some(
    from: &Place,
    to: &Place,
    steps: usize,
) -> (Vec<CopyStep>, Result<Copied, StoreError>) {
    let mut told = Vec::new();
    let done = Store::open_at(from).unwrap().copy_to(to, DAY, |step| {
        told.push(step);
        if told.len() == steps { Err(StoreError::Full) } else { Ok(()) }
    });
    (told, done)
}

/// Every value of every table of the store in `dir` as the engine's own catalogue names them, but for the
/// shop's identity.
fn dump(dir: &Path) -> BTreeMap<String, Vec<String>> {
    let db = rusqlite::Connection::open(dir.join("shop.db")).unwrap();
    let texts = |query: &str, width: usize| -> Vec<String> {
        let mut query = db.prepare(query).unwrap();
        let read = |row: &rusqlite::Row<'_>| {
            let values: Result<Vec<String>, _> =
                (0..width).map(|at| row.get_ref(at).map(|value| format!("{value:?}"))).collect();
            values.map(|values| values.join(" "))
        };
        query.query_map([], read).unwrap().map(Result::unwrap).collect()
    };
    let mut names = db.prepare("SELECT name FROM sqlite_master WHERE type = 'table'").unwrap();
    let names: Vec<String> =
        names.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
    let mut all = BTreeMap::new();
    for name in names.into_iter().filter(|name| !name.starts_with("refinery")) {
        let width = db.prepare(&format!("SELECT * FROM {name}")).unwrap().column_count();
        let order: Vec<_> = (1..=width).map(|at| at.to_string()).collect();
        let rows = match &*name {
            "shop" => texts("SELECT name, currency FROM shop", 2),
            "quote_reading" => texts("SELECT * FROM quote_reading ORDER BY quote_id, rowid", width),
            _ => texts(&format!("SELECT * FROM {name} ORDER BY {}", order.join(", ")), width),
        };
        all.insert(name, rows);
    }
    all
}

#[test]
fn a_shop_goes_to_a_server_and_comes_back_as_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let Some([from, server, back]) = places(dir.path()) else { return };
    drop(worked(&dir.path().join("from")));
    let before = dump(&dir.path().join("from"));
    let empty: Vec<_> =
        before.iter().filter(|(_, rows)| rows.is_empty()).map(|(name, _)| name).collect();
    assert_eq!(empty, [""; 0], "a table of which the copy proves nothing");

    let there = copy(&from, &server).unwrap();
    let and_back = copy(&server, &back).unwrap();
    assert_eq!(there, and_back);
    let rows: usize =
        before.iter().filter(|(name, _)| *name != "shop").map(|(_, rows)| rows.len()).sum();
    assert_eq!(there.rows, rows as u64);
    let ends: Vec<_> = there.ends.iter().map(|(branch, hash)| (&**branch, hash.len())).collect();
    assert_eq!(ends, [("South", 32), ("North", 32)]);
    assert_eq!(before, dump(&dir.path().join("back")));
    for own in ["kinds/fan.toml", "settings.toml"] {
        let read = |place: &str| fs::read(dir.path().join(place).join(own)).unwrap();
        assert_eq!(read("from"), read("back"), "{own}");
    }
    let id = |place: &Place| Store::open_at(place).unwrap().identity().unwrap().id;
    let mut ids = [id(&from), id(&server), id(&back)];
    ids.sort_unstable();
    assert!(ids[0] != ids[1] && ids[1] != ids[2], "each has an index of its own: {ids:?}");
}

/// What is new is numbered after what came.
#[test]
fn both_copies_go_on_as_the_shop_would() {
    let dir = tempfile::tempdir().unwrap();
    let Some([from, server, back]) = places(dir.path()) else { return };
    drop(worked(&dir.path().join("from")));
    copy(&from, &server).unwrap();
    copy(&server, &back).unwrap();
    let on: Vec<_> = [from, server, back]
        .iter()
        .map(|place| {
            let mut store = Store::open_at(place).unwrap();
            let (part, _) = store.write(Keep::Yes, |w| w.put_part(&plate(77))).unwrap();
            let posted = post(&mut store, &movement(77, 1, 5)).unwrap();
            let quote = |w: &mut binwright_store::Writer<'_>| {
                w.quote_add("Carl", Machine::Starter, "", &revision(77), &[reading()])
            };
            let (quote, _) = store.write(Keep::Yes, quote).unwrap();
            is_sound(&store);
            (part, posted, quote, store.last_change().unwrap())
        })
        .collect();
    assert_eq!(on[0], on[1]);
    assert_eq!(on[0], on[2]);
    assert_eq!(on[0].2, "Q-0006");
}

/// Both ways, the copy is stopped after each of its steps in turn. Until the last it is no shop.
#[test]
fn a_copy_stopped_after_any_step_is_refused_and_goes_on_where_it_was() {
    let dir = tempfile::tempdir().unwrap();
    let Some([from, server, back]) = places(dir.path()) else { return };
    drop(worked(&dir.path().join("from")));
    for (from, to) in [(&from, &server), (&server, &back)] {
        let mut steps = Vec::new();
        let copied = loop {
            let (told, done) = copy_some(from, to, 1);
            let (Err(StoreError::Full), [step]) = (&done, &told[..]) else { break done };
            assert!(!steps.contains(step), "{step:?} was done twice");
            steps.push(*step);
            let refused = Store::open_at(to).unwrap_err();
            assert!(matches!(refused, StoreError::Unfinished { .. }), "{refused}");
            let refused = Store::create_at(to, "Other", Currency::EUR).unwrap_err();
            assert!(matches!(refused, StoreError::IsAShop { .. }), "{refused}");
        };
        copied.unwrap();
        let long: Vec<_> =
            steps.iter().filter(|step| step.table == "change").map(|step| step.rows).collect();
        assert_eq!(long, [4_000, 8_000, LONG]);
        is_sound(&Store::open_at(to).unwrap());
        assert!(matches!(copy(from, to), Err(StoreError::IsAShop { .. })), "it is a shop now");
    }
    assert_eq!(dump(&dir.path().join("from")), dump(&dir.path().join("back")));
}

/// Copies the shop and says each step.
#[test]
#[ignore = "run in a process of its own by the test below"]
fn copies_until_killed() {
    let Some((dir, way)) = spawned() else { return };
    let server = fs::read_to_string(dir.join("place")).unwrap();
    let server = Place::named(server.as_ref(), &dir).unwrap();
    let ways: [(Place, Place); 2] =
        [(dir.join("from").into(), server.clone()), (server, dir.join("back").into())];
    let (from, to) = &ways[way];
    let mut out = std::io::stdout();
    Store::open_at(from)
        .unwrap()
        .copy_to(to, DAY, |step| {
            writeln!(out, "step {}", step.table).and_then(|()| out.flush()).unwrap();
            Ok(())
        })
        .unwrap();
}

/// Method: the process that copies is killed once it has told ever more steps, somewhere in what comes
/// after, and is started again.
#[test]
fn a_copy_that_is_killed_again_and_again_comes_to_its_end() {
    let dir = tempfile::tempdir().unwrap();
    let Some(address) = new_database() else { return };
    fs::write(dir.path().join("place"), &address).unwrap();
    drop(worked(&dir.path().join("from")));
    for way in [0, 1] {
        let mut kills = 0;
        loop {
            let mut child =
                spawn(concat!(module_path!(), "::copies_until_killed"), dir.path(), way);
            let out = BufReader::new(child.stdout.take().unwrap());
            let steps = out.lines().map_while(Result::ok).filter(|line| line.contains("step "));
            let told = steps.take(1 + kills % 6).count();
            if told == 1 + kills % 6 {
                let _ = child.kill();
                kills += 1;
            }
            if child.wait().unwrap().success() {
                break;
            }
        }
        assert!(kills > 5, "{kills} kills on way {way}");
    }
    let server = Place::named(address.as_ref(), dir.path()).unwrap();
    is_sound(&Store::open_at(&server).unwrap());
    assert_eq!(dump(&dir.path().join("from")), dump(&dir.path().join("back")));
}

#[test]
fn a_shop_that_was_meddled_with_is_not_copied() {
    let dir = tempfile::tempdir().unwrap();
    let Some([from, server, back]) = places(dir.path()) else { return };
    drop(worked(&dir.path().join("from")));
    let meddle = |words: &str| file::meddle(&dir.path().join("from"), words).unwrap();
    meddle(&format!("{}; UPDATE movement SET who = 'Bob' WHERE seq = 3", file::LET_GO));
    for to in [&server, &back] {
        let refused = copy(&from, to).unwrap_err();
        assert!(matches!(refused, StoreError::Damaged { .. }), "{refused}");
        let refused = Store::open_at(to).unwrap_err();
        assert!(matches!(refused, StoreError::NotAShop { .. }), "nothing was begun: {refused}");
    }
}

/// What becomes of the shop in a folder, or of its copy at an address, while the copy is unfinished.
type Between = fn(&Path, &str);

#[test]
fn a_copy_that_is_not_as_the_shop_is_found_out() {
    let rows: [(&str, Between); 3] = [
        ("the copy was meddled with", |_, server| {
            let mut client = postgres::Client::connect(server, postgres::NoTls).unwrap();
            client
                .batch_execute("UPDATE part SET description = 'other' WHERE part_id = 2")
                .unwrap();
        }),
        ("a row of the copy is gone", |_, server| {
            let mut client = postgres::Client::connect(server, postgres::NoTls).unwrap();
            client.batch_execute("DELETE FROM price").unwrap();
        }),
        ("the shop went on", |from, _| {
            post(&mut Store::open(from).unwrap(), &movement(0, 0, 1)).unwrap();
        }),
    ];
    for (what, between) in rows {
        let dir = tempfile::tempdir().unwrap();
        let Some(address) = new_database() else { return };
        let folder = dir.path().join("from");
        drop(worked(&folder));
        let (from, to) =
            (folder.clone().into(), Place::named(address.as_ref(), dir.path()).unwrap());
        assert!(copy_some(&from, &to, 20).1.is_err());
        between(&folder, &address);
        let refused = copy(&from, &to).unwrap_err();
        assert!(matches!(refused, StoreError::Unlike { .. }), "{what}: {refused}");
        assert!(matches!(Store::open_at(&to), Err(StoreError::Unfinished { .. })), "{what}");
    }
}

#[test]
fn a_place_with_a_shop_or_with_the_copy_of_another_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let Some([from, server, back]) = places(dir.path()) else { return };
    drop(worked(&dir.path().join("from")));
    let other: Place = dir.path().join("other").into();
    drop(Store::create_at(&other, "Other", Currency::EUR).unwrap());
    for to in [&from, &other] {
        assert!(matches!(copy(&from, to), Err(StoreError::IsAShop { .. })), "{to}");
    }
    for to in [&server, &back] {
        assert!(copy_some(&from, to, 3).1.is_err());
        assert!(matches!(copy(&other, to), Err(StoreError::OtherCopy { .. })), "{to}");
        copy(&from, to).unwrap();
    }
}
