//! Is that article number typed right? Check digits of GS1 identification keys.
//!
//! Source: GS1 General Specifications, weights 3 and 1 from the right-most body digit.

/// Returns the check digit for `body`, the key without it; `None` unless it is all digits.
///
/// ```
/// # use binwright_catalog::standard::gs1::check_digit;
/// assert_eq!(check_digit("629104150021"), Some(3));
/// ```
pub fn check_digit(body: &str) -> Option<u8> {
    let digits = body.bytes().rev().map(|b| b.is_ascii_digit().then(|| u32::from(b - b'0')));
    let weighed =
        digits.enumerate().map(|(at, digit)| Some(digit? * if at % 2 == 0 { 3 } else { 1 }));
    let sum = weighed.sum::<Option<u32>>().filter(|_| !body.is_empty())?;
    Some(((10 - sum % 10) % 10) as u8)
}

/// Whether the last digit of `key` is the check digit of the rest.
pub fn is_valid(key: &str) -> bool {
    let Some((at, last)) = key.char_indices().next_back() else { return false };
    check_digit(&key[..at]).is_some_and(|digit| last.to_digit(10) == Some(u32::from(digit)))
}

/// The lengths a trade item number (GTIN) has, check digit included.
pub const GTIN_LENGTHS: [usize; 4] = [8, 12, 13, 14];

/// Returns whether `text` is right as a trade item number, in a sentence; `None` when it has not
/// the shape of one. A wrong digit need not be an error: many part numbers have that length.
pub(super) fn describe(text: &str) -> Option<String> {
    let shaped = GTIN_LENGTHS.contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    let digit = check_digit(text.get(..text.len().checked_sub(1)?)?).filter(|_| shaped)?;
    let length = text.len();
    Some(if is_valid(text) {
        format!("{text}: a GTIN-{length} by its check digit")
    } else {
        format!("{text}: no GTIN-{length}, whose last digit would be {digit}")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// GS1's own worked example, public unit tests and computed rows, see `tests/reference`.
    #[test]
    fn check_digits_are_those_published() {
        let path =
            concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/gs1_check_digits.csv");
        let mut seen = [0, 0];
        for row in csv::Reader::from_path(path).unwrap().into_records() {
            let row = row.unwrap();
            let valid = &row[4] == "1";
            assert_eq!(check_digit(&row[1]), row[2].parse().ok(), "{row:?}");
            assert_eq!(is_valid(&row[3]), valid, "{row:?}");
            seen[usize::from(valid)] += 1;
        }
        assert!(seen[0] >= 5 && seen[1] >= 30, "{seen:?}");
    }

    #[test]
    fn what_is_no_key_is_no_key() {
        for text in ["", "A", "12a4", "١٢٣٤٥٦٧٨", "é"] {
            assert!(!is_valid(text) && describe(text).is_none(), "{text}");
        }
        let said = describe("96385273").expect("the shape of a GTIN-8");
        assert!(said.contains("would be 2"), "9638527 takes 2 by the published rows: {said}");
    }
}
