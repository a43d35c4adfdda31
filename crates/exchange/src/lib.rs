//! How do a shop's files come in and go out? CSV and XLSX, column maps, rejects.
//!
//! Bytes become typed [records](Record) or [rejects](Reject), a row at a time; records become bytes.
//! Nothing here knows the store.
//!
//! # Column maps
//!
//! A map says what the headers of a stranger's file mean. It lies beside the files of a supplier
//! and is written once:
//!
//! ```toml
//! table = "parts"          # what its rows are: the tables below
//! user = "Fennel Supply"   # who uses the numbers in this file
//! separator = ";"          # `,` `;` `tab` `|`; sniffed when absent
//! encoding = "windows-1252" # any WHATWG label; a BOM wins; asked for when absent and not UTF-8
//! decimal = ","            # `.` or `,`; asked for when absent and not certain
//! thousands = "."          # optional: the mark between thousands, in amounts and quantities
//! unit = "mm"              # of lengths whose column names none: mm, in, mil
//! header_row = 3           # line (CSV) or row (XLSX) the headers stand in; 1 when absent
//! sheet = "Price list"     # XLSX; the first sheet when absent
//! others = "ignore"        # headers not named below: ignore (default), refuse, measures
//!
//! [columns]                # theirs = ours; their case and outer spaces do not matter
//! "Art. No" = "number"
//! "Group" = "kind"
//! "Text" = "description"
//! "Brand" = { to = "maker", optional = true }      # a missing header is an error unless optional
//! "O.D. (in)" = { to = "outline_od", unit = "in" } # a measure's key or short word
//! "Replaces no." = { to = "other_numbers", user = "Hallam" } # several columns may go here
//!
//! [constants]              # stands where the column is absent or the cell is blank
//! issue = "C62"
//!
//! [words.kind]             # their word = ours, for any column of ours, case does not matter
//! "RECT. PLATE" = "rectifier-plate"
//! "VOLT REG" = "regulator"
//!
//! [words.rotation]
//! "R" = "cw"
//! ```
//!
//! A price list needs `part`, `list`, `amount` and `currency`, of which `list` and `currency` are
//! usually constants. With a `user`, its `part` is that supplier's own number, not the house's.
//!
//! | table | our columns (the first ones are needed, *those* are not) |
//! |---|---|
//! | parts | number, kind, *description, maker, issue, layout, other_numbers*, *measure keys* |
//! | crosses | from, kind, to, *quantity, remark* |
//! | units | number, machine, *description, maker, volts, amps* |
//! | bills | unit, role, part, *quantity, remark* |
//! | bins | bin, *aisle, description, holds_most, branch* |
//! | stock | part, bin, condition, quantity |
//! | prices | part, list, amount, currency |
//! | demand | part, month, quantity, *mark*; or part, *mark* and a column a month headed `YYYY-MM` |
//! | suppliers | supplier, currency, *rate, order_minimum, freight, freight_free_from, lead_days, address* |
//! | offers | supplier, part, amount, currency, *number, from, pack, minimum, lead_days*; a row a price break |
//!
//! A Table Schema (JSON, as lies beside every export) may stand in a map's place: it says units,
//! decimal mark and what stands for blank, of our own headers.
//!
//! A blank cell is unknown. `other_numbers` is `user:number; user:number`; a number without a user
//! stands alone, and `\` before `:` `;` or `\` takes its meaning away.

mod cell;
mod columns;
mod decode;
mod error;
mod export;
mod judge;
mod map;
mod numbers;
mod read;
mod record;
mod rejects;
mod rows;
mod sheet;
mod sniff;
mod table;
mod table_schema;
mod workbook;

pub use cell::{CELL_BYTES_MAX, CellStyle};
pub use error::ExchangeError;
pub use export::Export;
pub use map::{ColumnMap, Others, Separator};
pub use read::{Options, Reader};
pub use record::{Bin, Demand, Offer, Place, Price, Record, Reject, Row, Stock, Supplier, Warning};
pub use rejects::RejectsFile;
pub use sheet::{Cell, Sheet};
pub use table::{Class, Field, Table, TableError};
pub use table_schema::table_schema;
