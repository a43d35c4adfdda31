//! When are two part numbers the same number? Folding, look-alike characters, stems.

use unicode_normalization::UnicodeNormalization;

/// The longest number that is kept, in characters.
pub const NUMBER_CHARS_MAX: usize = 64;

/// Returns the folded form numbers are matched on: compatibility-normalised, look-alike letters
/// of other scripts turned into the Latin ones, upper case, letters and digits only.
///
/// Folding a folded number changes nothing.
///
/// ```
/// # use binwright_catalog::number::fold;
/// assert_eq!(fold("kr-104.771 a"), "KR104771A");
/// assert_eq!(fold("КР-104"), "KP104", "Cyrillic look-alikes");
/// ```
pub fn fold(text: &str) -> String {
    if text.is_ascii() {
        let mut folded = String::with_capacity(text.len());
        let kept = text.bytes().filter(u8::is_ascii_alphanumeric);
        folded.extend(kept.map(|byte| byte.to_ascii_uppercase() as char));
        return folded;
    }
    let once = |text: &str| -> String {
        text.nfkc()
            .flat_map(latin_look)
            .flat_map(char::to_uppercase)
            .flat_map(latin_look)
            .nfkc()
            .filter(|c| c.is_alphanumeric())
            .collect()
    };
    // Case and normalisation can each undo the other for a few letters; they settle at once.
    let mut folded = once(text);
    for _ in 0..4 {
        let again = once(&folded);
        if again == folded {
            break;
        }
        folded = again;
    }
    folded
}

/// The Latin character that `c` of another script looks like, or `c` itself. ASCII stays as it is:
/// telling 0 from O is the matching's business, not the folding's.
fn latin_look(c: char) -> impl Iterator<Item = char> {
    let skeleton: Vec<char> = if c.is_ascii() {
        vec![c]
    } else {
        let seen: Vec<char> = unicode_security::skeleton(c.encode_utf8(&mut [0; 4])).collect();
        if seen.iter().all(char::is_ascii_alphanumeric) { seen } else { vec![c] }
    };
    skeleton.into_iter()
}

/// Characters that are read for one another on a worn or badly printed label, both ways.
/// `common practice, no source`.
pub const LOOK_ALIKES: [&str; 10] =
    ["0OQD", "1IL7", "8B3", "5S", "2Z", "6G", "4A", "UV", "CG", "MN"];

/// For each ASCII character the classes of [`LOOK_ALIKES`] it is in, a bit a class.
const LOOK_CLASSES: [u16; 128] = {
    let mut classes = [0; 128];
    let mut class = 0;
    while class < LOOK_ALIKES.len() {
        let letters = LOOK_ALIKES[class].as_bytes();
        let mut at = 0;
        while at < letters.len() {
            classes[letters[at] as usize] |= 1 << class;
            at += 1;
        }
        class += 1;
    }
    classes
};

/// Whether `a` and `b` (folded) are read for one another.
pub fn look_alike(a: char, b: char) -> bool {
    let classes = |c: char| LOOK_CLASSES.get(c as usize).copied().unwrap_or(0);
    a != b && classes(a) & classes(b) != 0
}

/// Returns `folded` with every look-alike replaced by one character of its class, so that numbers
/// that could be read for one another share it. `6`, `G` and `C` fall together here although `6`
/// and `C` alone do not: it is a net, [`look_alike`] is the judge.
pub fn look_skeleton(folded: &str) -> String {
    folded
        .chars()
        .map(|c| match c {
            'O' | 'Q' | 'D' => '0',
            'I' | 'L' | '7' => '1',
            'B' | '3' => '8',
            'S' => '5',
            'Z' => '2',
            'G' | 'C' => '6',
            'A' => '4',
            'V' => 'U',
            'N' => 'M',
            other => other,
        })
        .collect()
}

/// Returns the folded number without leading zeros: a second key, never the first.
pub fn without_leading_zeros(folded: &str) -> &str {
    folded.trim_start_matches('0')
}

/// Returns the stem that siblings of a family share: the folded number without a trailing variant
/// (letters after the last digit, or the last two of at least six digits). Empty when what is
/// left is shorter than four characters and would gather strangers.
pub fn stem(folded: &str) -> &str {
    let bare = folded.trim_end_matches(|c: char| c.is_alphabetic());
    let bare = if bare.is_empty() { folded } else { bare };
    let stem = if bare.len() < folded.len() || bare.chars().filter(char::is_ascii_digit).count() < 6
    {
        bare
    } else {
        let cut = bare.char_indices().rev().nth(1).map_or(0, |(at, _)| at);
        &bare[..cut]
    };
    if stem.chars().count() < 4 { "" } else { stem }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn folding_twice_is_folding_once(text in any::<String>()) {
            let folded = fold(&text);
            prop_assert_eq!(fold(&folded), folded);
        }
    }

    #[test]
    fn numbers_differ_by_more_than_case_spaces_and_marks() {
        for text in ["RK 4471-B", "rk4471b", "Rk.4471/b", "ＲＫ４４７１Ｂ"] {
            assert_eq!(fold(text), "RK4471B", "{text}");
        }
        assert_ne!(fold("RK44710"), fold("RK4471O"), "zero and O are weighed, not folded");
    }

    #[test]
    fn what_is_read_for_another_shares_its_skeleton() {
        for class in LOOK_ALIKES {
            for a in class.chars() {
                for b in class.chars() {
                    assert_eq!(look_skeleton(&a.to_string()), look_skeleton(&b.to_string()));
                    assert_eq!(look_alike(a, b), a != b);
                }
            }
        }
        assert!(!look_alike('6', 'C'));
    }

    #[test]
    fn siblings_share_a_stem_and_strangers_do_not() {
        assert_eq!(stem("RK4471B"), "RK4471");
        assert_eq!(stem("RK4471"), stem("RK4471A"), "a bare number of up to five digits is a stem");
        assert_eq!(stem("104771"), "1047");
        assert_eq!(stem("A12"), "");
    }
}
