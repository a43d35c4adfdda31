//! Does the ledger do what a plain map would? Random scripts, compared after every step.

use std::path::Path;

use binwright_catalog::{Condition, Cross, CrossKind, Currency, Money, Quantity};
use binwright_store::{
    Bin, CountPlace, Counted, Hold, Keep, Landing, Movement, NewSheet, Put, Reason, Sending,
    StockLine, Store, StoreError, Writer,
};
use jiff::civil::Date;
use proptest::prelude::*;

use super::plain::{CONTAINS, FAR, KIT, Place, Plain, Step};
use super::support::{is_sound, movement, on_hand, post, shop};

fn step() -> impl Strategy<Value = Step> {
    let (part, bin) = (0..3usize, 0..3usize);
    let place = || (0..2usize, 0..2usize);
    prop_oneof![
        5 => (part, bin, -4..7i32, 0..40i64)
            .prop_map(|(part, bin, pieces, cents)| Step::Post { part, bin, pieces, cents }),
        2 => (place(), 0..5i32)
            .prop_map(|((part, from), pieces)| Step::Move { part, from, pieces }),
        2 => (place(), 0..4i32)
            .prop_map(|((part, bin), pieces)| Step::Regrade { part, bin, pieces }),
        2 => (place(), 0..8i32, 0..3i32)
            .prop_map(|((part, bin), found, sold)| Step::Count { part, bin, found, sold }),
        3 => (place(), 0..5i32, 0..4i32)
            .prop_map(|((part, bin), pieces, days)| Step::Hold { part, bin, pieces, days }),
        3 => (0..2usize, 0..2usize, -3..4i32)
            .prop_map(|(bin, parts_bin, kits)| Step::Kit { bin, parts_bin, kits }),
        2 => (0..3usize, place(), 0..4i32)
            .prop_map(|(key, (part, from), pieces)| Step::Keyed { key, part, from, pieces }),
        3 => (0..2usize, 0..3usize, 0..3usize, 0..5i32)
            .prop_map(|(part, from, to, pieces)| Step::Send { part, from, to, pieces }),
        3 => (0..2usize, 0..4i32, 0..3i32)
            .prop_map(|(which, came, lost)| Step::Land { which, came, lost }),
        1 => (0..8usize).prop_map(Step::Release),
        4 => (0..12usize).prop_map(Step::Undo),
        1 => (1..3i32).prop_map(Step::Sleep),
    ]
}

/// Two bins and one at another branch, two parts, and a kit of both.
fn shop_with_kit(dir: &Path) -> Store {
    let mut store = shop(dir, 3, 2);
    let number = |part: usize| format!("RP{part:04}");
    let contains = |(part, pieces)| Cross {
        from: number(KIT),
        kind: CrossKind::Contains,
        to: number(part),
        quantity: Quantity::whole(pieces),
        remark: String::new(),
    };
    let put = |w: &mut Writer<'_>| -> Result<(), StoreError> {
        w.name_branch("", "South")?;
        w.put_branch("North")?;
        let (name, branch) = (format!("B{FAR}"), Some("North".to_owned()));
        w.put_bin(&Bin { name, branch, ..Bin::default() })?;
        CONTAINS.into_iter().try_for_each(|inside| w.put_cross(&contains(inside)).map(drop))
    };
    store.write(Keep::Yes, put).unwrap();
    store
}

fn leg(reason: Reason, (part, bin, used): Place, pieces: i32, day: Date) -> Movement {
    let condition = if used { Condition::UsedGood } else { Condition::New };
    let at = format!("{day}T12:00:00Z").parse().unwrap();
    Movement { reason, condition, at, day, ..movement(part, bin, pieces) }
}

fn count(
    store: &mut Store,
    place: Place,
    found: i32,
    sold: i32,
    day: Date,
) -> Result<(), StoreError> {
    let Movement { part, bin, condition, at, .. } = leg(Reason::Count, place, 1, day);
    let drawn = NewSheet {
        what: "a bin".into(),
        who: "Ann".into(),
        day,
        recount_above_permille: u32::MAX,
        second_above: Money { minor: i64::MAX, currency: Currency::EUR },
    };
    let (aisle, picks, counted_on) = (String::new(), 0, None);
    let here =
        CountPlace { part: part.clone(), bin: bin.clone(), aisle, condition, picks, counted_on };
    let (quantity, who) = (Quantity::whole(found), "Bea".to_owned());
    let counted = Counted { part, bin, condition, quantity, who, at: None };
    let sheet = store.write(Keep::Yes, |w| -> Result<i64, StoreError> {
        let sheet = w.draw_sheet(&drawn, std::slice::from_ref(&here))?;
        // Twice: where the book knows of nothing every find is counted again.
        w.count(sheet, &counted)?;
        w.count(sheet, &counted)?;
        Ok(sheet)
    })?;
    let _ = post(store, &leg(Reason::Sale, place, -sold, day));
    store.write(Keep::Yes, |w| w.post_sheet(sheet, "", "Ann", at, day)).map(drop)
}

fn take(store: &mut Store, step: &Step, today: Date) -> Result<(), StoreError> {
    let new = |part, bin| (part, bin, false);
    if let Step::Count { part, bin, found, sold } = *step {
        return count(store, new(part, bin), found, sold, today);
    }
    let at = format!("{today}T12:00:00Z").parse().unwrap();
    let last = store.last_movement()?;
    if let Step::Land { which, came, lost } = *step {
        let on_way = store.in_transit()?;
        let transfer = on_way.get(which).map_or(0, |line| line.transfer);
        let (came, lost) = (Quantity::whole(came), Quantity::whole(lost));
        let (note, who, day) = (String::new(), "Bea".to_owned(), today);
        let landing = Landing { transfer, bin: None, came, lost, note, who, at, day };
        return store.write(Keep::Yes, |w| w.land("", &landing)).map(drop);
    }
    store.write(Keep::Yes, |w| match *step {
        Step::Post { part, bin, pieces, cents } => {
            let reason = if pieces > 0 { Reason::Receive } else { Reason::Sale };
            let unit_cost = Some(Money { minor: cents, currency: Currency::EUR });
            let leg = leg(reason, new(part, bin), pieces, today);
            w.post(&Movement { unit_cost, ..leg }).map(drop)
        }
        Step::Move { part, from, pieces } => {
            let leg = |bin, pieces| leg(Reason::Move, new(part, bin), pieces, today);
            w.post_together(&[leg(from, -pieces), leg(1 - from, pieces)]).map(drop)
        }
        Step::Regrade { part, bin, pieces } => {
            let leg = |used, pieces| leg(Reason::Condition, (part, bin, used), pieces, today);
            w.post_together(&[leg(true, pieces), leg(false, -pieces)]).map(drop)
        }
        Step::Hold { part, bin, pieces, days } => {
            let hold = Hold {
                reference: "Q-1".into(),
                part: format!("RP{part:04}"),
                bin: format!("B{bin}"),
                condition: Condition::New,
                quantity: Quantity::whole(pieces),
                until: today.checked_add(jiff::Span::new().days(days)).unwrap(),
            };
            w.hold(&hold, today).map(drop)
        }
        Step::Kit { bin, parts_bin, kits } => {
            let reason = if kits < 0 { Reason::Break } else { Reason::Build };
            let kit = leg(reason, new(KIT, bin), kits, today);
            w.post_kit("", &kit, &format!("B{parts_bin}")).map(drop)
        }
        Step::Keyed { key, part, from, pieces } => {
            let leg = |bin, pieces| leg(Reason::Move, new(part, bin), pieces, today);
            let legs = [leg(from, -pieces), leg(1 - from, pieces)];
            w.post_once(&format!("K-{key}"), &legs).map(drop)
        }
        Step::Send { part, from, to, pieces } => {
            let sending = Sending {
                part: format!("RP{part:04}"),
                condition: Condition::New,
                from: format!("B{from}"),
                to: format!("B{to}"),
                quantity: Quantity::whole(pieces),
                reference: String::new(),
                note: String::new(),
                who: "Ann".into(),
                at,
                day: today,
            };
            w.send("", &sending).map(drop)
        }
        Step::Release(which) => w.release(which as i64 + 1, today),
        Step::Undo(back) => w.undo(last - back as i64, "Ann", at, today).map(drop),
        Step::Sleep(_) | Step::Count { .. } | Step::Land { .. } => Ok(()),
    })
}

fn compare(store: &Store, plain: &Plain) -> Result<(), TestCaseError> {
    let values = store.value_on("2032-01-01".parse().unwrap()).unwrap();
    for (part, used) in [(0, false), (0, true), (1, false), (1, true), (KIT, false)] {
        let condition = if used { Condition::UsedGood } else { Condition::New };
        let lines = store.stock(part as u64 + 1, plain.today).unwrap();
        let pieces = |q: Quantity| (q.thousandths() / 1000) as i32;
        for bin in 0..=FAR {
            let here =
                |line: &&StockLine| line.bin == format!("B{bin}") && line.condition == condition;
            let line = lines.iter().find(here);
            let found = line.map_or((0, 0), |line| (pieces(line.on_hand), pieces(line.held)));
            let place = (part, bin, used);
            prop_assert_eq!(found, (plain.on_hand(place), plain.held(place)), "{:?}", place);
        }
        let house = format!("RP {part:04}");
        let line = values.iter().find(|line| line.part == house && line.condition == condition);
        let found = line.map_or((0, 0), |line| (pieces(line.quantity), line.value.minor));
        prop_assert_eq!(found, plain.worth(part, used), "worth of {}", house);
    }
    let on_way = store.in_transit().unwrap();
    let found: Vec<_> = on_way
        .iter()
        .map(|line| ((line.quantity.thousandths() / 1000) as i32, line.value.minor))
        .collect();
    prop_assert_eq!(found, plain.in_transit(), "in transit");
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn the_ledger_does_what_a_plain_map_does(steps in prop::collection::vec(step(), 1..40)) {
        let dir = tempfile::tempdir().unwrap();
        let mut store = shop_with_kit(dir.path());
        let mut plain = Plain::new("2031-03-01".parse().unwrap());
        let stocked = [(0, 9, 5), (1, 7, 11), (KIT, 3, 40)];
        let stocked = stocked.map(|(part, pieces, cents)| Step::Post { part, bin: 0, pieces, cents });
        for step in stocked.iter().chain(&steps) {
            let before = plain.today;
            let (says, good) = (take(&mut store, step, before), plain.take(step));
            prop_assert_eq!(says.is_ok(), good, "{:?}: {:?}", step, says);
            compare(&store, &plain)?;
        }
        prop_assert_eq!(store.check(plain.today).unwrap(), []);
    }
}

/// An opening that was undone is not there any more: the right one is taken in full.
#[test]
fn an_undone_opening_may_be_said_anew() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    let (wrong, right) = (movement(0, 0, 10), movement(0, 0, 7));
    let put = |store: &mut Store, opening| store.write(Keep::Yes, |w| w.put_opening(opening));
    assert_eq!(put(&mut store, &wrong).unwrap(), Put::Added);
    assert_eq!(put(&mut store, &wrong).unwrap(), Put::Unchanged);
    store.write(Keep::Yes, |w| w.undo(1, "Ann", wrong.at, wrong.day)).unwrap();
    assert_eq!(put(&mut store, &right).unwrap(), Put::Added);
    assert_eq!(put(&mut store, &right).unwrap(), Put::Unchanged);
    assert_eq!(on_hand(&store, 0, 0), 7);
    is_sound(&store);
}

fn shift(to: usize) -> [Movement; 2] {
    let leg = |bin, pieces| Movement { reason: Reason::Move, ..movement(0, bin, pieces) };
    [leg(0, -3), leg(to, 3)]
}

#[test]
fn what_was_posted_together_is_undone_together() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    let Movement { at, day, .. } = movement(0, 0, 1);
    let stock = |store: &Store| (on_hand(store, 0, 0), on_hand(store, 0, 1));
    post(&mut store, &movement(0, 0, 5)).unwrap();
    assert_eq!(store.write(Keep::Yes, |w| w.post_together(&shift(1))).unwrap(), 2);
    assert_eq!(stock(&store), (2, 3));
    store.write(Keep::Yes, |w| w.undo(3, "Ann", at, day)).unwrap();
    assert_eq!(stock(&store), (5, 0));
    for seq in [2, 3] {
        let again = store.write(Keep::Yes, |w| w.undo(seq, "Ann", at, day));
        assert!(matches!(again, Err(StoreError::UndoneAlready { .. })));
    }
    is_sound(&store);
}

#[test]
fn what_was_posted_under_a_key_is_undone_and_keeps_its_key() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    let Movement { at, day, .. } = movement(0, 0, 1);
    post(&mut store, &movement(0, 0, 5)).unwrap();
    let once = |w: &mut Writer<'_>| w.post_once("K-1", &shift(1));
    assert_eq!(store.write(Keep::Yes, once).unwrap(), 2);
    store.write(Keep::Yes, |w| w.undo(2, "Ann", at, day)).unwrap();
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 0, 1)), (5, 0));
    assert_eq!(store.write(Keep::Yes, once).unwrap(), 2, "it was posted once");
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 0, 1)), (5, 0));
    is_sound(&store);
}

/// The caller may go on after a refusal, as an import does: no half of the posting is left.
#[test]
fn a_posting_that_is_refused_leaves_no_half() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    post(&mut store, &movement(0, 0, 5)).unwrap();
    let swallow = |store: &mut Store, legs: &[Movement]| {
        store.write(Keep::Yes, |w| Ok::<_, StoreError>(w.post_together(legs))).unwrap()
    };
    let nowhere = swallow(&mut store, &shift(7));
    assert!(matches!(nowhere, Err(StoreError::NoSuchBin { .. })));
    assert!(matches!(swallow(&mut store, &shift(1)[..1]), Err(StoreError::Lopsided)));
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 0, 1)), (5, 0));
    let backwards = Movement { reason: Reason::Receive, ..movement(0, 0, -1) };
    assert!(matches!(post(&mut store, &backwards), Err(StoreError::WrongWay { .. })));
    is_sound(&store);
}

#[test]
fn a_hold_is_posted_once_and_not_after_its_last_day() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    post(&mut store, &movement(0, 0, 2)).unwrap();
    let (at, day) = (movement(0, 0, 1).at, |text: &str| text.parse::<Date>().unwrap());
    let hold = Hold {
        reference: "Q-7".into(),
        part: "RP0000".into(),
        bin: "B0".into(),
        condition: Condition::New,
        quantity: Quantity::ONE,
        until: day("2031-03-02"),
    };
    let reason = Reason::Issue;
    for _ in 0..2 {
        store.write(Keep::Yes, |w| w.hold(&hold, day("2031-03-01"))).unwrap();
    }
    assert!(matches!(post(&mut store, &movement(0, 0, -1)), Err(StoreError::Short { .. })));
    let mut go =
        |hold, today| store.write(Keep::Yes, |w| w.post_hold(hold, reason, "Ann", at, today));
    go(1, day("2031-03-02")).unwrap();
    assert!(matches!(go(1, day("2031-03-02")), Err(StoreError::HoldNotOpen { hold: 1 })));
    assert!(matches!(go(2, day("2031-03-03")), Err(StoreError::HoldNotOpen { hold: 2 })));
    let late = store.write(Keep::Yes, |w| w.release(2, day("2031-03-03")));
    assert!(matches!(late, Err(StoreError::HoldNotOpen { hold: 2 })), "it lapsed");
    assert_eq!(on_hand(&store, 0, 0), 1);
    is_sound(&store);
}
