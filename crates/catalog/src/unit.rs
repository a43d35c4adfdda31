//! Which machine is it, and which part sits where in it?

use std::{fmt, str::FromStr};

use serde::{Deserialize, Serialize};

use crate::Quantity;

/// Which of the two machines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Machine {
    /// Makes current.
    Alternator,
    /// Cranks the engine.
    Starter,
}

impl Machine {
    /// The word in files and in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::Alternator => "alternator",
            Self::Starter => "starter",
        }
    }
}

impl fmt::Display for Machine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// The text is neither machine.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("machine `{found}` is not known; it is alternator or starter")]
pub struct MachineError {
    /// What was read.
    pub found: String,
}

impl FromStr for Machine {
    type Err = MachineError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        match text.trim().to_lowercase().as_str() {
            "alternator" => Ok(Self::Alternator),
            "starter" => Ok(Self::Starter),
            _ => Err(MachineError { found: text.to_owned() }),
        }
    }
}

/// A complete machine.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// The shop's number for it, unique by its folded form.
    pub number: String,
    /// Which machine.
    pub machine: Machine,
    /// What a person would call it.
    pub description: String,
    /// Who makes it.
    pub maker: String,
    /// Voltage class, 12 or 24 V (others are kept as given), when known.
    pub volts: Option<u16>,
    /// Rated current in amperes, when known.
    pub amps: Option<u16>,
}

/// One line of a unit's bill: which part sits in which role.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BillLine {
    /// The unit's number.
    pub unit: String,
    /// What the part does there (`rectifier`, `drive-end-bearing` ...).
    pub role: String,
    /// The part's number.
    pub part: String,
    /// How many.
    pub quantity: Quantity,
    /// What must be said of it.
    pub remark: String,
}
