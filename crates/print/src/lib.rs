//! How does it come out on paper, at true scale?
//!
//! Every document is a pure function of its input and a day: plain values in, [`Pages`] out. Start at
//! [`outline()`].

mod canvas;
mod error;
mod face;
mod flow;
mod outline;
mod pages;
mod paper;
mod pdf;
mod setting;
mod svg;
mod unscaled;

pub use error::PrintError;
pub use outline::{Contour, Piece, outline};
pub use pages::Pages;
pub use paper::{Paper, PrinterScale};
pub use setting::Setting;
