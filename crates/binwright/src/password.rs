//! Who types the password of the shop's server? Whoever sits at the terminal, unseen, and only when it
//! is asked for and stands nowhere else.

use std::io::{self, IsTerminal, Write};

use binwright_shop::{Place, ShopError};
use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers, read};
use crossterm::terminal::{disable_raw_mode, enable_raw_mode};

/// Does `act` at `place`; where the server asks for a password that is not known, asks for it and does
/// it again.
///
/// # Errors
///
/// What `act` says.
pub fn asking<T>(
    place: &Place,
    act: impl Fn(Place) -> Result<T, ShopError>,
) -> Result<T, ShopError> {
    let done = act(place.clone());
    match (&done, place) {
        (Err(error), Place::Server(server)) if error.wants_password() => {
            let Some(password) = typed(&format!("Password for {place}: ")) else { return done };
            let mut server = server.clone();
            server.set_password(&password);
            act(Place::Server(server))
        }
        _ => done,
    }
}

/// What is typed after `words`; `None` without a terminal, or when it is called off.
fn typed(words: &str) -> Option<String> {
    if !(io::stdin().is_terminal() && io::stderr().is_terminal()) {
        return None;
    }
    let mut out = io::stderr();
    let _ = write!(out, "{words}").and_then(|()| out.flush());
    enable_raw_mode().ok()?;
    let password = keys();
    let _ = disable_raw_mode();
    let _ = writeln!(out);
    password
}

fn keys() -> Option<String> {
    let mut password = String::new();
    loop {
        let Event::Key(KeyEvent { code, modifiers, kind, .. }) = read().ok()? else { continue };
        match code {
            _ if kind == KeyEventKind::Release => {}
            KeyCode::Enter => return Some(password),
            KeyCode::Esc => return None,
            KeyCode::Char('c' | 'd') if modifiers.contains(KeyModifiers::CONTROL) => return None,
            KeyCode::Backspace => drop(password.pop()),
            KeyCode::Char(letter) => password.push(letter),
            _ => {}
        }
    }
}
