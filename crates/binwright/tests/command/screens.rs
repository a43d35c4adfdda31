//! Do the screens work in a terminal? The real program in a pseudo-terminal, read by an emulator.

use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

use crate::bench::Bench;

/// How long a screen may take before it counts as never coming: generous, machines are busy.
const PATIENCE: Duration = Duration::from_mins(1);

/// What a terminal sends for that key.
const F3: &str = "\x1bOR";

pub struct Tty {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keys: Box<dyn Write + Send>,
    bytes: Receiver<Vec<u8>>,
    screen: vt100::Parser,
    raw: Vec<u8>,
}

fn size(rows: u16, cols: u16) -> PtySize {
    PtySize { rows, cols, pixel_width: 0, pixel_height: 0 }
}

fn nonzero(count: u16) -> NonZeroU16 {
    NonZeroU16::new(count).unwrap()
}

impl Tty {
    /// The program without a command, on 80 columns by 24 rows.
    pub fn open(bench: &Bench, shop: &str) -> Self {
        let pair = native_pty_system().openpty(size(24, 80)).unwrap();
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_binwright"));
        command.env("BINWRIGHT_SHOP", bench.shop(shop));
        command.env("XDG_CACHE_HOME", bench.path("cache"));
        command.env("XDG_STATE_HOME", bench.path("state"));
        command.env("XDG_DATA_HOME", bench.path("data"));
        command.env("XDG_CONFIG_HOME", bench.path("config"));
        command.env("HOME", bench.path(""));
        command.env("TERM", "xterm-256color");
        command.env("LC_ALL", "C.UTF-8");
        command.env_remove("NO_COLOR");
        let child = pair.slave.spawn_command(command).unwrap();
        drop(pair.slave);
        let mut reader = pair.master.try_clone_reader().unwrap();
        let (send, bytes) = channel();
        thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(count @ 1..) = reader.read(&mut buffer) {
                if send.send(buffer[..count].to_vec()).is_err() {
                    return;
                }
            }
        });
        let keys = pair.master.take_writer().unwrap();
        let screen = vt100::Parser::new(nonzero(24), nonzero(80), 0);
        Self { child, master: pair.master, keys, bytes, screen, raw: Vec::new() }
    }

    pub fn press(&mut self, bytes: &str) {
        self.keys.write_all(bytes.as_bytes()).unwrap();
        self.keys.flush().unwrap();
    }

    /// Types as a person does: slower than a scanner.
    pub fn type_in(&mut self, text: &str) {
        for letter in text.chars() {
            self.press(&letter.to_string());
            thread::sleep(Duration::from_millis(55));
        }
    }

    pub fn contents(&self) -> String {
        self.screen.screen().contents()
    }

    fn take(&mut self, wait: Duration) -> Result<usize, RecvTimeoutError> {
        let bytes = self.bytes.recv_timeout(wait)?;
        self.screen.process(&bytes);
        self.raw.extend_from_slice(&bytes);
        Ok(bytes.len())
    }

    /// Waits until the screen shows all of `words`.
    pub fn wait_for(&mut self, words: &[&str]) {
        self.wait_until(&format!("{words:?}"), |shown| {
            words.iter().all(|word| shown.contains(word))
        });
    }

    /// Waits until the screen no longer shows `words`.
    pub fn wait_until_gone(&mut self, words: &str) {
        self.wait_until(&format!("the end of `{words}`"), |shown| !shown.contains(words));
    }

    fn wait_until(&mut self, what: &str, is_there: impl Fn(&str) -> bool) {
        let end = Instant::now() + PATIENCE;
        while !is_there(&self.contents()) {
            let rest = end.saturating_duration_since(Instant::now());
            let took = self.take(rest.min(Duration::from_millis(200)));
            assert!(
                !rest.is_zero() && took != Err(RecvTimeoutError::Disconnected),
                "{what} never came; the screen is\n{}",
                self.contents()
            );
        }
    }

    /// The exit code, after everything that was written has been read.
    pub fn end(&mut self) -> u32 {
        let code = self.child.wait().unwrap().exit_code();
        while self.take(Duration::from_millis(500)).is_ok() {}
        code
    }

    /// Whether the terminal is as it was: first screen, no paste mode, no mouse, cursor shown.
    fn assert_given_back(&self) {
        let screen = self.screen.screen();
        assert!(!screen.alternate_screen() && !screen.bracketed_paste() && !screen.hide_cursor());
        assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None);
    }
}

#[test]
fn a_job_goes_from_a_measured_plate_to_its_bin() {
    let bench = Bench::with_samples();
    let mut tty = Tty::open(&bench, "shop");
    tty.wait_for(&["[F2 counter]", "Test shop"]);
    tty.type_in("plate lugs 4 od 112.1 pitch 92.1 m8");
    tty.wait_for(&["RP-1107A", "RP-1107C", "none of ours", "take"]);
    tty.type_in(" hole@0,0/6.2; hole@92.1,0/6.2; hole@46.2,-28/6.2; stud:B+@81.8,7.2/M8");
    tty.wait_for(&["points within", "WRONG HAND"]);
    tty.press("\t");
    tty.wait_for(&["[crosses]", "replaced by", "RP-1131C", "A2-04 new 3 free"]);
    let before = tty.contents();
    tty.master.resize(size(40, 120)).unwrap();
    tty.screen.screen_mut().set_size(nonzero(40), nonzero(120));
    tty.wait_for(&["[crosses]", "RP-1131C", "RP-2007A"]);
    assert_ne!(before, tty.contents());
    tty.press("\r");
    thread::sleep(Duration::from_millis(200));
    tty.press("y");
    thread::sleep(Duration::from_millis(200));
    tty.wait_for(&["sent to the terminal's clipboard"]);
    tty.press("q");
    assert_eq!(tty.end(), 0);
    tty.assert_given_back();
    let raw = String::from_utf8_lossy(&tty.raw).into_owned();
    assert!(raw.contains("\x1b]52;c;"), "the number goes out by OSC 52");
    assert!(!raw.contains("?1000h"), "the mouse is left alone");
    let kept = std::fs::read_to_string(bench.path("state").join("binwright/entries")).unwrap();
    assert!(kept.starts_with("plate lugs 4 od 112.1"), "{kept}");

    let mut again = Tty::open(&bench, "shop");
    again.wait_for(&["[F2 counter]", "Test shop"]);
    again.press("\x1b[A");
    again.wait_for(&["points within", "WRONG HAND"]);
    again.press("\x03");
    assert_eq!(again.end(), 0);
}

/// From the unit and its readings over findings and covers to a quote that holds its stock.
#[test]
fn a_job_goes_from_its_readings_to_a_quote_that_holds_its_parts() {
    let bench = Bench::with_samples();
    let mut tty = Tty::open(&bench, "shop");
    tty.wait_for(&["[F2 counter]", "Test shop"]);
    tty.press(F3);
    tty.wait_for(&["[F3 bench]", "unknown unit", "AU-1112"]);
    tty.type_in("au-1112");
    tty.wait_for(&["AL-112 frame, 90 A Orlund"]);
    tty.press("\r");
    tty.wait_for(&[
        "AU-1112 alternator 12 V, on the machine, 0 readings",
        "B-06",
        "NEXT",
        "CAUTION",
    ]);
    let readings = [(5, "B-05", "low"), (6, "B-06", "high"), (9, "B-09", "0.47V/OL")];
    for (count, (row, code, value)) in readings.into_iter().enumerate() {
        tty.press("\x1b[H");
        for _ in 1..row {
            tty.press("\x1b[B");
        }
        tty.wait_for(&[&format!("▸ {code}")]);
        tty.press("\r");
        tty.wait_for(&[&format!("{code} ▏")]);
        tty.type_in(value);
        tty.press("\r");
        // Where the cursor goes then depends on whether this was the check marked as next.
        tty.wait_for(&[&format!(", {} reading", count + 1)]);
    }
    tty.wait_for(&["3 readings", "one junction"]);
    tty.press("\t");
    tty.wait_for(&["[findings]", "▸ A6    rectifier diode shorted", "█", "x 12."]);
    tty.press("\t");
    tty.wait_for(&["[covers]", "▸ cover 1", "cover 2", "from A2-04", "mind", "CAUTION"]);
    tty.press("\x1b[C");
    tty.wait_for(&["▸ cover 2"]);
    tty.press("\r");
    tty.wait_for(&["[quote]", "as it would be", "will hold 1 x RP-1131C in A2-04", "total"]);
    assert_eq!(bench.run(&["quote", "list"]).status.code(), Some(1), "looking makes nothing");
    tty.press("\r");
    tty.wait_for(&["for whom"]);
    tty.type_in("Moor Haulage");
    tty.press("\r");
    tty.wait_for(&["Q-0001 is made and holds 1 x RP-1131C in A2-04"]);
    tty.press("\x03");
    assert_eq!(tty.end(), 0);
    tty.assert_given_back();
    let quote = bench.json(&["quote", "show", "Q-0001"]);
    assert_eq!((&quote["customer"], &quote["state"]), (&"Moor Haulage".into(), &"open".into()));
    assert_eq!(quote["holds"][0]["bin"], "A2-04");
    assert_eq!(quote["before"].as_array().unwrap().len(), 3);
}

#[test]
fn a_scanned_code_is_answered_and_an_idle_screen_writes_nothing() {
    let bench = Bench::with_samples();
    let mut tty = Tty::open(&bench, "shop");
    tty.wait_for(&["[F2 counter]", "Test shop"]);
    tty.press("RP-1131C\r");
    tty.wait_for(&["same number", "A2-04"]);
    while tty.take(Duration::from_secs(1)).is_ok() {}
    let written = tty.raw.len();
    let _ = tty.take(Duration::from_secs(10));
    assert_eq!(tty.raw.len(), written, "nothing is drawn when nothing happens");
    tty.press("\x03");
    assert_eq!(tty.end(), 0);
}

#[test]
fn a_scanner_fills_a_slip_and_what_another_program_does_is_followed() {
    let bench = Bench::with_samples();
    let mut tty = Tty::open(&bench, "shop");
    tty.wait_for(&["[F2 counter]", "Test shop"]);
    tty.press("\x1b[18~");
    tty.wait_for(&["[receive]", "scan or type the bin"]);
    tty.press("A2-04\r");
    tty.wait_for(&["bin         A2-04"]);
    tty.press("RP-1131C\r");
    tty.wait_for(&["part        RP-1131C"]);
    tty.type_in("40");
    tty.press("\r");
    tty.wait_for(&["posted as", "+40 x RP-1131C in A2-04 new"]);
    tty.press("\x1b");
    tty.wait_for(&["[sheet]"]);
    tty.type_in("rp-1131c");
    tty.wait_for(&["44 A2-04"]);
    let done = bench.run(&["stock", "sell", "RP-1131C", "A2-04", "30"]);
    assert!(done.status.success(), "{}", crate::bench::text(&done.stderr));
    tty.wait_for(&["14 A2-04"]);
    tty.press("\x1b[19~");
    tty.wait_for(&["short by"]);
    tty.press("\x03");
    assert_eq!(tty.end(), 0);
}

#[cfg(unix)]
#[test]
fn a_signal_gives_the_terminal_back() {
    let bench = Bench::with_samples();
    let mut tty = Tty::open(&bench, "shop");
    tty.wait_for(&["[F2 counter]", "Test shop"]);
    tty.type_in("half a li");
    let id = tty.child.process_id().unwrap().to_string();
    // A shell has a `kill` of its own.
    std::process::Command::new("sh").args(["-c", &format!("kill -TERM {id}")]).status().unwrap();
    assert_eq!(tty.end(), 128 + 15);
    tty.assert_given_back();
    let kept = std::fs::read_to_string(bench.path("state").join("binwright/entries")).unwrap();
    assert_eq!(kept, "half a li\n", "what was typed is kept");
}

#[test]
fn a_shop_that_cannot_be_opened_is_told_after_the_terminal_was_given_back() {
    let bench = Bench::with_samples();
    std::fs::write(bench.path("shop/shop.db"), "no store at all").unwrap();
    let mut tty = Tty::open(&bench, "shop");
    assert_eq!(tty.end(), 1);
    tty.assert_given_back();
    let raw = String::from_utf8_lossy(&tty.raw).into_owned();
    let (_, after) = raw.split_once("\x1b[?1049l").unwrap();
    assert!(after.contains("error: ") && after.contains("hint: "), "{raw}");
}

#[test]
fn without_a_shop_the_screens_offer_a_made_up_one() {
    let bench = Bench::empty();
    let mut tty = Tty::open(&bench, "nowhere");
    tty.wait_for(&["There is no shop in", "made-up shop", "make a new"]);
    tty.press("\r");
    tty.wait_for(&["Brackwater Rebuilds", "[F2 counter]"]);
    tty.type_in("rp-1131c");
    tty.wait_for(&["RP-1131C", "A2-04"]);
    tty.press("\x03");
    assert_eq!(tty.end(), 0);
    assert!(!bench.path("nowhere").exists(), "nothing was made that nobody asked for");
}

#[test]
fn without_a_terminal_the_help_is_shown_as_wrong_usage() {
    let bench = Bench::empty();
    let done = bench.run(&[]);
    assert_eq!(done.status.code(), Some(2));
    assert!(crate::bench::text(&done.stderr).contains("Usage:"));
}
