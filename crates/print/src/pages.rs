//! A finished document: how is it written as PDF and as SVG?

use jiff::civil::Date;

use crate::{PrintError, canvas::Sheet, pdf, svg};

/// The sheets of one document. The same input and day give the same bytes.
#[derive(Debug, Clone)]
pub struct Pages {
    pub(crate) title: String,
    pub(crate) day: Date,
    pub(crate) sheets: Vec<Sheet>,
}

impl Pages {
    /// How many sheets there are.
    pub fn count(&self) -> usize {
        self.sheets.len()
    }

    /// Returns the document as PDF/UA-1 and PDF/A-2a: tagged, with the letters it uses inside, told to be printed
    /// unscaled.
    ///
    /// # Errors
    ///
    /// [`PrintError::Refused`] when a picture in it cannot be decoded.
    pub fn pdf(&self) -> Result<Vec<u8>, PrintError> {
        pdf::write(self)
    }

    /// Returns each sheet as an SVG 1.1 drawing whose size is in mm. Letters are not embedded; their
    /// widths are stated, so that another face keeps the places.
    pub fn svg(&self) -> Vec<String> {
        self.sheets.iter().map(|sheet| svg::write(sheet, &self.title)).collect()
    }
}
