//! How large is the sheet, and how does this printer bend a millimetre?

use std::str::FromStr;

use crate::PrintError;

/// Points of a PDF in one millimetre: 72 to the inch, ISO 32000-1, 8.3.2.3.
pub(crate) const PT_PER_MM: f64 = 72.0 / 25.4;

/// What most printers leave white along every edge, in mm. Common practice, no source.
pub(crate) const MARGIN_MM: f64 = 10.0;

/// A paper that is printed on, upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// ISO 216: 210 × 297 mm.
    #[default]
    A4,
    /// ANSI/ASME Y14.1 size A: 8.5 × 11 in.
    Letter,
}

impl Paper {
    /// Width and height in mm, upright.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }
}

impl FromStr for Paper {
    type Err = PrintError;

    fn from_str(text: &str) -> Result<Self, PrintError> {
        match text.trim().to_ascii_lowercase().as_str() {
            "a4" => Ok(Self::A4),
            "letter" => Ok(Self::Letter),
            _ => Err(PrintError::UnknownPaper { found: text.to_owned() }),
        }
    }
}

/// What everything is multiplied by so that this printer comes out at true scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrinterScale {
    across: f64,
    up: f64,
}

impl Default for PrinterScale {
    fn default() -> Self {
        Self { across: 1.0, up: 1.0 }
    }
}

impl PrinterScale {
    /// Returns the correction by `across` and `up` the sheet: length asked for by length measured.
    ///
    /// # Errors
    ///
    /// [`PrintError::BadScale`] beyond 0.95 to 1.05: content would leave the sheet.
    pub fn new(across: f64, up: f64) -> Result<Self, PrintError> {
        let right = |factor: f64| (0.95..=1.05).contains(&factor);
        if right(across) && right(up) {
            Ok(Self { across, up })
        } else {
            Err(PrintError::BadScale { found: format!("{across},{up}") })
        }
    }

    /// The factors across and up.
    pub fn factors(self) -> [f64; 2] {
        [self.across, self.up]
    }
}

impl FromStr for PrinterScale {
    type Err = PrintError;

    fn from_str(text: &str) -> Result<Self, PrintError> {
        let bad = || PrintError::BadScale { found: text.to_owned() };
        let (across, up) = text.split_once(',').ok_or_else(bad)?;
        let factor = |text: &str| text.trim().parse().map_err(|_| bad());
        Self::new(factor(across)?, factor(up)?).map_err(|_| bad())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_correction_is_read_and_one_that_leaves_the_sheet_is_refused() {
        let scale = PrinterScale::new(1.004, 0.998).unwrap();
        assert_eq!("1.004, 0.998".parse::<PrinterScale>().unwrap(), scale);
        for wrong in ["1.004", "0.94,1", "1,1.06", "a,b", "NaN,1", ""] {
            let error = wrong.parse::<PrinterScale>().unwrap_err();
            assert_eq!(error, PrintError::BadScale { found: wrong.to_owned() });
        }
    }
}
