//! How is the terminal taken and given back? Given back once, on every way out: leaving, error,
//! panic, signal.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;

use crossterm::clipboard::CopyToClipboard;
use crossterm::cursor::Show;
use crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
};
use crossterm::terminal::{
    EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use crossterm::{Command, execute};
use ratatui::DefaultTerminal;
use ratatui::Terminal;
use ratatui::backend::CrosstermBackend;

/// Whether the terminal is taken: a process has one.
static TAKEN: AtomicBool = AtomicBool::new(false);

/// What stands between the screens and the terminal, and passes on only what it knows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Within {
    /// Nothing.
    #[default]
    Terminal,
    /// tmux.
    Tmux,
    /// GNU screen.
    Screen,
}

/// The terminal while the screens have it.
pub struct Guard {
    /// Where screens are drawn.
    pub terminal: DefaultTerminal,
}

impl Guard {
    /// Takes the terminal: raw keys, the other screen, pasted text as one piece; the mouse only
    /// when `mouse` asks for it. A panic of this thread gives it back before it speaks; one of
    /// another thread is silent here, since whoever waits for that thread will say it.
    ///
    /// # Errors
    ///
    /// When there is no terminal.
    pub fn take(mouse: bool) -> io::Result<Self> {
        let drawing = thread::current().id();
        let hook = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            if thread::current().id() == drawing {
                give_back();
                hook(panic);
            }
        }));
        TAKEN.store(true, Ordering::SeqCst);
        let taken = taken(mouse);
        if taken.is_err() {
            give_back();
        }
        Ok(Self { terminal: taken? })
    }
}

fn taken(mouse: bool) -> io::Result<DefaultTerminal> {
    enable_raw_mode()?;
    let mut out = io::stdout();
    execute!(out, EnterAlternateScreen, EnableBracketedPaste)?;
    if mouse {
        execute!(out, EnableMouseCapture)?;
    }
    Terminal::new(CrosstermBackend::new(out))
}

/// Gives the terminal back when it is taken. What fails here can be told to nobody.
fn give_back() {
    if TAKEN.swap(false, Ordering::SeqCst) {
        // The mouse is given back even when it was not taken: it costs nothing.
        let _ = execute!(
            io::stdout(),
            DisableBracketedPaste,
            DisableMouseCapture,
            LeaveAlternateScreen,
            Show
        );
        let _ = disable_raw_mode();
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        give_back();
    }
}

/// Hands `text` to the terminal's own clipboard (OSC 52), also past what stands in between. Whether
/// the terminal takes it cannot be known.
///
/// # Errors
///
/// When the terminal cannot be written.
pub fn copy(out: &mut impl Write, text: &str, within: Within) -> io::Result<()> {
    let mut plain = String::new();
    CopyToClipboard::to_clipboard_from(text).write_ansi(&mut plain).map_err(io::Error::other)?;
    // What is wrapped ends with BEL: the other end, ST, would end the wrapping.
    let inner = plain.replace("\x1b\\", "\x07");
    match within {
        Within::Terminal => write!(out, "{plain}")?,
        // tmux(1): plain it is heard with `set-clipboard on`, wrapped with `allow-passthrough on`.
        Within::Tmux => write!(out, "{plain}\x1bPtmux;\x1b{inner}\x1b\\")?,
        // screen(1): a device control string is passed on as it is.
        Within::Screen => write!(out, "\x1bP{inner}\x1b\\")?,
    }
    out.flush()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `UlAtMTEzMUM=` is RFC 4648 base 64 of `RP-1131C`, as `printf RP-1131C | base64` gives it.
    #[test]
    fn a_copied_number_reaches_the_terminal_through_what_stands_between() {
        let osc = "\x1b]52;c;UlAtMTEzMUM=";
        let rows = [
            (Within::Terminal, format!("{osc}\x1b\\")),
            (Within::Tmux, format!("{osc}\x1b\\\x1bPtmux;\x1b{osc}\x07\x1b\\")),
            (Within::Screen, format!("\x1bP{osc}\x07\x1b\\")),
        ];
        for (within, sent) in rows {
            let mut out = Vec::new();
            copy(&mut out, "RP-1131C", within).expect("memory takes everything");
            assert_eq!(String::from_utf8(out).expect("text"), sent, "{within:?}");
        }
    }
}
