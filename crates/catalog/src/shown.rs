//! How is what comes from outside, or is only likely, shown without harm or false certainty?

use std::borrow::Cow;

/// Whether `c` acts instead of being seen: C0 controls, DEL, C1 controls, controls of writing
/// direction, and characters of no width. Sources: ECMA-48 (C0, C1), UAX 9 (direction); the
/// characters of no width are from memory of the Unicode general category `Cf`.
pub fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{00AD}' | '\u{061C}' | '\u{180E}' | '\u{200B}'..='\u{200F}'
            | '\u{2028}'..='\u{202E}' | '\u{2060}'..='\u{2069}' | '\u{FEFF}')
}

/// Returns `text` as one line in which every hidden character is a visible mark: a control picture
/// (`␛`) for C0 and DEL, `<U+202E>` for the others. What is stored stays as it is.
///
/// ```
/// # use binwright_catalog::shown::shown;
/// assert_eq!(shown("brush \u{1b}[31mset"), "brush ␛[31mset");
/// ```
pub fn shown(text: &str) -> Cow<'_, str> {
    if !text.contains(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut line = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '\0'..='\x1f' => line.extend(char::from_u32(0x2400 + u32::from(c))),
            '\x7f' => line.push('\u{2421}'),
            c if is_hidden(c) => line.extend(format!("<U+{:04X}>", u32::from(c)).chars()),
            c => line.push(c),
        }
    }
    Cow::Owned(line)
}

/// Returns a probability for reading: never 0 % or 100 % unless it is.
pub fn percent(probability: f64) -> String {
    match probability * 100.0 {
        p if p > 99.9 && p < 100.0 => ">99.9 %".to_owned(),
        p if p < 0.1 && p > 0.0 => "<0.1 %".to_owned(),
        p => format!("{p:.1} %"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn near_certainty_is_not_shown_as_certainty() {
        let rows = [(0.0, "0.0 %"), (0.0004, "<0.1 %"), (0.5, "50.0 %"), (0.9996, ">99.9 %")];
        for (probability, shown) in rows {
            assert_eq!(percent(probability), shown);
        }
    }

    /// CWE-150: escape, control and direction characters from outside reach no terminal.
    #[test]
    fn escapes_and_turned_text_become_marks() {
        assert_eq!(shown("\u{1b}]0;owned\u{7}"), "␛]0;owned␇");
        assert_eq!(shown("\u{9b}2J"), "<U+009B>2J");
        assert_eq!(shown("AB\u{202e}12\u{200b}"), "AB<U+202E>12<U+200B>");
        assert_eq!(shown("two\r\nlines\t\u{7f}"), "two␍␊lines␉␡");
        assert!(matches!(shown("Läufer 4 7/16″"), Cow::Borrowed(_)));
    }

    proptest! {
        #[test]
        fn nothing_hidden_is_left(text in any::<String>()) {
            prop_assert!(!shown(&text).contains(is_hidden));
        }
    }
}
