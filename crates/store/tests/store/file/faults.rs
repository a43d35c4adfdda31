//! What is left when the disk fails? Each storage call of an act is made to fail in turn, and the
//! store is looked at afterwards: sound, and the act whole or not there.
//!
//! Two ways, both of the system's own making, none inside the store. A limit on file size ends
//! every write at byte N of a file (a short write, then an error). `strace --inject` makes the Nth
//! call on the shop's files return no space, an I/O error or no permission, once or for good; where
//! there is no strace this way is passed over, and said so.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use binwright_store::{Keep, Store};

use super::suite::support::{Done, is_sound, movement, on_hand, plate, post, shop};

const BEFORE: i64 = 5;
const PARTS: usize = 60;

/// What is interrupted, in a process of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Act {
    Post,
    Import,
    Migrate,
    Backup,
}

const ACTS: [Act; 4] = [Act::Post, Act::Import, Act::Migrate, Act::Backup];

fn perform(act: Act, dir: &Path) -> Result<(), Box<dyn std::error::Error>> {
    let mut store = Store::open(dir)?;
    match act {
        Act::Post => drop(post(&mut store, &movement(0, 0, 3))?),
        Act::Import => store.write(Keep::Yes, |w| -> Done {
            (10..10 + PARTS).try_for_each(|part| w.put_part(&plate(part)).map(drop))
        })?,
        Act::Migrate => {}
        Act::Backup => store.backup(&dir.join("copy.db"))?,
    }
    Ok(())
}

#[test]
#[ignore = "run in a process of its own by the tests below"]
fn acts() {
    let Some((dir, role)) = super::suite::support::spawned() else { return };
    match perform(ACTS[role], &dir) {
        Ok(()) => println!("\ndone"),
        Err(error) => {
            println!("\nfailed: {error}");
            std::process::exit(1);
        }
    }
}

/// A shop before `act`: five of part 0 in bin 0.
fn prepare(act: Act, dir: &Path) {
    if act == Act::Migrate {
        old_store(dir);
        return;
    }
    let mut store = shop(dir, 1, 1);
    post(&mut store, &movement(0, 0, BEFORE as i32)).unwrap();
    fs::write(dir.join("settings.toml"), "").unwrap();
}

/// A store as the program of version 2 left it: five of part 0 in bin 0.
pub fn old_store(dir: &Path) {
    let db = rusqlite::Connection::open(dir.join("shop.db")).unwrap();
    db.pragma_update(None, "foreign_keys", false).unwrap();
    db.execute_batch(include_str!("old/v2.sql")).unwrap();
    db.close().unwrap();
}

/// Copies the folder that was prepared: making it anew each time would cost minutes.
fn copied(from: &Path) -> tempfile::TempDir {
    let to = tempfile::tempdir().unwrap();
    for file in fs::read_dir(from).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), to.path().join(file.file_name())).unwrap();
    }
    to
}

/// Whole or not there, and sound; what was told to be done is there.
fn look(act: Act, dir: &Path, told: bool, how: &str) {
    let store = Store::open(dir).unwrap_or_else(|error| panic!("{act:?}, {how}: {error}"));
    is_sound(&store);
    let whole = match act {
        Act::Post => match on_hand(&store, 0, 0) {
            BEFORE => false,
            found => {
                assert_eq!(found, BEFORE + 3, "{how}");
                true
            }
        },
        Act::Import => {
            let is_there =
                |part: usize| store.parts_by_number(&format!("RP{part:04}")).unwrap().len() == 1;
            assert_eq!(is_there(10), is_there(9 + PARTS), "{how}");
            is_there(10)
        }
        Act::Migrate => {
            assert_eq!(on_hand(&store, 0, 0), BEFORE, "{how}");
            true
        }
        Act::Backup => {
            let copy = dir.join("copy.db");
            if copy.exists() {
                let to = dir.join("restored");
                let copy = Store::restore(&copy, &to, "2031-03-01".parse().unwrap());
                assert_eq!(on_hand(&copy.unwrap(), 0, 0), BEFORE, "{how}");
                assert!(to.join("settings.toml").exists(), "{how}");
                true
            } else {
                false
            }
        }
    };
    assert!(whole || !told, "{act:?}, {how}: told to be done, and is not");
}

/// Runs the act under `command`, which ends in the program to run; whether it said it was done.
fn told(act: Act, dir: &Path, mut command: Command) -> bool {
    let out = command
        .arg(std::env::current_exe().unwrap())
        .args(["--exact", "file::faults::acts", "--ignored", "--nocapture", "--test-threads=1"])
        .env("STORE_TEST_DIR", dir)
        .env("STORE_TEST_ROLE", ACTS.iter().position(|known| *known == act).unwrap().to_string())
        .stderr(Stdio::null())
        .output()
        .unwrap();
    String::from_utf8_lossy(&out.stdout).lines().any(|line| line == "done")
}

/// The limit rises in steps of 512 bytes from nothing until the act is done under it.
#[cfg(unix)]
#[test]
fn a_file_that_cannot_grow_leaves_the_store_sound() {
    for act in ACTS {
        let ready = tempfile::tempdir().unwrap();
        prepare(act, ready.path());
        let (mut done, mut cut) = (0, 0);
        // Every block near the start; then strides, since an act may write hundreds of them.
        let blocks = (0..24).chain((24..4_000).step_by(37));
        for block in blocks {
            let dir = copied(ready.path());
            let mut command = Command::new("sh");
            command.args(["-c", "trap '' XFSZ; ulimit -f $0 && exec \"$@\"", &block.to_string()]);
            let told = told(act, dir.path(), command);
            look(act, dir.path(), told, &format!("cut at block {block}"));
            if told {
                done += 1;
            } else {
                cut += 1;
            }
            if done == 2 {
                break;
            }
        }
        assert!(cut > 0 && done > 0, "{act:?}: {cut} cut, {done} done");
        writeln!(std::io::stderr(), "{act:?}: {cut} times cut short").unwrap();
    }
}

/// Each fault with the calls that can meet it.
const FAULTS: [(&str, &[&str]); 3] = [
    ("ENOSPC", &["openat", "pwrite64", "write", "fsync", "ftruncate", "fallocate", "rename"]),
    (
        "EIO",
        &[
            "openat",
            "pread64",
            "read",
            "pwrite64",
            "write",
            "fsync",
            "ftruncate",
            "rename",
            "unlink",
            "newfstatat",
        ],
    ),
    ("EACCES", &["openat", "rename", "unlink"]),
];

fn under_strace(dir: &Path, log: &Path, fault: &str, call: &str, nth: &str) -> Command {
    let mut command = Command::new("strace");
    command.args(["-f", "-qq", "-o"]).arg(log).arg("-P").arg(dir);
    let own = ["shop.db", "shop.db-wal", "shop.db-journal", "shop.lock", "copy.db.new-journal"];
    for name in own {
        command.arg("-P").arg(dir.join(name));
    }
    for name in ["copy.db", "shop-before-2.db"] {
        command.arg("-P").arg(dir.join(name));
        command.arg("-P").arg(dir.join(format!("{name}.new")));
    }
    command.arg(format!("--inject={call}:error={fault}:when={nth}"));
    command
}

/// Fails one call of an act and looks at what is left; whether there was such a call.
fn fail(act: Act, ready: &Path, [fault, call, nth]: [&str; 3]) -> bool {
    let dir = copied(ready);
    let log = dir.path().join("strace.log");
    let told = told(act, dir.path(), under_strace(dir.path(), &log, fault, call, nth));
    look(act, dir.path(), told, &format!("{fault} at {call} {nth}"));
    fs::read_to_string(&log).unwrap().contains("(INJECTED)")
}

/// What once left a store that would not open: the journal of a migration that was cut short.
const FAILED_ONCE: (Act, [&str; 3]) = (Act::Migrate, ["ENOSPC", "pwrite64", "6+"]);

/// Fails the calls of one act one by one and returns how many, by name; `stride` passes some over.
fn fail_in_turn(act: Act, stride: usize) -> BTreeMap<&'static str, usize> {
    let ready = tempfile::tempdir().unwrap();
    prepare(act, ready.path());
    let mut failed = BTreeMap::new();
    let each = FAULTS.iter().flat_map(|(fault, calls)| calls.iter().map(move |call| (fault, call)));
    for (at, ((fault, call), for_good)) in each.flat_map(|one| [(one, ""), (one, "+")]).enumerate()
    {
        for nth in (1 + at % stride..).step_by(stride) {
            if !fail(act, ready.path(), [fault, call, &format!("{nth}{for_good}")]) {
                break;
            }
            *failed.entry(*call).or_default() += 1;
        }
    }
    failed
}

/// Every seventh call is failed, starting at another each time; with `STORE_FAULTS=all` every one.
#[test]
fn a_call_that_fails_leaves_the_store_sound() {
    let tried = Command::new("strace").args(["-qq", "-o", "/dev/null", "true"]).status();
    if !tried.is_ok_and(|status| status.success()) {
        writeln!(std::io::stderr(), "no strace here, or it may not look: passed over").unwrap();
        return;
    }
    let ready = tempfile::tempdir().unwrap();
    prepare(FAILED_ONCE.0, ready.path());
    assert!(fail(FAILED_ONCE.0, ready.path(), FAILED_ONCE.1));
    let stride = if std::env::var("STORE_FAULTS").is_ok_and(|all| all == "all") { 1 } else { 7 };
    for act in ACTS {
        let failed = fail_in_turn(act, stride);
        assert!(failed.contains_key("pwrite64"), "{act:?}: {failed:?}");
        writeln!(std::io::stderr(), "{act:?}: calls failed in turn: {failed:?}").unwrap();
    }
}
