//! Do four branches keep their books when four clients of each post, promise and send at once?

use std::io::Write;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use binwright_catalog::{Condition, Quantity};
use binwright_store::{Hold, Keep, Movement, Reason, Sending, Store, StoreError, Writer};

use super::ground::{is_on_a_server, open};
use super::suite::branches::{bin, landing, sending};
use super::suite::support::{Done, is_sound, movement, on_hand, post, shop};

const BRANCHES: usize = 4;
/// Clients of each branch.
const CLIENTS: usize = 4;
const PARTS: usize = 12;

/// What is to be there by what clients were told.
#[derive(Default)]
struct Books {
    on_hand: [i64; BRANCHES],
    on_way: i64,
    held: i64,
    done: i64,
    refused: i64,
}

/// A client of a branch, with a line of its own.
struct Client<'a> {
    store: Store,
    branch: usize,
    holds: Vec<(i64, usize)>,
    /// What is on its way to each branch.
    on_way: &'a [Mutex<Vec<i64>>; BRANCHES],
    books: Books,
}

impl Client<'_> {
    /// One act of a round that takes out more than comes in, so that pieces are wanted by many.
    fn act(&mut self, nth: usize) -> Done {
        let Movement { day, who, at, .. } = movement(0, 0, 1);
        let (here, part) = (self.branch, nth * 5 % PARTS);
        let there = (here + 1 + nth / 7 % (BRANCHES - 1)) % BRANCHES;
        match nth % 7 {
            0 => {
                post(&mut self.store, &movement(part, here, 3))?;
                self.books.on_hand[here] += 3;
            }
            1 | 3 => {
                post(&mut self.store, &movement(part, here, -1))?;
                self.books.on_hand[here] -= 1;
            }
            2 => {
                let Movement { part, bin, .. } = movement(part, there, 1);
                let hold = Hold {
                    reference: "Q-1".into(),
                    part,
                    bin,
                    condition: Condition::New,
                    quantity: Quantity::ONE,
                    until: day,
                };
                let id = self.store.write(Keep::Yes, |w| w.hold(&hold, day))?;
                self.books.held += 1;
                self.holds.push((id, there));
            }
            4 => {
                let Movement { part, bin, .. } = movement(part, here, 1);
                let sending = Sending { part, from: bin, to: format!("B{there}"), ..sending(1) };
                let sent = self.store.write(Keep::Yes, |w| w.send("", &sending))?;
                self.books.on_hand[here] -= 1;
                self.books.on_way += 1;
                lock(&self.on_way[there]).push(sent);
            }
            5 => {
                let Some(transfer) = lock(&self.on_way[here]).pop() else { return Ok(()) };
                let lost = i32::from(nth.is_multiple_of(3));
                let landing = landing(transfer, 1 - lost, lost);
                self.store.write(Keep::Yes, |w| w.land("", &landing))?;
                self.books.on_hand[here] += i64::from(1 - lost);
                self.books.on_way -= 1;
            }
            _ => {
                let Some((id, held_at)) = self.holds.pop() else { return Ok(()) };
                if nth.is_multiple_of(2) {
                    self.store.write(Keep::Yes, |w| w.release(id, day))?;
                } else {
                    let sold = |w: &mut Writer<'_>| w.post_hold(id, Reason::Sale, &who, at, day);
                    self.store.write(Keep::Yes, sold)?;
                    self.books.on_hand[held_at] -= 1;
                }
                self.books.held -= 1;
            }
        }
        self.books.done += 1;
        Ok(())
    }
}

/// Method: each client keeps books of what it was told; together they must be what is there when all are
/// done, and the store must be sound. As many seconds as `LOAD_SECONDS` says.
#[test]
fn four_branches_of_four_clients_keep_their_books() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), PARTS, BRANCHES);
    if !is_on_a_server(dir.path()) {
        return;
    }
    store
        .write(Keep::Yes, |w| -> Done {
            w.name_branch("", "Branch 0")?;
            (1..BRANCHES).try_for_each(|nth| {
                let name = format!("Branch {nth}");
                w.put_branch(&name)?;
                w.put_bin(&bin(&format!("B{nth}"), Some(&name))).map(drop)
            })
        })
        .unwrap();
    let seconds = std::env::var("LOAD_SECONDS").ok().and_then(|n| n.parse().ok()).unwrap_or(3);
    let (since, length) = (Instant::now(), Duration::from_secs(seconds));
    let on_way = Default::default();
    let client = |nth: usize| {
        let store = open(dir.path()).unwrap();
        let (branch, books) = (nth % BRANCHES, Books::default());
        let mut client = Client { store, branch, holds: Vec::new(), on_way: &on_way, books };
        for act in nth.. {
            match client.act(act) {
                Ok(()) => {}
                Err(StoreError::Short { .. }) => client.books.refused += 1,
                Err(other) => panic!("{other}"),
            }
            if since.elapsed() > length {
                break;
            }
        }
        client.books
    };
    let client = &client;
    let told: Vec<Books> = thread::scope(|scope| {
        let all: Vec<_> =
            (0..BRANCHES * CLIENTS).map(|nth| scope.spawn(move || client(nth))).collect();
        all.into_iter().map(|one| one.join().unwrap()).collect()
    });
    let sum = |of: fn(&Books) -> i64| told.iter().map(of).sum::<i64>();
    for branch in 0..BRANCHES {
        let there: i64 = (0..PARTS).map(|part| on_hand(&store, part, branch)).sum();
        assert_eq!(there, told.iter().map(|books| books.on_hand[branch]).sum::<i64>(), "{branch}");
    }
    assert_eq!(store.in_transit().unwrap().len() as i64, sum(|books| books.on_way));
    let day = movement(0, 0, 1).day;
    assert_eq!(store.holds(day).unwrap().len() as i64, sum(|books| books.held));
    is_sound(&store);
    let (done, refused) = (sum(|books| books.done), sum(|books| books.refused));
    assert!(told.iter().all(|books| books.done > 0) && refused > 0, "{done} done, {refused} short");
    let mut err = std::io::stderr();
    writeln!(err, "{done} steps kept in {seconds} s, {refused} refused as short").unwrap();
}

fn lock<T>(one: &Mutex<T>) -> MutexGuard<'_, T> {
    one.lock().unwrap_or_else(PoisonError::into_inner)
}
