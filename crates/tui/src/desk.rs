//! What is a desk, and how does one slot in?
//!
//! A desk is a state that changes only in [`Desk::update`] and is only read in [`Desk::view`].
//! It never waits: what takes time it hands out as an [`Effect::Ask`] with a number of its own, and
//! the answer comes back as [`Msg::Answered`] with that number. To add a desk:
//!
//! 1. a variant in [`Question`] and in [`Answer`] for what it asks the shop, and an arm in
//!    [`Question::answer`];
//! 2. a module with a state that implements [`Desk`];
//! 3. a line in [`App::new`](crate::app::App::new), and a row for `Act::Desk(place)` in the table of
//!    [`actions`](crate::actions); acts of its own are rows there.
//!
//! A desk that is gone to is told so by its own `Act::Desk(place)`.
//!
//! A desk takes acts, never keys, so that all keys can be changed; it names the [`Context`] it is
//! in, and letters come as [`Msg::Typed`] when that context has no key for them.

use std::sync::Arc;

use binwright_shop::catalog::Kinds;
use ratatui::Frame;
use ratatui::layout::Rect;

use crate::actions::{Act, Context};
use crate::question::{Answer, Question};
use crate::theme::Theme;
use crate::worker::Make;

/// What reaches a desk.
#[derive(Debug)]
pub enum Msg {
    /// The shop is open.
    Opened {
        /// Its kinds.
        kinds: Arc<Kinds>,
        /// Whether stock travels between branches in it.
        several_branches: bool,
    },
    /// Another program changed the shop.
    Changed,
    /// A key that does something was pressed.
    Act(Act),
    /// A character was typed.
    Typed(char),
    /// Text was pasted: one line of it, without controls.
    Pasted(String),
    /// A scanner typed a code; the last so many characters of it were already taken as typed.
    Scanned {
        /// The code.
        code: String,
        /// How many of its characters came as [`Msg::Typed`].
        typed: usize,
    },
    /// The shop answered the question with this number.
    Answered(u64, Answer),
}

/// What a desk wants done.
#[derive(Debug, PartialEq)]
pub enum Effect {
    /// Ask the shop.
    Ask(u64, Question),
    /// Make a shop and open it.
    Make(Make),
    /// Keep a line that was typed.
    Remember(String),
    /// Put text into the terminal's clipboard, and say so.
    Copy(String),
    /// Say something in the last line, until the next key.
    Say(String),
    /// Draw every cell anew.
    Redraw,
    /// Leave the screens.
    Leave,
}

/// One desk.
pub trait Desk {
    /// Its name, in one word.
    fn name(&self) -> &'static str;
    /// Where keys count now.
    fn context(&self) -> Context;
    /// Takes a message in.
    fn update(&mut self, msg: Msg) -> Vec<Effect>;
    /// Draws it.
    fn view(&self, frame: &mut Frame<'_>, area: Rect, theme: Theme);
    /// What was typed and not yet kept, on leaving.
    fn unkept(&self) -> Option<String> {
        None
    }
}
