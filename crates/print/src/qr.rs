//! Which modules stand for a text? QR code (ISO/IEC 18004), error correction level M.

use fast_qr::{ECL, QRBuilder};

use crate::PrintError;

/// White modules on every side that a reader needs: ISO/IEC 18004, 5.3.8.
pub(crate) const QUIET: u32 = 4;

/// The dark modules of one symbol, run by run: row, first column, length; and modules to a side.
pub(crate) struct Runs {
    pub(crate) runs: Vec<[u32; 3]>,
    pub(crate) side: u32,
}

/// Returns the dark runs of `text`.
///
/// # Errors
///
/// [`PrintError::CodeTooLong`] when it is more than a symbol holds.
pub(crate) fn runs(text: &str) -> Result<Runs, PrintError> {
    let code = QRBuilder::new(text)
        .ecl(ECL::M)
        .build()
        .map_err(|_| PrintError::CodeTooLong { letters: text.chars().count() })?;
    let mut runs = Vec::new();
    for row in 0..code.size {
        let dark = |column: usize| column < code.size && code[row][column].value();
        let mut column = 0;
        while column < code.size {
            let length = (column..).take_while(|at| dark(*at)).count();
            if length > 0 {
                runs.push([row as u32, column as u32, length as u32]);
            }
            column += length + 1;
        }
    }
    Ok(Runs { runs, side: code.size as u32 })
}
