//! What can be wrong with a file as a whole, or with its column map?

use std::io;

/// What can be wrong with a file as a whole, or with its column map.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum ExchangeError {
    #[error("{file}, line {line}: {message}")]
    Map { file: String, line: usize, message: String, nearest: Option<String> },
    #[error("{file} cannot be read: {source}")]
    Io { file: String, source: io::Error },
    #[error("{file} is empty")]
    Empty { file: String },
    #[error("{file} is a workbook of the old .xls format, which is not read")]
    LegacyWorkbook { file: String },
    #[error("{file} is not a workbook that can be read: {message}")]
    Workbook { file: String, message: String },
    #[error("{file} is refused before it is unpacked: {message}")]
    TooLarge { file: String, message: String },
    #[error("{file} has no sheet `{sheet}`")]
    NoSheet { file: String, sheet: String, sheets: String },
    #[error("encoding `{label}` is not known")]
    UnknownEncoding { label: String },
    #[error("{file} is not UTF-8 (byte {offset}); its encoding must be said")]
    EncodingUnsaid { file: String, offset: usize, guess: &'static str },
    #[error("{file}: column `{column}` has `{value}`, and the decimal mark was not said")]
    DecimalUnsaid { file: String, column: String, value: String, comma: bool },
    #[error("{file}: the headers are unreadable: {message}")]
    Headers { file: String, message: String },
    #[error("{file}: the headers fit none of our tables")]
    NoTable { file: String },
    #[error("{file} has no column `{header}`")]
    MissingColumn { file: String, header: String, nearest: Option<String> },
    #[error("{file}: column `{header}` is not known in {table}")]
    UnknownColumn { file: String, header: String, table: &'static str, nearest: Option<String> },
    #[error("{file}: header `{header}` stands over columns {first} and {second}")]
    DuplicateHeader { file: String, header: String, first: usize, second: usize },
    #[error("a row of {found} cannot be written to the table of {table}")]
    WrongTable { found: &'static str, table: &'static str },
    #[error("part `{part}` has the measure `{measure}`, which is no column of this file")]
    NoMeasureColumn { part: String, measure: String },
    #[error("the file cannot be written: {message}")]
    Write { message: String },
}

impl ExchangeError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Map { nearest, .. } => nearest.as_ref().map(|n| format!("Did you mean `{n}`?")),
            Self::LegacyWorkbook { .. } => {
                Some("Open it in a spreadsheet and save it as .xlsx or .csv.".to_owned())
            }
            Self::Empty { .. } => Some("The first line holds the headers.".to_owned()),
            Self::NoSheet { sheets, .. } => Some(format!("The sheets are {sheets}.")),
            Self::UnknownEncoding { .. } => {
                Some("Use a label like utf-8, utf-16le, windows-1252 or iso-8859-2.".to_owned())
            }
            Self::EncodingUnsaid { guess, .. } => {
                Some(format!("It looks like {guess}: say so by option or as `encoding` in a map."))
            }
            Self::DecimalUnsaid { comma: true, .. } => Some(
                "It looks like a decimal comma: say so by option or as `decimal = \",\"` in a map."
                    .to_owned(),
            ),
            Self::DecimalUnsaid { .. } => Some(
                "Say by option or as `decimal` in a map whether it is a decimal or a thousand."
                    .to_owned(),
            ),
            Self::NoTable { .. } => {
                Some("Name the table, or give a column map for a stranger's headers.".to_owned())
            }
            Self::MissingColumn { nearest, .. } => Some(match nearest {
                Some(near) => format!("It has `{near}`; is that the one?"),
                None => "Correct the map, or mark the column `optional = true` there.".to_owned(),
            }),
            Self::UnknownColumn { nearest, .. } => Some(match nearest {
                Some(near) => format!("Did you mean `{near}`?"),
                None => "Take the column out, or give a column map that leaves it.".to_owned(),
            }),
            Self::DuplicateHeader { .. } => Some("Rename or take out one of them.".to_owned()),
            Self::Workbook { .. } => {
                Some("Save it anew from a spreadsheet, or as .csv.".to_owned())
            }
            Self::TooLarge { .. } => Some("Save the sheet as .csv and import that.".to_owned()),
            Self::Io { .. }
            | Self::Headers { .. }
            | Self::WrongTable { .. }
            | Self::NoMeasureColumn { .. }
            | Self::Write { .. } => None,
        }
    }
}

/// Why a file that goes out was not written.
pub(crate) fn unwritten(error: impl std::fmt::Display) -> ExchangeError {
    ExchangeError::Write { message: error.to_string() }
}
