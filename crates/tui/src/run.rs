//! How do keys, answers and signals become screens? The loop: wait, take in, do, draw.

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]
mod aside;
#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]
mod ends;

use std::any::Any;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Instant;

use binwright_shop::ShopError;
use crossterm::event::{Event, KeyEventKind};
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;
use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
use signal_hook::iterator::Signals;

use crate::app::{App, Todo};
use crate::desk::Effect;
use crate::history::History;
use crate::keys::{KeyFileError, Keys};
use crate::scanner::Scanner;
use crate::terminal::{Guard, Within, copy};
use crate::theme::Theme;
use crate::worker::{Job, Make, Report, Where, work, work_aside};

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
    /// What stands between the screens and the terminal.
    pub within: Within,
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
    #[error(transparent)]
    Shop(Box<ShopError>),
    #[error("the part that asks the shop broke: {message}")]
    Broke { message: String },
}

impl TuiError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<String> {
        let fixed = match self {
            Self::Keys { source, .. } => return source.hint().map(str::to_owned),
            Self::Shop(error) => return error.hint(),
            Self::Terminal(_) => "Every job is also a plain command: `binwright --help`.",
            Self::Broke { .. } => {
                "What was posted is kept. Open the screens again; `binwright check` proves the store."
            }
        };
        Some(fixed.to_owned())
    }
}

/// What wakes the loop.
enum Wake {
    Input(Event),
    Report(Report),
    Signal(i32),
    /// The shop's thread could not go on.
    Failed(TuiError),
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
/// [`TuiError`] when the terminal fails, the key file has a mistake, the shop cannot be opened, or
/// its thread breaks.
pub fn run(start: &Start) -> Result<Ended, TuiError> {
    let keys = Keys::of_file(&start.keys)
        .map_err(|source| TuiError::Keys { path: start.keys.clone(), source })?;
    let history = History::read(&fs::read_to_string(&start.history).unwrap_or_default());
    let mut app = App::new(keys, start.theme, start.scanner, history);
    let (wake, woken) = channel();
    let mut guard = Guard::take(start.mouse)?;
    guard.terminal.draw(|frame| app.view(frame))?;
    listen(wake.clone())?;
    let ask = |from| {
        let (mut place, report) = (start.place.clone(), wake.clone());
        ask_in_thread(wake.clone(), move |jobs| match from {
            Answering::Shop(make) => work(&place, make, jobs, &report),
            Answering::Aside { demo } => {
                if demo {
                    place.shop = place.demo.clone().into();
                }
                work_aside(&place, jobs, &report)
            }
        })
    };
    let ended = turn(&mut app, &mut guard.terminal, &woken, ask, start);
    drop(guard);
    app.unkept().for_each(|line| remember(&start.history, &line));
    ended
}

/// Which thread is to answer.
enum Answering {
    /// The one that owns the shop, which it opens or makes first.
    Shop(Option<Make>),
    /// The one beside it, for what takes long; on the made-up shop when that was opened.
    Aside { demo: bool },
}

/// Runs `answer` on a thread of its own until the sender is dropped. However it ends before that,
/// by an error or a panic, the loop is woken and told.
fn ask_in_thread(
    wake: Sender<Wake>,
    answer: impl FnOnce(&Receiver<Job>) -> Result<(), ShopError> + Send + 'static,
) -> Sender<Job> {
    let (jobs, asked) = channel();
    thread::spawn(move || {
        // Nothing of it is looked at again after a panic.
        let failed = match catch_unwind(AssertUnwindSafe(|| answer(&asked))) {
            Ok(Ok(())) => return,
            Ok(Err(error)) => TuiError::Shop(Box::new(error)),
            Err(panic) => TuiError::Broke { message: said(&*panic) },
        };
        let _ = wake.send(Wake::Failed(failed));
    });
    jobs
}

/// What a panic said.
fn said(panic: &(dyn Any + Send)) -> String {
    let fixed = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    fixed.or_else(|| panic.downcast_ref::<String>().cloned()).unwrap_or_default()
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

/// Takes in what wakes it and draws, until the person leaves or nothing can go on. `ask` starts a
/// thread that answers.
fn turn<W: Write>(
    app: &mut App,
    terminal: &mut Terminal<CrosstermBackend<W>>,
    woken: &Receiver<Wake>,
    ask: impl Fn(Answering) -> Sender<Job>,
    start: &Start,
) -> Result<Ended, TuiError> {
    let began = Instant::now();
    let mut jobs = ask(Answering::Shop(None));
    let (mut aside, mut demo) = (None, false);
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
                        Wake::Failed(error) => return Err(error),
                        Wake::Report(report) => todo.extend(app.report(report)),
                        Wake::Input(event) => todo.extend(input(app, event, began)),
                    }
                }
            }
        }
        for Todo { desk, effect } in todo {
            match effect {
                Effect::Ask(asked, question) => {
                    let to = if question.is_slow() {
                        aside.get_or_insert_with(|| ask(Answering::Aside { demo }))
                    } else {
                        &jobs
                    };
                    let _ = to.send(Job { desk, asked, question });
                }
                Effect::Make(make) => {
                    (aside, demo) = (None, make == Make::Demo);
                    jobs = ask(Answering::Shop(Some(make)));
                }
                Effect::Remember(line) => remember(&start.history, &line),
                Effect::Copy(text) => copy(terminal.backend_mut(), &text, start.within)?,
                Effect::Redraw => terminal.clear()?,
                Effect::Leave => return Ok(Ended::Left),
                Effect::Say(_) => {}
            }
        }
        terminal.draw(|frame| app.view(frame))?;
    }
}

fn input(app: &mut App, event: Event, began: Instant) -> Vec<Todo> {
    match event {
        // Some terminals also report keys let go.
        Event::Key(key) if key.kind != KeyEventKind::Release => {
            app.key(key.into(), began.elapsed())
        }
        Event::Paste(text) => app.pasted(&text),
        _ => Vec::new(),
    }
}

/// Adds a line to the history file. A history that cannot be kept stops nobody's work.
fn remember(path: &Path, line: &str) {
    let _ = path.parent().map(fs::create_dir_all);
    let file: io::Result<File> = OpenOptions::new().create(true).append(true).open(path);
    let _ = file.and_then(|mut file| writeln!(file, "{line}"));
}
