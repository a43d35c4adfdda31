//! How does a file become records and rejects, a row at a time?

use std::io::{self, Cursor, Read};
use std::sync::Arc;

use binwright_catalog::{DecimalMark, Kinds};
use encoding_rs::{Encoding, UTF_8};

use crate::cell::unguard;
use crate::columns::Columns;
use crate::decode::Decoded;
use crate::error::ExchangeError;
use crate::judge::Wrong;
use crate::map::{ColumnMap, Separator};
use crate::record::{Place, Reject, Row};
use crate::rows::{Cells, RowFault, Rows};
use crate::sniff::{self, HEAD_BYTES, Marks};
use crate::table::Table;
use crate::workbook::{self, Unpacked};

/// What the user says of a file. What is said here wins over the map, and the map over the file.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// What the headers mean; told from them when they are ours.
    pub map: Option<ColumnMap>,
    /// WHATWG label of the encoding.
    pub encoding: Option<String>,
    /// Between fields.
    pub separator: Option<Separator>,
    /// Before decimals.
    pub decimal: Option<DecimalMark>,
    /// Sheet of a workbook.
    pub sheet: Option<String>,
}

/// The rows of one file, CSV or XLSX, as records and rejects.
///
/// ```
/// # use binwright_catalog::Kinds;
/// # use binwright_exchange::{Options, Reader, Record};
/// let kinds = Kinds::builtin()?;
/// let file = "number,kind,bore,od,width\nKB-6203,bearing,17,40,12\nKB-6204,bearing,20,wide,14\n";
/// let mut reader = Reader::open("parts.csv", file.as_bytes(), &Options::default(), &kinds)?;
/// let row = reader.next().unwrap().unwrap();
/// assert!(matches!(row.record, Record::Part(part) if part.house == "KB-6203"));
/// let reject = reader.next().unwrap().unwrap_err();
/// assert_eq!((reject.place.line, reject.column.as_str()), (3, "od"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct Reader<'a> {
    file: Arc<str>,
    rows: Rows<Box<dyn Read + Send + 'a>>,
    columns: Columns<'a>,
    separator: Separator,
    encoding: &'static Encoding,
    header_row: usize,
    /// Records read, the headers included.
    count: usize,
    /// Of a workbook.
    sheet: Option<Unpacked>,
    ended: bool,
}

impl<'a> Reader<'a> {
    /// Opens `input`, the bytes of the file that messages call `file`, and resolves its columns.
    ///
    /// # Errors
    ///
    /// [`ExchangeError`] when the file as a whole cannot be read, or a question must be answered
    /// first (encoding, decimal mark, table).
    pub fn open(
        file: &str,
        mut input: impl Read + Send + 'a,
        options: &Options,
        kinds: &'a Kinds,
    ) -> Result<Self, ExchangeError> {
        let io = |source| ExchangeError::Io { file: file.to_owned(), source };
        let mut head = Vec::new();
        (&mut input).take(HEAD_BYTES as u64).read_to_end(&mut head).map_err(io)?;
        if head.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
            return Err(ExchangeError::LegacyWorkbook { file: file.to_owned() });
        }
        let input = Cursor::new(head.clone()).chain(input);
        if head.starts_with(b"PK\x03\x04") {
            Self::open_workbook(file, input, options, kinds)
        } else {
            Self::open_text(file, &head, input, options, kinds)
        }
    }

    fn open_workbook(
        file: &str,
        input: impl Read,
        options: &Options,
        kinds: &'a Kinds,
    ) -> Result<Self, ExchangeError> {
        let bytes = workbook::read_capped(file, input)?;
        let map = options.map.as_ref();
        let decimal = options.decimal.or(map.and_then(|map| map.decimal)).unwrap_or_default();
        let name = options.sheet.as_deref().or(map.and_then(|map| map.sheet.as_deref()));
        let header_row = map.map_or(1, |map| map.header_row);
        let mut sheet = workbook::read_sheet(file, &bytes, name, header_row, decimal)?;
        let csv: Box<dyn Read + Send> = Box::new(Cursor::new(std::mem::take(&mut sheet.csv)));
        let mut text = Text {
            rows: Rows::new(csv, b',', false, 0),
            separator: Separator::Comma,
            encoding: UTF_8,
            header_row,
        };
        let columns = text.columns(file, options, kinds)?;
        Ok(Self::new(file, text, columns, Some(sheet)))
    }

    fn open_text(
        file: &str,
        head: &[u8],
        input: impl Read + Send + 'a,
        options: &Options,
        kinds: &'a Kinds,
    ) -> Result<Self, ExchangeError> {
        let map = options.map.as_ref();
        let mut guess = sniff::guess_encoding(head);
        let label = options.encoding.as_ref().or(map.and_then(|map| map.encoding.as_ref()));
        match label {
            // A byte order mark is the file's own word.
            Some(label) if guess.mark_bytes == 0 => {
                guess.encoding = Encoding::for_label_no_replacement(label.as_bytes())
                    .ok_or_else(|| ExchangeError::UnknownEncoding { label: label.clone() })?;
            }
            None if guess.not_utf8_at.is_some() => {
                let (offset, guess) =
                    (guess.not_utf8_at.unwrap_or_default(), guess.encoding.name());
                return Err(ExchangeError::EncodingUnsaid { file: file.to_owned(), offset, guess });
            }
            _ => {}
        }
        let header_row = map.map_or(1, |map| map.header_row);
        let seen = guess.decode(head);
        let lone_cr = sniff::lone_cr(&seen);
        let end = if lone_cr { '\r' } else { '\n' };
        let seen = seen.splitn(header_row, end).nth(header_row - 1).unwrap_or_default();
        let separator = options.separator.or(map.and_then(|map| map.separator));
        let separator = separator.unwrap_or_else(|| sniff::guess_separator(seen));

        let mut input: Box<dyn Read + Send + 'a> = Box::new(input);
        let skipped = io::copy(&mut (&mut input).take(guess.mark_bytes as u64), &mut io::sink())
            .map_err(|source| ExchangeError::Io { file: file.to_owned(), source })?;
        if guess.encoding != UTF_8 {
            input = Box::new(Decoded::new(input, guess.encoding, skipped));
        }
        let mut rows = Rows::new(input, separator.byte(), lone_cr, skipped);
        rows.skip_lines(header_row - 1)
            .map_err(|source| ExchangeError::Io { file: file.to_owned(), source })?;
        let mut text = Text { rows, separator, encoding: guess.encoding, header_row };
        let mut columns = text.columns(file, options, kinds)?;
        if columns.asking {
            let rows = sniff::sample(seen, separator, head.len() >= HEAD_BYTES);
            columns.asking = ask_decimal(file, &columns, rows.get(1..).unwrap_or_default())?;
        }
        Ok(Self::new(file, text, columns, None))
    }

    fn new(file: &str, text: Text<'a>, columns: Columns<'a>, sheet: Option<Unpacked>) -> Self {
        let Text { rows, separator, encoding, header_row } = text;
        let file = Arc::from(file);
        Self { file, rows, columns, separator, encoding, header_row, count: 1, sheet, ended: false }
    }

    /// What the rows are.
    pub fn table(&self) -> Table {
        self.columns.table
    }

    /// The headers of the file.
    pub fn headers(&self) -> &[String] {
        &self.columns.headers
    }

    /// Headers that mean nothing to the map; what stands under them is left.
    pub fn ignored(&self) -> &[String] {
        &self.columns.ignored
    }

    /// What stands between fields; of a workbook, what its rejects are written with.
    pub fn separator(&self) -> Separator {
        self.separator
    }

    /// Name of the encoding.
    pub fn encoding(&self) -> &'static str {
        self.encoding.name()
    }

    /// What stands before decimals.
    pub fn decimal(&self) -> DecimalMark {
        self.columns.decimal
    }

    /// Line or row of the headers, from 1.
    pub fn header_row(&self) -> usize {
        self.header_row
    }

    /// Returns the reject of the row that was read last, which was right in itself and does not
    /// suit what is there already. The cell that holds `value` is named.
    pub fn refuse(&self, row: &Row, value: &str, reason: String, would_be_right: String) -> Reject {
        let cells = unguarded(self.rows.last());
        let holds = |cell: &String| !value.is_empty() && cell.trim() == value;
        let column = cells.iter().position(holds).and_then(|at| self.headers().get(at));
        let column = column.cloned().unwrap_or_default();
        let wrong = Wrong { column, value: value.to_owned(), reason, would_be_right };
        reject(row.place.clone(), wrong, cells, false)
    }
}

impl Iterator for Reader<'_> {
    type Item = Result<Row, Reject>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            if self.ended {
                return None;
            }
            let Self { rows, columns, file, sheet, count, header_row, ended, .. } = self;
            let read = rows.next();
            let record = *count;
            *count += 1;
            let place = |line: u64| {
                let row = sheet.as_ref().and_then(|sheet| sheet.rows.get(record).copied());
                Place {
                    file: Arc::clone(file),
                    row: row.unwrap_or((*header_row + record) as u64),
                    line: row.unwrap_or(line),
                }
            };
            match read {
                Ok(Some((_, cells))) if cells.blank() => {}
                Ok(Some((line, cells))) => {
                    let held = |at: usize| sheet.as_ref().and_then(|sheet| sheet.typed(record, at));
                    let place = place(line);
                    return Some(match columns.record(cells, &|at| held(at).is_some()) {
                        Ok(record) => {
                            let mangled = |at: usize| held(at).is_some_and(|typed| typed.mangled);
                            let warnings = columns.warnings(cells, &mangled);
                            Ok(Row { place, record, warnings })
                        }
                        Err(wrong) => Err(reject(place, *wrong, unguarded(cells), false)),
                    });
                }
                Err(fault) => {
                    let (line, wrong, cells, rest_unread) = of_fault(fault);
                    *ended = rest_unread;
                    return Some(Err(reject(place(line), wrong, cells, rest_unread)));
                }
                Ok(None) => *ended = true,
            }
        }
    }
}

/// Text that is open and not yet read as a table.
struct Text<'a> {
    rows: Rows<Box<dyn Read + Send + 'a>>,
    separator: Separator,
    encoding: &'static Encoding,
    header_row: usize,
}

impl Text<'_> {
    /// Reads the headers and finds the columns of the map, or of our own table that has them.
    fn columns<'k>(
        &mut self,
        file: &str,
        options: &Options,
        kinds: &'k Kinds,
    ) -> Result<Columns<'k>, ExchangeError> {
        let headers = match self.rows.next() {
            Ok(Some((_, cells))) => cells.owned(),
            Ok(None) => return Err(ExchangeError::Empty { file: file.to_owned() }),
            Err(fault) => {
                let message = of_fault(fault).1.reason;
                return Err(ExchangeError::Headers { file: file.to_owned(), message });
            }
        };
        let mut map = match &options.map {
            Some(map) => map.clone(),
            None => match Table::told_by(&headers) {
                Some(table) => ColumnMap::builtin(table)?,
                None => return Err(ExchangeError::NoTable { file: file.to_owned() }),
            },
        };
        map.decimal = options.decimal.or(map.decimal);
        Columns::resolve(file, &map, headers, kinds)
    }
}

/// Returns whether numbers must be asked about one by one, nobody having said the decimal mark.
///
/// # Errors
///
/// [`ExchangeError::DecimalUnsaid`] when the first rows already raise the question.
fn ask_decimal(
    file: &str,
    columns: &Columns<'_>,
    rows: &[Vec<String>],
) -> Result<bool, ExchangeError> {
    let mut marks = Marks::None;
    let mut doubt = None;
    for at in columns.decimals() {
        for cell in rows.iter().filter_map(|row| row.get(at)) {
            let seen = Marks::of(cell);
            if !matches!(seen, Marks::None | Marks::Point) && doubt.is_none() {
                doubt = Some((columns.headers[at].clone(), cell.clone()));
            }
            marks = marks.and(seen);
        }
    }
    match (marks, doubt) {
        (Marks::Point, _) => Ok(false),
        (_, Some((column, value))) => {
            let (file, comma) = (file.to_owned(), marks == Marks::Comma);
            Err(ExchangeError::DecimalUnsaid { file, column, value, comma })
        }
        _ => Ok(true),
    }
}

fn reject(place: Place, wrong: Wrong, cells: Vec<String>, rest_unread: bool) -> Reject {
    let Wrong { column, value, reason, would_be_right } = wrong;
    Reject { place, column, value, reason, would_be_right, cells, rest_unread }
}

fn unguarded(cells: Cells<'_>) -> Vec<String> {
    cells.iter().map(|cell| unguard(cell).to_owned()).collect()
}

/// The line, what is wrong, the cells, and whether the rest is unread.
fn of_fault(fault: RowFault) -> (u64, Wrong, Vec<String>, bool) {
    match fault {
        RowFault::NotUtf8 { line, offset, cells } => {
            let reason = format!("byte {offset} of the file is not UTF-8");
            let right = "say the encoding; what cannot be read stands as \u{FFFD} here";
            (line, Wrong::row(reason, right), cells, false)
        }
        RowFault::Unclosed { line, cells, at_end } => {
            let reason = format!("a quote that was opened on line {line} or after is not closed");
            let right = "close the quote; a quote within a quoted cell is doubled";
            (line, Wrong::row(reason, right), cells, at_end)
        }
        RowFault::Endless { line } => {
            let reason = format!(
                "the row that begins on line {line} does not end; nothing after it was read"
            );
            let right = "close the quote that was opened there";
            (line, Wrong::row(reason, right), Vec::new(), true)
        }
        RowFault::Io { line, source } => {
            let reason = format!("the file cannot be read on: {source}");
            (line, Wrong::row(reason, "nothing after it was read"), Vec::new(), true)
        }
    }
}
