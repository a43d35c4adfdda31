//! What stands in the sheet of a workbook that may mean harm?
//!
//! The sheet becomes rows of CSV in memory, so that one reader judges both. Nothing is unpacked
//! before its size is known, and no cell's address decides how much memory is taken.

use std::io::{self, Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};

use binwright_catalog::DecimalMark;
use calamine::{DataRef, Reader as _, Xlsx};
use zip::ZipArchive;

use crate::error::ExchangeError;
use crate::rows::COLUMNS_MAX;

/// The most bytes a workbook may have, packed or unpacked.
const BYTES_MAX: u64 = 64 << 20;
/// How often larger it may become.
const RATIO_MAX: u64 = 100;
/// Below this, the ratio does not matter.
const SMALL_BYTES: u64 = 1 << 20;
/// The most members of the archive.
const MEMBERS_MAX: usize = 2000;
/// The most bytes the rows of the sheet may have.
const ROWS_BYTES_MAX: usize = 128 << 20;
/// From here on a spreadsheet shows a whole number with an exponent. From memory.
const SHOWN_WHOLE_MAX: f64 = 1e11;

/// The rows of a sheet.
#[derive(Debug, Default)]
pub(crate) struct Unpacked {
    /// Records with `,` between cells, as wide as the headers at least.
    pub csv: Vec<u8>,
    /// The row in the sheet of each record, from 1.
    pub rows: Vec<u64>,
    /// Cells that were held as numbers or dates, in order.
    pub typed: Vec<Typed>,
}

/// A cell that was held as a number or date: record, column, and whether it may have been a part
/// number before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Typed {
    pub record: u32,
    pub column: u16,
    pub mangled: bool,
}

impl Unpacked {
    /// The cell, if it was held as a number or date.
    pub fn typed(&self, record: usize, column: usize) -> Option<Typed> {
        let key = (record as u32, column as u16);
        let found = self.typed.binary_search_by_key(&key, |typed| (typed.record, typed.column));
        found.ok().map(|at| self.typed[at])
    }
}

/// Reads no more of `input` than a workbook may have.
pub(crate) fn read_capped(file: &str, input: impl Read) -> Result<Vec<u8>, ExchangeError> {
    let mut bytes = Vec::new();
    let read = input.take(BYTES_MAX + 1).read_to_end(&mut bytes);
    read.map_err(|source| ExchangeError::Io { file: file.to_owned(), source })?;
    if bytes.len() as u64 > BYTES_MAX {
        return Err(too_large(file, "it has more than 64 MB".to_owned()));
    }
    Ok(bytes)
}

/// Returns the rows of `sheet` (the first when absent) from `header_row` on; numbers are written
/// with `mark`.
pub(crate) fn read_sheet(
    file: &str,
    bytes: &[u8],
    sheet: Option<&str>,
    header_row: usize,
    mark: DecimalMark,
) -> Result<Unpacked, ExchangeError> {
    weigh(file, bytes)?;
    // The parser is not ours and the file may be crafted: a panic in it is a bad file, not our end.
    let read = catch_unwind(AssertUnwindSafe(|| unpack(file, bytes, sheet, header_row, mark)));
    read.unwrap_or_else(|_| Err(unreadable(file, &"its parts contradict each other")))
}

fn too_large(file: &str, message: String) -> ExchangeError {
    ExchangeError::TooLarge { file: file.to_owned(), message }
}

fn unreadable(file: &str, message: &dyn ToString) -> ExchangeError {
    ExchangeError::Workbook { file: file.to_owned(), message: message.to_string() }
}

/// Refuses an archive that says it is too large, or is.
fn weigh(file: &str, bytes: &[u8]) -> Result<(), ExchangeError> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|e| unreadable(file, &e))?;
    if archive.len() > MEMBERS_MAX {
        return Err(too_large(file, format!("it has {} members", archive.len())));
    }
    let cap = BYTES_MAX.min((bytes.len() as u64 * RATIO_MAX).max(SMALL_BYTES));
    let (mut declared, mut actual) = (0u64, 0u64);
    for at in 0..archive.len() {
        let member = archive.by_index(at).map_err(|e| unreadable(file, &e))?;
        declared = declared.saturating_add(member.size());
        if declared > cap {
            let message = format!("unpacked it has {declared} bytes or more; {cap} is the most");
            return Err(too_large(file, message));
        }
        let mut rest = member.take(cap + 1 - actual);
        actual += io::copy(&mut rest, &mut io::sink()).map_err(|e| unreadable(file, &e))?;
        if actual > cap {
            let message = format!("unpacked it has more bytes than it says, and more than {cap}");
            return Err(too_large(file, message));
        }
    }
    Ok(())
}

fn unpack(
    file: &str,
    bytes: &[u8],
    sheet: Option<&str>,
    header_row: usize,
    mark: DecimalMark,
) -> Result<Unpacked, ExchangeError> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(|e| unreadable(file, &e))?;
    let names = book.sheet_names();
    let name = match sheet {
        Some(wanted) => names.iter().find(|name| name.eq_ignore_ascii_case(wanted)),
        None => names.first(),
    };
    let Some(name) = name else {
        let sheet = sheet.unwrap_or_default().to_owned();
        let (file, sheets) = (file.to_owned(), names.join(", "));
        return Err(ExchangeError::NoSheet { file, sheet, sheets });
    };
    let mut cells = book.worksheet_cells_reader(name).map_err(|e| unreadable(file, &e))?;
    let mut out = SheetWriter::new(file);
    while let Some(cell) = cells.next_cell().map_err(|e| unreadable(file, &e))? {
        let (row, column) = cell.get_position();
        if (row as usize) + 1 >= header_row {
            out.cell(u64::from(row) + 1, column as usize, cell.get_value(), mark)?;
        }
    }
    out.end_row()?;
    Ok(out.sheet)
}

/// Gathers the cells of a row, then writes it.
struct SheetWriter<'a> {
    file: &'a str,
    sheet: Unpacked,
    row: u64,
    cells: Vec<String>,
    /// Bytes in `cells`: one text may stand in every cell of a row.
    pending: usize,
    width: usize,
}

impl<'a> SheetWriter<'a> {
    fn new(file: &'a str) -> Self {
        Self { file, sheet: Unpacked::default(), row: 0, cells: Vec::new(), pending: 0, width: 0 }
    }

    fn cell(
        &mut self,
        row: u64,
        column: usize,
        value: &DataRef<'_>,
        mark: DecimalMark,
    ) -> Result<(), ExchangeError> {
        if row != self.row {
            self.end_row()?;
            if row < self.row {
                return Err(unreadable(self.file, &"its rows are out of order"));
            }
            self.row = row;
        }
        let (text, mangled) = text_of(value, mark);
        if text.is_empty() {
            return Ok(());
        }
        if column >= COLUMNS_MAX || column < self.cells.len() {
            return Err(unreadable(self.file, &format!("row {row} has a cell out of place")));
        }
        if let Some(mangled) = mangled {
            let record = self.sheet.rows.len() as u32;
            self.sheet.typed.push(Typed { record, column: column as u16, mangled });
        }
        self.pending += text.len();
        if self.sheet.csv.len() + self.pending > ROWS_BYTES_MAX {
            return Err(too_large(self.file, "its sheet has more than 128 MB of text".to_owned()));
        }
        self.cells.resize(column, String::new());
        self.cells.push(text);
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), ExchangeError> {
        if self.cells.is_empty() {
            return Ok(());
        }
        if self.width == 0 {
            self.width = self.cells.len();
        }
        let due = self.cells.len().max(self.width);
        self.cells.resize(due, String::new());
        for (at, cell) in self.cells.drain(..).enumerate() {
            if at > 0 {
                self.sheet.csv.push(b',');
            }
            self.sheet.csv.push(b'"');
            self.sheet.csv.extend(cell.replace('"', "\"\"").bytes());
            self.sheet.csv.push(b'"');
        }
        self.sheet.csv.push(b'\n');
        self.sheet.rows.push(self.row);
        self.pending = 0;
        if self.sheet.csv.len() > ROWS_BYTES_MAX {
            return Err(too_large(self.file, "its sheet has more than 128 MB of text".to_owned()));
        }
        Ok(())
    }
}

/// The text of a cell; of a number or date, also whether it may have been a part number before.
fn text_of(value: &DataRef<'_>, mark: DecimalMark) -> (String, Option<bool>) {
    match value {
        DataRef::Empty => (String::new(), None),
        DataRef::String(text) => (text.clone(), None),
        DataRef::SharedString(text) => ((*text).to_owned(), None),
        DataRef::Bool(truth) => (truth.to_string(), None),
        DataRef::Error(error) => (error.to_string(), None),
        DataRef::Int(whole) => (whole.to_string(), Some(*whole as f64 >= SHOWN_WHOLE_MAX)),
        DataRef::Float(number) => {
            let text = number.to_string();
            let mangled = number.fract() != 0.0 || *number >= SHOWN_WHOLE_MAX;
            let comma = mark == DecimalMark::Comma;
            (if comma { text.replace('.', ",") } else { text }, Some(mangled))
        }
        DataRef::DateTime(date) => {
            let (year, month, day, ..) = date.to_ymd_hms_milli();
            (format!("{year:04}-{month:02}-{day:02}"), Some(true))
        }
        DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => (text.clone(), Some(true)),
    }
}
