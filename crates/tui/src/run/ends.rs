//! Is the terminal given back, once and with words, however the screens end? Each end is come to by
//! this test program itself, run again in a pseudo-terminal.

use std::io::Read;
use std::time::Duration;

use jiff::civil::date;
use portable_pty::{CommandBuilder, PtySize, native_pty_system};

use super::*;

/// Set for the program that comes to the end it names.
const DOOR: &str = "BINWRIGHT_TEST_END";

pub(super) fn start(folder: &Path) -> Start {
    let at = |name: &str| folder.join(name);
    let (shop, cache, demo) = (at("shop").into(), at("cache"), at("demo"));
    Start {
        place: Where {
            shop,
            branch: None,
            cache,
            demo,
            today: || date(2026, 11, 26),
            who: String::new(),
        },
        history: at("entries"),
        keys: at("keys.toml"),
        theme: Theme::default(),
        scanner: Scanner::default(),
        mouse: true,
        within: Within::Terminal,
    }
}

#[test]
#[ignore = "no test by itself: the program that the test below looks at"]
fn comes_to_an_end() {
    let Ok(end) = std::env::var(DOOR) else { return };
    let folder = tempfile::tempdir().unwrap();
    let start = start(folder.path());
    let keys = Keys::laid_over("").unwrap();
    let mut app = App::new(keys, start.theme, start.scanner, History::default());
    let (wake, woken) = channel();
    let mut guard = Guard::take(start.mouse).unwrap();
    guard.terminal.draw(|frame| app.view(frame)).unwrap();
    listen(wake.clone()).unwrap();
    assert!(end != "drawing panics", "the drawing broke");
    let ask = |_| {
        let end = end.clone();
        ask_in_thread(wake.clone(), move |jobs| match end.as_str() {
            "worker panics" => panic!("the columns broke"),
            "worker fails" => Err(ShopError::NothingMeasured),
            _ => {
                signal_hook::low_level::raise(SIGTERM).unwrap();
                let _ = jobs.recv();
                Ok(())
            }
        })
    };
    let ended = turn(&mut app, &mut guard.terminal, &woken, ask, &start);
    drop(guard);
    let says = match ended {
        Ok(ended) => format!("{ended:?}"),
        Err(error) => format!("{error}. {}", error.hint().unwrap_or_default()),
    };
    writeln!(io::stderr(), "ended: {says}").unwrap();
}

/// Everything that was written to the terminal until the program ended.
fn written(end: &str) -> String {
    let size = PtySize { rows: 24, cols: 80, pixel_width: 0, pixel_height: 0 };
    let pair = native_pty_system().openpty(size).unwrap();
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args([
        "--ignored",
        "--exact",
        "run::ends::comes_to_an_end",
        "--nocapture",
        "--test-threads=1",
    ]);
    command.env(DOOR, end);
    command.env("TERM", "xterm-256color");
    let mut child = pair.slave.spawn_command(command).unwrap();
    drop(pair.slave);
    let mut reader = pair.master.try_clone_reader().unwrap();
    let reading = thread::spawn(move || {
        let (mut all, mut buffer) = (Vec::new(), [0; 4096]);
        // A pseudo-terminal whose other side is gone says so with an error.
        while let Ok(count @ 1..) = reader.read(&mut buffer) {
            all.extend_from_slice(&buffer[..count]);
        }
        all
    });
    child.wait().unwrap();
    // What was written last may still be on its way.
    thread::sleep(Duration::from_millis(100));
    drop(pair.master);
    String::from_utf8_lossy(&reading.join().unwrap()).into_owned()
}

#[test]
fn every_end_gives_the_terminal_back_once_and_says_why_after_it() {
    let rows = [
        (
            "worker panics",
            "ended: the part that asks the shop broke: the columns broke. What was posted is kept.",
        ),
        ("worker fails", "ended: nothing was measured. Give at least one measure=value"),
        ("drawing panics", "the drawing broke"),
        ("signal", "ended: Signal(15)"),
    ];
    for (end, says) in rows {
        let all = written(end);
        let mut screen = vt100::Parser::new(24.try_into().unwrap(), 80.try_into().unwrap(), 0);
        screen.process(all.as_bytes());
        let screen = screen.screen();
        assert!(
            !screen.alternate_screen() && !screen.bracketed_paste() && !screen.hide_cursor(),
            "{end}: {all:?}"
        );
        assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None, "{end}");
        let back: Vec<_> = all.match_indices("\x1b[?1049l").collect();
        assert_eq!(back.len(), 1, "{end}: given back once: {all:?}");
        let (before, after) = all.split_at(back[0].0);
        assert!(after.contains(says), "{end}: {all:?}");
        assert!(!before.contains(says), "{end}: nothing is said over the screen");
    }
}
