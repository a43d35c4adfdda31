//! Which key does what? The table of actions, with the person's own key file laid over.

use std::collections::{BTreeMap, HashMap};
use std::path::Path;
use std::str::FromStr;
use std::{fmt, fs, io};

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::actions::{ACTIONS, Act, Action, Context};

/// One key, with what is held down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Key {
    code: KeyCode,
    held: KeyModifiers,
}

/// The keys that have names.
const NAMED: [(&str, KeyCode); 15] = [
    ("space", KeyCode::Char(' ')),
    ("enter", KeyCode::Enter),
    ("esc", KeyCode::Esc),
    ("tab", KeyCode::Tab),
    ("backspace", KeyCode::Backspace),
    ("delete", KeyCode::Delete),
    ("insert", KeyCode::Insert),
    ("up", KeyCode::Up),
    ("down", KeyCode::Down),
    ("left", KeyCode::Left),
    ("right", KeyCode::Right),
    ("home", KeyCode::Home),
    ("end", KeyCode::End),
    ("pageup", KeyCode::PageUp),
    ("pagedown", KeyCode::PageDown),
];

impl From<KeyEvent> for Key {
    fn from(event: KeyEvent) -> Self {
        let mut held =
            event.modifiers & (KeyModifiers::CONTROL | KeyModifiers::ALT | KeyModifiers::SHIFT);
        let code = match event.code {
            // Terminals send shift and tab as a key of its own.
            KeyCode::BackTab => {
                held |= KeyModifiers::SHIFT;
                KeyCode::Tab
            }
            KeyCode::Char(letter) => {
                // A capital says by itself that shift was held.
                held -= KeyModifiers::SHIFT;
                let chord = held.contains(KeyModifiers::CONTROL);
                KeyCode::Char(if chord { letter.to_ascii_lowercase() } else { letter })
            }
            code => code,
        };
        Self { code, held }
    }
}

impl Key {
    /// The character it types, when it types one.
    pub fn typed(self) -> Option<char> {
        match self.code {
            KeyCode::Char(letter) if self.held.is_empty() => Some(letter),
            _ => None,
        }
    }

    /// Whether it ends what a scanner types.
    pub fn ends_a_scan(self) -> bool {
        self.held.is_empty() && matches!(self.code, KeyCode::Enter | KeyCode::Tab)
    }
}

impl FromStr for Key {
    type Err = KeyFileError;

    fn from_str(text: &str) -> Result<Self, KeyFileError> {
        let unknown = || KeyFileError::NotAKey { found: text.to_owned() };
        let mut held = KeyModifiers::empty();
        let mut rest = text.trim();
        for (prefix, modifier) in [
            ("ctrl-", KeyModifiers::CONTROL),
            ("alt-", KeyModifiers::ALT),
            ("shift-", KeyModifiers::SHIFT),
        ] {
            if let Some(after) = rest.strip_prefix(prefix).filter(|after| !after.is_empty()) {
                held |= modifier;
                rest = after;
            }
        }
        let mut letters = rest.chars();
        let code = match (letters.next(), letters.next()) {
            (Some(letter), None) => KeyCode::Char(letter),
            (Some('f'), Some(_))
                if rest[1..].parse::<u8>().is_ok_and(|f| (1..=12).contains(&f)) =>
            {
                KeyCode::F(rest[1..].parse().map_err(|_| unknown())?)
            }
            _ => NAMED.iter().find(|(name, _)| *name == rest).ok_or_else(unknown)?.1,
        };
        if held == KeyModifiers::CONTROL && matches!(code, KeyCode::Char('h' | 'i' | 'm')) {
            return Err(KeyFileError::SameOnTheWire { found: text.to_owned() });
        }
        Ok(Self { code, held })
    }
}

impl fmt::Display for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, modifier) in [
            ("Ctrl-", KeyModifiers::CONTROL),
            ("Alt-", KeyModifiers::ALT),
            ("Shift-", KeyModifiers::SHIFT),
        ] {
            if self.held.contains(modifier) {
                f.write_str(name)?;
            }
        }
        match self.code {
            KeyCode::F(number) => write!(f, "F{number}"),
            KeyCode::Char(' ') => f.write_str("Space"),
            KeyCode::Char(letter) if self.held.is_empty() => write!(f, "{letter}"),
            KeyCode::Char(letter) => write!(f, "{}", letter.to_ascii_uppercase()),
            code => {
                let name =
                    NAMED.iter().find(|(_, known)| *known == code).map_or("", |known| known.0);
                let (head, tail) = name.split_at(name.len().min(1));
                write!(f, "{}{tail}", head.to_uppercase())
            }
        }
    }
}

/// What can be wrong with a key file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum KeyFileError {
    #[error("the key file cannot be read: {message}")]
    Unreadable { message: String },
    #[error("the key file cannot be read: {message}")]
    NotToml { message: String },
    #[error("`{found}` is not a key")]
    NotAKey { found: String },
    #[error("`{found}` cannot be told from Backspace, Tab or Enter")]
    SameOnTheWire { found: String },
    #[error("`{found}` is no action of `{context}`")]
    NoSuchAction { found: String, context: &'static str },
    #[error("`{key}` would do two things in `{context}`: {one} and {two}")]
    Twice { key: Key, context: &'static str, one: &'static str, two: &'static str },
}

impl KeyFileError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NotAKey { .. } => {
                Some("Write f5, ctrl-n, alt-x, shift-tab, pageup or one letter.")
            }
            Self::NoSuchAction { .. } => Some("The keys screen (F1) names all actions."),
            Self::NotToml { .. } => {
                Some("Write a table a context: [list] and below copy = [\"g\"].")
            }
            Self::Unreadable { .. } | Self::SameOnTheWire { .. } | Self::Twice { .. } => None,
        }
    }
}

/// The keys in force.
#[derive(Debug, Clone, Default)]
pub struct Keys {
    acts: HashMap<(Context, Key), Act>,
    shown: Vec<(&'static Action, Vec<Key>)>,
}

impl Keys {
    /// The built-in keys with those of the key file at `path` laid over, which need not be there.
    ///
    /// # Errors
    ///
    /// [`KeyFileError`] names what is wrong with one that is there.
    pub fn of_file(path: &Path) -> Result<Self, KeyFileError> {
        match fs::read_to_string(path) {
            Ok(text) => Self::laid_over(&text),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Self::laid_over(""),
            Err(error) => Err(KeyFileError::Unreadable { message: error.to_string() }),
        }
    }

    /// The built-in keys with those of a key file laid over: a table a context, in it the name of
    /// an action and the list of its keys, which replace the built-in ones.
    ///
    /// # Errors
    ///
    /// [`KeyFileError`] names what is wrong.
    pub fn laid_over(text: &str) -> Result<Self, KeyFileError> {
        let mut own: HashMap<Context, BTreeMap<String, Vec<String>>> = toml::from_str(text)
            .map_err(|error| KeyFileError::NotToml { message: error.message().to_owned() })?;
        let mut keys = Self { acts: HashMap::new(), shown: Vec::new() };
        let mut by: HashMap<(Context, Key), &'static str> = HashMap::new();
        for action in ACTIONS {
            let context = action.context;
            let named = own.get_mut(&context).and_then(|names| names.remove(action.name));
            let list: Vec<Key> = match &named {
                Some(named) => named.iter().map(|key| key.parse()).collect::<Result<_, _>>()?,
                None => action.keys.split(' ').map(str::parse).collect::<Result<_, _>>()?,
            };
            for key in &list {
                if let Some(one) = by.insert((context, *key), action.name) {
                    let (context, two) = (context.name(), action.name);
                    return Err(KeyFileError::Twice { key: *key, context, one, two });
                }
                keys.acts.insert((context, *key), action.act);
            }
            keys.shown.push((action, list));
        }
        for (context, names) in own {
            if let Some(found) = names.into_keys().next() {
                return Err(KeyFileError::NoSuchAction { found, context: context.name() });
            }
        }
        Ok(keys)
    }

    /// What `key` does in `context`.
    pub fn act(&self, context: Context, key: Key) -> Option<Act> {
        self.acts
            .get(&(context, key))
            .or_else(|| self.acts.get(&(Context::Everywhere, key)))
            .copied()
    }

    /// All actions with their keys, in the table's order.
    pub fn shown(&self) -> &[(&'static Action, Vec<Key>)] {
        &self.shown
    }

    /// The first key of `act` in `context`, as a person reads it; nothing when it has none there.
    pub fn of(&self, context: Context, act: Act) -> String {
        let counts = |place: Context| place == context || place == Context::Everywhere;
        let mut found = self.shown.iter().filter(|(row, _)| row.act == act && counts(row.context));
        found.find_map(|(_, keys)| keys.first()).map_or_else(String::new, ToString::to_string)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(text: &str) -> Key {
        text.parse().expect("a key")
    }

    #[test]
    fn a_key_file_replaces_the_keys_of_what_it_names() {
        let keys = Keys::laid_over("[list]\ncopy = [\"g\", \"alt-g\"]\n").unwrap();
        assert_eq!(keys.act(Context::List, key("g")), Some(Act::Copy));
        assert_eq!(keys.act(Context::List, key("y")), None);
        assert_eq!(keys.act(Context::List, key("f1")), Some(Act::Keys), "the rest stands");
        assert_eq!(keys.act(Context::Line, key("g")), None, "letters are text in the line");
        assert_eq!(keys.of(Context::List, Act::Copy), "g");
    }

    #[test]
    fn a_mistake_in_the_key_file_is_named() {
        let rows = [
            ("[list]\ncopy = [\"j\"]", "`j` would do two things in `list`: down and copy"),
            ("[list]\nfly = [\"x\"]", "`fly` is no action of `list`"),
            ("[list]\ncopy = [\"hyper-x\"]", "`hyper-x` is not a key"),
            ("[line]\nrub = [\"ctrl-h\"]", "`ctrl-h` cannot be told from Backspace, Tab or Enter"),
            (
                "[lsit]\ncopy = [\"x\"]",
                "the key file cannot be read: unknown variant `lsit`, \
              expected one of `everywhere`, `line`, `list`",
            ),
        ];
        for (text, says) in rows {
            assert_eq!(Keys::laid_over(text).unwrap_err().to_string(), says);
        }
    }

    /// Keys that were passed over in silence would be pressed in vain.
    #[test]
    fn a_key_file_that_is_there_must_be_read_and_none_is_no_mistake() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("keys.toml");
        assert!(Keys::of_file(&path).is_ok());
        fs::write(&path, b"[list]\ncopy = [\"\xe4\"]\n").unwrap();
        let error = Keys::of_file(&path).unwrap_err().to_string();
        assert!(error.starts_with("the key file cannot be read: "), "{error}");
    }

    #[test]
    fn a_key_reads_as_it_is_written() {
        for (text, shown) in [
            ("ctrl-n", "Ctrl-N"),
            ("shift-tab", "Shift-Tab"),
            ("f5", "F5"),
            ("y", "y"),
            ("pageup", "Pageup"),
        ] {
            assert_eq!(key(text).to_string(), shown);
        }
        let back_tab = KeyEvent::new(KeyCode::BackTab, KeyModifiers::SHIFT);
        assert_eq!(Key::from(back_tab), key("shift-tab"));
    }
}
