//! What can be wrong with a faults file, a reading or a job, and what would be right?

use binwright_catalog::Machine;
use binwright_evidence::EvidenceError;

/// What can be wrong with a faults file, a reading or a job. Lines count from 1.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum DiagnosisError {
    #[error("{file}, line {line}: {message}")]
    Toml { file: String, line: usize, message: String, nearest: Option<String> },
    #[error("{file}, line {line}: {what} `{key}`: {message}")]
    Item { file: String, line: usize, what: &'static str, key: String, message: String },
    #[error("{file}, line {line}: {what} `{found}` is not known")]
    UnknownKey {
        file: String,
        line: usize,
        what: &'static str,
        found: String,
        nearest: Option<String>,
    },
    #[error("no check of the {machine} is called `{found}`")]
    UnknownCheck { machine: Machine, found: String, nearest: Option<String> },
    #[error("`{found}` is no outcome of the check `{check}`")]
    UnknownOutcome { check: String, found: String, outcomes: String },
    #[error("`{found}` is no fault of the {machine}")]
    UnknownFault { machine: Machine, found: String, nearest: Option<String> },
    #[error("`{found}` is no strip-down level of the {machine}")]
    UnknownLevel { machine: Machine, found: String, levels: String },
    #[error("the reading `{found}` is not of the form check=value")]
    NotAReading { found: String },
    #[error("`{found}` is not a number with a unit for the check `{check}`")]
    NotANumber { check: String, found: String, unit: String },
    #[error("the check `{check}` takes {wanted}, not {found} numbers")]
    Numbers { check: String, found: usize, wanted: &'static str },
    #[error("the check `{check}` has no limits for {volts} V")]
    NoLimits { check: String, volts: u16, outcomes: String },
    #[error("{found} is not a temperature of copper on a bench")]
    Temperature { found: f64 },
    #[error("the readings could not be weighed")]
    Evidence(#[from] EvidenceError),
}

impl DiagnosisError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Toml { nearest, .. }
            | Self::UnknownKey { nearest, .. }
            | Self::UnknownCheck { nearest, .. }
            | Self::UnknownFault { nearest, .. } => {
                nearest.as_ref().map(|near| format!("Did you mean `{near}`?"))
            }
            Self::UnknownOutcome { outcomes, .. } => Some(format!("The outcomes are {outcomes}.")),
            Self::UnknownLevel { levels, .. } => Some(format!("The levels are {levels}.")),
            Self::NotAReading { .. } => {
                Some("Write it like bplus-to-case=one or rotor-resistance=2.6ohm@85C.".to_owned())
            }
            Self::NotANumber { unit, .. } if unit.is_empty() => {
                Some("This check takes one of its outcomes, not a number.".to_owned())
            }
            Self::NotANumber { unit, .. } => {
                Some(format!("Write a number and its unit ({unit}), or OL for an open reading."))
            }
            Self::NoLimits { outcomes, .. } => Some(format!(
                "Add `of` and the value on the card, or say the outcome itself: {outcomes}."
            )),
            Self::Item { .. }
            | Self::Numbers { .. }
            | Self::Temperature { .. }
            | Self::Evidence(_) => None,
        }
    }
}
