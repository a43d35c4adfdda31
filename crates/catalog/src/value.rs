//! What was measured, or is known, of one measure?

use std::fmt;

use serde::{Deserialize, Serialize};

/// The value of one measure: a number in the measure's unit, or a word (choice, thread, code).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Value {
    /// In the measure's unit; counts are whole.
    Number(f64),
    /// A choice's word, a thread's designation, a code.
    Word(String),
}

impl Value {
    /// The number, if it is one.
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(number) => Some(*number),
            Self::Word(_) => None,
        }
    }

    /// The word, if it is one.
    pub fn word(&self) -> Option<&str> {
        match self {
            Self::Number(_) => None,
            Self::Word(word) => Some(word),
        }
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            // Four decimals keep a tenth of a mil and drop the noise of inch conversion.
            Self::Number(number) => {
                let text = format!("{number:.4}");
                let text = if text.contains('.') {
                    text.trim_end_matches('0').trim_end_matches('.')
                } else {
                    &text
                };
                f.pad(if text == "-0" { "0" } else { text })
            }
            Self::Word(word) => f.pad(word),
        }
    }
}
