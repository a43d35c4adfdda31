//! How do keys, answers and signals become screens? The loop: wait, take in, do, draw.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Instant;

use crossterm::event::{Event, KeyEventKind};
use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use crate::app::{App, Todo};
use crate::desk::Effect;
use crate::history::History;
use crate::keys::{KeyFileError, Keys};
use crate::scanner::Scanner;
use crate::terminal::Guard;
use crate::theme::Theme;
use crate::worker::{Job, Make, Report, Where, work};

/// What the screens are started with.
#[derive(Debug, Clone)]
pub struct Start {
    /// The shop and its folders.
    pub place: Where,
    /// The file that lines typed are kept in.
    pub history: PathBuf,
    /// The person's key file; need not be there.
    pub keys: PathBuf,
    /// How screens are drawn.
    pub theme: Theme,
    /// How a scanner is told from a person.
    pub scanner: Scanner,
    /// Whether the mouse is taken.
    pub mouse: bool,
}

/// How the screens ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The person left.
    Left,
    /// A signal ended them.
    Signal(i32),
}

/// Why the screens could not go on.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum TuiError {
    #[error("the terminal cannot be used")]
    Terminal(#[from] io::Error),
    #[error("`{}`: {source}", path.display())]
    Keys { path: PathBuf, source: KeyFileError },
}

impl TuiError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::Keys { source, .. } => source.hint(),
            Self::Terminal(_) => Some("Every job is also a plain command: `binwright --help`."),
        }
    }
}

/// What wakes the loop.
enum Wake {
    Input(Event),
    Report(Report),
    Signal(i32),
}

impl From<Report> for Wake {
    fn from(report: Report) -> Self {
        Self::Report(report)
    }
}

/// Opens the screens and returns when they are left.
///
/// # Errors
///
/// [`TuiError`] when the terminal fails or the key file has a mistake.
pub fn run(start: &Start) -> Result<Ended, TuiError> {
    let own = fs::read_to_string(&start.keys).unwrap_or_default();
    let keys = Keys::laid_over(&own)
        .map_err(|source| TuiError::Keys { path: start.keys.clone(), source })?;
    let history = History::read(&fs::read_to_string(&start.history).unwrap_or_default());
    let mut app = App::new(keys, start.theme, start.scanner, history);
    let (wake, woken) = channel();
    let mut guard = Guard::take(start.mouse)?;
    guard.terminal.draw(|frame| app.view(frame))?;
    let worker = Worker { place: start.place.clone(), wake: wake.clone() };
    listen(wake)?;
    let ended = turn(&mut app, &mut guard, &woken, &worker, &start.history);
    drop(guard);
    app.unkept().for_each(|line| remember(&start.history, &line));
    ended
}

/// Starts threads that ask the shop.
struct Worker {
    place: Where,
    wake: Sender<Wake>,
}

impl Worker {
    /// A thread that opens the shop, or makes it; it ends when the sender is dropped.
    fn start(&self, make: Option<Make>) -> Sender<Job> {
        let (jobs, asked) = channel();
        let (place, report) = (self.place.clone(), self.wake.clone());
        thread::spawn(move || work(&place, make, &asked, &report));
        jobs
    }
}

/// Two threads that sleep until a key is pressed or a signal comes.
fn listen(wake: Sender<Wake>) -> io::Result<()> {
    let mut signals = Signals::new([SIGHUP, SIGINT, SIGTERM])?;
    let signalled = wake.clone();
    thread::spawn(move || {
        for signal in signals.forever() {
            let _ = signalled.send(Wake::Signal(signal));
        }
    });
    thread::spawn(move || {
        while let Ok(event) = crossterm::event::read() {
            if wake.send(Wake::Input(event)).is_err() {
                return;
            }
        }
        // The terminal has gone: nobody will press a key again.
        let _ = wake.send(Wake::Signal(SIGHUP));
    });
    Ok(())
}

fn turn(
    app: &mut App,
    guard: &mut Guard,
    woken: &Receiver<Wake>,
    worker: &Worker,
    history: &Path,
) -> Result<Ended, TuiError> {
    let began = Instant::now();
    let mut jobs = worker.start(None);
    loop {
        let first = match app.holds_for() {
            None => woken.recv().map_err(|_| RecvTimeoutError::Disconnected),
            Some(while_) => woken.recv_timeout(while_),
        };
        let mut todo = Vec::new();
        match first {
            Err(RecvTimeoutError::Disconnected) => return Ok(Ended::Left),
            Err(RecvTimeoutError::Timeout) => todo.extend(app.let_go()),
            // What waits already is taken in before anything is drawn.
            Ok(first) => {
                for wake in std::iter::once(first).chain(woken.try_iter()) {
                    match wake {
                        Wake::Signal(signal) => return Ok(Ended::Signal(signal)),
                        Wake::Report(report) => todo.extend(app.report(report)),
                        Wake::Input(event) => todo.extend(input(app, event, began)),
                    }
                }
            }
        }
        for Todo { desk, effect } in todo {
            match effect {
                Effect::Ask(asked, question) => {
                    let _ = jobs.send(Job { desk, asked, question });
                }
                Effect::Make(make) => jobs = worker.start(Some(make)),
                Effect::Remember(line) => remember(history, &line),
                Effect::Copy(text) => guard.copy(&text)?,
                Effect::Redraw => guard.terminal.clear()?,
                Effect::Leave => return Ok(Ended::Left),
                Effect::Say(_) => {}
            }
        }
        guard.terminal.draw(|frame| app.view(frame))?;
    }
}

fn input(app: &mut App, event: Event, began: Instant) -> Vec<Todo> {
    match event {
        // Some terminals also report keys let go.
        Event::Key(key) if key.kind != KeyEventKind::Release => {
            app.key(key.into(), began.elapsed())
        }
        Event::Paste(text) => app.pasted(text),
        _ => Vec::new(),
    }
}

/// Adds a line to the history file. A history that cannot be kept stops nobody's work.
fn remember(path: &Path, line: &str) {
    let _ = path.parent().map(fs::create_dir_all);
    let file: io::Result<File> = OpenOptions::new().create(true).append(true).open(path);
    let _ = file.and_then(|mut file| writeln!(file, "{line}"));
}
