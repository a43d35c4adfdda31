//! How many postings a second does a server take from four branches with four clients each?
//!
//! `cargo bench -p binwright-tests --bench load [-- SECONDS]`; the clients post for so many seconds in all.
//! An invented shop on a server of the bench's own (PostgreSQL, as it comes: a commit waits for the disk),
//! where every client sells one piece after the other of parts of its branch's bin. Beside it, in turns
//! on the same server with as many clients: pgbench, which sends the same statements in the prepared
//! protocol on a second shop of the same shape, without the ledger's thinking. Then both once more on a
//! server that does not wait for the disk, where only the work counts.

#![allow(clippy::unwrap_used, reason = "a measurement")]

#[allow(dead_code, reason = "of the store's tests, which ask more of it")]
#[path = "../../crates/store/tests/store/server/cluster.rs"]
mod cluster;

use std::path::Path;
use std::process::Command;
use std::thread;
use std::time::{Duration, Instant};

use binwright_catalog::{Condition, Currency, Money, Part, Quantity};
use binwright_store::{Bin, Keep, Movement, Place, Reason, Store, StoreError};
use binwright_tests::figures::{Goal, Report};
use cluster::Cluster;

const BRANCHES: usize = 4;
/// All clients.
const CLIENTS: usize = 16;
const PARTS: usize = 100;
/// How often each has its turn.
const ROUNDS: u32 = 4;

/// A statement of the store with `words` in the place of its parameters, in their order.
macro_rules! said {
    ($name:literal, $words:literal) => {
        said(include_str!(concat!("../../schema/store/queries/", $name, ".sql")), $words)
    };
}

fn said(query: &str, words: &str) -> String {
    let words: Vec<_> = words.split(' ').enumerate().collect();
    // The last first: `?1` begins `?17`.
    words.into_iter().rev().fold(query.trim().to_owned(), |said, (nth, word)| {
        said.replace(&format!("?{}", nth + 1), word)
    })
}

/// One sale as the store makes it, for pgbench. What the store reckons of it is here what was read.
fn script() -> String {
    let turn = said!("turn_take", ":turn");
    let place = said!("place", ":number :bin");
    let standing = said!("standing", ":part_id :bin_id :condition :day");
    let movement = said!(
        "movement_add",
        ":seq :part_id :bin_id :condition -1000 :reason :reference :who :at :seq NULL -1 :day '' '' \
         :branch_id :hash"
    );
    let balance = said!("balance_put", ":part_id :bin_id :condition :left");
    let worth = said!("worth_put", ":part_id :condition :pool :value");
    format!(
        r"\set turn random(1, 1000000000000)
\set number random(1000, 1099)
\set bin :client_id % {BRANCHES}
BEGIN ISOLATION LEVEL READ COMMITTED;
{turn};
{place} \gset
{standing} \gset
\set seq :last + 1
\set left :on_hand - 1000
\set pool :pool_on_hand - 1000
\set value :pool_value - 1
WITH s0 AS ({movement}), s1 AS ({balance}) {worth};
COMMIT;
"
    )
}

/// What one says to pgbench beside the script: the words that are the same in every sale.
const WORDS: [&str; 6] = [
    "condition=new",
    "reason=sale",
    "reference=R-1",
    "who=Ann",
    "at=2031-03-01T12:00:00Z",
    "day=2031-03-01",
];

/// A shop of four branches, with enough of everything.
fn stocked(place: &Place) -> Result<Store, StoreError> {
    let mut store = Store::create_at(place, "Speed", Currency::EUR)?;
    store.write(Keep::Yes, |w| -> Result<(), StoreError> {
        w.name_branch("", "0")?;
        for part in 0..PARTS {
            let house = format!("{}", 1000 + part);
            w.put_part(&Part { house, kind: "brush".into(), ..Part::default() })?;
        }
        for branch in 0..BRANCHES {
            let name = branch.to_string();
            w.put_branch(&name)?;
            w.put_bin(&Bin { name: name.clone(), branch: Some(name), ..Bin::default() })?;
            for part in 0..PARTS {
                let unit_cost = Some(Money { minor: 650, currency: Currency::EUR });
                let (quantity, reason) = (Quantity::whole(1_000_000), Reason::Receive);
                w.post(&Movement { quantity, reason, unit_cost, ..sale(part, branch) })?;
            }
        }
        Ok(())
    })?;
    Ok(store)
}

fn sale(part: usize, branch: usize) -> Movement {
    Movement {
        part: (1000 + part).to_string(),
        bin: branch.to_string(),
        condition: Condition::New,
        quantity: Quantity::whole(-1),
        unit_cost: None,
        reason: Reason::Sale,
        reference: "R-1".into(),
        note: String::new(),
        who: "Ann".into(),
        at: "2031-03-01T12:00:00Z".parse().unwrap(),
        day: "2031-03-01".parse().unwrap(),
    }
}

/// Postings a second of our clients.
fn ours(place: &Place, seconds: u64) -> f64 {
    let client = |nth: usize| {
        let mut store = Store::open_at(place).unwrap();
        let (since, mut posted) = (Instant::now(), 0_u32);
        while since.elapsed() < Duration::from_secs(seconds) {
            let part = (nth * 37 + posted as usize * 7) % PARTS;
            store.write(Keep::Yes, |w| w.post(&sale(part, nth % BRANCHES))).unwrap();
            posted += 1;
        }
        f64::from(posted) / since.elapsed().as_secs_f64()
    };
    let client = &client;
    thread::scope(|scope| {
        let all: Vec<_> = (0..CLIENTS).map(|nth| scope.spawn(move || client(nth))).collect();
        all.into_iter().map(|one| one.join().unwrap()).sum()
    })
}

/// Postings a second of as many clients of pgbench.
fn pgbench(server: &Cluster, address: &str, script: &Path, seconds: u64) -> f64 {
    let mut command = Command::new(server.programs.join("pgbench"));
    command.args(["-n", "-M", "prepared", "-j", "2", "-c", &CLIENTS.to_string()]);
    command.args(["-T", &seconds.to_string(), "-f"]).arg(script);
    for word in WORDS {
        command.args(["-D", word]);
    }
    let done = command.arg(address).output().unwrap();
    let told = String::from_utf8_lossy(&done.stdout);
    let rate = told.lines().find_map(|line| line.strip_prefix("tps = ")?.split(' ').next());
    let why = String::from_utf8_lossy(&done.stderr);
    rate.unwrap_or_else(|| panic!("{told}{why}")).parse().unwrap()
}

/// Both in turns, each `ROUNDS` times.
fn in_turns(report: &mut Report, told: &str, words: &str, seconds: u64) {
    let Some(server) = Cluster::new(told) else { return };
    let dir = tempfile::tempdir().unwrap();
    let script_file = dir.path().join("sale.sql");
    std::fs::write(&script_file, script()).unwrap();
    let addresses = [server.new_database(), server.new_database()];
    let places =
        addresses.each_ref().map(|address| Place::named(address.as_ref(), dir.path()).unwrap());
    let stores = places.each_ref().map(|place| stocked(place).unwrap());
    let (mut our, mut plain) = (0.0, 0.0);
    for _ in 0..ROUNDS {
        our += ours(&places[0], seconds) / f64::from(ROUNDS);
        plain += pgbench(&server, &addresses[1], &script_file, seconds) / f64::from(ROUNDS);
    }
    assert_eq!(stores[0].check(sale(0, 0).day).unwrap(), []);
    report.of(0, &format!("{CLIENTS} clients at {BRANCHES} branches, {words}"));
    report.figure(&format!("postings, {words}"), our, "a second", Goal::None);
    report.figure(&format!("pgbench, {words}"), plain, "a second", Goal::Yardstick);
    let share = 100.0 * our / plain;
    report.figure(&format!("postings beside it, {words}"), share, "%", Goal::AtLeast(75.0));
}

fn main() {
    let seconds = std::env::args().skip(1).find_map(|text| text.parse().ok()).unwrap_or(60);
    let mut report = Report::begin("load").unwrap();
    let each = (seconds / u64::from(ROUNDS)).max(1);
    in_turns(&mut report, "", "kept on the disk", each);
    in_turns(&mut report, cluster::FAST, "not waiting for it", each);
}
