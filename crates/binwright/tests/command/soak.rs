//! Does one shop bear three desks at once, for long, in bad weather?
//!
//! `SOAK_SECONDS=600 cargo test -p binwright --test command soak -- --ignored --nocapture`. Counter,
//! bench and buyer run the real program on one shop while programs are killed half-way, the disk is
//! full, the folder cannot be written, and the clock goes back two days. What was answered as done
//! is there at the end, and the store checks out. Weather that this machine does not let a test
//! make (a small disk of its own, another user, another clock) is left out, and said.

use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU32, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use crate::bench::{Bench, text};

/// The user who owns nothing.
const NOBODY: u32 = 65_534;
/// Size of the shop's disk, where it has one of its own.
const DISK_MB: u32 = 24;
/// A plate that nothing but this test moves, and where it lies.
const PLATE: (&str, &str) = ("RP-1107B", "A1-02");

/// What became of the programs that were run.
#[derive(Debug, Default)]
struct Tally {
    done: AtomicU32,
    refused: AtomicU32,
    killed: AtomicU32,
}

struct Soak {
    bench: Bench,
    end: Instant,
    tally: Tally,
    /// References and pieces of the postings that were answered as done.
    posted: Mutex<Vec<(String, i64)>>,
    clock: bool,
}

impl Soak {
    fn goes_on(&self) -> bool {
        Instant::now() < self.end
    }

    /// Runs a line; true when it was answered as done. One in twelve is killed on its way, one in
    /// twenty sees a clock that stands two days back.
    fn run(&self, dice: &mut StdRng, line: &[&str]) -> bool {
        let mut command = self.bench.command(line);
        if self.clock && dice.random_bool(0.05) {
            command = behind(&command);
        }
        command.stdout(Stdio::null()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        if dice.random_bool(1.0 / 12.0) {
            thread::sleep(Duration::from_millis(dice.random_range(1..120)));
            if child.try_wait().unwrap().is_none() {
                child.kill().unwrap();
                child.wait().unwrap();
                self.tally.killed.fetch_add(1, Ordering::Relaxed);
                return false;
            }
        }
        let out = child.wait_with_output().unwrap();
        let said = text(&out.stderr);
        assert!(!said.contains("panicked"), "{line:?}: {said}");
        let done = out.status.success();
        assert!(done || !said.is_empty() || out.status.code() == Some(1), "{line:?} says nothing");
        let count = if done { &self.tally.done } else { &self.tally.refused };
        count.fetch_add(1, Ordering::Relaxed);
        done
    }

    fn post(&self, dice: &mut StdRng, act: &str, pieces: i64) {
        let reference = format!("S-{}", dice.random_range(0..u32::MAX));
        let many = pieces.abs().to_string();
        let line = ["stock", act, PLATE.0, PLATE.1, &many, "--reference", &reference];
        if self.run(dice, &line) {
            self.posted.lock().unwrap().push((reference, pieces));
        }
    }

    fn counter(&self, dice: &mut StdRng) {
        let od = format!("outline_od={:.1}", dice.random_range(100.0..130.0));
        let fit = ["fit", "rectifier-plate", "phase_lugs=4", &od];
        match dice.random_range(0..4) {
            0 => drop(self.run(dice, &fit)),
            1 => drop(self.run(dice, &["find", "RP-1l3?C"])),
            2 => drop(self.run(dice, &["show", "AU-1112"])),
            _ => self.post(dice, "sell", -1),
        }
    }

    fn bench_desk(&self, dice: &mut StdRng) {
        let read = ["alternator", "charge-voltage=low", "ripple=high", "--unit", "AU-1112"];
        if dice.random_bool(0.5) {
            self.run(dice, &[&["bench"], &read[..]].concat());
        } else {
            let make = [&["quote", "make"], &read[..], &["--cover", "1", "--customer", "Berta"]];
            if self.run(dice, &make.concat()) {
                let number = dice.random_range(1..40).to_string();
                self.run(dice, &["quote", "drop", &number, "--why", "too dear"]);
            }
        }
    }

    fn buyer(&self, dice: &mut StdRng) {
        match dice.random_range(0..3) {
            0 => drop(self.run(dice, &["buy", "advise"])),
            1 => drop(self.run(dice, &["report", "fast"])),
            _ => self.post(dice, "receive", 2),
        }
    }

    /// Fills the shop's disk, or lets somebody try who may not write; for a moment each.
    fn weather(&self, dice: &mut StdRng, disk: bool, other_user: bool) {
        thread::sleep(Duration::from_secs(2));
        let shop = self.bench.path("shop");
        if disk {
            let filler = shop.join("filler");
            // It ends when the disk is full.
            let _ = std::fs::write(&filler, vec![7; DISK_MB as usize * 1_000_000]);
            thread::sleep(Duration::from_secs(2));
            std::fs::remove_file(filler).unwrap();
        }
        if other_user {
            let mut sell = self.bench.command(&["stock", "sell", PLATE.0, PLATE.1, "1"]);
            sell.uid(NOBODY).env("XDG_CACHE_HOME", self.bench.path("nobody"));
            let out = sell.output().unwrap();
            assert!(!out.status.success(), "nobody may sell in a folder that is not theirs");
            let said = text(&out.stderr);
            assert!(said.contains("read") || said.contains("disk"), "{said}");
        }
        // The check is made under way too.
        self.run(dice, &["check"]);
    }
}

/// The same line, on a clock two days behind.
fn behind(command: &Command) -> Command {
    let mut late = Command::new("faketime");
    late.args(["-f", "-2d"]).arg(command.get_program()).args(command.get_args());
    for (name, value) in command.get_envs() {
        match value {
            Some(value) => late.env(name, value),
            None => late.env_remove(name),
        };
    }
    late.stdin(Stdio::null());
    late
}

/// A small disk of the shop's own, for as long as this lives.
struct Disk(PathBuf);

impl Disk {
    /// Mounts it, when this user may.
    fn mount(shop: PathBuf) -> Option<Self> {
        std::fs::create_dir_all(&shop).unwrap();
        let size = format!("size={DISK_MB}m,mode=755");
        let place = shop.display().to_string();
        works("mount", &["-t", "tmpfs", "-o", &size, "tmpfs", &place]).then_some(Self(shop))
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        works("umount", &[&self.0.display().to_string()]);
    }
}

fn works(program: &str, line: &[&str]) -> bool {
    Command::new(program).args(line).output().is_ok_and(|out| out.status.success())
}

#[test]
#[ignore = "ten minutes"]
fn three_desks_bear_kills_a_full_disk_no_rights_and_a_clock_set_back() {
    let seconds = std::env::var("SOAK_SECONDS").map_or(600, |text| text.parse().unwrap());
    let empty = Bench::empty();
    let own_disk = Disk::mount(empty.path("shop"));
    let disk = own_disk.is_some();
    let bench = empty.filled();
    let root = works("test", &["-w", "/"]);
    if root {
        // The one who may not write must at least come to the door.
        let own = bench.path("nobody");
        std::fs::create_dir(&own).unwrap();
        std::os::unix::fs::chown(&own, Some(NOBODY), None).unwrap();
        assert!(works("chmod", &["-R", "o+rX", &bench.path("").display().to_string()]));
    }
    let clock = works("faketime", &["-f", "-2d", "true"]);
    for (there, what) in [(disk, "full disk"), (root, "folder without rights"), (clock, "clock")] {
        if !there {
            eprintln!("left out, this machine does not let a test make it: {what}");
        }
    }
    bench.does(&format!("stock receive {} {} 500 --reference S-first", PLATE.0, PLATE.1));
    let before = bench.on_hand(PLATE.0, PLATE.1, "new");
    let end = Instant::now() + Duration::from_secs(seconds);
    let soak = Soak { bench, end, tally: Tally::default(), posted: Mutex::default(), clock };
    thread::scope(|scope| {
        let desks: [fn(&Soak, &mut StdRng); 3] = [Soak::counter, Soak::bench_desk, Soak::buyer];
        for (seed, desk) in desks.into_iter().enumerate() {
            let soak = &soak;
            scope.spawn(move || {
                let mut dice = StdRng::seed_from_u64(seed as u64);
                while soak.goes_on() {
                    desk(soak, &mut dice);
                }
            });
        }
        let mut dice = StdRng::seed_from_u64(9);
        while soak.goes_on() {
            soak.weather(&mut dice, disk, root);
        }
    });
    let found = soak.bench.run(&["check"]);
    assert!(found.status.success(), "{}", text(&found.stdout));
    let posted = soak.posted.into_inner().unwrap();
    let history = text(&soak.bench.run(&["stock", "history", PLATE.0, "--last", "1000000"]).stdout);
    let lost = posted.iter().filter(|(reference, _)| !history.contains(reference.as_str()));
    assert_eq!(lost.collect::<Vec<_>>(), Vec::<&(String, i64)>::new());
    let answered: i64 = posted.iter().map(|(_, pieces)| pieces).sum();
    eprintln!(
        "{seconds} s: {:?}; {} postings answered, {answered:+} pieces, {} now of {before}",
        soak.tally,
        posted.len(),
        soak.bench.on_hand(PLATE.0, PLATE.1, "new")
    );
    assert!(!posted.is_empty() && soak.tally.killed.into_inner() > 0);
    drop(own_disk);
}
