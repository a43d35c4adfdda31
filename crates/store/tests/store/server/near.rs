//! Is what is looked up answered at the desk, by a copy that follows the server and reads nothing twice?

use std::path::Path;
use std::time::{Duration, Instant};

use binwright_catalog::unit::{BillLine, Machine, Unit};
use binwright_catalog::{Condition, Cross, CrossKind, Currency, Money, Part, Quantity};
use binwright_store::{Bin, BranchWay, Hold, Keep, Place, Store, StoreError};

use super::ground::{is_on_a_server, meddle, open, through};
use super::proxy::Proxy;
use super::suite::support::{Done, movement, on_hand, plate, post, shop};

const TODAY: &str = "2031-03-01";

/// A shop of four parts and two bins, a store that writes to it, and the line of a desk that looks up.
fn chain(dir: &Path) -> Option<(Store, Proxy, Place)> {
    drop(shop(dir, 4, 2));
    if !is_on_a_server(dir) {
        return None;
    }
    let (proxy, place) = through(dir, Proxy::start);
    let mut far = open(dir).unwrap();
    let (part, stands_in) = (|at| plate(at).house, CrossKind::StandsIn);
    far.write(Keep::Yes, |w| -> Done {
        w.put_price(&part(0), "", "trade", Money { minor: 950, currency: Currency::EUR })?;
        w.put_cross(&Cross {
            from: part(0),
            kind: stands_in,
            to: part(1),
            quantity: Quantity::whole(1),
            remark: "grind".into(),
        })?;
        w.put_unit(&Unit {
            number: "AU 1".into(),
            machine: Machine::Alternator,
            description: "small".into(),
            maker: "Orlund".into(),
            volts: Some(12),
            amps: None,
        })?;
        w.put_bill_line(&BillLine {
            unit: "AU 1".into(),
            role: "rectifier".into(),
            part: part(0),
            quantity: Quantity::whole(1),
            remark: String::new(),
        })?;
        Ok(())
    })
    .unwrap();
    post(&mut far, &movement(0, 0, 5)).unwrap();
    Some((far, proxy, place))
}

/// All that is looked up, as text.
fn looked_up(store: &Store) -> String {
    let mut said = format!("{:?} {:?}", store.identity().unwrap(), store.last_change().unwrap());
    said += &format!("{:?}", store.changes_since(0, 1000).unwrap());
    said += &format!("{:?} {:?}", store.branches().unwrap(), store.branch_ways().unwrap());
    said += &format!("{:?} {:?}", store.bins().unwrap(), store.kinds_present().unwrap());
    said += &format!("{:?} {}", store.unit("AU1").unwrap(), store.is_bin("B1").unwrap());
    said +=
        &format!("{:?} {:?}", store.bill("AU1").unwrap(), store.parts_by_number("zx1").unwrap());
    let mut ids = Vec::new();
    let all = store.each_part(None, |part| {
        ids.push(part.id);
        Ok::<_, StoreError>(())
    });
    all.unwrap();
    for id in ids {
        said += &format!("\n{:?} {:?}", store.part(id).unwrap(), store.prices(id).unwrap());
        said += &format!("{:?}", store.stock(id, TODAY.parse().unwrap()).unwrap());
        said += &format!("{:?} {:?}", store.crosses_of(id).unwrap(), store.units_with(id).unwrap());
        said += &format!("{:?} {:?}", store.replacements(id).unwrap(), store.group_of(id).unwrap());
    }
    said
}

#[test]
fn a_look_up_makes_no_round_trip() {
    let dir = tempfile::tempdir().unwrap();
    let Some((_, proxy, place)) = chain(dir.path()) else { return };
    let store = Store::open_near(&place).unwrap();
    let before = proxy.messages();
    looked_up(&store);
    looked_up(&store);
    assert_eq!(proxy.messages(), before);
    // The relay does count.
    store.last_movement().unwrap();
    assert!(proxy.messages() > before);
}

#[test]
fn the_copy_says_what_the_server_says_after_every_kind_of_change() {
    let dir = tempfile::tempdir().unwrap();
    let Some((mut far, _, place)) = chain(dir.path()) else { return };
    let near = Store::open_near(&place).unwrap();
    assert_eq!(looked_up(&near), looked_up(&far));
    let today = TODAY.parse().unwrap();
    let hold = Hold {
        reference: "Q-1".into(),
        part: plate(0).house,
        bin: "B0".into(),
        condition: Condition::New,
        quantity: Quantity::whole(2),
        until: TODAY.parse().unwrap(),
    };
    let mut held = 0;
    let steps: [&mut dyn FnMut(&mut Store); 6] = [
        &mut |far| held = far.write(Keep::Yes, |w| w.hold(&hold, today)).unwrap(),
        &mut |far| far.write(Keep::Yes, |w| w.release(1, today)).unwrap(),
        &mut |far| {
            let numbers = vec![plate(7).numbers[0].clone()];
            let part = Part { numbers, description: "another".into(), ..plate(2) };
            far.write(Keep::Yes, |w| w.put_part(&part)).unwrap();
        },
        &mut |far| assert!(far.write(Keep::Yes, |w| w.put_part(&plate(9))).is_ok()),
        &mut |far| {
            let bin = Bin { name: "N1".into(), branch: Some("North".into()), ..Bin::default() };
            let cost = Money { minor: 650, currency: Currency::EUR };
            let way = BranchWay { one: "South".into(), two: "North".into(), minutes: 35, cost };
            far.write(Keep::Yes, |w| -> Done {
                w.name_branch("", "South")?;
                w.put_branch("North")?;
                w.put_branch_way(&way)?;
                w.put_bin(&bin)?;
                Ok(())
            })
            .unwrap();
        },
        &mut |far| assert!(post(far, &movement(0, 0, -4)).is_ok()),
    ];
    for (at, step) in steps.into_iter().enumerate() {
        step(&mut far);
        assert_ne!(looked_up(&near), looked_up(&far), "step {at} changes what is looked up");
        assert!(near.follow_server().unwrap() > 0);
        assert_eq!(looked_up(&near), looked_up(&far), "after step {at}");
    }
    assert_eq!(held, 1);
}

/// Rows are counted on the wire: one says the server's turn, one which tables have something newer.
#[test]
fn following_reads_what_changed_and_nothing_that_is_there() {
    let dir = tempfile::tempdir().unwrap();
    let Some((mut far, proxy, place)) = chain(dir.path()) else { return };
    let near = Store::open_near(&place).unwrap();
    let sent = |act: &mut dyn FnMut()| {
        let before = proxy.rows();
        act();
        proxy.rows() - before
    };
    assert_eq!(sent(&mut || assert_eq!(near.follow_server().unwrap(), 0)), 1);
    post(&mut far, &movement(1, 1, 5)).unwrap();
    assert_eq!(sent(&mut || assert_eq!(near.follow_server().unwrap(), 1)), 2 + 1);
    assert_eq!(sent(&mut || assert_eq!(near.follow_server().unwrap(), 0)), 1);
    drop(near);
    let opens = sent(&mut || drop(Store::open_near(&place).unwrap()));
    // While nobody looked: a place moved ten times, another once, a part that is new with its number.
    for _ in 0..10 {
        post(&mut far, &movement(0, 0, 1)).unwrap();
    }
    post(&mut far, &movement(2, 1, 1)).unwrap();
    far.write(Keep::Yes, |w| w.put_part(&plate(9))).unwrap();
    let reads = sent(&mut || drop(Store::open_near(&place).unwrap()));
    // Two balances, the part, its number, its line of the change log.
    assert_eq!(reads - opens, 1 + 5);
}

#[test]
fn a_step_of_ones_own_is_seen_by_the_next_look() {
    let dir = tempfile::tempdir().unwrap();
    let Some((_, _, place)) = chain(dir.path()) else { return };
    let mut near = Store::open_near(&place).unwrap();
    let seen = near.seen_from_outside().unwrap();
    post(&mut near, &movement(0, 0, 2)).unwrap();
    assert_eq!(on_hand(&near, 0, 0), 7);
    assert_eq!(near.seen_from_outside().unwrap(), seen, "nobody else did anything");
}

#[test]
fn with_the_server_out_of_reach_looking_up_goes_on_and_writing_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let Some((mut far, proxy, place)) = chain(dir.path()) else { return };
    let mut near = Store::open_near(&place).unwrap();
    let known = looked_up(&near);
    let reached = near.standing().unwrap();
    assert!(!reached.away);
    proxy.close();
    post(&mut far, &movement(0, 0, 1)).unwrap();
    let refused = post(&mut near, &movement(0, 0, 1));
    assert!(
        matches!(refused, Err(StoreError::OutOfReach { since: Some(since), .. }) if since == reached.as_of),
        "{refused:?}"
    );
    assert_eq!(near.follow_server().unwrap(), 0);
    assert_eq!(near.standing().unwrap().as_of, reached.as_of);
    assert!(near.standing().unwrap().away);
    let second = Store::open_near(&place).unwrap();
    assert!(second.standing().unwrap().away);
    for store in [&near, &second] {
        assert_eq!(looked_up(store), known);
    }
    proxy.open();
    post(&mut near, &movement(0, 0, 1)).unwrap();
    for store in [&near, &second] {
        store.follow_server().unwrap();
        assert_eq!(on_hand(store, 0, 0), 7);
        assert!(!store.standing().unwrap().away);
    }
}

#[test]
fn a_desk_that_never_reached_its_server_is_told_so() {
    let dir = tempfile::tempdir().unwrap();
    let Some((_, proxy, place)) = chain(dir.path()) else { return };
    proxy.close();
    let opened = Store::open_near(&place);
    assert!(matches!(opened, Err(StoreError::OutOfReach { .. })), "{opened:?}");
}

/// As a server is after it was brought back from a copy of its own: its turns are counted from an
/// earlier one.
#[test]
fn a_copy_that_is_ahead_of_its_server_is_made_anew() {
    let dir = tempfile::tempdir().unwrap();
    let Some((far, _, place)) = chain(dir.path()) else { return };
    drop(Store::open_near(&place).unwrap());
    meddle(dir.path(), "UPDATE shop SET turn = 1; UPDATE balance SET on_hand = 3000").unwrap();
    let near = Store::open_near(&place).unwrap();
    assert_eq!(looked_up(&near), looked_up(&far));
}

/// Waits until `store` sees so many pieces in the first place.
fn comes_to_see(store: &Store, pieces: i64) {
    let until = Instant::now() + Duration::from_mins(1);
    while on_hand(store, 0, 0) != pieces {
        assert!(Instant::now() < until, "{} seen", on_hand(store, 0, 0));
        std::thread::sleep(Duration::from_millis(20));
    }
}

#[test]
fn a_desk_is_told_of_what_others_did_and_asks_where_nobody_tells() {
    let dir = tempfile::tempdir().unwrap();
    let Some((mut far, proxy, place)) = chain(dir.path()) else { return };
    let mut near = Store::open_near(&place).unwrap();
    near.keep_following().unwrap();
    for pieces in 6..10 {
        post(&mut far, &movement(0, 0, 1)).unwrap();
        comes_to_see(&near, pieces);
    }
    let told = proxy.told();
    assert!(told > 0, "the server tells");
    meddle(dir.path(), "DROP TRIGGER shop_tell ON shop").unwrap();
    post(&mut far, &movement(0, 0, 1)).unwrap();
    comes_to_see(&near, 10);
    assert_eq!(proxy.told(), told, "nobody told");
}

#[test]
fn a_desk_that_follows_notices_that_the_server_is_gone_and_that_it_is_back() {
    let dir = tempfile::tempdir().unwrap();
    let Some((mut far, proxy, place)) = chain(dir.path()) else { return };
    let mut near = Store::open_near(&place).unwrap();
    near.keep_following().unwrap();
    let comes_to_be = |away: bool| {
        let until = Instant::now() + Duration::from_mins(1);
        while near.standing().unwrap().away != away {
            assert!(Instant::now() < until, "{away}");
            std::thread::sleep(Duration::from_millis(20));
        }
    };
    comes_to_be(false);
    proxy.close();
    post(&mut far, &movement(0, 0, 1)).unwrap();
    comes_to_be(true);
    assert_eq!(on_hand(&near, 0, 0), 5);
    proxy.open();
    comes_to_see(&near, 6);
    comes_to_be(false);
}
