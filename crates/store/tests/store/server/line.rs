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

/// Method: a relay cuts the line at every message of a posting in turn, the server's answers among them;
/// each time what was told is held against what is there.
#[test]
fn a_line_cut_at_any_message_posts_once() {
    let dir = tempfile::tempdir().unwrap();
    drop(shop(dir.path(), 1, 1));
    if !is_on_a_server(dir.path()) {
        return;
    }
    let (proxy, place) = through(dir.path(), Proxy::start);
    let (mut far, near) = (Store::open_at(&place).unwrap(), open(dir.path()).unwrap());
    let mut cuts = 0;
    for nth in 1.. {
        proxy.cut_at(nth);
        let told = post(&mut far, &movement(0, 0, 1));
        let cut = proxy.was_cut();
        assert!(told.is_ok(), "cut at message {nth}: {told:?}");
        assert_eq!(on_hand(&near, 0, 0), nth, "cut at message {nth}");
        if !cut {
            break;
        }
        cuts += 1;
    }
    assert!(cuts > 50, "{cuts} messages");
    is_sound(&near);
}

/// As above, of a step that cannot be done over: it is told as it is.
#[test]
fn a_step_that_runs_once_is_told_to_be_kept_only_when_it_is() {
    let dir = tempfile::tempdir().unwrap();
    drop(shop(dir.path(), 1, 1));
    if !is_on_a_server(dir.path()) {
        return;
    }
    let (proxy, place) = through(dir.path(), Proxy::start);
    let (mut far, near) = (Store::open_at(&place).unwrap(), open(dir.path()).unwrap());
    let (mut refused, mut unnoticed, mut there) = (0, 0, 0);
    for nth in 1.. {
        proxy.cut_at(nth);
        let told = far.write_once(Keep::Yes, |w| w.post(&movement(0, 0, 1)));
        let cut = proxy.was_cut();
        match told {
            Ok(_) => {
                there += 1;
                unnoticed += usize::from(cut);
            }
            Err(StoreError::OutOfReach { .. }) => refused += 1,
            Err(other) => panic!("cut at message {nth}: {other}"),
        }
        assert_eq!(on_hand(&near, 0, 0), there, "cut at message {nth}");
        if !cut {
            break;
        }
    }
    assert!(refused > 20 && unnoticed > 2, "{refused} refused, {unnoticed} unnoticed");
    is_sound(&near);
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
