//! How does it come out on paper, at true scale?
//!
//! Every document is a pure function of its input and a day: plain values in, [`Pages`] out. Start at
//! [`outline()`] and [`labels()`].

mod canvas;
mod code128;
mod error;
mod face;
mod flow;
mod label;
mod label_sheet;
mod outline;
mod pages;
mod paper;
mod pdf;
mod qr;
mod setting;
mod svg;
mod unscaled;

pub use error::PrintError;
pub use label::{Code, Label, labels};
pub use label_sheet::LabelSheet;
pub use outline::{Contour, Piece, outline};
pub use pages::Pages;
pub use paper::{Paper, PrinterScale};
pub use setting::Setting;
