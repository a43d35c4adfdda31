//! What can be wrong with a question?

/// What can be wrong with a [`crate::Query`].
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum FitError {
    #[error("kind `{kind}` has no measure number {measure}")]
    NoSuchMeasure { kind: String, measure: usize },
    #[error("`{found}` is not a value of `{measure}`")]
    WrongValue { measure: String, found: String },
    #[error("`{measure}` was given twice")]
    Twice { measure: String },
    #[error("a spread of `{found}` mm is not a positive length")]
    BadSpread { found: f64 },
    #[error("`{found}` mm is not a distance between two points")]
    BadDistance { found: f64 },
    #[error("{found} distances were given; {max} are the most that are weighed")]
    TooManyDistances { found: usize, max: usize },
    #[error("`{found}` is not a probability below one for `none of ours`")]
    BadPrior { found: f64 },
}

impl FitError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::WrongValue { .. } => Some("Lengths are plain numbers in mm, threads are words."),
            Self::Twice { .. } => Some("Give the reading you trust most."),
            Self::TooManyDistances { .. } => Some("Give the points with coordinates instead."),
            Self::NoSuchMeasure { .. }
            | Self::BadSpread { .. }
            | Self::BadDistance { .. }
            | Self::BadPrior { .. } => None,
        }
    }
}
