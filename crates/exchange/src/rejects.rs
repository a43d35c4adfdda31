//! How are rejected rows given back, to be mended and imported again with the same map?

use std::io::{self, Write};

use crate::cell::{CellStyle, guard};
use crate::error::{ExchangeError, unwritten};
use crate::read::Reader;
use crate::record::Reject;

/// Our own columns, before those of the file: a row of any length can follow them.
const OURS: [&str; 5] =
    ["reject_row", "reject_column", "reject_value", "reject_reason", "reject_would_be_right"];

/// Whether `header` is that of a column of our own, which import leaves.
pub(crate) fn is_ours(header: &str) -> bool {
    header.starts_with("reject_")
}

/// A file of rejected rows: the file's own headers and cells, and before them why each was not
/// taken. Importing it with the same map leaves those columns out of account.
///
/// It is UTF-8 with a byte order mark, which wins over the encoding a map declares, and keeps the
/// file's separator and the line of its headers. Cells a spreadsheet would run are defused.
pub struct RejectsFile<W: Write> {
    out: csv::Writer<W>,
    /// Of the file's columns, those that are not our own of an earlier rejects file.
    theirs: Vec<bool>,
}

impl<W: Write> RejectsFile<W> {
    /// Begins a file for the rejects of `reader` in `out`.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when `out` does not take it.
    pub fn new(mut out: W, reader: &Reader<'_>) -> Result<Self, ExchangeError> {
        let begin = |out: &mut W| -> io::Result<()> {
            out.write_all("\u{FEFF}".as_bytes())?;
            for _ in 1..reader.header_row() {
                out.write_all(b"Mend these rows and import the file with the same map.\r\n")?;
            }
            Ok(())
        };
        begin(&mut out).map_err(unwritten)?;
        let mut out = csv::WriterBuilder::new()
            .delimiter(reader.separator().byte())
            .terminator(csv::Terminator::CRLF)
            .flexible(true)
            .from_writer(out);
        let theirs: Vec<bool> = reader.headers().iter().map(|h| !is_ours(h)).collect();
        let kept = reader.headers().iter().filter(|header| !is_ours(header));
        let headers: Vec<&str> = OURS.into_iter().chain(kept.map(String::as_str)).collect();
        out.write_record(headers).map_err(unwritten)?;
        Ok(Self { out, theirs })
    }

    /// Appends one rejected row.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when the file does not take it.
    pub fn write(&mut self, reject: &Reject) -> Result<(), ExchangeError> {
        let row = reject.place.row.to_string();
        let why = [&row, &reject.column, &reject.value, &reject.reason, &reject.would_be_right];
        let cells = reject.cells.iter().enumerate();
        let kept = cells.filter(|(at, _)| self.theirs.get(*at).copied().unwrap_or(true));
        let all = why.into_iter().chain(kept.map(|(_, cell)| cell));
        let cells = all.map(|cell| guard(cell, CellStyle::Defused).into_owned());
        self.out.write_record(cells).map_err(unwritten)
    }

    /// Ends the file and gives `out` back.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when the file does not take it.
    pub fn finish(self) -> Result<W, ExchangeError> {
        self.out.into_inner().map_err(|error| unwritten(error.error()))
    }
}
