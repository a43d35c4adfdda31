//! Does each branch keep its own, and is nothing lost or had twice between them?

use std::io::Write;
use std::path::Path;

use binwright_catalog::{Condition, Currency, Money, Quantity};
use binwright_store::{
    Bin, BranchWay, Hold, Keep, Landing, Movement, Put, Sending, Store, StoreError,
};

use super::super::ground::{LET_GO, meddle, open};
use super::support::{Done, is_sound, movement, on_hand, post, shop, spawn, spawned};

/// B0 is South's, B1 North's.
fn chain(dir: &Path) -> Store {
    let mut store = shop(dir, 2, 1);
    store
        .write(Keep::Yes, |w| -> Done {
            w.name_branch("", "South")?;
            w.put_branch("North")?;
            w.put_bin(&bin("B1", Some("north")))?;
            Ok(())
        })
        .unwrap();
    store
}

pub fn bin(name: &str, branch: Option<&str>) -> Bin {
    Bin { name: name.into(), branch: branch.map(str::to_owned), ..Bin::default() }
}

pub fn sending(pieces: i32) -> Sending {
    let Movement { part, condition, who, at, day, .. } = movement(0, 0, 1);
    Sending {
        part,
        condition,
        from: "B0".into(),
        to: "B1".into(),
        quantity: Quantity::whole(pieces),
        reference: "R-1".into(),
        note: String::new(),
        who,
        at,
        day,
    }
}

pub fn landing(transfer: i64, came: i32, lost: i32) -> Landing {
    let Movement { who, at, day, .. } = movement(0, 0, 1);
    let (came, lost) = (Quantity::whole(came), Quantity::whole(lost));
    Landing { transfer, bin: None, came, lost, note: String::new(), who, at, day }
}

fn send(store: &mut Store, pieces: i32) -> Result<i64, StoreError> {
    store.write(Keep::Yes, |w| w.send("", &sending(pieces)))
}

fn land(store: &mut Store, transfer: i64, came: i32, lost: i32) -> Result<i64, StoreError> {
    store.write(Keep::Yes, |w| w.land("", &landing(transfer, came, lost)))
}

fn undo(store: &mut Store, seq: i64) -> Result<i64, StoreError> {
    let Movement { who, at, day, .. } = movement(0, 0, 1);
    store.write(Keep::Yes, |w| w.undo(seq, &who, at, day))
}

fn stock(store: &Store) -> (i64, i64) {
    (on_hand(store, 0, 0), on_hand(store, 0, 1))
}

/// Pieces and minor units on their way.
fn on_way(store: &Store) -> Vec<(i64, i64)> {
    let on_way = store.in_transit().unwrap();
    on_way.iter().map(|line| (line.quantity.thousandths() / 1000, line.value.minor)).collect()
}

#[test]
fn a_shop_that_is_one_place_has_one_branch_without_a_name() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    post(&mut store, &movement(0, 0, 5)).unwrap();
    assert_eq!(store.branches().unwrap(), [""]);
    assert_eq!(store.bins().unwrap()[0].branch, None);
    assert_eq!(store.stock(1, movement(0, 0, 1).day).unwrap()[0].branch, "");
    let early = store.write(Keep::Yes, |w| w.put_branch("North"));
    assert!(matches!(early, Err(StoreError::BranchUnnamed)), "whose is what is there?");
}

#[test]
fn a_branch_has_a_name_of_its_own_and_bins_of_its_own() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = chain(dir.path());
    assert_eq!(store.branches().unwrap(), ["South", "North"]);
    assert_eq!(store.branch_named(" north").unwrap(), "North");
    assert!(matches!(store.branch_named(""), Err(StoreError::NoSuchBranch { .. })));
    let mut put = |name: &str| store.write(Keep::Yes, |w| w.put_branch(name));
    assert_eq!(put("North").unwrap(), Put::Unchanged);
    assert_eq!(put("NORTH").unwrap(), Put::Changed);
    let taken = store.write(Keep::Yes, |w| w.name_branch("South", "north"));
    assert!(matches!(taken, Err(StoreError::BranchTaken { .. })));
    // What lies in a bin does not change its branch without travelling.
    post(&mut store, &movement(0, 0, 5)).unwrap();
    let mut put = |bin: &Bin| store.write(Keep::Yes, |w| w.put_bin(bin));
    assert!(matches!(put(&bin("B0", Some("North"))), Err(StoreError::BinIsUsed { .. })));
    assert_eq!(put(&bin("B1", None)).unwrap(), Put::Unchanged, "it stays where it is");
    assert_eq!(put(&bin("B1", Some("South"))).unwrap(), Put::Changed, "nothing ever lay there");
}

#[test]
fn a_way_is_the_same_in_both_directions() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = chain(dir.path());
    let cost = Money { minor: 650, currency: Currency::EUR };
    let way = |one: &str, two: &str, minutes| BranchWay {
        one: one.into(),
        two: two.into(),
        minutes,
        cost,
    };
    let mut put = |way: &BranchWay| store.write(Keep::Yes, |w| w.put_branch_way(way));
    assert_eq!(put(&way("North", "South", 35)).unwrap(), Put::Added);
    assert_eq!(put(&way("South", "North", 35)).unwrap(), Put::Unchanged);
    assert_eq!(put(&way("South", "North", 40)).unwrap(), Put::Changed);
    assert!(matches!(put(&way("South", "south", 1)), Err(StoreError::SameBranch { .. })));
    assert_eq!(store.branch_ways().unwrap(), [way("South", "North", 40)]);
}

/// Ten at 1.00: four are sent, of which two come, one is given up and one stays on its way.
#[test]
fn what_left_is_what_came_what_was_given_up_and_what_is_on_its_way() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = chain(dir.path());
    let cost = Money { minor: 100, currency: Currency::EUR };
    post(&mut store, &Movement { unit_cost: Some(cost), ..movement(0, 0, 10) }).unwrap();
    let transfer = send(&mut store, 4).unwrap();
    assert_eq!((stock(&store), on_way(&store)), ((6, 0), vec![(4, 400)]));
    let landed = land(&mut store, transfer, 2, 1).unwrap();
    assert_eq!((stock(&store), on_way(&store)), ((6, 2), vec![(1, 100)]));
    let line = &store.in_transit().unwrap()[0];
    let (from, to) = ((&line.from[..], &line.from_branch[..]), (&line.to[..], &line.to_branch[..]));
    assert_eq!((from, to), (("B0", "South"), ("B1", "North")));
    let values = store.value_on(movement(0, 0, 1).day).unwrap();
    assert_eq!(values[0].value.minor, 800, "in the bins");
    let on_the_way = |store: &Store| store.value_in_transit_on(movement(0, 0, 1).day).unwrap();
    assert_eq!(on_the_way(&store).minor, 100);
    is_sound(&store);
    assert!(matches!(land(&mut store, transfer, 2, 0), Err(StoreError::NotOnItsWay { .. })));
    // What was sent is not taken back while some of it is there; with its loss the arrival is.
    assert!(matches!(undo(&mut store, transfer), Err(StoreError::HasCome { .. })));
    let back = undo(&mut store, landed).unwrap();
    assert_eq!((stock(&store), on_way(&store)), ((6, 0), vec![(4, 400)]));
    assert!(matches!(undo(&mut store, back), Err(StoreError::TransferTakenBack { .. })));
    undo(&mut store, transfer).unwrap();
    assert_eq!((stock(&store), on_way(&store)), ((10, 0), vec![]));
    assert!(matches!(land(&mut store, transfer, 1, 0), Err(StoreError::NotOnItsWay { .. })));
    assert_eq!(store.value_on(movement(0, 0, 1).day).unwrap()[0].value.minor, 1000);
    assert_eq!(on_the_way(&store).minor, 0);
    is_sound(&store);
}

#[test]
fn a_transfer_is_between_branches_and_is_made_once() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = chain(dir.path());
    store.write(Keep::Yes, |w| w.put_bin(&bin("B2", Some("South")))).unwrap();
    post(&mut store, &movement(0, 0, 3)).unwrap();
    let mut to = |key: &str, bin: &str, pieces| {
        let sending = Sending { to: bin.into(), ..sending(pieces) };
        store.write(Keep::Yes, |w| w.send(key, &sending))
    };
    assert!(matches!(to("", "B2", 1), Err(StoreError::SameBranch { .. })));
    assert!(matches!(to("", "B1", 4), Err(StoreError::Short { .. })));
    let first = to("K-1", "B1", 2).unwrap();
    assert_eq!(to("K-1", "B1", 2).unwrap(), first);
    assert!(matches!(to("K-1", "B1", 1), Err(StoreError::KeyTaken { .. })));
    let mut land = |key: &str, bin: Option<&str>| {
        let landing = Landing { bin: bin.map(str::to_owned), ..landing(first, 2, 0) };
        store.write(Keep::Yes, |w| w.land(key, &landing))
    };
    assert!(matches!(land("K-2", Some("B2")), Err(StoreError::OtherBranch { .. })));
    let landed = land("K-2", None).unwrap();
    assert_eq!(land("K-2", None).unwrap(), landed);
    assert_eq!((stock(&store), on_way(&store)), ((1, 2), vec![]));
    is_sound(&store);
}

#[test]
fn each_branch_has_a_chain_of_its_own() {
    let edits = [
        ("who", "UPDATE movement SET who = 'Bob' WHERE seq = 2", 2),
        ("from one chain to the other", "UPDATE movement SET branch_id = 1 WHERE seq = 4", 4),
        ("the first to a chain of its own", "UPDATE movement SET branch_id = 3 WHERE seq = 1", 1),
    ];
    for (what, edit, since) in edits {
        let dir = tempfile::tempdir().unwrap();
        let mut store = chain(dir.path());
        for bin in [0, 1, 0, 1] {
            post(&mut store, &movement(0, bin, 2)).unwrap();
        }
        is_sound(&store);
        store.write(Keep::Yes, |w| w.put_branch("East")).unwrap();
        drop(store);
        meddle(dir.path(), &format!("{LET_GO}; {edit}")).unwrap();
        let troubles = open(dir.path()).unwrap().check(movement(0, 0, 1).day).unwrap();
        assert_eq!((troubles.len(), troubles[0].since), (1, Some(since)), "{what}");
    }
}

#[test]
fn a_transfer_that_does_not_add_up_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = chain(dir.path());
    post(&mut store, &movement(0, 0, 3)).unwrap();
    let transfer = send(&mut store, 2).unwrap();
    land(&mut store, transfer, 2, 0).unwrap();
    drop(store);
    meddle(dir.path(), "DELETE FROM transfer_arrival").unwrap();
    let troubles = open(dir.path()).unwrap().check(movement(0, 0, 1).day).unwrap();
    let said: Vec<_> = troubles.iter().map(ToString::to_string).collect();
    assert_eq!(said, ["a transfer: nobody knows where it came from, since movement 3"]);
}

const PIECES: i32 = 60;

/// Holds pieces of South's for a customer of North's, or sends them there, one after the other until
/// none is free.
#[test]
#[ignore = "run in a process of its own by the test below"]
fn promises_or_sends_all_it_can() {
    let Some((dir, role)) = spawned() else { return };
    let mut store = open(&dir).unwrap();
    let Movement { part, day, .. } = movement(0, 0, 1);
    let hold = Hold {
        reference: format!("Q-{role}"),
        part,
        bin: "B0".into(),
        condition: Condition::New,
        quantity: Quantity::ONE,
        until: day,
    };
    while !dir.join("go").exists() {
        std::thread::yield_now();
    }
    let mut had = 0;
    loop {
        let done = if role.is_multiple_of(2) {
            store.write(Keep::Yes, |w| w.hold(&hold, day))
        } else {
            send(&mut store, 1)
        };
        match done {
            Ok(_) => had += 1,
            Err(StoreError::Short { .. }) => break,
            Err(other) => panic!("{other}"),
        }
    }
    writeln!(std::io::stdout(), "had {had}").unwrap();
}

#[test]
fn four_branches_never_promise_or_send_the_same_piece() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = chain(dir.path());
    post(&mut store, &movement(0, 0, PIECES)).unwrap();
    let path = concat!(module_path!(), "::promises_or_sends_all_it_can");
    let desks: Vec<_> = (0..4).map(|role| spawn(path, dir.path(), role)).collect();
    std::fs::write(dir.path().join("go"), "").unwrap();
    let had = desks.into_iter().map(|desk| {
        let out = desk.wait_with_output().unwrap();
        assert!(out.status.success());
        let text = String::from_utf8(out.stdout).unwrap();
        let line = text.lines().find_map(|line| line.split_once("had ")).unwrap();
        line.1.trim().parse::<i32>().unwrap()
    });
    let had: Vec<i32> = had.collect();
    assert_eq!(had.iter().sum::<i32>(), PIECES, "{had:?}");
    let held = store.holds(movement(0, 0, 1).day).unwrap().len();
    assert_eq!((held + on_way(&store).len()) as i32, PIECES);
    is_sound(&store);
}
