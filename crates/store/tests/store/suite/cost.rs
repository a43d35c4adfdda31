//! What does stock cost after it moved? Values to the cent, worked out by hand beside each.

use binwright_catalog::{Condition, Cross, CrossKind, Currency, Money, Quantity};
use binwright_store::{Keep, Movement, Reason, Store, StoreError};

use super::support::{Done, is_sound, movement, on_hand, post, shop};

fn receive(part: usize, pieces: i32, cents: i64) -> Movement {
    let unit_cost = Some(Money { minor: cents, currency: Currency::EUR });
    Movement { unit_cost, ..movement(part, 0, pieces) }
}

/// Pieces and cents of a part in a condition when `day` ended.
fn worth_on(store: &Store, part: usize, condition: Condition, day: &str) -> (i64, i64) {
    let lines = store.value_on(day.parse().unwrap()).unwrap();
    let house = format!("RP {part:04}");
    let line = lines.iter().find(|line| line.part == house && line.condition == condition);
    line.map_or((0, 0), |line| (line.quantity.thousandths() / 1000, line.value.minor))
}

fn worth(store: &Store, part: usize) -> (i64, i64) {
    worth_on(store, part, Condition::New, "2031-12-31")
}

fn undo(store: &mut Store, seq: i64) -> Result<i64, StoreError> {
    let Movement { at, day, .. } = movement(0, 0, 1);
    store.write(Keep::Yes, |w| w.undo(seq, "Ann", at, day))
}

/// The weighted average recalculated at each receipt, as IAS 2 allows (from memory):
/// 3 at 1.00 and 4 at 2.01 make 11.04; 2 of 7 are 3.154..., 3.15; the last 5 take 7.89.
#[test]
fn stock_leaves_at_the_moving_average_and_the_last_piece_takes_the_rest() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    post(&mut store, &receive(0, 3, 100)).unwrap();
    post(&mut store, &receive(0, 4, 201)).unwrap();
    assert_eq!(worth(&store, 0), (7, 1104));
    post(&mut store, &movement(0, 0, -2)).unwrap();
    assert_eq!(worth(&store, 0), (5, 789));
    post(&mut store, &movement(0, 0, -5)).unwrap();
    assert_eq!(worth(&store, 0), (0, 0));
    // What turns up of a part that is all gone is worth what the last one was: 789 / 5 = 157.8.
    let found = Movement { reason: Reason::Count, ..movement(0, 0, 1) };
    post(&mut store, &found).unwrap();
    assert_eq!(worth(&store, 0), (1, 158));
    is_sound(&store);
}

#[test]
fn an_undo_restores_the_worth_as_far_as_it_is_still_there() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    post(&mut store, &receive(0, 10, 100)).unwrap();
    post(&mut store, &movement(0, 0, -3)).unwrap();
    undo(&mut store, 2).unwrap();
    assert_eq!(worth(&store, 0), (10, 1000));
    // 10 at 1.00 and 10 at 3.00; nine go at 2.00. Of the 22.00 that are left no 30.00 can be taken
    // back: the dear ten go at the average too.
    let dear = post(&mut store, &receive(0, 10, 300)).unwrap();
    post(&mut store, &movement(0, 0, -9)).unwrap();
    assert_eq!(worth(&store, 0), (11, 2200));
    undo(&mut store, dear).unwrap();
    assert_eq!(worth(&store, 0), (1, 200));
    is_sound(&store);
}

#[test]
fn a_move_leaves_the_worth_and_a_test_carries_it_to_the_other_condition() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    let core = |pieces, cents| Movement { condition: Condition::Core, ..receive(0, pieces, cents) };
    post(&mut store, &receive(0, 2, 1000)).unwrap();
    post(&mut store, &core(3, 250)).unwrap();
    let leg = |reason, condition, bin, pieces| Movement {
        reason,
        condition,
        note: "diode drop 0.52 V all six".into(),
        ..movement(0, bin, pieces)
    };
    let moved = [leg(Reason::Move, Condition::New, 1, 2), leg(Reason::Move, Condition::New, 0, -2)];
    store.write(Keep::Yes, |w| w.post_together(&moved)).unwrap();
    assert_eq!(worth(&store, 0), (2, 2000));
    let tested = [
        leg(Reason::Condition, Condition::UsedGood, 0, 1),
        leg(Reason::Condition, Condition::Core, 0, -1),
    ];
    let seq = store.write(Keep::Yes, |w| w.post_together(&tested)).unwrap();
    let used = |store: &Store| worth_on(store, 0, Condition::UsedGood, "2031-12-31");
    let cores = |store: &Store| worth_on(store, 0, Condition::Core, "2031-12-31");
    assert_eq!((used(&store), cores(&store)), ((1, 250), (2, 500)));
    assert_eq!(worth(&store, 0), (2, 2000), "a core does not water down what is new");
    let history = binwright_store::History { limit: 1, ..Default::default() };
    assert_eq!(store.history(&history).unwrap()[0].note, "diode drop 0.52 V all six");
    undo(&mut store, seq).unwrap();
    assert_eq!((used(&store), cores(&store)), ((0, 0), (3, 750)));
    for seq in [3, 1] {
        undo(&mut store, seq).unwrap();
    }
    assert_eq!(worth(&store, 0), (0, 0));
    is_sound(&store);
}

#[test]
fn what_is_moved_or_tested_stays_the_same_part() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 2, 1);
    post(&mut store, &movement(0, 0, 5)).unwrap();
    for reason in [Reason::Move, Reason::Condition] {
        let leg = |part, pieces| Movement { reason, ..movement(part, 0, pieces) };
        let into_another = [leg(0, -1), leg(1, 1)];
        let refused = store.write(Keep::Yes, |w| w.post_together(&into_another));
        assert!(matches!(refused, Err(StoreError::Lopsided)), "{reason:?}");
    }
}

fn kit(dir: &std::path::Path) -> Store {
    let mut store = shop(dir, 3, 2);
    store
        .write(Keep::Yes, |w| -> Done {
            for (part, quantity) in [(1, 2), (2, 1)] {
                w.put_cross(&Cross {
                    from: "RP0000".into(),
                    kind: CrossKind::Contains,
                    to: format!("RP{part:04}"),
                    quantity: Quantity::whole(quantity),
                    remark: String::new(),
                })?;
            }
            Ok(())
        })
        .unwrap();
    store
}

/// A kit at 10.00 of two at 1.00 and one at 3.00: the parts take 1000 x 200/500 and 300/500.
#[test]
fn a_broken_kit_gives_its_worth_to_its_parts_and_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = kit(dir.path());
    let works = |reason, kits| Movement { reason, ..movement(0, 0, kits) };
    post(&mut store, &receive(0, 2, 1000)).unwrap();
    post(&mut store, &receive(1, 1, 100)).unwrap();
    post(&mut store, &receive(2, 1, 300)).unwrap();
    let broken =
        store.write(Keep::Yes, |w| w.post_kit("", &works(Reason::Break, -1), "B1")).unwrap();
    assert_eq!(
        (worth(&store, 0), worth(&store, 1), worth(&store, 2)),
        ((1, 1000), (3, 500), (2, 900))
    );
    assert_eq!((on_hand(&store, 1, 1), on_hand(&store, 2, 1)), (2, 1));
    undo(&mut store, broken).unwrap();
    assert_eq!(
        (worth(&store, 0), worth(&store, 1), worth(&store, 2)),
        ((2, 2000), (1, 100), (1, 300))
    );
    post(&mut store, &receive(1, 1, 100)).unwrap();
    store.write(Keep::Yes, |w| w.post_kit("", &works(Reason::Build, 1), "B0")).unwrap();
    assert_eq!((worth(&store, 0), worth(&store, 1), worth(&store, 2)), ((3, 2500), (0, 0), (0, 0)));
    let more = store.write(Keep::Yes, |w| w.post_kit("", &works(Reason::Build, 1), "B0"));
    assert!(matches!(more, Err(StoreError::Short { .. })));
    let no_kit = Movement { reason: Reason::Break, ..movement(1, 0, -1) };
    let refused = store.write(Keep::Yes, |w| w.post_kit("", &no_kit, "B0"));
    assert!(matches!(refused, Err(StoreError::NotAKit { .. })));
    is_sound(&store);
}

#[test]
fn the_same_key_posts_once_and_other_movements_cannot_take_it() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    let mut go = |pieces| {
        store.write(Keep::Yes, |w| w.post_once("till 7, slip 12", &[movement(0, 0, pieces)]))
    };
    assert_eq!(go(3).unwrap(), 1);
    assert_eq!(go(3).unwrap(), 1);
    assert!(matches!(go(4), Err(StoreError::KeyTaken { posting: 1, .. })));
    assert_eq!(on_hand(&store, 0, 0), 3);
    is_sound(&store);
}

#[test]
fn the_value_of_a_day_is_that_of_its_movements_alone() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    // Posted at noon UTC; in this shop it was the next day already.
    let day = "2031-03-02".parse().unwrap();
    post(&mut store, &receive(0, 1, 400)).unwrap();
    post(&mut store, &Movement { day, ..receive(0, 1, 600) }).unwrap();
    let on = |day| worth_on(&store, 0, Condition::New, day);
    assert_eq!(on("2031-02-28"), (0, 0));
    assert_eq!(on("2031-03-01"), (1, 400));
    assert_eq!(on("2031-03-02"), (2, 1000));
}

#[test]
fn a_cost_in_another_currency_or_below_nothing_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    let dollars = Some(Money { minor: 5, currency: "USD".parse().unwrap() });
    let refused = post(&mut store, &Movement { unit_cost: dollars, ..movement(0, 0, 1) });
    assert!(matches!(refused, Err(StoreError::OtherCurrency { .. })));
    assert!(matches!(post(&mut store, &receive(0, 1, -1)), Err(StoreError::NegativeCost)));
}
