//! How do rows of cells go out? CSV that a spreadsheet does not run, or a workbook.

use std::borrow::Cow;
use std::io::Write;

use rust_xlsxwriter::{Format, Workbook, Worksheet};

use crate::cell::{CellStyle, guard};
use crate::error::{ExchangeError, unwritten};

/// One cell that goes out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Text, whatever it looks like.
    Text(String),
    /// A plain decimal number with a point; empty where it is not known.
    Number(String),
}

/// A sheet that is being written, row by row.
pub struct Sheet<W: Write> {
    style: CellStyle,
    sink: Sink<W>,
}

enum Sink<W: Write> {
    Csv(Box<csv::Writer<W>>),
    Workbook { sheet: Box<Worksheet>, text: Format, row: u32, out: W },
}

impl<W: Write> Sheet<W> {
    /// Begins a CSV file in `out` (UTF-8, `,`, CRLF).
    pub fn csv(out: W, style: CellStyle) -> Self {
        let csv = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out);
        Self { style, sink: Sink::Csv(Box::new(csv)) }
    }

    /// Begins an XLSX file for `out` with one sheet of that `name`: texts are typed as such and
    /// numbers as numbers, so nothing in it is run. It is held in memory until [`Sheet::finish`].
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when a workbook does not take the name.
    pub fn xlsx(out: W, name: &str) -> Result<Self, ExchangeError> {
        let mut sheet = Box::new(Worksheet::new());
        sheet.set_name(name).map_err(unwritten)?;
        let text = Format::new().set_num_format("@");
        Ok(Self { style: CellStyle::Exact, sink: Sink::Workbook { sheet, text, row: 0, out } })
    }

    /// Appends one row.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when the file does not take it.
    pub fn put(&mut self, cells: &[Cell]) -> Result<(), ExchangeError> {
        match &mut self.sink {
            Sink::Csv(out) => out
                .write_record(cells.iter().map(|cell| cell.guarded(self.style).into_owned()))
                .map_err(unwritten),
            Sink::Workbook { sheet, text, row, .. } => {
                for (column, cell) in (0..).zip(cells) {
                    let written = match (cell, cell.number()) {
                        (_, Some(number)) => sheet.write_number(*row, column, number),
                        (Cell::Text(empty) | Cell::Number(empty), _) if empty.is_empty() => {
                            continue;
                        }
                        _ => {
                            let cell = cell.guarded(self.style);
                            sheet.write_string_with_format(*row, column, cell, text)
                        }
                    };
                    written.map_err(unwritten)?;
                }
                *row += 1;
                Ok(())
            }
        }
    }

    /// Ends the file and gives `out` back.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when `out` does not take it.
    pub fn finish(self) -> Result<W, ExchangeError> {
        match self.sink {
            Sink::Csv(out) => out.into_inner().map_err(|error| unwritten(error.error())),
            Sink::Workbook { sheet, mut out, .. } => {
                let mut book = Workbook::new();
                book.push_worksheet(*sheet);
                let bytes = book.save_to_buffer().map_err(unwritten)?;
                out.write_all(&bytes).map_err(unwritten)?;
                Ok(out)
            }
        }
    }
}

impl Cell {
    fn guarded(&self, style: CellStyle) -> Cow<'_, str> {
        match self {
            Self::Text(text) => guard(text, style),
            Self::Number(text) => text.into(),
        }
    }

    /// The number, where a workbook's float holds every digit of it.
    fn number(&self) -> Option<f64> {
        let Self::Number(text) = self else { return None };
        let number: f64 = text.parse().ok()?;
        let bare = if text.contains('.') {
            text.trim_end_matches('0').trim_end_matches('.')
        } else {
            text
        };
        (number.to_string() == bare).then_some(number)
    }
}
