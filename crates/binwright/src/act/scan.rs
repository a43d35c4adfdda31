//! What does a scanner type? The code of a bin, then of every piece in it; `=12` after a piece says
//! how many there are in all.

use std::io::BufRead;

use binwright_catalog::Quantity;
use binwright_shop::{Shop, ShopError};

use super::Failure;
use super::stock::quantity;

/// Pieces that were scanned in one bin.
#[derive(Debug)]
pub struct Pieces<T> {
    /// What they are.
    pub what: T,
    /// The bin.
    pub bin: String,
    /// How many.
    pub quantity: Quantity,
}

/// Reads `lines` to their end. A code that is a bin's begins that bin, of every other `known` says
/// what it stands for; what it does not know is `astray`.
pub fn read<T: PartialEq>(
    lines: impl BufRead,
    shop: &Shop,
    astray: &str,
    mut known: impl FnMut(&str) -> Result<Option<T>, ShopError>,
) -> Result<Vec<Pieces<T>>, Failure> {
    let mut all: Vec<Pieces<T>> = Vec::new();
    let mut bin: Option<String> = None;
    for line in lines.lines() {
        let line = line?;
        let code = line.trim();
        let failed = |hint: &str| Failure::Option {
            found: code.to_owned(),
            wanted: "scan",
            hint: hint.to_owned(),
        };
        if code.is_empty() {
            continue;
        }
        if let Some(amount) = code.strip_prefix('=') {
            let last = all.last_mut().ok_or_else(|| failed("Scan a piece first."))?;
            last.quantity = quantity(amount)?;
            continue;
        }
        if shop.is_bin(code)? {
            bin = Some(code.to_owned());
            continue;
        }
        let what = known(code)?.ok_or_else(|| failed(astray))?;
        let bin = bin.clone().ok_or_else(|| failed("Scan the bin first."))?;
        let seen = all.iter().position(|seen| seen.what == what && seen.bin == bin);
        // The piece in hand goes last: `=` is said of it.
        let mut pieces =
            seen.map_or(Pieces { what, bin, quantity: Quantity::ZERO }, |seen| all.remove(seen));
        pieces.quantity = pieces.quantity.saturating_add(Quantity::ONE);
        all.push(pieces);
    }
    Ok(all)
}
