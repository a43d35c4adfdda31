//! In what condition does a piece lie in the bin?

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

/// The condition stock is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// Never fitted.
    New,
    /// Taken from a core, tested, fit to sell as used.
    UsedGood,
    /// An old part or unit kept to be rebuilt; not for sale as it is.
    Core,
}

impl Condition {
    /// All conditions, in the order they are shown.
    pub const ALL: [Self; 3] = [Self::New, Self::UsedGood, Self::Core];

    /// The word in files, on the command line and in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::New => "new",
            Self::UsedGood => "used-good",
            Self::Core => "core",
        }
    }
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// The text is none of the conditions.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("condition `{found}` is not known; it is new, used-good or core")]
pub struct ConditionError {
    /// What was read.
    pub found: String,
}

impl FromStr for Condition {
    type Err = ConditionError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let word = text.trim().to_lowercase().replace([' ', '_'], "-");
        Self::ALL
            .into_iter()
            .find(|condition| condition.word() == word)
            .ok_or_else(|| ConditionError { found: text.to_owned() })
    }
}
