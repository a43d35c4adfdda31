//! In which encoding, with which separator and which decimal mark is this file written?

use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};

use crate::Separator;
use crate::rows::Rows;

/// How much of a file is looked at.
pub(crate) const HEAD_BYTES: usize = 64 * 1024;
/// How many rows are weighed.
const ROWS_WEIGHED: usize = 200;

/// What numbers say of their decimal mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Marks {
    /// None has a mark.
    None,
    /// `12.5` was seen, or `1,234.50`.
    Point,
    /// `12,5` was seen, or `1.234,50`.
    Comma,
    /// `1.234` or `1,234` was seen, and nothing that tells a decimal from a thousand.
    Unclear,
    /// Both `12.5` and `12,5` were seen.
    Both,
}

impl Marks {
    /// What `text` says; text that is no number says nothing.
    pub fn of(text: &str) -> Self {
        let text = text.trim().trim_start_matches(['-', '+']);
        let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
        let number = &text[..end.unwrap_or(text.len())];
        let parts: Vec<&str> = number.split(['.', ',']).collect();
        let mark = |last: bool| {
            let comma = number.rfind(',') > number.rfind('.');
            if comma == last { Self::Comma } else { Self::Point }
        };
        let both = number.contains(',') && number.contains('.');
        match parts[..] {
            [_] => Self::None,
            // A thousand has one to three digits before and three after; no number begins with 0.
            [whole, part] if part.len() == 3 && whole.len() <= 3 && !whole.starts_with('0') => {
                if whole.is_empty() {
                    mark(true)
                } else {
                    Self::Unclear
                }
            }
            [_, _] => mark(true),
            _ if both => mark(true),
            _ => mark(false),
        }
    }

    /// What two numbers say together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::None, mark) | (mark, Self::None) => mark,
            (a, b) if a == b => a,
            (Self::Unclear, mark) | (mark, Self::Unclear) => mark,
            _ => Self::Both,
        }
    }
}

/// The encoding a file seems to be in.
pub(crate) struct Guess {
    pub encoding: &'static Encoding,
    /// Bytes of the byte order mark.
    pub mark_bytes: usize,
    /// Where it is not UTF-8, when it is a guess.
    pub not_utf8_at: Option<usize>,
}

impl Guess {
    /// The text of `head` for a look; the last character may be cut.
    pub fn decode(&self, head: &[u8]) -> String {
        let bytes = &head[self.mark_bytes..];
        self.encoding.decode_without_bom_handling(bytes).0.into_owned()
    }
}

pub(crate) fn guess_encoding(head: &[u8]) -> Guess {
    if let Some((encoding, mark_bytes)) = Encoding::for_bom(head) {
        return Guess { encoding, mark_bytes, not_utf8_at: None };
    }
    let cut = head.len() >= HEAD_BYTES;
    let wrong = std::str::from_utf8(head).err();
    let wrong = wrong.filter(|error| error.error_len().is_some() || !cut);
    let zeros = |from: usize| head.iter().skip(from).step_by(2).filter(|b| **b == 0).count();
    // Latin text in UTF-16 has a zero in every second byte; no other text has.
    let wide = [(UTF_16LE, zeros(1)), (UTF_16BE, zeros(0))]
        .into_iter()
        .find(|(_, zeros)| head.len() >= 4 && zeros * 4 > head.len());
    let not_utf8_at = match (&wrong, wide) {
        (Some(error), _) => Some(error.valid_up_to()),
        (None, Some(_)) => head.iter().position(|byte| *byte == 0),
        (None, None) => None,
    };
    let encoding = match (not_utf8_at, wide) {
        (None, _) => UTF_8,
        (_, Some((encoding, _))) => encoding,
        _ => {
            let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
            detector.feed(head, !cut);
            detector.guess(None, Utf8Detection::Deny)
        }
    };
    Guess { encoding, mark_bytes: 0, not_utf8_at }
}

/// The separator that cuts most rows into as many cells as the headers, then into most cells.
pub(crate) fn guess_separator(text: &str) -> Separator {
    let fit = |separator: &Separator| {
        let rows = sample(text, *separator, true);
        let width = rows.first().map_or(0, Vec::len);
        let alike = rows.iter().filter(|row| row.len() == width).count();
        if width < 2 { (0, 0) } else { (alike * 100 / rows.len(), width) }
    };
    // The last of equals wins: a comma, when nothing speaks for another.
    Separator::ALL.into_iter().rev().max_by_key(fit).unwrap_or(Separator::Comma)
}

/// The first rows of `text`, the last left out when it may be cut.
pub(crate) fn sample(text: &str, separator: Separator, cut: bool) -> Vec<Vec<String>> {
    let mut rows = Rows::new(text.as_bytes(), separator.byte(), lone_cr(text), 0);
    let mut seen = Vec::new();
    while seen.len() <= ROWS_WEIGHED
        && let Ok(Some((_, cells))) = rows.next()
    {
        seen.push(cells.owned());
    }
    if cut && seen.len() > 2 && seen.len() <= ROWS_WEIGHED {
        seen.pop();
    }
    seen
}

/// Whether lines end with `\r` alone.
pub(crate) fn lone_cr(text: &str) -> bool {
    text.contains('\r') && !text.contains('\n')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_separator_is_told_from_the_rows() {
        for (text, separator) in [
            ("Nr;Text, lang;Preis\nA1;\"x; y\";12,50\nA2;z;1.234,00\n", Separator::Semicolon),
            ("a\tb\n1\t2\n", Separator::Tab),
            ("a|b\n1|2\n", Separator::Bar),
            ("bin\nA1\n", Separator::Comma),
            ("", Separator::Comma),
        ] {
            assert_eq!(guess_separator(text), separator, "{text}");
        }
    }

    #[test]
    fn what_could_be_a_thousand_is_unclear() {
        let rows = [
            ("12", Marks::None),
            ("12.5", Marks::Point),
            ("12,5 mm", Marks::Comma),
            ("1.234", Marks::Unclear),
            ("1,234", Marks::Unclear),
            ("0.250", Marks::Point),
            (".250", Marks::Point),
            ("1234.567", Marks::Point),
            ("1,234.50", Marks::Point),
            ("1.234.567", Marks::Comma),
            ("-1.234,5", Marks::Comma),
            ("7/16", Marks::None),
            ("M8", Marks::None),
        ];
        for (text, marks) in rows {
            assert_eq!(Marks::of(text), marks, "{text}");
        }
        assert_eq!(Marks::Unclear.and(Marks::Point), Marks::Point);
        assert_eq!(Marks::Comma.and(Marks::Point), Marks::Both);
    }

    #[test]
    fn encodings_are_certain_by_mark_or_utf_8_only() {
        assert_eq!(guess_encoding(b"\xEF\xBB\xBFa").mark_bytes, 3);
        let wide: Vec<u8> = "number;kind".encode_utf16().flat_map(u16::to_le_bytes).collect();
        let guess = guess_encoding(&wide);
        assert_eq!((guess.encoding, guess.not_utf8_at), (UTF_16LE, Some(1)));
        let page = guess_encoding("Stück;Größe\n".replace('ü', "u").as_bytes());
        assert_eq!((page.encoding, page.not_utf8_at), (UTF_8, None));
        let page = guess_encoding(b"Nr;Gr\xF6\xDFe;L\xE4ufer f\xFCr Anlasser\n");
        assert_eq!((page.encoding.name(), page.not_utf8_at), ("windows-1252", Some(5)));
    }
}
