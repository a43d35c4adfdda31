//! How much do the bins take, and does what the counter noted outlive an import?

use binwright_catalog::{Condition, Quantity};
use binwright_store::{Bin, DemandMark, Keep, MonthDemand, Put, Store};

use super::support::{Done, movement, post, shop};

fn limit(store: &mut Store, bin: &str, most: Option<i32>) -> Put {
    let holds_most = most.map(Quantity::whole);
    let bin = Bin { name: bin.to_owned(), aisle: "1".to_owned(), holds_most, ..Bin::default() };
    store.write(Keep::Yes, |w| w.put_bin(&bin)).unwrap()
}

fn room(store: &Store) -> Vec<(u64, i64)> {
    let room = store.shelf_room(None).unwrap();
    room.into_iter().map(|(id, room)| (id, room.thousandths() / 1000)).collect()
}

#[test]
fn a_limit_is_kept_changed_and_lifted() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    let steps = [
        (Some(9), Put::Changed),
        (Some(9), Put::Unchanged),
        (Some(0), Put::Changed),
        (None, Put::Changed),
    ];
    for (most, does) in steps {
        assert_eq!(limit(&mut store, "B0", most), does, "{most:?}");
        assert_eq!(store.bins().unwrap()[0].holds_most, most.map(Quantity::whole));
    }
}

#[test]
fn the_shelf_takes_what_its_bins_have_left_beside_all_that_lies_in_them() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 4, 3);
    let ids: Vec<u64> =
        (0..4).map(|at| store.parts_by_number(&format!("RP {at:04}")).unwrap()[0]).collect();
    limit(&mut store, "B0", Some(10));
    limit(&mut store, "B1", Some(4));
    for (part, bin, pieces) in [(0, 0, 3), (1, 0, 5), (1, 1, 6), (2, 2, 1), (3, 1, 1), (3, 1, -1)] {
        post(&mut store, &movement(part, bin, pieces)).unwrap();
    }
    // B0 has 2 left. B1 is over full already: nothing more, yet no less than nothing. B2 has no limit.
    // The last part lies nowhere and is at home in B1.
    assert_eq!(room(&store), [(ids[0], 2), (ids[1], 2), (ids[3], 0)]);
    post(&mut store, &movement(0, 2, 1)).unwrap();
    assert_eq!(room(&store), [(ids[1], 2), (ids[3], 0)], "a bin without a limit takes all");
    let mut core = movement(2, 0, 2);
    core.condition = Condition::Core;
    post(&mut store, &core).unwrap();
    assert_eq!(
        room(&store),
        [(ids[1], 0), (ids[3], 0)],
        "old parts take room and are at home elsewhere"
    );
}

#[test]
fn an_import_never_lowers_what_the_counter_noted() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    let noted = |store: &mut Store, pieces| {
        store
            .write(Keep::Yes, |w| w.add_lost("RP 0000", "2031-02", Quantity::whole(pieces)))
            .unwrap()
    };
    let row = |mark, pieces| MonthDemand {
        number: "RP-0000".to_owned(),
        month: "2031-02".to_owned(),
        mark,
        quantity: Quantity::whole(pieces),
    };
    assert_eq!(noted(&mut store, 2), Quantity::whole(2));
    for (demand, does) in [
        (row(DemandMark::Lost, 5), Put::Added),
        (row(DemandMark::Lost, 1), Put::Changed),
        (row(DemandMark::Asked, 1), Put::Unchanged),
        (row(DemandMark::Asked, 2), Put::Unchanged),
        (row(DemandMark::Asked, 3), Put::Changed),
    ] {
        assert_eq!(store.write(Keep::Yes, |w| w.put_demand(&demand)).unwrap(), does, "{demand:?}");
    }
    assert_eq!(noted(&mut store, 1), Quantity::whole(4));
    let mut kept = Vec::new();
    store
        .each_demand("2031-02", |line| -> Done {
            kept.push((line.mark.word(), line.quantity.thousandths() / 1000));
            Ok(())
        })
        .unwrap();
    assert_eq!(kept, [("asked", 4), ("lost", 1)]);
}
