//! What do the headers, units and words of a file mean? Column maps, read from TOML.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::fmt;

use binwright_catalog::{
    DecimalMark, LengthUnit,
    suggest::{meant, nearest},
};
use encoding_rs::Encoding;
use serde::{Deserialize, Deserializer, de};
use toml::Spanned;

use crate::Table;
use crate::error::ExchangeError;

/// The field of parts that several columns may go to.
pub(crate) const OTHER_NUMBERS: &str = "other_numbers";

/// What stands between the fields of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Separator {
    /// `,`
    #[serde(rename = ",")]
    Comma,
    /// `;`
    #[serde(rename = ";")]
    Semicolon,
    /// A tab.
    #[serde(rename = "tab", alias = "\t")]
    Tab,
    /// `|`
    #[serde(rename = "|")]
    Bar,
}

impl Separator {
    /// All separators.
    pub const ALL: [Self; 4] = [Self::Comma, Self::Semicolon, Self::Tab, Self::Bar];

    /// The character.
    pub fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
            Self::Bar => b'|',
        }
    }

    /// The separator that `text` names (the character itself, or `tab`).
    pub fn named(text: &str) -> Option<Self> {
        match text {
            "," => Some(Self::Comma),
            ";" => Some(Self::Semicolon),
            "tab" | "\t" => Some(Self::Tab),
            "|" => Some(Self::Bar),
            _ => None,
        }
    }
}

/// What becomes of headers the map does not name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Others {
    /// They are left, and told by [`crate::Reader::ignored`].
    #[default]
    Ignore,
    /// They are an error.
    Refuse,
    /// They are keys or short words of measures; an error when they are not.
    Measures,
}

/// What the headers, units and words of a file mean. An option of the user is a field set anew.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnMap {
    /// What its rows are.
    pub table: Table,
    /// Who uses its numbers; empty for the house.
    pub user: String,
    /// Between fields; sniffed when absent.
    pub separator: Option<Separator>,
    /// WHATWG label of the encoding; UTF-8 or asked for when absent.
    pub encoding: Option<String>,
    /// Before decimals; asked for when absent and not certain.
    pub decimal: Option<DecimalMark>,
    /// Between thousands in amounts and quantities.
    pub thousands: Option<char>,
    /// Of lengths whose column names none.
    pub unit: LengthUnit,
    /// Line or row the headers stand in, from 1.
    pub header_row: usize,
    /// Sheet of a workbook; the first when absent.
    pub sheet: Option<String>,
    /// What becomes of other headers.
    pub others: Others,
    pub(crate) columns: Vec<Column>,
    pub(crate) constants: BTreeMap<String, String>,
    /// By our column, then by their word in lower case.
    pub(crate) words: BTreeMap<String, HashMap<String, String>>,
}

/// One column of theirs and what it is to us.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Column {
    pub theirs: String,
    pub to: String,
    pub unit: Option<LengthUnit>,
    pub user: Option<String>,
    pub optional: bool,
}

impl ColumnMap {
    /// Returns the map of our own headers of `table`.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Map`] never in a released program: the files are checked by test.
    pub fn builtin(table: Table) -> Result<Self, ExchangeError> {
        macro_rules! ours {
            ($name:literal) => {
                Self::parse($name, include_str!(concat!("../../../schema/columns/", $name)))
            };
        }
        match table {
            Table::Parts => ours!("parts.toml"),
            Table::Crosses => ours!("crosses.toml"),
            Table::Units => ours!("units.toml"),
            Table::Bills => ours!("bills.toml"),
            Table::Bins => ours!("bins.toml"),
            Table::Stock => ours!("stock.toml"),
            Table::Prices => ours!("prices.toml"),
            Table::Demand => ours!("demand.toml"),
            Table::Suppliers => ours!("suppliers.toml"),
            Table::Offers => ours!("offers.toml"),
        }
    }

    /// Returns the map that the TOML `text` of `file` declares; the crate's first page has the
    /// format.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Map`] names the file, the line, the key and what would be right.
    pub fn parse(file: &str, text: &str) -> Result<Self, ExchangeError> {
        let source = Source { file, text };
        let read: File = toml::from_str(text).map_err(|error| source.toml(&error))?;
        source.check(&read)?;
        let lower = |words: BTreeMap<String, String>| {
            words.into_iter().map(|(theirs, ours)| (theirs.trim().to_lowercase(), ours)).collect()
        };
        Ok(Self {
            table: *read.table.as_ref(),
            user: read.user,
            separator: read.separator,
            encoding: read.encoding.map(Spanned::into_inner),
            decimal: read.decimal.map(Decimal::mark),
            thousands: read.thousands.map(Mark::char),
            unit: read.unit.unwrap_or(Length::Mm).unit(),
            header_row: read.header_row.map_or(1, Spanned::into_inner),
            sheet: read.sheet,
            others: read.others.map(Spanned::into_inner).unwrap_or_default(),
            columns: read
                .columns
                .into_iter()
                .map(|(theirs, entry)| entry.into_inner().column(theirs))
                .collect(),
            constants: read.constants.into_iter().map(|(k, v)| (k, v.into_inner())).collect(),
            words: read.words.into_iter().map(|(k, v)| (k, lower(v.into_inner()))).collect(),
        })
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    table: Spanned<Table>,
    #[serde(default)]
    user: String,
    separator: Option<Separator>,
    encoding: Option<Spanned<String>>,
    decimal: Option<Decimal>,
    thousands: Option<Mark>,
    unit: Option<Length>,
    header_row: Option<Spanned<usize>>,
    sheet: Option<String>,
    others: Option<Spanned<Others>>,
    columns: BTreeMap<String, Spanned<Entry>>,
    #[serde(default)]
    constants: BTreeMap<String, Spanned<String>>,
    #[serde(default)]
    words: BTreeMap<String, Spanned<BTreeMap<String, String>>>,
}

/// What may stand before decimals.
#[derive(Deserialize, Clone, Copy)]
enum Decimal {
    #[serde(rename = ".")]
    Point,
    #[serde(rename = ",")]
    Comma,
}

impl Decimal {
    fn mark(self) -> DecimalMark {
        match self {
            Self::Point => DecimalMark::Point,
            Self::Comma => DecimalMark::Comma,
        }
    }
}

/// What may stand between thousands.
#[derive(Deserialize, Clone, Copy)]
enum Mark {
    #[serde(rename = ".")]
    Point,
    #[serde(rename = ",")]
    Comma,
    #[serde(rename = " ")]
    Space,
    #[serde(rename = "'")]
    Apostrophe,
}

impl Mark {
    fn char(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
            Self::Space => ' ',
            Self::Apostrophe => '\'',
        }
    }
}

#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "lowercase")]
enum Length {
    Mm,
    In,
    Mil,
}

impl Length {
    fn unit(self) -> LengthUnit {
        match self {
            Self::Mm => LengthUnit::Mm,
            Self::In => LengthUnit::Inch,
            Self::Mil => LengthUnit::Mil,
        }
    }
}

/// The right side of a column: our name alone, or a table with more to say.
#[derive(Default)]
struct Entry(Full);

#[derive(Deserialize, Default)]
#[serde(deny_unknown_fields)]
struct Full {
    to: String,
    unit: Option<Length>,
    user: Option<String>,
    #[serde(default)]
    optional: bool,
}

impl Entry {
    fn column(self, theirs: String) -> Column {
        let Full { to, unit, user, optional } = self.0;
        Column { theirs, to, unit: unit.map(Length::unit), user, optional }
    }
}

/// Written out because an untagged enum would lose which key is wrong.
impl<'de> Deserialize<'de> for Entry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Visitor;
        impl<'de> de::Visitor<'de> for Visitor {
            type Value = Entry;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("our column, or { to = \"...\" }")
            }

            fn visit_str<E: de::Error>(self, to: &str) -> Result<Entry, E> {
                Ok(Entry(Full { to: to.to_owned(), ..Full::default() }))
            }

            fn visit_map<A: de::MapAccess<'de>>(self, map: A) -> Result<Entry, A::Error> {
                Full::deserialize(de::value::MapAccessDeserializer::new(map)).map(Entry)
            }
        }
        deserializer.deserialize_any(Visitor)
    }
}

/// A map file while it is judged: knows where a mistake stands.
#[derive(Clone, Copy)]
struct Source<'a> {
    file: &'a str,
    text: &'a str,
}

impl Source<'_> {
    fn wrong(self, at: usize, message: String, nearest: Option<&str>) -> ExchangeError {
        let before = self.text.get(..at).unwrap_or(self.text);
        let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
        ExchangeError::Map {
            file: self.file.to_owned(),
            line,
            message,
            nearest: nearest.map(str::to_owned),
        }
    }

    fn toml(self, error: &toml::de::Error) -> ExchangeError {
        let message = error.message();
        let near = meant(message).map(|(_, near)| near);
        self.wrong(error.span().map_or(0, |span| span.start), message.to_owned(), near)
    }

    fn check(self, read: &File) -> Result<(), ExchangeError> {
        let table = *read.table.as_ref();
        if let Some(row) = read.header_row.as_ref().filter(|row| *row.as_ref() == 0) {
            return Err(self.wrong(row.span().start, "header_row counts from 1".to_owned(), None));
        }
        if let Some(label) = &read.encoding
            && Encoding::for_label_no_replacement(label.as_ref().as_bytes()).is_none()
        {
            let message = format!("encoding `{}` is not known", label.as_ref());
            return Err(self.wrong(label.span().start, message, None));
        }
        if let Some(others) = read
            .others
            .as_ref()
            .filter(|others| matches!(others.as_ref(), Others::Measures) && table != Table::Parts)
        {
            let message = format!("only parts have measures; this is a map of {table}");
            return Err(self.wrong(others.span().start, message, None));
        }
        let mut taken = HashSet::new();
        for (theirs, entry) in &read.columns {
            let Full { to, unit, user, .. } = &entry.as_ref().0;
            let at = entry.span().start;
            self.ours(table, at, to)?;
            let known = table.fields().iter().any(|field| field.name == to);
            if unit.is_some() && known {
                let message = format!("column `{theirs}`: `{to}` is no length and takes no unit");
                return Err(self.wrong(at, message, None));
            }
            if user.is_some() && to != OTHER_NUMBERS {
                let message = format!("column `{theirs}`: only {OTHER_NUMBERS} take a user");
                return Err(self.wrong(at, message, None));
            }
            if to != OTHER_NUMBERS && !taken.insert(to) {
                let message = format!("column `{theirs}`: another column is `{to}` already");
                return Err(self.wrong(at, message, None));
            }
        }
        for (ours, value) in &read.constants {
            self.ours(table, value.span().start, ours)?;
        }
        for (ours, words) in &read.words {
            self.ours(table, words.span().start, ours)?;
        }
        let given =
            |name: &str| taken.iter().any(|to| *to == name) || read.constants.contains_key(name);
        match table.fields().iter().find(|field| field.needed && !given(field.name)) {
            Some(field) => {
                let message = format!("{table} need `{}`, as a column or a constant", field.name);
                Err(self.wrong(read.table.span().start, message, None))
            }
            None => Ok(()),
        }
    }

    /// Whether `name` is a column of ours; of parts it may be a measure, which is judged when the
    /// kinds are at hand.
    fn ours(self, table: Table, at: usize, name: &str) -> Result<(), ExchangeError> {
        let fields = || table.fields().iter().map(|field| field.name);
        if table == Table::Parts || fields().any(|field| field == name) {
            return Ok(());
        }
        let message = format!("`{name}` is no column of {table}");
        Err(self.wrong(at, message, nearest(name, fields())))
    }
}
