//! Is what is put what is read, and does the same again change nothing?

use std::collections::BTreeMap;

use binwright_catalog::{Cross, CrossKind, Layout, PartNumber, Quantity, Value};
use binwright_store::{Keep, Put, StoreError};

use super::support::{Done, plate, shop};

fn cross(from: usize, kind: CrossKind, to: usize) -> Cross {
    let number = |at| format!("RP{at:04}");
    let (from, to) = (number(from), number(to));
    Cross { from, kind, to, quantity: Quantity::ONE, remark: String::new() }
}

#[test]
fn a_part_is_read_as_it_was_put_and_again_changes_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 0, 0);
    let mut part = plate(1);
    part.measures = BTreeMap::from([
        ("pitch".into(), Value::Number(0.1 + 0.2)),
        ("hand".into(), Value::Word("left".into())),
    ]);
    part.layout = Some("hole@0,0/6.2; stud:B+@46,31.5/M8".parse().unwrap());
    let (id, put) = store.write(Keep::Yes, |w| w.put_part(&part)).unwrap();
    assert_eq!((put, store.last_change().unwrap()), (Put::Added, 1));
    assert_eq!(store.part(id).unwrap().unwrap().part, part);
    assert_eq!(store.write(Keep::Yes, |w| w.put_part(&part)).unwrap(), (id, Put::Unchanged));
    assert_eq!(store.last_change().unwrap(), 1);
    part.numbers.push(PartNumber { text: "Q-9".into(), user: String::new() });
    assert_eq!(store.write(Keep::DryRun, |w| w.put_part(&part)).unwrap(), (id, Put::Changed));
    assert!(store.parts_by_number("q9").unwrap().is_empty(), "a dry run keeps nothing");
    assert_eq!(store.write(Keep::Yes, |w| w.put_part(&part)).unwrap(), (id, Put::Changed));
    assert_eq!(store.parts_by_number("q9").unwrap(), [id]);
    assert_eq!(store.last_change().unwrap(), 2);
}

#[test]
fn an_empty_layout_can_be_read_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 0, 0);
    let mut part = plate(1);
    part.layout = Some(Layout::default());
    let (id, _) = store.write(Keep::Yes, |w| w.put_part(&part)).unwrap();
    store.part(id).unwrap();
}

#[test]
fn a_number_without_letter_or_digit_names_no_part() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 0, 1);
    let mut part = plate(1);
    part.numbers.push(PartNumber { text: "--".into(), user: String::new() });
    let _ = store.write(Keep::Yes, |w| w.put_part(&part));
    assert!(store.parts_by_number("").unwrap().is_empty());
}

#[test]
fn a_house_number_wins_and_a_number_of_two_parts_names_both() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 3, 0);
    for at in [0, 1] {
        let mut part = plate(at);
        let known = |text: &str| PartNumber { text: text.into(), user: String::new() };
        part.numbers.extend([known("Q-9"), known("RP 0002")]);
        store.write(Keep::Yes, |w| w.put_part(&part)).unwrap();
    }
    let house = store.part_named("rp0002").unwrap();
    assert_eq!(store.part(house).unwrap().unwrap().part.house, "RP 0002");
    let several = store.part_named("q9").unwrap_err();
    assert_eq!(several.to_string(), "number `q9` belongs to RP 0000, RP 0001");
}

#[test]
fn every_change_may_be_asked_for_at_once() {
    let dir = tempfile::tempdir().unwrap();
    let store = shop(dir.path(), 3, 0);
    assert_eq!(store.changes_since(1, usize::MAX).unwrap().len(), 2);
}

#[test]
fn a_loop_of_replacements_is_refused_and_named() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 4, 0);
    let refused = store.write(Keep::Yes, |w| -> Done {
        w.put_cross(&cross(2, CrossKind::Replaces, 1))?;
        w.put_cross(&cross(3, CrossKind::Replaces, 2))?;
        w.put_cross(&cross(1, CrossKind::Replaces, 3))?;
        Ok(())
    });
    match refused {
        Err(StoreError::CrossLoop { numbers, .. }) => {
            assert_eq!(numbers, ["RP 0001", "RP 0003", "RP 0002", "RP 0001"]);
        }
        other => panic!("{other:?}"),
    }
    let mut none = 0;
    store
        .each_cross(|_| -> Done {
            none += 1;
            Ok(())
        })
        .unwrap();
    assert_eq!(none, 0, "all of the step is taken back");
}

#[test]
fn joining_two_groups_logs_every_part_of_both() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 5, 0);
    let join = |store: &mut binwright_store::Store, from, to| {
        let before = store.last_change().unwrap();
        store.write(Keep::Yes, |w| w.put_cross(&cross(from, CrossKind::Same, to))).unwrap();
        let mut logged: Vec<u64> =
            store.changes_since(before, 100).unwrap().iter().map(|c| c.part).collect();
        logged.sort_unstable();
        logged
    };
    assert_eq!(join(&mut store, 0, 1), [1, 2]);
    assert_eq!(join(&mut store, 3, 2), [3, 4]);
    assert_eq!(join(&mut store, 2, 1), [1, 2, 3, 4]);
    assert_eq!(join(&mut store, 1, 2), [0; 0], "the same the other way round is nothing new");
    let groups = store.groups().unwrap();
    assert_eq!((groups.len(), groups[&4], groups.get(&5)), (4, 1, None));
}
