//! What does a row stand for, where did it stand, and what was wrong with it?

use std::fmt;
use std::sync::Arc;

use binwright_catalog::{BillLine, Condition, Cross, Currency, Money, Part, Quantity, Unit};
use rust_decimal::Decimal;

use crate::Table;

/// What one row stands for.
#[derive(Debug, Clone, PartialEq)]
pub enum Record {
    /// Of the table of parts.
    Part(Part),
    /// Of crosses.
    Cross(Cross),
    /// Of units.
    Unit(Unit),
    /// Of bills.
    BillLine(BillLine),
    /// Of bins.
    Bin(Bin),
    /// Of stock.
    Stock(Stock),
    /// Of prices.
    Price(Price),
    /// Of demand.
    Demand(Demand),
    /// Of suppliers.
    Supplier(Supplier),
    /// Of offers.
    Offer(Offer),
}

impl Record {
    /// The table it belongs to.
    pub fn table(&self) -> Table {
        match self {
            Self::Part(_) => Table::Parts,
            Self::Cross(_) => Table::Crosses,
            Self::Unit(_) => Table::Units,
            Self::BillLine(_) => Table::Bills,
            Self::Bin(_) => Table::Bins,
            Self::Stock(_) => Table::Stock,
            Self::Price(_) => Table::Prices,
            Self::Demand(_) => Table::Demand,
            Self::Supplier(_) => Table::Suppliers,
            Self::Offer(_) => Table::Offers,
        }
    }
}

/// A shelf position.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bin {
    /// Its name, unique by its folded form.
    pub bin: String,
    /// Where to walk.
    pub aisle: String,
    /// What lies there.
    pub description: String,
    /// The most it takes, all parts together.
    pub holds_most: Option<Quantity>,
    /// Its branch, where the shop has several; else the one it is of, or the first.
    pub branch: Option<String>,
}

/// What lies in a bin when the shop is opened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stock {
    /// House number of the part.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// How many, none at least.
    pub quantity: Quantity,
}

/// What a list says a part costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Price {
    /// Number of the part: the house's, or `user`'s own when there is one.
    pub part: String,
    /// Whose list.
    pub list: String,
    /// The price of one.
    pub price: Money,
    /// Who uses the number (a supplier); empty for the house.
    pub user: String,
}

/// What was wanted of one number: one month of it, or in the wide form as many as have columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Demand {
    /// The number; no part need bear it.
    pub part: String,
    /// Months as `YYYY-MM`, and how many were wanted, returns taken off.
    pub months: Vec<(String, Quantity)>,
    /// `regular`, `one-off`, `lost` or `asked`.
    pub mark: String,
}

/// Who sells, and on what terms; money is in its own currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supplier {
    /// Its name.
    pub name: String,
    /// What it prices in.
    pub currency: Currency,
    /// What one of its currency costs in the shop's.
    pub rate: Decimal,
    /// It takes no order of less.
    pub order_minimum: Money,
    /// Freight of one order.
    pub freight: Money,
    /// Goods of that much come free of freight.
    pub freight_free_from: Option<Money>,
    /// Days from order to receipt.
    pub lead_days: Option<u16>,
    /// Where orders go.
    pub address: String,
}

/// A price at which a supplier sells a part, from a quantity on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// Who sells.
    pub supplier: String,
    /// The part's number.
    pub part: String,
    /// The supplier's own number; empty when not said.
    pub number: String,
    /// The price of one.
    pub price: Money,
    /// The least quantity the price is for.
    pub from: Quantity,
    /// It is sold in multiples of this.
    pub pack: Quantity,
    /// It is not sold in less.
    pub minimum: Quantity,
    /// Days from order to receipt; the supplier's when absent.
    pub lead_days: Option<u16>,
}

/// Where a row stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The file, as it was named to the reader.
    pub file: Arc<str>,
    /// Row of the sheet; in CSV the record, counted from the headers' line, blank lines left out.
    pub row: u64,
    /// Line of the text the row begins on; in XLSX the row.
    pub line: u64,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.row == self.line {
            write!(f, "{}, row {}", self.file, self.row)
        } else {
            write!(f, "{}, row {} (line {})", self.file, self.row, self.line)
        }
    }
}

/// A row that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Where it stands.
    pub place: Place,
    /// What it stands for.
    pub record: Record,
    /// What should be looked at although it was taken.
    pub warnings: Vec<Warning>,
}

/// Something that should be looked at in a row that was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Warning {
    /// The file's header of the column.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// Why it should be looked at.
    pub reason: String,
}

/// A row that was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reject {
    /// Where it stands.
    pub place: Place,
    /// The file's header of the column; empty when it is the row as a whole.
    pub column: String,
    /// What stands there, cut after 80 characters.
    pub value: String,
    /// Why it was not taken.
    pub reason: String,
    /// What would be right.
    pub would_be_right: String,
    /// The row's cells, for the rejects file.
    pub cells: Vec<String>,
    /// Nothing after this row could be read: the import is not complete.
    pub rest_unread: bool,
}

impl fmt::Display for Reject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.place)?;
        if !self.column.is_empty() {
            write!(f, ", column `{}`", self.column)?;
        }
        write!(f, ": {}", self.reason)
    }
}
