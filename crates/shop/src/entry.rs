//! What does a line typed at the counter ask? A number or words to find, or a kind with measures.
//!
//! `plate od 112.3 lugs 3 m8`: the kind's word first, then each measure's short word and its value;
//! a thread or a choice that only one measure can have needs no word. Points are written as in
//! layout text; hole-to-hole distances follow the word `apart`. The words are data beside the
//! measures, in the kinds' files.

use binwright_catalog::{DecimalMark, Domain, Kind, Kinds, Layout, LengthUnit, Measure, suggest};

use crate::Asked;

/// The word before hole-to-hole distances.
pub const APART: &str = "apart";
/// The most words one value is written with: `4 7/16 in`.
const VALUE_WORDS_MAX: usize = 3;

/// What a line asks.
#[derive(Debug, Clone, PartialEq)]
pub enum Entry {
    /// Nothing was typed.
    Nothing,
    /// A number or words to find.
    Find(String),
    /// What was measured.
    Fit(Reading),
}

/// A line of measures as it was understood.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Reading {
    /// The question.
    pub asked: Asked,
    /// What was read, in the order it was typed.
    pub terms: Vec<Term>,
}

impl Reading {
    /// Whether anything was observed; a kind alone is no observation.
    pub fn observes(&self) -> bool {
        let seen = |term: &Term| {
            matches!(term, Term::Measure { .. } | Term::Points(_) | Term::Distances(_))
        };
        self.terms.iter().any(seen)
    }
}

/// One thing read from the line.
#[derive(Debug, Clone, PartialEq)]
pub enum Term {
    /// The kind, by its label.
    Kind(String),
    /// A measure and its value with its unit.
    Measure {
        /// Key of the measure, or the word typed where no kind was named.
        measure: String,
        /// What a person reads.
        label: String,
        /// As understood, in the measure's unit.
        value: String,
    },
    /// So many points of a layout.
    Points(usize),
    /// So many hole-to-hole distances.
    Distances(usize),
    /// What is still being typed.
    Open(String),
    /// What was not understood, and why.
    Trouble {
        /// The word typed.
        word: String,
        /// What is wrong with it.
        says: String,
    },
}

/// Reads a line.
///
/// ```
/// # use binwright_shop::{catalog::Kinds, entry::{self, Entry}};
/// let kinds = Kinds::builtin()?;
/// let Entry::Fit(read) = entry::read("plate od 112.3 lugs 3 m8", &kinds) else { panic!() };
/// assert_eq!(read.asked.kind.as_deref(), Some("rectifier-plate"));
/// assert_eq!(read.asked.measures["bplus_thread"], "M8");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn read(text: &str, kinds: &Kinds) -> Entry {
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || c == ';')
        .filter(|word| !word.is_empty())
        .collect();
    if words.is_empty() {
        return Entry::Nothing;
    }
    let ended = text.ends_with([' ', ';']);
    if let Some((kind, used)) = kind_at_start(&words, kinds) {
        let mut reader = Reader::new(kind, &words[used..], ended);
        reader.reading.asked.kind = Some(kind.key.clone());
        reader.reading.terms.push(Term::Kind(kind.label.clone()));
        let reading = reader.read();
        let open = |term: &Term| matches!(term, Term::Kind(_) | Term::Open(_));
        if reading.observes() || reading.terms.iter().all(open) {
            return Entry::Fit(reading);
        }
    } else if let Some(reading) = kindless(&words, ended, kinds) {
        return Entry::Fit(reading);
    }
    Entry::Find(text.trim().to_owned())
}

/// The kind that the first words name, and how many they are.
fn kind_at_start<'k>(words: &[&str], kinds: &'k Kinds) -> Option<(&'k Kind, usize)> {
    (1..=words.len().min(3))
        .rev()
        .find_map(|used| kinds.get(&words[..used].join("-")).map(|kind| (kind, used)))
}

/// Measures without a kind: read by the first kind that understands every word of the line. The
/// question keeps the words typed, so that each kind takes them by its own.
fn kindless(words: &[&str], ended: bool, kinds: &Kinds) -> Option<Reading> {
    kinds
        .iter()
        .filter(|kind| starts_observation(kind, words[0]))
        .find_map(|kind| {
            let mut reader = Reader::new(kind, words, ended);
            reader.by_word = true;
            let reading = reader.read();
            let trouble = |term: &Term| matches!(term, Term::Trouble { .. });
            (reading.observes() && !reading.terms.iter().any(trouble)).then_some(reading)
        })
        .map(|reading| labelled_as_typed(reading, kinds))
}

/// Where the kinds mean different things by the same word, the word itself is its label.
fn labelled_as_typed(mut reading: Reading, kinds: &Kinds) -> Reading {
    for term in &mut reading.terms {
        if let Term::Measure { measure, label, .. } = term {
            let meant = kinds.iter().filter_map(|kind| kind.measure(measure));
            if meant.into_iter().any(|(_, meant)| meant.label != *label) {
                label.clone_from(measure);
            }
        }
    }
    reading
}

fn starts_observation(kind: &Kind, word: &str) -> bool {
    let word = word.split_once('=').map_or(word, |(measure, _)| measure);
    let planar = word.contains('@') || word.eq_ignore_ascii_case(APART);
    kind.measure(word).is_some() || (planar && kind.layout.is_some())
}

struct Reader<'a> {
    kind: &'a Kind,
    words: &'a [&'a str],
    /// Whether the last word is whole.
    ended: bool,
    /// Whether the question keeps the words typed instead of the measures' keys.
    by_word: bool,
    points: Vec<&'a str>,
    reading: Reading,
}

impl<'a> Reader<'a> {
    fn new(kind: &'a Kind, words: &'a [&'a str], ended: bool) -> Self {
        let (by_word, points, reading) = (false, Vec::new(), Reading::default());
        Self { kind, words, ended, by_word, points, reading }
    }

    fn read(mut self) -> Reading {
        let mut at = 0;
        while at < self.words.len() {
            at += self.word(at);
        }
        self.lay_points();
        self.reading
    }

    /// Reads what begins at word `at`; returns how many words that were.
    fn word(&mut self, at: usize) -> usize {
        let word = self.words[at];
        if word.contains('@') && self.kind.layout.is_some() {
            self.points.push(word);
            return 1;
        }
        if word.eq_ignore_ascii_case(APART) && self.kind.layout.is_some() {
            return self.distances(at);
        }
        if let Some((_, measure)) = self.kind.measure(word) {
            return self.named(at, word, measure);
        }
        if let Some((name, value)) = word.split_once('=')
            && let Some((_, measure)) = self.kind.measure(name)
        {
            self.take(name, measure, value, at);
            return 1;
        }
        if let Some(digit) = word.find(|c: char| c.is_ascii_digit())
            && let Some((_, measure)) = self.kind.measure(&word[..digit])
        {
            self.take(&word[..digit], measure, &word[digit..], at);
            return 1;
        }
        if let Some(measure) = self.only_one_with(word)
            && !self.by_word
        {
            self.take(&measure.key, measure, word, at);
            return 1;
        }
        let term = if self.is_typing(at) && self.begins_a_measure(word) {
            Term::Open(word.to_owned())
        } else {
            Term::Trouble { word: word.to_owned(), says: self.unknown(word) }
        };
        self.reading.terms.push(term);
        1
    }

    /// A measure's word at `at`, its value after it: the longest run of words that is one.
    fn named(&mut self, at: usize, name: &str, measure: &'a Measure) -> usize {
        let after = &self.words[at + 1..];
        let next = after.iter().skip(1).position(|word| self.kind.measure(word).is_some());
        let longest = match measure.domain {
            Domain::Code => 1,
            _ => next.map_or(after.len(), |next| next + 1).min(VALUE_WORDS_MAX),
        };
        let text = (1..=longest.min(after.len())).rev().map(|used| (used, after[..used].join(" ")));
        for (used, text) in text {
            if measure.parse(&text, LengthUnit::Mm, DecimalMark::Point).is_ok() {
                self.take(name, measure, &text, at + used);
                return used + 1;
            }
        }
        match after.first() {
            Some(value) if self.kind.measure(value).is_none() => {
                self.take(name, measure, value, at + 1);
                2
            }
            _ => {
                // `12 V` with its unit spelt as another word of the measure is no second value.
                if !self.has(measure) {
                    self.reading.terms.push(Term::Open(measure.label.clone()));
                }
                1
            }
        }
    }

    /// Puts down the value `text` of `measure`, whose last word is the one at `last`.
    fn take(&mut self, name: &str, measure: &Measure, text: &str, last: usize) {
        let term = match measure.parse(text, LengthUnit::Mm, DecimalMark::Point) {
            Err(_) if self.is_typing(last) => Term::Open(measure.label.clone()),
            Err(error) => Term::Trouble { word: text.to_owned(), says: error.to_string() },
            Ok(_) if self.has(measure) => Term::Trouble {
                word: text.to_owned(),
                says: format!("{} was given already", measure.label),
            },
            Ok(value) => {
                let unit = if measure.unit == "1" { "" } else { &measure.unit };
                let key = if self.by_word { name } else { &measure.key };
                let value = value.to_string();
                self.reading.asked.measures.insert(key.to_owned(), value.clone().into());
                Term::Measure {
                    measure: key.to_owned(),
                    label: measure.label.clone(),
                    value: format!("{value} {unit}").trim_end().to_owned(),
                }
            }
        };
        self.reading.terms.push(term);
    }

    fn has(&self, measure: &Measure) -> bool {
        self.reading
            .terms
            .iter()
            .any(|term| matches!(term, Term::Measure { label, .. } if *label == measure.label))
    }

    fn distances(&mut self, at: usize) -> usize {
        let mut used = 1;
        let mut count = 0;
        while let Some(word) = self.words.get(at + used) {
            let lengths: Option<Vec<f64>> = word
                .split(',')
                .filter(|piece| !piece.is_empty())
                .map(|piece| piece.parse().ok().filter(|mm: &f64| mm.is_finite() && *mm > 0.0))
                .collect();
            let Some(lengths) = lengths else { break };
            count += lengths.len();
            self.reading.asked.distances.extend(lengths);
            used += 1;
        }
        self.reading.terms.push(match count {
            0 => Term::Open("hole-to-hole distances".to_owned()),
            count => Term::Distances(count),
        });
        used
    }

    /// Lays down the points that can be read; the last may still be in the making.
    fn lay_points(&mut self) {
        let mut good: Vec<&str> = Vec::new();
        let last = self.points.len().wrapping_sub(1);
        for (at, point) in self.points.iter().enumerate() {
            match point.parse::<Layout>() {
                Ok(_) => good.push(point),
                Err(_) if at == last && !self.ended => {
                    self.reading.terms.push(Term::Open((*point).to_owned()));
                }
                Err(error) => {
                    let word = (*point).to_owned();
                    self.reading.terms.push(Term::Trouble { word, says: error.to_string() });
                }
            }
        }
        if !good.is_empty() {
            self.reading.asked.layout = Some(good.join("; "));
            self.reading.terms.push(Term::Points(good.len()));
        }
    }

    /// The one measure, not given yet, that can have `word` for its thread or its choice. Bare
    /// figures are nobody's.
    fn only_one_with(&self, word: &str) -> Option<&'a Measure> {
        if word.parse::<f64>().is_ok() {
            return None;
        }
        let can = |measure: &&Measure| match measure.domain {
            Domain::Thread => measure.parse(word, LengthUnit::Mm, DecimalMark::Point).is_ok(),
            Domain::Choice => measure.choices.iter().any(|choice| {
                choice.eq_ignore_ascii_case(word)
                    || format!("{choice}{}", measure.unit).eq_ignore_ascii_case(word)
            }),
            _ => false,
        };
        let free = |measure: &&Measure| !self.has(measure);
        let mut able = self.kind.measures.iter().filter(free).filter(can);
        able.next().filter(|_| able.next().is_none())
    }

    fn is_typing(&self, at: usize) -> bool {
        at + 1 == self.words.len() && !self.ended
    }

    fn begins_a_measure(&self, word: &str) -> bool {
        let word = word.to_lowercase();
        let names = |measure: &Measure| {
            measure.key.starts_with(&word) || measure.words.iter().any(|w| w.starts_with(&word))
        };
        APART.starts_with(&word)
            || self.kind.measures.iter().any(names)
            || self.kind.measures.iter().flat_map(|m| &m.choices).any(|c| c.starts_with(&word))
    }

    fn unknown(&self, word: &str) -> String {
        let names = self.kind.measures.iter().flat_map(|measure| {
            std::iter::once(measure.key.as_str()).chain(measure.words.iter().map(String::as_str))
        });
        match suggest::nearest(word, names) {
            Some(near) => format!("no measure of a {}; did you mean {near}?", self.kind.label),
            None => format!("no measure of a {}", self.kind.label),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What was understood, one line: `kind | label=value | ?open | !trouble`.
    fn told(text: &str) -> String {
        let kinds = Kinds::builtin().unwrap();
        let reading = match read(text, &kinds) {
            Entry::Nothing => return "nothing".to_owned(),
            Entry::Find(text) => return format!("find {text}"),
            Entry::Fit(reading) => reading,
        };
        let term = |term: &Term| match term {
            Term::Kind(kind) => kind.clone(),
            Term::Measure { measure, value, .. } => format!("{measure}={value}"),
            Term::Points(count) => format!("{count} points"),
            Term::Distances(count) => format!("{count} apart"),
            Term::Open(what) => format!("?{what}"),
            Term::Trouble { word, .. } => format!("!{word}"),
        };
        reading.terms.iter().map(term).collect::<Vec<_>>().join(" | ")
    }

    #[test]
    fn a_line_is_read_as_the_counter_speaks() {
        let rows = [
            ("", "nothing"),
            ("  ", "nothing"),
            ("RP-1l3?C", "find RP-1l3?C"),
            ("hallerby plate", "find hallerby plate"),
            ("plate hallerby", "find plate hallerby"),
            ("rp 1107c", "find rp 1107c"),
            ("plate", "rectifier plate"),
            ("plate o", "rectifier plate | ?o"),
            ("plate od", "rectifier plate | ?outline across"),
            ("plate od 112.3", "rectifier plate | outline_od=112.3 mm"),
            (
                "plate od 112.3 lugs 3 m8",
                "rectifier plate | outline_od=112.3 mm | phase_lugs=3 | bplus_thread=M8",
            ),
            ("PLATE OD=4 7/16 in", "rectifier plate | outline_od=4 mm | !7/16 | !in"),
            ("Plate OD 4 7/16 in LUGS3", "rectifier plate | outline_od=112.7125 mm | phase_lugs=3"),
            ("rectifier plate lugs 3", "rectifier plate | phase_lugs=3"),
            (
                "plate lugs 3 left 12v",
                "rectifier plate | phase_lugs=3 | handed=left | volt_class=12 V",
            ),
            ("plate volt 12 v", "rectifier plate | volt_class=12 V"),
            ("plate lugs 3 od abc ", "rectifier plate | phase_lugs=3 | !abc"),
            ("plate lugs 3 girth 7", "rectifier plate | phase_lugs=3 | !girth | !7"),
            ("plate lugs 3 lugs 4", "rectifier plate | phase_lugs=3 | !4"),
            ("plate apart 92.1 54, 55,1", "rectifier plate | 4 apart"),
            (
                "plate hole@0,0/6.2; hole@92.1,0;stud:B+@4",
                "rectifier plate | ?stud:B+@4 | 2 points",
            ),
            ("bearing 17x40x12", "find bearing 17x40x12"),
        ];
        for (text, says) in rows {
            assert_eq!(told(text), says, "{text}");
        }
    }

    #[test]
    fn without_a_kind_every_word_must_be_understood() {
        assert_eq!(told("outline_od 112 lugs 4"), "outline_od=112 mm | lugs=4");
        assert_eq!(told("outline_od 112 yesterday"), "find outline_od 112 yesterday");
    }

    #[test]
    fn a_word_that_kinds_mean_differently_is_shown_as_typed() {
        let kinds = Kinds::builtin().unwrap();
        let Entry::Fit(reading) = read("od 62 bore 17", &kinds) else { panic!("measures") };
        let labels = reading.terms.iter().map(|term| match term {
            Term::Measure { label, .. } => label.as_str(),
            other => panic!("{other:?}"),
        });
        assert_eq!(labels.collect::<Vec<_>>()[0], "od");
    }

    #[test]
    fn what_is_half_typed_is_no_trouble_yet() {
        assert_eq!(
            told("plate lugs 3 thread m"),
            "rectifier plate | phase_lugs=3 | ?B+ stud thread"
        );
        assert_eq!(told("plate lugs 3 thread m "), "rectifier plate | phase_lugs=3 | !m");
    }
}
