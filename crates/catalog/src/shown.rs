//! How is text from outside shown without doing anything to the terminal, the paper or the reader?

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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

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
