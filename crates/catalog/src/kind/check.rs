//! Is a file of a kind right? Every mistake with its file, its line and what would be right.

use std::collections::{BTreeMap, BTreeSet};

use super::{Domain, Kind, Measure, Wear};
use crate::{shown, suggest};

/// What can be wrong with a file of kinds.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum KindError {
    #[error("{file}, line {line}: {message}")]
    Toml { file: String, line: usize, message: String },
    #[error("{file}, line {line}: kind `{kind}`, measure `{measure}`: {message}")]
    Measure { file: String, line: usize, kind: String, measure: String, message: String },
    #[error("{file}, line {line}: kind `{kind}`: {message}")]
    Kind { file: String, line: usize, kind: String, message: String },
}

/// Returns the kind that `text`, read from `file`, describes.
pub(super) fn read(file: &str, text: &str) -> Result<Kind, KindError> {
    let kind: Kind = toml::from_str(text).map_err(|error| KindError::Toml {
        file: file.to_owned(),
        line: error.span().map_or(1, |span| line_at(text, span.start)),
        message: with_suggestion(error.message()),
    })?;
    let check = Check { file, text, kind: &kind };
    check.whole()?;
    for (at, measure) in kind.measures.iter().enumerate() {
        check.names(at, measure)?;
        check.figures(at, measure)?;
        check.domain(at, measure)?;
    }
    Ok(kind)
}

/// Checks that no short word names two kinds; `origins` holds file and text by key.
pub(super) fn words_name_one_kind(
    kinds: &BTreeMap<String, Kind>,
    origins: &BTreeMap<String, (&str, &str)>,
) -> Result<(), KindError> {
    let mut named: BTreeMap<String, &str> = BTreeMap::new();
    // Keys first, then the words of built-in files: the shop's file is the one to be mended.
    let words = |kind: &Kind| kind.words.iter().map(|word| word.to_lowercase()).collect::<Vec<_>>();
    for kind in kinds.values() {
        named.insert(kind.key.clone(), &kind.key);
    }
    let (built_in, own): (Vec<&Kind>, Vec<&Kind>) = kinds
        .values()
        .partition(|kind| super::builtin::FILES.iter().any(|known| origins[&kind.key] == *known));
    for kind in built_in.into_iter().chain(own) {
        for word in words(kind) {
            match named.insert(word.clone(), &kind.key) {
                Some(other) if other != kind.key => {
                    let (file, text) = origins[&kind.key];
                    let message = format!("`{word}` already names the kind `{other}`");
                    return Err(Check { file, text, kind }.of_kind("words", message));
                }
                _ => {}
            }
        }
    }
    Ok(())
}

struct Check<'a> {
    file: &'a str,
    text: &'a str,
    kind: &'a Kind,
}

impl Check<'_> {
    fn of_kind(&self, field: &str, message: String) -> KindError {
        KindError::Kind {
            file: self.file.to_owned(),
            line: line_of(self.text, 0, field),
            kind: self.kind.key.clone(),
            message,
        }
    }

    fn of_measure(&self, at: usize, field: &str, message: String) -> KindError {
        KindError::Measure {
            file: self.file.to_owned(),
            line: line_of(self.text, at + 1, field),
            kind: self.kind.key.clone(),
            measure: self.kind.measures[at].key.clone(),
            message,
        }
    }

    fn whole(&self) -> Result<(), KindError> {
        let kind = self.kind;
        if !is_key(&kind.key, '-') {
            let message =
                format!("`{}` is not a key; small letters, digits and `-` are right", kind.key);
            return Err(self.of_kind("key", message));
        }
        if kind.measures.is_empty() || kind.measures.len() > Kind::MEASURES_MAX {
            let message = format!(
                "it has {} measures; 1 to {} are right",
                kind.measures.len(),
                Kind::MEASURES_MAX
            );
            return Err(self.of_kind("key", message));
        }
        for word in kind.words.iter().chain(&kind.roles).chain([&kind.label]) {
            if !is_plain(word) {
                return Err(self.of_kind("words", "a word is empty or unprintable".to_owned()));
            }
        }
        if let Some(layout) = &kind.layout {
            let right = layout.spread_mm > 0.0
                && layout.spread_mm.is_finite()
                && is_share(layout.slip)
                && is_share(layout.mirrored)
                && layout.minutes >= 0.0
                && layout.minutes.is_finite();
            if !right {
                let message = "its layout needs a spread above 0, shares from 0 to below 0.5 and \
                               minutes of at least 0";
                return Err(self.of_kind("[layout]", message.to_owned()));
            }
        }
        Ok(())
    }

    /// Key, words and rank name this measure alone.
    fn names(&self, at: usize, measure: &Measure) -> Result<(), KindError> {
        if !is_key(&measure.key, '_') {
            let message = "its key may have small letters, digits and `_` only".to_owned();
            return Err(self.of_measure(at, "key", message));
        }
        let earlier = &self.kind.measures[..at];
        let taken: BTreeSet<String> = earlier
            .iter()
            .flat_map(|other| other.words.iter().chain([&other.key]))
            .map(|word| word.to_lowercase())
            .collect();
        let mut own = BTreeSet::new();
        let words = measure.words.iter().map(|word| ("words", word));
        for (field, word) in [("key", &measure.key)].into_iter().chain(words) {
            if !is_plain(word) {
                let message = "a word is empty or unprintable".to_owned();
                return Err(self.of_measure(at, field, message));
            }
            let small = word.to_lowercase();
            if taken.contains(&small) || !own.insert(small) {
                return Err(self.of_measure(at, field, format!("`{word}` is taken")));
            }
        }
        let of_layout = self.kind.layout.as_ref().map(|layout| layout.rank);
        if earlier.iter().map(|other| other.rank).chain(of_layout).any(|rank| rank == measure.rank)
        {
            return Err(self.of_measure(at, "rank", format!("rank {} is taken", measure.rank)));
        }
        Ok(())
    }

    fn figures(&self, at: usize, measure: &Measure) -> Result<(), KindError> {
        if !is_share(measure.slip) {
            let message =
                format!("`slip` is {}; a share from 0 to below 0.5 is right", measure.slip);
            return Err(self.of_measure(at, "slip", message));
        }
        let amounts = [
            ("minutes", measure.minutes),
            ("tolerance", measure.tolerance),
            ("wear_allowance", measure.wear_allowance),
        ];
        for (field, amount) in amounts {
            if !(amount >= 0.0 && amount.is_finite()) {
                let message = format!("`{field}` is {amount}; 0 or more is right");
                return Err(self.of_measure(at, field, message));
            }
        }
        if (measure.wear != Wear::None) != (measure.wear_allowance > 0.0) {
            let message = "`wear` needs a `wear_allowance` above 0, and the other way round";
            return Err(self.of_measure(at, "wear", message.to_owned()));
        }
        Ok(())
    }

    /// What goes with the sort of value, and only that, is there.
    fn domain(&self, at: usize, measure: &Measure) -> Result<(), KindError> {
        let domain = measure.domain;
        let fail = |field: &str, message: String| Err(self.of_measure(at, field, message));
        if domain.is_number() && domain != Domain::Count && measure.spread <= 0.0
            || !measure.spread.is_finite()
        {
            return fail("spread", format!("`spread` is {}; it must be above 0", measure.spread));
        }
        let folded: BTreeSet<String> =
            measure.choices.iter().map(|choice| crate::number::fold(choice)).collect();
        match measure.choices.len() {
            0 | 1 if domain == Domain::Choice => {
                return fail("type", "a choice needs `choices`, at least two".to_owned());
            }
            1.. if domain != Domain::Choice => {
                return fail("choices", "only a choice has `choices`".to_owned());
            }
            choices if folded.len() < choices || folded.contains("") => {
                let message = "two choices are the same word, or one has no letter or digit";
                return fail("choices", message.to_owned());
            }
            _ => {}
        }
        match measure.range {
            None if domain.is_number() => {
                return fail("type", "a number needs `range = [lowest, highest]`".to_owned());
            }
            Some(_) if !domain.is_number() => {
                return fail("range", "only a number has a `range`".to_owned());
            }
            Some([low, high]) if !(low < high && (high - low).is_finite()) => {
                return fail("range", format!("`range` runs from {low} down to {high}"));
            }
            _ => {}
        }
        match domain {
            Domain::Length if measure.unit != "mm" => {
                fail("unit", format!("`unit` is `{}`; a length is kept in mm", measure.unit))
            }
            Domain::Angle if measure.unit != "deg" => {
                fail("unit", format!("`unit` is `{}`; an angle is kept in deg", measure.unit))
            }
            _ => Ok(()),
        }
    }
}

fn is_share(share: f64) -> bool {
    (0.0..0.5).contains(&share)
}

fn is_key(key: &str, joint: char) -> bool {
    key.starts_with(|c: char| c.is_ascii_lowercase())
        && key.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == joint)
}

fn is_plain(word: &str) -> bool {
    !word.trim().is_empty() && !word.contains(shown::is_hidden)
}

/// The line, from 1, that byte `at` of `text` is on.
fn line_at(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|byte| *byte == b'\n').count()
}

/// The line, from 1, on which `field` stands in the `section`th `[[measure]]` (0 is what stands
/// before the first); the head of that section when it is not written on a line of its own.
fn line_of(text: &str, section: usize, field: &str) -> usize {
    let mut at_section = 0;
    let mut head = 1;
    for (at, line) in text.lines().enumerate() {
        let line = line.trim_start();
        if line.starts_with("[[measure]]") {
            at_section += 1;
            head = if at_section == section { at + 1 } else { head };
        }
        let ahead = line.strip_prefix(field).map(str::trim_start);
        let is_field = ahead.is_some_and(|rest| field.starts_with('[') || rest.starts_with('='));
        if at_section == section && is_field {
            return at + 1;
        }
    }
    head
}

/// Returns the reader's message with the nearest of the words it expected, when one is near.
fn with_suggestion(message: &str) -> String {
    match suggest::meant(message) {
        Some((found, word)) => format!("`{found}` is not known; did you mean `{word}`?"),
        None => message.to_owned(),
    }
}
