//! What can be done on the screens, and by which keys? The one table that the key map, the keys
//! screen, the manual and the key file come from.

use binwright_shop::stock::by_hand::Deed;
use serde::Deserialize;
use tui_input::InputRequest;

/// Where a key counts. A key that the context has no use for is looked up in [`Context::Everywhere`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Context {
    /// On every screen.
    Everywhere,
    /// While a line is typed: letters are text.
    Line,
    /// While a list has the cursor: letters are keys, figures go back to the line.
    List,
}

impl Context {
    /// All contexts, in the order they are shown.
    pub const ALL: [Self; 3] = [Self::Everywhere, Self::Line, Self::List];

    /// Its name in the key file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Everywhere => "everywhere",
            Self::Line => "line",
            Self::List => "list",
        }
    }
}

/// What can be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "the table below says what each does")]
pub enum Act {
    Keys,
    Desk(usize),
    Guide,
    Points,
    Slip,
    TakeBack,
    Redraw,
    Leave,
    NextPane,
    PreviousPane,
    PageUp,
    PageDown,
    Accept,
    Back,
    Older,
    Newer,
    Up,
    Down,
    First,
    Last,
    Left,
    Right,
    Start,
    End,
    Rub,
    RubAhead,
    RubWord,
    Find,
    Copy,
    Handle(Deed),
    Mark,
    Outline,
    ServiceUp,
    ServiceDown,
    BudgetUp,
    BudgetDown,
    Draft,
    NextCheck,
    Loose,
    RolePart,
    WhileInThere,
}

impl Act {
    /// What it does to a line that is typed; `None` for what is no editing.
    pub fn editing(self) -> Option<InputRequest> {
        Some(match self {
            Self::Left => InputRequest::GoToPrevChar,
            Self::Right => InputRequest::GoToNextChar,
            Self::Start => InputRequest::GoToStart,
            Self::End => InputRequest::GoToEnd,
            Self::Rub => InputRequest::DeletePrevChar,
            Self::RubAhead => InputRequest::DeleteNextChar,
            Self::RubWord => InputRequest::DeletePrevWord,
            _ => return None,
        })
    }
}

/// One line of the table.
#[derive(Debug, Clone, Copy)]
pub struct Action {
    /// What is done.
    pub act: Act,
    /// Where.
    pub context: Context,
    /// Name in the key file.
    pub name: &'static str,
    /// Keys, separated by spaces.
    pub keys: &'static str,
    /// What a person reads.
    pub help: &'static str,
}

const fn row(
    context: Context,
    act: Act,
    name: &'static str,
    keys: &'static str,
    help: &'static str,
) -> Action {
    Action { act, context, name, keys, help }
}

use Context::{Everywhere, Line, List};

/// Everything that can be done.
pub const ACTIONS: &[Action] = &[
    row(Everywhere, Act::Keys, "keys", "f1", "show these keys"),
    row(Everywhere, Act::Desk(0), "counter", "f2", "go to the counter"),
    row(Everywhere, Act::Desk(1), "bench", "f3", "go to the bench"),
    row(Everywhere, Act::Desk(2), "buying", "f4", "go to buying"),
    row(Everywhere, Act::Guide, "guide", "f5", "counter: be led through a kind's measures"),
    row(Everywhere, Act::Points, "points", "f6", "counter: enter the points of a layout"),
    row(Everywhere, Act::Slip, "slip", "f7", "counter: receive, issue, sell, move, count, hold"),
    row(Everywhere, Act::TakeBack, "take-back", "f8", "counter: take back the last slip"),
    row(Everywhere, Act::NextPane, "next-pane", "tab", "next pane of a part, or of buying"),
    row(Everywhere, Act::PreviousPane, "previous-pane", "shift-tab", "previous pane"),
    row(Everywhere, Act::PageUp, "page-up", "pageup", "pane up a page"),
    row(Everywhere, Act::PageDown, "page-down", "pagedown", "pane down a page"),
    row(Everywhere, Act::Redraw, "redraw", "ctrl-l", "draw the screen anew"),
    row(Everywhere, Act::Leave, "leave-at-once", "ctrl-c", "leave; what was typed is kept"),
    row(Line, Act::Accept, "accept", "enter", "keep the line, go to the list"),
    row(Line, Act::Back, "clear", "esc", "clear the line; Up brings it back"),
    row(Line, Act::Older, "older", "up ctrl-p", "earlier line, also of earlier days"),
    row(Line, Act::Newer, "newer", "down ctrl-n", "later line; below the last, the list"),
    row(Line, Act::Left, "left", "left", "one character left"),
    row(Line, Act::Right, "right", "right", "one character right"),
    row(Line, Act::Start, "start", "home", "start of the line"),
    row(Line, Act::End, "end", "end ctrl-e", "end of the line"),
    row(Line, Act::Rub, "rub", "backspace", "rub out the character before"),
    row(Line, Act::RubAhead, "rub-ahead", "delete ctrl-d", "rub out the character ahead"),
    row(Line, Act::RubWord, "rub-word", "ctrl-w", "rub out the word before"),
    row(List, Act::Up, "up", "up k", "one up; above the first, the line"),
    row(List, Act::Down, "down", "down j", "one down"),
    row(List, Act::First, "first", "home", "first of the list"),
    row(List, Act::Last, "last", "end", "last of the list"),
    row(List, Act::Accept, "open", "enter", "counter: whole pane, and back; bench: go on"),
    row(List, Act::Back, "back", "esc", "back to the line"),
    row(List, Act::Find, "find", "/", "to the line, to find another part or unit"),
    row(List, Act::Copy, "copy", "y", "copy the number by the terminal"),
    row(List, Act::Handle(Deed::Sell), "sell", "s", "sell it over the counter"),
    row(List, Act::Handle(Deed::Hold), "hold", "h", "hold it for somebody"),
    row(List, Act::Handle(Deed::Receive), "receive", "r", "receive it into a bin"),
    row(List, Act::Handle(Deed::Issue), "issue", "i", "issue it to a job"),
    row(List, Act::Handle(Deed::Move), "move", "m", "move it to another bin"),
    row(List, Act::Handle(Deed::Count), "count", "c", "count it in its bin"),
    row(List, Act::Mark, "mark", "space", "mark it for the outline"),
    row(List, Act::Outline, "outline", "o", "outline on paper, true to scale"),
    row(List, Act::ServiceUp, "service-up", "+", "buying: more service"),
    row(List, Act::ServiceDown, "service-down", "-", "buying: less service"),
    row(List, Act::BudgetUp, "budget-up", ">", "buying: more money"),
    row(List, Act::BudgetDown, "budget-down", "<", "buying: less money"),
    row(List, Act::Draft, "draft", "d", "buying: draft the orders of the basket"),
    row(List, Act::Left, "left", "left", "bench: cover to the left"),
    row(List, Act::Right, "right", "right", "bench: cover to the right"),
    row(List, Act::NextCheck, "next-check", "n", "bench: to the check most worth making"),
    row(List, Act::Loose, "loose", "l", "bench: carried in loose, or on the machine"),
    row(List, Act::RolePart, "role-part", "p", "bench: say which part sits in a role"),
    row(List, Act::WhileInThere, "too", "w", "bench: quote with what else is worth changing"),
    row(List, Act::Keys, "keys-too", "?", "show these keys"),
    row(List, Act::Leave, "leave", "q", "leave"),
];

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;
    use crate::keys::Key;

    #[test]
    fn no_key_does_two_things_and_no_name_stands_twice_in_a_context() {
        let (mut keys, mut names) = (HashSet::new(), HashSet::new());
        for action in ACTIONS {
            assert!(names.insert((action.context, action.name)), "{}", action.name);
            for key in action.keys.split(' ') {
                let key: Key = key.parse().unwrap_or_else(|_| panic!("{key}"));
                assert!(keys.insert((action.context, key)), "{key} of {}", action.name);
            }
        }
        // What counts everywhere must not be hidden by a context: help would say what is not so.
        for action in ACTIONS.iter().filter(|action| action.context != Everywhere) {
            for key in action.keys.split(' ') {
                let key: Key = key.parse().unwrap_or_else(|_| panic!("{key}"));
                assert!(!keys.contains(&(Everywhere, key)), "{key} of {}", action.name);
            }
        }
    }

    /// Multiplexers take Ctrl-A and Ctrl-B, flow control Ctrl-S and Ctrl-Q; Ctrl-H, Ctrl-I and
    /// Ctrl-M are Backspace, Tab and Enter on the wire (ECMA-48: BS, HT, CR).
    #[test]
    fn no_chord_is_taken_that_belongs_to_another() {
        for action in ACTIONS {
            for key in action.keys.split(' ') {
                let chord = key.strip_prefix("ctrl-").and_then(|rest| rest.chars().next());
                assert!(!chord.is_some_and(|c| "absqhmi".contains(c)), "{key} of {}", action.name);
            }
        }
    }

    #[test]
    fn letters_are_keys_in_lists_only() {
        for action in ACTIONS.iter().filter(|action| action.context != List) {
            assert!(action.keys.split(' ').all(|key| key.len() > 1), "{}", action.name);
        }
    }
}
