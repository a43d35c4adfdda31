//! Which tables come in and go out, and what are their columns?

use std::fmt;
use std::str::FromStr;

use binwright_catalog::suggest::nearest;
use serde::Deserialize;

/// What the rows of a file are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Table {
    /// Parts with their measures.
    Parts,
    /// Relations between parts.
    Crosses,
    /// Complete machines.
    Units,
    /// Which part sits where in a unit.
    Bills,
    /// Shelf positions.
    Bins,
    /// Opening stock.
    Stock,
    /// List prices.
    Prices,
    /// What was wanted, month by month.
    Demand,
    /// Who sells, and on what terms.
    Suppliers,
    /// What a supplier sells a part for.
    Offers,
}

/// One of our own columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Field {
    /// The header.
    pub name: &'static str,
    /// How its cells are judged and written.
    pub class: Class,
    /// Whether a row cannot do without it.
    pub needed: bool,
    /// What it says, for the table's description.
    pub about: &'static str,
}

/// How the cells of a column are judged and written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// A name something is found by: no hidden characters, text even when it looks like a number.
    Key,
    /// Any text.
    Text,
    /// One of a few words.
    Word,
    /// A decimal number.
    Amount,
    /// A whole number.
    Whole,
}

const fn needed(name: &'static str, class: Class, about: &'static str) -> Field {
    Field { name, class, needed: true, about }
}

const fn optional(name: &'static str, class: Class, about: &'static str) -> Field {
    Field { name, class, needed: false, about }
}

const PARTS: &[Field] = &[
    needed("number", Class::Key, "the house number"),
    needed("kind", Class::Word, "key of the kind of part"),
    optional("description", Class::Text, "what a person would call it"),
    optional("maker", Class::Text, "who makes it"),
    optional("issue", Class::Word, "what it is counted in: C62 pieces, MTR metres, GRM grams"),
    optional("layout", Class::Text, "its points: role[:designation]@x,y[/size]; ... in mm"),
    optional("other_numbers", Class::Text, "user:number; user:number"),
];
const CROSSES: &[Field] = &[
    needed("from", Class::Key, "house number on the left"),
    needed("kind", Class::Word, "same, replaces, stands-in or contains"),
    needed("to", Class::Key, "house number on the right"),
    optional("quantity", Class::Amount, "how many of the right lie in one of the left"),
    optional("remark", Class::Text, "what must be said when it is used"),
];
const UNITS: &[Field] = &[
    needed("number", Class::Key, "the shop's number of the unit"),
    needed("machine", Class::Word, "alternator or starter"),
    optional("description", Class::Text, "what a person would call it"),
    optional("maker", Class::Text, "who makes it"),
    optional("volts", Class::Whole, "voltage class in V"),
    optional("amps", Class::Whole, "rated current in A"),
];
const BILLS: &[Field] = &[
    needed("unit", Class::Key, "the unit's number"),
    needed("role", Class::Key, "what the part does in the unit"),
    needed("part", Class::Key, "the part's house number"),
    optional("quantity", Class::Amount, "how many"),
    optional("remark", Class::Text, "what must be said of it"),
];
/// The column that stands only where the shop has several branches.
pub(crate) const BRANCH: &str = "branch";
const BINS: &[Field] = &[
    needed("bin", Class::Key, "the shelf position"),
    optional("aisle", Class::Text, "where to walk"),
    optional("description", Class::Text, "what lies there"),
    optional(
        "holds_most",
        Class::Amount,
        "the most it takes, all parts together; no limit when blank",
    ),
    optional(BRANCH, Class::Text, "its branch, where the shop has several"),
];
const STOCK: &[Field] = &[
    needed("part", Class::Key, "the part's house number"),
    needed("bin", Class::Key, "the shelf position"),
    needed("condition", Class::Word, "new, used-good or core"),
    needed("quantity", Class::Amount, "how many lie there"),
];
const PRICES: &[Field] = &[
    needed("part", Class::Key, "the part's number"),
    needed("list", Class::Key, "whose list"),
    needed("amount", Class::Amount, "the price of one"),
    needed("currency", Class::Word, "ISO 4217 code"),
];

const DEMAND: &[Field] = &[
    needed("part", Class::Key, "the part's number"),
    needed("month", Class::Word, "the month, YYYY-MM, or any day of it"),
    needed("quantity", Class::Amount, "how many were wanted, returns taken off"),
    optional(
        "mark",
        Class::Word,
        "regular, one-off, lost (asked for and not in) or asked (lost, as the counter noted)",
    ),
];

const SUPPLIERS: &[Field] = &[
    needed("supplier", Class::Key, "its name"),
    needed("currency", Class::Word, "ISO 4217 code of its prices"),
    optional("rate", Class::Amount, "what one of its currency costs in the shop's; 1 when blank"),
    optional("order_minimum", Class::Amount, "it takes no order of less, goods alone"),
    optional("freight", Class::Amount, "freight of one order"),
    optional("freight_free_from", Class::Amount, "goods of that much come free of freight"),
    optional("lead_days", Class::Whole, "days from order to receipt"),
    optional("address", Class::Text, "where orders go"),
];
const OFFERS: &[Field] = &[
    needed("supplier", Class::Key, "who sells"),
    needed("part", Class::Key, "the part's number"),
    needed("amount", Class::Amount, "the price of one, from the quantity on"),
    needed("currency", Class::Word, "ISO 4217 code"),
    optional("number", Class::Key, "the supplier's own number of it"),
    optional("from", Class::Amount, "the least quantity the price is for; 1 when blank"),
    optional("pack", Class::Amount, "it is sold in multiples of this; 1 when blank"),
    optional("minimum", Class::Amount, "it is not sold in less; the pack when blank"),
    optional("lead_days", Class::Whole, "days from order to receipt; the supplier's when blank"),
];

impl Table {
    /// All tables, in the order a shop is filled: what is named comes before what names it.
    pub const ALL: [Self; 10] = [
        Self::Parts,
        Self::Crosses,
        Self::Units,
        Self::Bills,
        Self::Bins,
        Self::Stock,
        Self::Prices,
        Self::Demand,
        Self::Suppliers,
        Self::Offers,
    ];

    /// The word in maps, file names and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Self::Parts => "parts",
            Self::Crosses => "crosses",
            Self::Units => "units",
            Self::Bills => "bills",
            Self::Bins => "bins",
            Self::Stock => "stock",
            Self::Prices => "prices",
            Self::Demand => "demand",
            Self::Suppliers => "suppliers",
            Self::Offers => "offers",
        }
    }

    /// Our own columns in their order; of parts, those before the measures.
    pub fn fields(self) -> &'static [Field] {
        match self {
            Self::Parts => PARTS,
            Self::Crosses => CROSSES,
            Self::Units => UNITS,
            Self::Bills => BILLS,
            Self::Bins => BINS,
            Self::Stock => STOCK,
            Self::Prices => PRICES,
            Self::Demand => DEMAND,
            Self::Suppliers => SUPPLIERS,
            Self::Offers => OFFERS,
        }
    }

    /// The table whose needed columns `headers` all hold, the one with most of them; `None` when
    /// there is none.
    pub fn told_by(headers: &[String]) -> Option<Self> {
        let named = |name: &str| headers.iter().any(|h| h.trim().eq_ignore_ascii_case(name));
        if named("part") && headers.iter().any(|header| month(header).is_some()) {
            return Some(Self::Demand);
        }
        let has = |field: &Field| named(field.name);
        Self::ALL
            .into_iter()
            .filter(|table| table.fields().iter().filter(|field| field.needed).all(has))
            .max_by_key(|table| table.fields().iter().filter(|field| has(field)).count())
    }
}

/// The month that `text` names, as `YYYY-MM`: written so, or as any day of it in ISO 8601.
pub(crate) fn month(text: &str) -> Option<String> {
    let text = text.trim();
    let day = match text.len() {
        7 => format!("{text}-01"),
        10 => text.to_owned(),
        _ => return None,
    };
    let date: jiff::civil::Date = day.parse().ok()?;
    // Only the extended form has its dashes where they are looked for.
    (day.as_bytes()[4] == b'-').then(|| format!("{:04}-{:02}", date.year(), date.month()))
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// The text names none of the tables.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("table `{found}` is not known")]
pub struct TableError {
    /// What was read.
    pub found: String,
    /// The table that is most like it.
    pub nearest: Option<String>,
}

impl TableError {
    /// What would be right.
    pub fn hint(&self) -> String {
        match &self.nearest {
            Some(near) => format!("Did you mean `{near}`?"),
            None => "The tables are parts, crosses, units, bills, bins, stock, prices, demand, suppliers and offers."
                .to_owned(),
        }
    }
}

impl FromStr for Table {
    type Err = TableError;

    fn from_str(text: &str) -> Result<Self, TableError> {
        let word = text.trim().to_lowercase();
        Self::ALL.into_iter().find(|table| table.word() == word).ok_or_else(|| TableError {
            found: text.to_owned(),
            nearest: nearest(&word, Self::ALL.map(Self::word)).map(str::to_owned),
        })
    }
}
