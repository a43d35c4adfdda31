//! How does it come out on paper, at true scale?
//!
//! Every document is a pure function of its input and a day: plain values in, [`Pages`] out. Start at
//! [`outline()`] and [`labels()`].
//!
//! ```
//! use binwright_print::{Paper, Piece, Setting, outline};
//! let plate = Piece {
//!     number: "HV-2103".to_owned(),
//!     description: "six diodes, three leads".to_owned(),
//!     kind: "rectifier plate".to_owned(),
//!     layout: "hole@0,0/6.2; hole@92.1,0/6.2; stud:B+@46,31.5/M8".parse()?,
//!     contour: None,
//!     face: None,
//!     measures: vec![("outside diameter".to_owned(), "112.3 mm".to_owned())],
//!     mirror_twin: None,
//!     laid: None,
//! };
//! let pages = outline(&[plate], &Setting::new(Paper::A4, jiff::civil::date(2031, 3, 14)))?;
//! assert_eq!(pages.count(), 1);
//! assert!(pages.pdf()?.starts_with(b"%PDF-1.7"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod canvas;
mod code128;
mod error;
mod face;
mod flow;
mod label;
mod label_sheet;
mod letter;
mod order;
mod outline;
mod pages;
mod paper;
mod pdf;
mod qr;
mod quote;
mod receipt;
mod setting;
mod shelf;
mod svg;
mod ticket;
mod unscaled;

pub use error::PrintError;
pub use label::{Code, Label, labels};
pub use label_sheet::LabelSheet;
pub use letter::{Letterhead, Logo};
pub use order::{OrderLine, PurchaseOrder, order};
pub use outline::{Contour, Piece, outline};
pub use pages::Pages;
pub use paper::{Paper, PrinterScale};
pub use quote::{Choice, Quote, quote};
pub use receipt::{Core, CoreReceipt, core_receipt};
pub use setting::Setting;
pub use shelf::{CountSheet, PickList, ShelfLine, count_sheet, pick_list};
pub use ticket::{Ticket, TicketCheck, TicketFinding, ticket};
