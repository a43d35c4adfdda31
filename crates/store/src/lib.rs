//! Where is the shop kept? One folder, one SQLite store: catalogue, ledger, holds, change log.
//!
//! Everything that writes goes through [`Store::write`]: one transaction, queued behind other
//! programs on a file lock, kept whole or not at all. No type of the engine is seen outside.

mod backup;
mod catalogue;
mod check;
mod demand;
mod error;
mod history;
mod holds;
mod kits;
mod ledger;
mod open;
mod post;
mod put;
mod relations;
mod stock;
mod units;
mod worth;
mod write;

/// The text of a query in `schema/store/queries`.
macro_rules! sql {
    ($name:literal) => {
        include_str!(concat!("../../../schema/store/queries/", $name, ".sql"))
    };
}
pub(crate) use sql;

pub use catalogue::{Change, Price, StoredPart};
pub use check::Trouble;
pub use demand::{DemandMark, MonthDemand};
pub use error::StoreError;
pub use history::{History, Moved};
pub use holds::{Hold, OpenHold};
pub use ledger::{Movement, Reason};
pub use open::{Identity, Store};
pub use put::Put;
pub use relations::CrossLine;
pub use stock::{StockLine, StockRow};
pub use units::{BillRow, Bin};
pub use worth::ValueLine;
pub use write::{Keep, Writer};
