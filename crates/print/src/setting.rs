//! On what paper, for which printer, on which day, in whose name?

use jiff::civil::Date;

use crate::{Letterhead, Paper, PrinterScale};

/// What every document needs beside its own content.
#[derive(Debug, Clone)]
pub struct Setting {
    /// The paper in the printer.
    pub paper: Paper,
    /// The printer's correction.
    pub scale: PrinterScale,
    /// The day the document carries.
    pub day: Date,
    /// In whose name it goes out.
    pub shop: Letterhead,
}

impl Setting {
    /// Returns a setting for `paper` on `day`, with a printer that needs no correction
    /// and no letterhead.
    pub fn new(paper: Paper, day: Date) -> Self {
        Self { paper, scale: PrinterScale::default(), day, shop: Letterhead::default() }
    }
}
