//! Which known word did a mistyped one mean?

/// Returns the one of `known` that is most like `word`, when any is like it at all: Jaro–Winkler
/// similarity above 0.75, case apart; of equals the first.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    let mut best = None;
    let mut likeness = 0.75;
    for known in known {
        let like = strsim::jaro_winkler(&word, &known.to_lowercase());
        if like > likeness {
            (best, likeness) = (Some(known), like);
        }
    }
    best
}

/// Returns the word that a TOML reader's `message` says is unknown, and the one it expected that is
/// most like it: such a message has them in back-quotes, the unknown one first.
pub fn meant(message: &str) -> Option<(&str, &str)> {
    let mut quoted = message.strip_prefix("unknown")?.split('`').skip(1).step_by(2);
    let found = quoted.next()?;
    Some((found, nearest(found, quoted)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_is_understood_and_a_stranger_is_not() {
        let known = ["outline_od", "mount_pitch", "phase_lugs"];
        assert_eq!(nearest("outlin_od", known), Some("outline_od"));
        assert_eq!(nearest("Phase_Lug", known), Some("phase_lugs"));
        assert_eq!(nearest("weight", known), None);
    }
}
