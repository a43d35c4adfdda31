//! What is a part? The words of the trade as plain values: kinds and their measures, layouts,
//! numbers, crosses, units and bills, money and quantities.
//!
//! Pure: nothing here reads a file, asks the clock or knows a store. Lengths are millimetres.

pub mod condition;
pub mod cross;
pub mod kind;
pub mod layout;
pub mod length;
pub mod money;
pub mod number;
pub mod part;
pub mod quantity;
pub mod shown;
pub mod standard;
pub mod suggest;
pub mod unit;
pub mod value;

pub use condition::Condition;
pub use cross::{Cross, CrossKind};
pub use kind::{Domain, Kind, Kinds, Measure, Wear};
pub use layout::{Layout, Point, Role, Size};
pub use length::{DecimalMark, LengthUnit, parse_length_mm};
pub use money::{Currency, Money};
pub use part::{Part, PartNumber};
pub use quantity::{IssueUnit, Quantity};
pub use unit::{BillLine, Machine, Unit};
pub use value::Value;
