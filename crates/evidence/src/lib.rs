//! How do observations weigh hypotheses, and which observation should be made next?
//!
//! Pure functions over slices: one number per hypothesis, in any order the caller keeps. Start at
//! [`posterior`]; [`expected_gain_bits`] says what an observation not yet made is worth. Nothing here
//! knows what a hypothesis is, and nothing allocates except where a vector is returned.
//! [`calibration`] measures whether probabilities that were given came true.

pub mod calibration;
mod gain;
mod weigh;

pub use gain::{expected_gain_bits, gain_per_minute};
pub use weigh::{entropy_bits, ln_sum_exp, normalise_ln, posterior};

/// What can be wrong with the numbers to be weighed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum EvidenceError {
    #[error("{found} numbers were given where {wanted} are needed")]
    Length { found: usize, wanted: usize },
    #[error("the weight of hypothesis {at} is not a number")]
    NotANumber { at: usize },
    #[error("no hypothesis can explain what was observed")]
    NothingLeft,
}

impl EvidenceError {
    /// What to do about it; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NothingLeft => Some(
                "Give every hypothesis a likelihood above zero, or add one for `none of these`.",
            ),
            Self::Length { .. } | Self::NotANumber { .. } => None,
        }
    }
}
