//! By what is a kind of subassembly told apart? Kinds and their measures, read from TOML.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::{IssueUnit, Machine};

/// A class of subassembly with its own measures.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kind {
    /// Stable key: `rectifier-plate`.
    pub key: String,
    /// What a person reads.
    pub label: String,
    /// Short words typed at the counter; the key itself always works.
    #[serde(default)]
    pub words: Vec<String>,
    /// Which machine it belongs to; both when absent.
    #[serde(default)]
    pub machine: Option<Machine>,
    /// The roles it can fill in a unit's bill.
    #[serde(default)]
    pub roles: Vec<String>,
    /// What it is counted in.
    #[serde(default)]
    pub issue: IssueUnit,
    /// How its layout is taken, when it has one.
    #[serde(default)]
    pub layout: Option<LayoutTaking>,
    /// Its measures, in counter rank.
    #[serde(default, rename = "measure")]
    pub measures: Vec<Measure>,
}

/// How the layout of a kind is taken.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayoutTaking {
    /// Standard deviation of one coordinate as taken at the counter, in mm.
    pub spread_mm: f64,
    /// Share of points that are grossly wrong.
    pub slip: f64,
    /// Share of layouts drawn from the wrong face.
    pub mirrored: f64,
    /// Minutes to take the points.
    pub minutes: f64,
    /// Place in the counter's order, among the measures' ranks.
    pub rank: u32,
    /// How to take it.
    pub how: String,
}

/// One thing taken on a part.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measure {
    /// Stable key within the kind: `outline_od`.
    pub key: String,
    /// What a person reads.
    pub label: String,
    /// Short words typed at the counter; the key itself always works.
    #[serde(default)]
    pub words: Vec<String>,
    /// What its values are.
    #[serde(rename = "type")]
    pub domain: Domain,
    /// UCUM code of the unit: `mm`, `V`, `Ohm`, `deg`, `N`, `uF`, `A`, `1`. Lengths are mm.
    pub unit: String,
    /// With what it is taken.
    pub instrument: String,
    /// How it is taken.
    pub how: String,
    /// Standard deviation of one reading, in the unit; numbers only.
    #[serde(default)]
    pub spread: f64,
    /// Half width of the maker's tolerance, in the unit; numbers only.
    #[serde(default)]
    pub tolerance: f64,
    /// Lowest and highest value parts of the kind have; numbers only.
    #[serde(default)]
    pub range: Option<[f64; 2]>,
    /// The words of a choice.
    #[serde(default)]
    pub choices: Vec<String>,
    /// Which way wear moves it.
    #[serde(default)]
    pub wear: Wear,
    /// The most a part has lost (or gained) and still comes to the counter, in the unit.
    #[serde(default)]
    pub wear_allowance: f64,
    /// Share of readings that are grossly wrong.
    pub slip: f64,
    /// Minutes to take it.
    pub minutes: f64,
    /// Place in the counter's order; 1 is asked first.
    pub rank: u32,
    /// Whether a mismatch rules a part out in practice (still weighed, never filtered).
    #[serde(default)]
    pub hard: bool,
    /// Where the figures come from.
    #[serde(default)]
    pub source: String,
}

/// What the values of a measure are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Domain {
    /// A length in mm.
    Length,
    /// A number in another unit.
    Number,
    /// A whole number counted by eye.
    Count,
    /// An angle in degrees, full circle.
    Angle,
    /// One of a few words.
    Choice,
    /// A thread designation.
    Thread,
    /// Any short text compared by its folded form (terminal order, bearing suffix).
    Code,
}

impl Domain {
    /// Whether values are numbers rather than words.
    pub fn is_number(self) -> bool {
        matches!(self, Self::Length | Self::Number | Self::Count | Self::Angle)
    }
}

/// Which way wear moves a measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Wear {
    /// It does not.
    #[default]
    None,
    /// Smaller: a brush's length.
    Down,
    /// Larger: a bushing's bore.
    Up,
}

impl Kind {
    /// The measure with `key`, or with that short word, and its place in [`Kind::measures`].
    pub fn measure(&self, word: &str) -> Option<(usize, &Measure)> {
        let by_key = |measure: &&Measure| measure.key.eq_ignore_ascii_case(word);
        let by_word =
            |measure: &&Measure| measure.words.iter().any(|known| known.eq_ignore_ascii_case(word));
        let find = |test: &dyn Fn(&&Measure) -> bool| {
            self.measures.iter().enumerate().find(|(_, measure)| test(measure))
        };
        find(&by_key).or_else(|| find(&by_word))
    }
}

/// All kinds a shop knows, by key.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Kinds(BTreeMap<String, Kind>);

impl Kinds {
    /// The kind with `key`, or with that short word.
    pub fn get(&self, word: &str) -> Option<&Kind> {
        self.0.get(word).or_else(|| {
            let same = |known: &String| known.eq_ignore_ascii_case(word);
            self.iter().find(|kind| same(&kind.key) || kind.words.iter().any(same))
        })
    }

    /// All kinds in the order of their keys.
    pub fn iter(&self) -> impl Iterator<Item = &Kind> {
        self.0.values()
    }
}

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

impl Kinds {
    /// Returns the kinds built into the program.
    ///
    /// # Errors
    ///
    /// [`KindError`] never in a released program: the files are checked by test.
    pub fn builtin() -> Result<Self, KindError> {
        Self::load(&[])
    }

    /// Returns the built-in kinds with those of `files` (name, TOML text) laid over: the same key
    /// replaces, a new key adds.
    ///
    /// # Errors
    ///
    /// [`KindError`] names the file, the line and what would be right.
    pub fn load(files: &[(String, String)]) -> Result<Self, KindError> {
        let mut kinds = BTreeMap::new();
        for (file, text) in files {
            let kind: Kind = toml::from_str(text).map_err(|error| KindError::Toml {
                file: file.clone(),
                line: error
                    .span()
                    .map_or(1, |span| text[..span.start.min(text.len())].lines().count().max(1)),
                message: error.message().to_owned(),
            })?;
            kinds.insert(kind.key.clone(), kind);
        }
        Ok(Self(kinds))
    }
}
