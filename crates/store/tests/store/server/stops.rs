//! What becomes of what was acknowledged when the server is stopped hard, or another takes its place?
//!
//! Four clients post one piece after the other, each into a bin of its own, and go on however often the
//! server goes away under them. Half bear keys of their own and ask until they are told; of the others a
//! step that is told as not kept must not be there. Both tests fail where a commit waits for less than it
//! should: on a server with `synchronous_commit = off`, or with a follower nobody waits for.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use binwright_catalog::Currency;
use binwright_store::{Keep, Place, Store, StoreError};

use super::cluster::Cluster;
use super::ground::open;
use super::proxy::Proxy;
use super::suite::support::{filled, is_sound, movement, on_hand};

const CLIENTS: usize = 4;

/// What a client was told.
#[derive(Default)]
struct Told {
    kept: i64,
    /// That nobody knows.
    unsure: i64,
}

/// How the clients are doing.
#[derive(Default)]
struct Going {
    acknowledged: [AtomicUsize; CLIENTS],
    enough: AtomicBool,
}

impl Going {
    /// Waits until every client was told of some more.
    fn wait_for_more(&self) {
        let until = Instant::now() + Duration::from_mins(1);
        let count = || self.acknowledged.each_ref().map(|one| one.load(Ordering::Relaxed));
        let before = count();
        while before.iter().zip(count()).any(|(before, now)| now < before + 5) {
            assert!(Instant::now() < until, "clients do not go on: {before:?}, {:?}", count());
            thread::sleep(Duration::from_millis(5));
        }
    }
}

/// Posts until it is enough.
fn client(dir: &Path, nth: usize, going: &Going) -> Told {
    let (mut store, mut told) = (open(dir).unwrap(), Told::default());
    for piece in 0.. {
        let key = if nth.is_multiple_of(2) { format!("{nth}-{piece}") } else { String::new() };
        loop {
            let one = [movement(0, nth, 1)];
            match store.write(Keep::Yes, |w| w.post_once(&key, &one)) {
                Ok(_) => break,
                Err(StoreError::Unsure) if key.is_empty() => {
                    told.unsure += 1;
                    told.kept -= 1;
                    break;
                }
                Err(StoreError::Unsure | StoreError::OutOfReach { .. }) => {}
                Err(other) => panic!("client {nth}: {other:?}"),
            }
            thread::sleep(Duration::from_millis(20));
        }
        told.kept += 1;
        going.acknowledged[nth].fetch_add(1, Ordering::Relaxed);
        if going.enough.load(Ordering::Relaxed) {
            break;
        }
    }
    told
}

/// Lets the clients post on the shop at `address` while `disturb` does what it does, then holds what they
/// were told against what is there.
fn post_meanwhile(address: &str, disturb: impl FnOnce(&Going)) {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("place"), address).unwrap();
    let place = Place::named(address.as_ref(), dir.path()).unwrap();
    drop(filled(Store::create_at(&place, "Test bench", Currency::EUR).unwrap(), 1, CLIENTS));
    let (dir, going) = (dir.path(), &Going::default());
    let told: Vec<Told> = thread::scope(|scope| {
        let clients: Vec<_> =
            (0..CLIENTS).map(|nth| scope.spawn(move || client(dir, nth, going))).collect();
        let enough = Enough(going);
        disturb(going);
        drop(enough);
        clients.into_iter().map(|client| client.join().unwrap()).collect()
    });
    let store = open(dir).unwrap();
    for (nth, told) in told.iter().enumerate() {
        let there = on_hand(&store, 0, nth);
        let known = told.kept..=told.kept + told.unsure;
        assert!(known.contains(&there), "client {nth}: {there} there, {known:?} told");
    }
    is_sound(&store);
    let sum = |of: fn(&Told) -> i64| told.iter().map(of).sum::<i64>();
    let (kept, unsure) = (sum(|told| told.kept), sum(|told| told.unsure));
    let mut err = std::io::stderr();
    writeln!(err, "{kept} acknowledged, {unsure} unsure, none lost").unwrap();
}

/// Lets the clients come to an end, whatever becomes of the test.
struct Enough<'a>(&'a Going);

impl Drop for Enough<'_> {
    fn drop(&mut self) {
        self.0.enough.store(true, Ordering::Relaxed);
    }
}

/// In turns it is told to stop at once and killed; as many rounds as `STORE_STOP_ROUNDS` says.
#[test]
fn nothing_acknowledged_is_lost_when_the_server_is_stopped_hard() {
    let rounds = std::env::var("STORE_STOP_ROUNDS").ok().and_then(|n| n.parse().ok()).unwrap_or(2);
    let Some(server) = Cluster::new("") else { return };
    post_meanwhile(&server.new_database(), |going| {
        for round in 0..rounds {
            going.wait_for_more();
            if round % 2 == 0 {
                server.stop_hard();
            } else {
                server.kill();
            }
            server.start();
        }
        going.wait_for_more();
    });
}

/// A commit is acknowledged when the follower has it too; the clients' address names both. The line to the
/// follower is cut a moment before, so that it lacks what nobody waited for.
#[test]
fn clients_go_on_at_the_follower_that_takes_the_place_of_a_killed_server() {
    let Some(server) = Cluster::new("") else { return };
    let line = Proxy::start(server.port);
    let follower = server.follower(line.port);
    server.say("ALTER SYSTEM SET synchronous_standby_names = '*'");
    server.say("SELECT pg_reload_conf()");
    server
        .wait_until("SELECT EXISTS (SELECT 1 FROM pg_stat_replication WHERE sync_state = 'sync')");
    let first = server.new_database();
    let (user, name) = ("postgresql://postgres@", first.rsplit_once('/').unwrap().1);
    let (one, other) = (server.port, follower.port);
    let hosts = format!("127.0.0.1:{one},127.0.0.1:{other}");
    let address = format!("{user}{hosts}/{name}?target_session_attrs=read-write");
    post_meanwhile(&address, |going| {
        going.wait_for_more();
        line.close();
        thread::sleep(Duration::from_millis(100));
        server.kill();
        follower.promote();
        going.wait_for_more();
    });
}
