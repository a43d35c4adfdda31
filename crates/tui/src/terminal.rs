//! How is the terminal taken and given back? Given back on every way out: leaving, error, panic,
//! signal.

use std::io::{self, Stdout, Write};

use crossterm::clipboard::CopyToClipboard;
use crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
};
use crossterm::execute;
use ratatui::DefaultTerminal;
use ratatui::backend::CrosstermBackend;

/// The terminal while the screens have it.
pub struct Guard {
    /// Where screens are drawn.
    pub terminal: DefaultTerminal,
}

impl Guard {
    /// Takes the terminal: raw keys, the other screen, pasted text as one piece; the mouse only
    /// when `mouse` asks for it. A panic gives it back before it speaks.
    ///
    /// # Errors
    ///
    /// When there is no terminal.
    pub fn take(mouse: bool) -> io::Result<Self> {
        let terminal = ratatui::try_init()?;
        let guard = Self { terminal };
        let mut out = io::stdout();
        execute!(out, EnableBracketedPaste)?;
        if mouse {
            execute!(out, EnableMouseCapture)?;
        }
        let hook = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            let _ = execute!(io::stdout(), DisableBracketedPaste, DisableMouseCapture);
            hook(panic);
        }));
        Ok(guard)
    }

    /// Hands `text` to the terminal's own clipboard (OSC 52). Whether the terminal takes it cannot
    /// be known.
    ///
    /// # Errors
    ///
    /// When the terminal cannot be written.
    pub fn copy(&mut self, text: &str) -> io::Result<()> {
        let out: &mut CrosstermBackend<Stdout> = self.terminal.backend_mut();
        execute!(out, CopyToClipboard::to_clipboard_from(text))?;
        out.flush()
    }
}

impl Drop for Guard {
    fn drop(&mut self) {
        // The mouse is given back even when it was not taken: it costs nothing.
        let _ = execute!(io::stdout(), DisableBracketedPaste, DisableMouseCapture);
        ratatui::restore();
    }
}
