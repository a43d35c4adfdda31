//! What becomes of a step when the line to the server is lost?

use binwright_store::{Keep, Store, StoreError, Writer};

use super::ground::{is_on_a_server, meddle, open, through};
use super::proxy::Proxy;
use super::suite::support::{is_sound, movement, on_hand, post, shop};

/// Ends every line to the shop but one's own.
const CUT: &str = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity
    WHERE datname = current_database() AND pid <> pg_backend_pid()";

#[test]
fn a_line_lost_between_two_steps_is_taken_up_again_unnoticed() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    if !is_on_a_server(dir.path()) {
        return;
    }
    for round in 1..=3 {
        meddle(dir.path(), CUT).unwrap();
        post(&mut store, &movement(0, 0, 1)).unwrap();
        meddle(dir.path(), CUT).unwrap();
        assert_eq!(on_hand(&store, 0, 0), round);
    }
    is_sound(&store);
}

#[test]
fn a_line_lost_within_a_step_takes_all_of_it_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    if !is_on_a_server(dir.path()) {
        return;
    }
    let broken = store.write_once(Keep::Yes, |w: &mut Writer<'_>| {
        w.post(&movement(0, 0, 5))?;
        meddle(dir.path(), CUT).unwrap();
        w.post(&movement(0, 0, 5))
    });
    assert!(matches!(broken, Err(StoreError::OutOfReach { .. })), "{broken:?}");
    assert_eq!(on_hand(&store, 0, 0), 0);
    post(&mut store, &movement(0, 0, 2)).unwrap();
    assert_eq!(on_hand(&store, 0, 0), 2);
    is_sound(&store);
}

/// A relay cuts the line at every message of `step` in turn, the server's answers among them, until one
/// goes through whole. Each time `judge` gets what was told and whether the line was cut, and says how many
/// pieces are to be there; nothing where there is no server.
fn cut_at_every_message<T>(
    step: impl Fn(&mut Store) -> Result<T, StoreError>,
    mut judge: impl FnMut(Result<T, StoreError>, bool) -> i64,
) -> bool {
    let dir = tempfile::tempdir().unwrap();
    drop(shop(dir.path(), 1, 1));
    if !is_on_a_server(dir.path()) {
        return false;
    }
    let (proxy, place) = through(dir.path(), Proxy::start);
    let (mut far, near) = (Store::open_at(&place).unwrap(), open(dir.path()).unwrap());
    for nth in 1.. {
        proxy.cut_at(nth);
        let told = step(&mut far);
        let cut = proxy.was_cut();
        assert_eq!(judge(told, cut), on_hand(&near, 0, 0), "cut at message {nth}");
        if !cut {
            break;
        }
    }
    is_sound(&near);
    true
}

#[test]
fn a_line_cut_at_any_message_posts_once() {
    let (mut cuts, mut there) = (0, 0);
    let ran = cut_at_every_message(
        |store| post(store, &movement(0, 0, 1)),
        |told, cut| {
            there += 1;
            cuts += usize::from(cut);
            assert!(told.is_ok(), "cut at message {there}: {told:?}");
            there
        },
    );
    assert!(!ran || cuts > 25, "{cuts} messages");
}

/// Of a step that cannot be done over: it is told as it is.
#[test]
fn a_step_that_runs_once_is_told_to_be_kept_only_when_it_is() {
    let (mut refused, mut unnoticed, mut there) = (0, 0, 0);
    let ran = cut_at_every_message(
        |store| store.write_once(Keep::Yes, |w| w.post(&movement(0, 0, 1))),
        |told, cut| {
            match told {
                Ok(_) => {
                    there += 1;
                    unnoticed += usize::from(cut);
                }
                Err(StoreError::OutOfReach { .. }) => refused += 1,
                Err(other) => panic!("after {refused} refused and {there} kept: {other}"),
            }
            there
        },
    );
    assert!(!ran || refused > 10 && unnoticed > 2, "{refused} refused, {unnoticed} unnoticed");
}

/// The way to a server may be long, and others wait for the turn meanwhile: the turn is asked for, part and
/// bin, how things stand, then all is written and kept.
#[test]
fn a_sale_asks_the_server_six_times() {
    let dir = tempfile::tempdir().unwrap();
    drop(shop(dir.path(), 1, 1));
    if !is_on_a_server(dir.path()) {
        return;
    }
    let (proxy, place) = through(dir.path(), Proxy::start);
    let mut store = Store::open_at(&place).unwrap();
    for quantity in [3, -1] {
        post(&mut store, &movement(0, 0, quantity)).unwrap();
    }
    let before = proxy.asked();
    post(&mut store, &movement(0, 0, -1)).unwrap();
    assert_eq!(proxy.asked() - before, 6);
}

#[test]
fn a_server_out_of_reach_is_said_to_be_and_nothing_is_half_done() {
    let dir = tempfile::tempdir().unwrap();
    drop(shop(dir.path(), 1, 1));
    if !is_on_a_server(dir.path()) {
        return;
    }
    let (proxy, place) = through(dir.path(), Proxy::start);
    let mut store = Store::open_at(&place).unwrap();
    proxy.close();
    for _ in 0..2 {
        let refused = post(&mut store, &movement(0, 0, 1));
        assert!(matches!(refused, Err(StoreError::OutOfReach { .. })), "{refused:?}");
        assert!(matches!(store.last_movement(), Err(StoreError::OutOfReach { .. })));
    }
    proxy.open();
    post(&mut store, &movement(0, 0, 1)).unwrap();
    assert_eq!(on_hand(&store, 0, 0), 1);
}

/// The caller swallows the error; what the server took back must not be told as kept.
#[test]
fn a_step_in_which_something_failed_is_not_kept_in_silence() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    if !is_on_a_server(dir.path()) {
        return;
    }
    let kept = store.write_once(Keep::Yes, |w: &mut Writer<'_>| {
        w.post(&movement(0, 0, 5))?;
        meddle(dir.path(), CUT).unwrap();
        let _ = w.post(&movement(0, 0, 5));
        Ok::<_, StoreError>(())
    });
    assert!(kept.is_err());
    assert_eq!(on_hand(&store, 0, 0), 0);
}
