//! What can be wrong with what is to be printed, and what would be right?

/// Why nothing was printed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum PrintError {
    #[error("there is nothing to print")]
    Nothing,
    #[error("`{found}` is not a paper this prints on")]
    UnknownPaper { found: String },
    #[error("`{found}` is not a printer correction")]
    BadScale { found: String },
    #[error("{found} candidates are too many to tell apart on one sheet")]
    TooManyCandidates { found: usize },
    #[error("the outline takes {sheets} sheets of this paper; {most} is the most")]
    TooManySheets { sheets: usize, most: usize },
    #[error("`{found}` is not a length that can be drawn")]
    NotALength { found: String },
    #[error("the label sheet cannot be used: {reason}")]
    BadLabelSheet { reason: String },
    #[error("`{found}` does not fit on the label at a size that can be read")]
    DoesNotFit { found: String },
    #[error("`{found}` has a character that Code 128 does not hold here")]
    NotInCode128 { found: String },
    #[error("{letters} characters are more than one QR code holds")]
    CodeTooLong { letters: usize },
    #[error("the code of `{found}` takes {needed_mm:.1} mm and has {free_mm:.1} mm")]
    CodeDoesNotFit { found: String, needed_mm: f64, free_mm: f64 },
    #[error("the logo cannot be used: {reason}")]
    BadLogo { reason: String },
    #[error("the document could not be written: {reason}")]
    Refused { reason: String },
}

impl PrintError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::UnknownPaper { .. } => Some("The papers are a4 and letter."),
            Self::BadScale { .. } => Some(
                "Write two factors from 0.95 to 1.05, across then up: 1.004,0.998. \
                 Farther off, the printer fits to the page: set it to actual size.",
            ),
            Self::TooManyCandidates { .. } => Some("Choose four at most."),
            Self::TooManySheets { .. } => {
                Some("Check the layout for a coordinate that is far off.")
            }
            Self::DoesNotFit { .. } => Some("Choose a larger label."),
            Self::NotInCode128 { .. } => {
                Some("Code 128 holds printable ASCII here; a QR code holds any text.")
            }
            Self::CodeTooLong { .. } | Self::CodeDoesNotFit { .. } => {
                Some("Choose a larger label, a shorter text, or the other code.")
            }
            Self::BadLabelSheet { .. } => {
                Some("Label sheets are described like those in schema/labels.")
            }
            Self::BadLogo { .. } => {
                Some("A logo is a PNG or JPEG file of at most 4000 × 4000 dots.")
            }
            Self::Nothing | Self::NotALength { .. } | Self::Refused { .. } => None,
        }
    }
}
