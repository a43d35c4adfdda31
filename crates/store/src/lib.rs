//! Where is the shop kept? In a folder with one SQLite store, or on a PostgreSQL server: catalogue,
//! ledger, holds, change log.
//!
//! Everything that writes goes through [`Store::write`]: one transaction, queued behind other
//! programs, kept whole or not at all. What is looked up of a shop on a server is read in a copy at the
//! desk (`near`). What the engines have in common is in `engine`; no type of theirs is seen outside.

mod backup;
mod branches;
mod catalogue;
mod check;
mod copy;
mod cores;
mod counts;
mod demand;
mod engine;
mod error;
mod folder;
mod follower;
mod history;
mod holds;
mod kits;
mod ledger;
mod migrations;
mod near;
mod open;
mod orders;
mod own;
mod place;
mod post;
mod put;
mod quotes;
mod receipts;
mod relations;
mod roles;
mod stock;
mod suppliers;
mod tables;
mod transfers;
mod units;
mod usage;
mod whole;
mod worth;
mod write;

/// The text of a query in `schema/store/queries`.
macro_rules! sql {
    ($name:literal) => {
        include_str!(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/../../schema/store/queries/",
            $name,
            ".sql"
        ))
    };
}
pub(crate) use sql;

pub use branches::BranchWay;
pub use catalogue::{Change, Price, StoredPart};
pub use check::Trouble;
pub use copy::{Copied, CopyStep};
pub use cores::{CoreDebt, CoreLine, Settled, Settling, Side};
pub use counts::{CountLine, CountPlace, CountSheet, Counted, NewSheet, OpenSheet};
pub use demand::{DemandMark, MonthDemand};
pub use error::StoreError;
pub use history::{History, Moved};
pub use holds::{Hold, OpenHold};
pub use ledger::{Movement, Reason};
pub use near::{Standing, on_the_clock};
pub use open::{Identity, Store};
pub use orders::{NewLine, NewOrder, Order, OrderLine, OrderState, Rest, UnderWay};
pub use place::{Place, Server};
pub use put::Put;
pub use quotes::{
    JobFilled, QuoteLine, QuoteReading, QuoteState, Revision, StoredQuote, ToOrder, out_of_bins,
};
pub use receipts::{Arrival, Arrived, LeadSeen, Receipt};
pub use relations::CrossLine;
pub use roles::{Role, RoleHeld, Whose};
pub use stock::{StockLine, StockRow};
pub use suppliers::{Offer, Supplier};
pub use transfers::{InTransit, Landing, Sending};
pub use units::{BillRow, Bin};
pub use usage::Used;
pub use whole::write_whole;
pub use worth::ValueLine;
pub use write::{Keep, Writer};
