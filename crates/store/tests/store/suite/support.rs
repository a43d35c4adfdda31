//! What do the tests start from? An invented shop of a few parts and bins.

use std::path::Path;
use std::process::{Child, Command, Stdio};

use binwright_catalog::{Condition, Part, PartNumber, Quantity};
use binwright_store::{Bin, Keep, Movement, Reason, Store, StoreError};
use jiff::Timestamp;

use super::super::ground::create;

pub type Done = Result<(), StoreError>;

pub fn shop(dir: &Path, parts: usize, bins: usize) -> Store {
    filled(create(dir), parts, bins)
}

/// Puts so many parts and bins.
pub fn filled(mut store: Store, parts: usize, bins: usize) -> Store {
    store
        .write(Keep::Yes, |w| -> Done {
            for part in 0..parts {
                w.put_part(&plate(part))?;
            }
            for bin in 0..bins {
                let name = format!("B{bin}");
                w.put_bin(&Bin { name, aisle: "1".into(), ..Bin::default() })?;
            }
            Ok(())
        })
        .unwrap();
    store
}

pub fn plate(at: usize) -> Part {
    Part {
        house: format!("RP {at:04}"),
        kind: "rectifier-plate".into(),
        description: "plate".into(),
        numbers: vec![PartNumber { text: format!("zx-{at}"), user: "Zorvex".into() }],
        ..Part::default()
    }
}

pub fn movement(part: usize, bin: usize, quantity: i32) -> Movement {
    Movement {
        part: format!("RP{part:04}"),
        bin: format!("B{bin}"),
        condition: Condition::New,
        quantity: Quantity::whole(quantity),
        unit_cost: None,
        reason: if quantity > 0 { Reason::Receive } else { Reason::Sale },
        reference: "R-1".into(),
        note: String::new(),
        who: "Ann".into(),
        day: "2031-03-01".parse().unwrap(),
        at: "2031-03-01T12:00:00Z".parse::<Timestamp>().unwrap(),
    }
}

pub fn post(store: &mut Store, movement: &Movement) -> Result<i64, StoreError> {
    store.write(Keep::Yes, |w| w.post(movement))
}

pub fn on_hand(store: &Store, part: usize, bin: usize) -> i64 {
    let today = "2031-03-01".parse().unwrap();
    let id = store.parts_by_number(&format!("RP{part:04}")).unwrap()[0];
    let lines = store.stock(id, today).unwrap();
    let line = lines.iter().find(|line| line.bin == format!("B{bin}"));
    line.map_or(0, |line| line.on_hand.thousandths() / 1000)
}

pub fn is_sound(store: &Store) {
    assert_eq!(store.check("2031-03-01".parse().unwrap()).unwrap(), []);
}

/// Runs the ignored test `path` of this binary in a process of its own.
pub fn spawn(path: &str, dir: &Path, role: usize) -> Child {
    let (_, name) = path.split_once("::").unwrap();
    Command::new(std::env::current_exe().unwrap())
        .args(["--exact", name, "--ignored", "--nocapture", "--test-threads=1"])
        .env("STORE_TEST_DIR", dir)
        .env("STORE_TEST_ROLE", role.to_string())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap()
}

/// The folder and role of a process started by [`spawn`].
pub fn spawned() -> Option<(std::path::PathBuf, usize)> {
    let dir = std::env::var_os("STORE_TEST_DIR")?;
    Some((dir.into(), std::env::var("STORE_TEST_ROLE").ok()?.parse().ok()?))
}
