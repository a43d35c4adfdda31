//! How do files come into the shop and go out? Import with rejects, export of what import takes.

use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

pub use binwright_catalog::DecimalMark;
pub use binwright_exchange::{CellStyle, Separator, Table, TableError};
use binwright_exchange::{
    ColumnMap, Demand, Export, Options, Reader, Record, Reject, RejectsFile, Row, Warning,
    table_schema,
};
use binwright_store::{
    Bin, DemandMark, Keep, MonthDemand, Movement, Offer, Put, Reason, StoreError, Supplier, Writer,
    write_whole,
};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use crate::{Shop, ShopError};

/// No month comes after it.
const LAST_MONTH: &str = "9999-12";
/// Rows between two reports of progress.
const PROGRESS_ROWS: u64 = 4096;

/// What is said of a file that comes in. What is said here wins over its map.
#[derive(Debug, Clone, Default)]
pub struct ImportOptions {
    /// What the rows are; told from the headers when not said.
    pub table: Option<Table>,
    /// A column map: file name and TOML text; a Table Schema when the name ends in `.json`.
    pub map: Option<(String, String)>,
    /// Before decimals.
    pub decimal: Option<DecimalMark>,
    /// WHATWG label of the encoding.
    pub encoding: Option<String>,
    /// Between fields.
    pub separator: Option<Separator>,
    /// Sheet of a workbook.
    pub sheet: Option<String>,
    /// Where rejected rows go; nowhere when not said.
    pub rejects: Option<PathBuf>,
    /// Everything is judged, nothing kept.
    pub dry_run: bool,
    /// Who does it, for the ledger.
    pub who: String,
}

/// What an import did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Imported {
    /// The file.
    pub file: String,
    /// What its rows were.
    pub table: String,
    /// Its encoding, as told or found.
    pub encoding: String,
    /// Between its fields.
    pub separator: String,
    /// Before its decimals.
    pub decimal: String,
    /// Headers that were left out of account.
    pub ignored: Vec<String>,
    /// Rows that were not there.
    pub added: u64,
    /// Rows that were there and are different now.
    pub changed: u64,
    /// Rows that were there just so.
    pub unchanged: u64,
    /// Rows that were not taken.
    pub rejected: u64,
    /// The first of them.
    pub rejects: Vec<RejectedRow>,
    /// What should be looked at in rows that were taken.
    pub warnings: Vec<String>,
    /// Where the rejected rows were written.
    pub rejects_file: Option<String>,
    /// Nothing was kept.
    pub dry_run: bool,
}

/// How far an import is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Rows read so far.
    pub rows: u64,
    /// Share of the file that was read, 0 to 1; `None` where its size is not known.
    pub share: Option<f64>,
}

/// One row that was not taken.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RejectedRow {
    /// Row of the file, headers included.
    pub row: u64,
    /// Line of the text.
    pub line: u64,
    /// The file's header of the column.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// Why it was not taken.
    pub reason: String,
    /// What would be right.
    pub would_be_right: String,
}

/// Rejects and warnings that are named in the answer; all rejects are in the rejects file.
const NAMED: usize = 50;

impl Shop {
    /// Takes in the rows of `input`, the bytes of the file that messages call `name`: all good
    /// rows in one transaction, the others named and written to the rejects file. The index is
    /// left as it is: [`Shop::follow`] brings it along.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the file as a whole cannot be read, or the store fails; nothing of the
    /// file is kept then.
    pub fn import(
        &mut self,
        name: &str,
        input: impl Read + Send,
        options: &ImportOptions,
        mut progress: impl FnMut(u64),
    ) -> Result<Imported, ShopError> {
        let mut reader = Reader::open(name, input, &reading(options)?, &self.kinds)?;
        let mut done = begun(name, &reader, options);
        let mut rejects = Rejects::new(options.rejects.as_deref());
        let keep = if options.dry_run { Keep::DryRun } else { Keep::Yes };
        let (now, today) = (Timestamp::now(), self.today);
        self.store.write_once(keep, |writer| -> Result<(), ShopError> {
            let mut rows = 0;
            while let Some(read) = reader.next() {
                rows += 1;
                if rows % PROGRESS_ROWS == 0 {
                    progress(rows);
                }
                let row = match read {
                    Ok(row) => row,
                    Err(reject) => {
                        rejects.add(&mut done, &reader, &reject)?;
                        continue;
                    }
                };
                match put(writer, &row.record, &options.who, now, today) {
                    Ok(put) => count(&mut done, put, &row),
                    Err(error) if is_of_the_row(&error) => {
                        let right = error.hint().unwrap_or_default().to_owned();
                        let reject =
                            reader.refuse(&row, offending(&error), error.to_string(), right);
                        rejects.add(&mut done, &reader, &reject)?;
                    }
                    Err(error) => return Err(error.into()),
                }
            }
            progress(rows);
            Ok(())
        })?;
        done.rejects_file = rejects.finish()?;
        Ok(done)
    }

    /// Opens the file at `path` and imports it; `-` is standard input.
    ///
    /// # Errors
    ///
    /// As [`Shop::import`].
    pub fn import_file(
        &mut self,
        path: &Path,
        options: &ImportOptions,
        mut progress: impl FnMut(Progress),
    ) -> Result<Imported, ShopError> {
        if path == Path::new("-") {
            let told = |rows| progress(Progress { rows, share: None });
            return self.import("standard input", io::stdin(), options, told);
        }
        let unreadable = |source| ShopError::Unreadable { path: path.to_owned(), source };
        let file = File::open(path).map_err(unreadable)?;
        let size = file.metadata().map_err(unreadable)?.len();
        let read = AtomicU64::new(0);
        let told = |rows| {
            // A pipe has no size; a file that grows is never more than whole.
            let share = (size > 0).then(|| read.load(Ordering::Relaxed) as f64 / size as f64);
            progress(Progress { rows, share: share.map(|share| share.min(1.0)) });
        };
        let input = Counted { inner: BufReader::new(file), read: &read };
        self.import(&path.display().to_string(), input, options, told)
    }

    /// Writes all rows of `table` to `out`, as CSV or as a workbook, in the form import takes, and
    /// returns the table's description for a program that reads it.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store cannot be read or `out` not written.
    pub fn export<W: Write + Send>(
        &self,
        table: Table,
        out: W,
        workbook: bool,
        style: CellStyle,
    ) -> Result<serde_json::Value, ShopError> {
        let measures = match table {
            Table::Parts => self.measures_present()?,
            Table::Bins if self.branches()?.branches.len() > 1 => vec!["branch".to_owned()],
            _ => Vec::new(),
        };
        let described = table_schema(table, &measures, &self.kinds);
        let mut export = if workbook {
            Export::xlsx(out, table, measures)?
        } else {
            Export::csv(out, table, measures, style)?
        };
        self.each_record(table, |record| Ok(export.write(&record)?))?;
        export.finish()?;
        Ok(described)
    }

    /// Writes `table` to a new file, with its description beside it as `NAME.schema.json`. An
    /// `.xlsx` name makes a workbook. A file that is there is only overwritten when `force`.
    ///
    /// # Errors
    ///
    /// [`ShopError::IsThere`], or as [`Shop::export`]; a file that was there is kept then.
    pub fn export_file(
        &self,
        table: Table,
        path: &Path,
        style: CellStyle,
        force: bool,
    ) -> Result<(), ShopError> {
        refuse_there(path, force)?;
        let workbook = is_workbook(path);
        let described = write_file(path, |out| self.export(table, out, workbook, style))?;
        let text = serde_json::to_string_pretty(&described).unwrap_or_default();
        write_bytes(&path.with_extension("schema.json"), text.as_bytes())
    }

    /// The measures any part has, in the order of their keys.
    fn measures_present(&self) -> Result<Vec<String>, ShopError> {
        let mut present = BTreeSet::new();
        self.store.each_part(None, |stored| {
            present.extend(stored.part.measures.into_keys());
            Ok::<_, ShopError>(())
        })?;
        Ok(present.into_iter().collect())
    }

    fn each_record(
        &self,
        table: Table,
        mut take: impl FnMut(Record) -> Result<(), ShopError>,
    ) -> Result<(), ShopError> {
        let store = &self.store;
        match table {
            Table::Parts => store.each_part(None, |stored| take(Record::Part(stored.part))),
            Table::Crosses => store.each_cross(|line| take(Record::Cross(line.cross))),
            Table::Units => store.each_unit(|unit| take(Record::Unit(unit))),
            Table::Bills => store.each_bill_line(|row| take(Record::BillLine(row.line))),
            Table::Bins => store.bins()?.into_iter().try_for_each(|bin| {
                take(Record::Bin(binwright_exchange::Bin {
                    bin: bin.name,
                    aisle: bin.aisle,
                    description: bin.description,
                    holds_most: bin.holds_most,
                    branch: bin.branch,
                }))
            }),
            Table::Stock => store.each_stock(|row| {
                take(Record::Stock(binwright_exchange::Stock {
                    part: row.part,
                    bin: row.bin,
                    condition: row.condition,
                    quantity: row.on_hand,
                }))
            }),
            Table::Prices => store.each_price(|price| {
                take(Record::Price(binwright_exchange::Price {
                    part: price.part,
                    list: price.list,
                    price: price.price,
                    user: String::new(),
                }))
            }),
            Table::Demand => store.each_demand(LAST_MONTH, |demand| {
                take(Record::Demand(Demand {
                    part: demand.number,
                    months: vec![(demand.month, demand.quantity)],
                    mark: demand.mark.word().to_owned(),
                }))
            }),
            Table::Suppliers => store.suppliers()?.into_iter().try_for_each(|supplier| {
                take(Record::Supplier(binwright_exchange::Supplier {
                    currency: supplier.freight.currency,
                    rate: supplier.rate,
                    order_minimum: supplier.order_minimum,
                    freight: supplier.freight,
                    freight_free_from: supplier.freight_free_from,
                    lead_days: u16::try_from(supplier.lead_days).ok(),
                    address: supplier.address,
                    name: supplier.name,
                }))
            }),
            Table::Offers => store.each_offer(|offer| {
                for (from, price) in &offer.breaks {
                    take(Record::Offer(binwright_exchange::Offer {
                        supplier: offer.supplier.clone(),
                        part: offer.part.clone(),
                        number: offer.number.clone(),
                        price: *price,
                        from: *from,
                        pack: offer.pack,
                        minimum: offer.minimum,
                        lead_days: offer.lead_days.and_then(|days| u16::try_from(days).ok()),
                    }))?;
                }
                Ok(())
            }),
        }
    }
}

/// Input that counts what was read of it.
struct Counted<'a, R> {
    inner: R,
    read: &'a AtomicU64,
}

impl<R: Read> Read for Counted<'_, R> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let bytes = self.inner.read(into)?;
        self.read.fetch_add(bytes as u64, Ordering::Relaxed);
        Ok(bytes)
    }
}

fn reading(options: &ImportOptions) -> Result<Options, ShopError> {
    let map = match (&options.map, options.table) {
        (Some((file, text)), _) if Path::new(file).extension().is_some_and(|e| e == "json") => {
            Some(ColumnMap::from_table_schema(file, text)?)
        }
        (Some((file, text)), _) => Some(ColumnMap::parse(file, text)?),
        (None, Some(table)) => Some(ColumnMap::builtin(table)?),
        (None, None) => None,
    };
    Ok(Options {
        map,
        encoding: options.encoding.clone(),
        separator: options.separator,
        decimal: options.decimal,
        sheet: options.sheet.clone(),
    })
}

fn begun(name: &str, reader: &Reader<'_>, options: &ImportOptions) -> Imported {
    let separator = match reader.separator().byte() {
        b'\t' => "tab".to_owned(),
        byte => char::from(byte).to_string(),
    };
    let decimal = if reader.decimal() == DecimalMark::Comma { "comma" } else { "point" };
    Imported {
        file: name.to_owned(),
        table: reader.table().word().to_owned(),
        encoding: reader.encoding().to_owned(),
        separator,
        decimal: decimal.to_owned(),
        ignored: reader.ignored().to_vec(),
        added: 0,
        changed: 0,
        unchanged: 0,
        rejected: 0,
        rejects: Vec::new(),
        warnings: Vec::new(),
        rejects_file: None,
        dry_run: options.dry_run,
    }
}

fn put(
    writer: &mut Writer<'_>,
    record: &Record,
    who: &str,
    at: Timestamp,
    today: Date,
) -> Result<Put, StoreError> {
    match record {
        Record::Part(part) => writer.put_part(part).map(|(_, put)| put),
        Record::Cross(cross) => writer.put_cross(cross),
        Record::Unit(unit) => writer.put_unit(unit),
        Record::BillLine(line) => writer.put_bill_line(line),
        Record::Bin(bin) => writer.put_bin(&Bin {
            name: bin.bin.clone(),
            aisle: bin.aisle.clone(),
            description: bin.description.clone(),
            holds_most: bin.holds_most,
            branch: bin.branch.clone(),
        }),
        Record::Stock(stock) => writer.put_opening(&Movement {
            part: stock.part.clone(),
            bin: stock.bin.clone(),
            condition: stock.condition,
            quantity: stock.quantity,
            unit_cost: None,
            reason: Reason::Opening,
            reference: String::new(),
            note: String::new(),
            who: who.to_owned(),
            at,
            day: today,
        }),
        Record::Price(price) => {
            writer.put_price(&price.part, &price.user, &price.list, price.price)
        }
        Record::Demand(demand) => put_demand(writer, demand),
        Record::Supplier(supplier) => writer.put_supplier(&Supplier {
            name: supplier.name.clone(),
            address: supplier.address.clone(),
            rate: supplier.rate,
            order_minimum: supplier.order_minimum,
            freight: supplier.freight,
            freight_free_from: supplier.freight_free_from,
            lead_days: supplier.lead_days.unwrap_or_default().into(),
        }),
        Record::Offer(offer) => writer.put_offer(&Offer {
            supplier: offer.supplier.clone(),
            part: offer.part.clone(),
            number: offer.number.clone(),
            pack: offer.pack,
            minimum: offer.minimum,
            lead_days: offer.lead_days.map(u32::from),
            breaks: vec![(offer.from, offer.price)],
        }),
    }
}

/// Puts every month of a row; the row counts as new when any of its months is.
fn put_demand(writer: &mut Writer<'_>, demand: &Demand) -> Result<Put, StoreError> {
    let mark: DemandMark = demand.mark.parse()?;
    let mut most = Put::Unchanged;
    for (month, quantity) in &demand.months {
        let (number, month) = (demand.part.clone(), month.clone());
        let put = writer.put_demand(&MonthDemand { number, month, mark, quantity: *quantity })?;
        most = match (most, put) {
            (Put::Added, _) | (_, Put::Added) => Put::Added,
            (Put::Changed, _) | (_, Put::Changed) => Put::Changed,
            _ => Put::Unchanged,
        };
    }
    Ok(most)
}

/// Whether the row is at fault, not the store: the row is rejected and the import goes on. Such
/// an error comes before anything of the row was written.
fn is_of_the_row(error: &StoreError) -> bool {
    matches!(
        error,
        StoreError::NoSuchPart { .. }
            | StoreError::ManyParts { .. }
            | StoreError::NoSuchUnit { .. }
            | StoreError::NoSuchBin { .. }
            | StoreError::NoSuchBranch { .. }
            | StoreError::BinIsUsed { .. }
            | StoreError::NoSuchSupplier { .. }
            | StoreError::Terms { .. }
            | StoreError::EmptyNumber { .. }
            | StoreError::CrossToItself { .. }
            | StoreError::CrossLoop { .. }
            | StoreError::NotFinite { .. }
            | StoreError::Short { .. }
            | StoreError::TooLarge
    )
}

/// The number or bin that the store did not know; empty when it is the row as a whole.
fn offending(error: &StoreError) -> &str {
    match error {
        StoreError::NoSuchPart { number }
        | StoreError::ManyParts { number, .. }
        | StoreError::NoSuchUnit { number }
        | StoreError::EmptyNumber { number }
        | StoreError::CrossToItself { number } => number,
        StoreError::NoSuchBin { bin } | StoreError::BinIsUsed { bin } => bin,
        StoreError::NoSuchBranch { name } => name,
        _ => "",
    }
}

fn count(done: &mut Imported, put: Put, row: &Row) {
    match put {
        Put::Added => done.added += 1,
        Put::Changed => done.changed += 1,
        Put::Unchanged => done.unchanged += 1,
    }
    for Warning { column, value, reason } in &row.warnings {
        if done.warnings.len() < NAMED {
            done.warnings.push(format!("{}, column `{column}`, `{value}`: {reason}", row.place));
        }
    }
}

/// Whether the name says it is a workbook.
pub(crate) fn is_workbook(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("xlsx"))
}

/// Refuses to write over what is there, unless `force`.
///
/// # Errors
///
/// [`ShopError::IsThere`].
pub fn refuse_there(path: &Path, force: bool) -> Result<(), ShopError> {
    if path.exists() && !force {
        return Err(ShopError::IsThere { path: path.to_owned() });
    }
    Ok(())
}

/// Writes `bytes` to the file `path`, whole or not at all.
///
/// # Errors
///
/// [`ShopError::Unwritable`].
pub fn write_bytes(path: &Path, bytes: &[u8]) -> Result<(), ShopError> {
    write_file(path, |out| out.write_all(bytes).map_err(|source| unwritable(path, source)))
}

/// Lets `write` fill the file `path`, whole or not at all.
pub(crate) fn write_file<T>(
    path: &Path,
    write: impl FnOnce(&mut BufWriter<File>) -> Result<T, ShopError>,
) -> Result<T, ShopError> {
    let failed = |source| unwritable(path, source);
    write_whole(path, failed, |unborn| {
        let mut out = BufWriter::new(File::create(unborn).map_err(failed)?);
        let written = write(&mut out)?;
        out.flush().map_err(failed)?;
        Ok(written)
    })
}

/// `header` and `rows` as CSV.
pub(crate) fn csv_text<const N: usize>(
    header: [&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> Result<String, ShopError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(header)?;
    for row in rows {
        out.write_record(row)?;
    }
    let bytes = out.into_inner().map_err(|error| csv::Error::from(error.into_error()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn unwritable(path: &Path, source: io::Error) -> ShopError {
    ShopError::Unwritable { path: path.to_owned(), source }
}

/// The rejects file, made when the first row is rejected.
struct Rejects<'a> {
    path: Option<&'a Path>,
    file: Option<RejectsFile<BufWriter<File>>>,
}

impl<'a> Rejects<'a> {
    fn new(path: Option<&'a Path>) -> Self {
        Self { path, file: None }
    }

    fn add(
        &mut self,
        done: &mut Imported,
        reader: &Reader<'_>,
        reject: &Reject,
    ) -> Result<(), ShopError> {
        done.rejected += 1;
        if done.rejects.len() < NAMED {
            done.rejects.push(RejectedRow {
                row: reject.place.row,
                line: reject.place.line,
                column: reject.column.clone(),
                value: reject.value.clone(),
                reason: reject.reason.clone(),
                would_be_right: reject.would_be_right.clone(),
            });
        }
        let Some(path) = self.path else { return Ok(()) };
        if self.file.is_none() {
            let out = File::create(path).map_err(|source| unwritable(path, source))?;
            self.file = Some(RejectsFile::new(BufWriter::new(out), reader)?);
        }
        if let Some(file) = &mut self.file {
            file.write(reject)?;
        }
        Ok(())
    }

    fn finish(self) -> Result<Option<String>, ShopError> {
        let (Some(path), Some(file)) = (self.path, self.file) else { return Ok(None) };
        let out =
            file.finish()?.into_inner().map_err(|error| unwritable(path, error.into_error()))?;
        out.sync_all().map_err(|source| unwritable(path, source))?;
        Ok(Some(path.display().to_string()))
    }
}
