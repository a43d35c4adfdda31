//! Is this cell a key, is it text, and would a spreadsheet run it?

use std::borrow::Cow;

use binwright_catalog::number::{NUMBER_CHARS_MAX, fold};
use binwright_catalog::shown::is_hidden;

/// The longest cell, in bytes.
pub const CELL_BYTES_MAX: usize = 4096;

/// How cells that a spreadsheet would run are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellStyle {
    /// As they are, for machines.
    Exact,
    /// With a `'` before them, for people who open the file in a spreadsheet.
    Defused,
}

/// Whether a spreadsheet takes text that begins so for a formula. Source: CWE-1236 and OWASP ASVS
/// 5.0, 1.2.10 (`=` `+` `-` `@` tab, return, NUL); the full-width forms are from memory.
fn begins_formula(text: &str) -> bool {
    text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\0', '＝', '＋', '－', '＠'])
}

/// Whether `text` is a plain number, which a spreadsheet keeps as it is.
fn plain_number(text: &str) -> bool {
    let body = text.strip_prefix(['-', '+']).unwrap_or(text);
    !body.is_empty()
        && body.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','))
}

/// Returns `text` as a cell. A `'` is doubled where [`unguard`] would take it away, in either style,
/// so that reading gives back what was written.
pub(crate) fn guard(text: &str, style: CellStyle) -> Cow<'_, str> {
    let body = text.trim_start_matches('\'');
    let quoted = body.len() < text.len();
    if begins_formula(body) && (quoted || style == CellStyle::Defused && !plain_number(text)) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

/// Returns what `cell` stands for: without the `'` that keeps a spreadsheet from running it.
pub(crate) fn unguard(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(text) if begins_formula(text.trim_start_matches('\'')) => text,
        _ => cell,
    }
}

/// What is wrong with `text` as a key, if anything: what is wrong, and what would be right.
pub(crate) fn key_fault(text: &str) -> Option<(&'static str, &'static str)> {
    let plain = |byte: u8| (b' '..=b'~').contains(&byte);
    if text.len() <= NUMBER_CHARS_MAX && text.bytes().all(plain) {
        let any = text.bytes().any(|byte| byte.is_ascii_alphanumeric());
        return (!any).then_some(NOTHING_TO_MATCH);
    }
    if text.contains(is_hidden) {
        Some((
            "it holds a control or a character that cannot be seen",
            "type it anew, visible characters only",
        ))
    } else if text.chars().count() > NUMBER_CHARS_MAX {
        Some(("it is too long", "at most 64 characters"))
    } else if fold(text).is_empty() {
        Some(NOTHING_TO_MATCH)
    } else {
        None
    }
}

const NOTHING_TO_MATCH: (&str, &str) =
    ("it has no letter and no digit", "at least one letter or digit");

/// Whether `text` looks like a number that a spreadsheet wrote in its own way: `1.5E+05`.
pub(crate) fn looks_converted(text: &str) -> bool {
    let Some((mantissa, exponent)) = text.split_once(['E', 'e']) else { return false };
    let digits = exponent.strip_prefix(['+', '-']).unwrap_or(exponent);
    let all = |s: &str| !s.is_empty() && s.bytes().all(|byte| byte.is_ascii_digit());
    all(digits) && all(&mantissa.replace(['.', ','], ""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// CWE-1236: what a spreadsheet would run begins with `'` when it is written for one.
    #[test]
    fn cells_that_a_spreadsheet_would_run_are_defused() {
        for text in ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "＝1"] {
            assert_eq!(guard(text, CellStyle::Defused), format!("'{text}"));
            assert_eq!(guard(text, CellStyle::Exact), text);
        }
        for text in ["RK-1", "-5.2", "'94 model", "", "'"] {
            assert_eq!(guard(text, CellStyle::Defused), text);
        }
    }

    proptest! {
        #[test]
        fn reading_gives_back_what_was_written(text in "['=+@x5. -]{0,6}|.{0,6}") {
            for style in [CellStyle::Exact, CellStyle::Defused] {
                let guarded = guard(&text, style);
                prop_assert_eq!(unguard(&guarded), text.as_str());
            }
        }
    }

    #[test]
    fn keys_refuse_what_cannot_be_seen_or_matched() {
        for text in ["RK 4471-B", "Läufer 7", "КР-104"] {
            assert_eq!(key_fault(text), None, "{text}");
        }
        for text in ["RK\u{202e}1", "RK\u{200b}1", "RK\u{1b}[31m", "R\nK", "--", "＃"] {
            assert!(key_fault(text).is_some(), "{text:?}");
        }
        assert!(key_fault(&"7".repeat(65)).is_some() && key_fault(&"7".repeat(64)).is_none());
    }

    #[test]
    fn an_exponent_is_suspected() {
        assert!(looks_converted("1E5") && looks_converted("1.5E+05") && looks_converted("4,7E+11"));
        assert!(!looks_converted("RE5") && !looks_converted("1E5B") && !looks_converted("E5"));
    }
}
