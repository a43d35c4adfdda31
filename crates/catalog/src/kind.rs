//! By what is a kind of subassembly told apart? Kinds and their measures, read from TOML.

mod builtin;
mod check;
mod value;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::{IssueUnit, Machine};

pub use check::KindError;
pub use value::ValueError;

/// A class of subassembly with its own measures.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
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
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize)]
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
    /// Whether a value that is nearly right is nearly as likely: not true of counts and words.
    pub fn is_continuous(self) -> bool {
        matches!(self, Self::Length | Self::Number | Self::Angle)
    }

    /// Whether values are numbers rather than words.
    pub fn is_number(self) -> bool {
        matches!(self, Self::Length | Self::Number | Self::Count | Self::Angle)
    }
}

/// Which way wear moves a measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize, Serialize)]
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

impl Kind {
    /// The most measures a kind may have: a mask of measures is one `u32`.
    pub const MEASURES_MAX: usize = 32;
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
    /// replaces, a new key adds. A file holds one kind.
    ///
    /// # Errors
    ///
    /// [`KindError`] names the file, the line and what would be right.
    pub fn load(files: &[(String, String)]) -> Result<Self, KindError> {
        let own = files.iter().map(|(file, text)| (file.as_str(), text.as_str()));
        let mut kinds = BTreeMap::new();
        let mut origins = BTreeMap::new();
        for (file, text) in builtin::FILES.into_iter().chain(own) {
            let kind = check::read(file, text)?;
            origins.insert(kind.key.clone(), (file, text));
            kinds.insert(kind.key.clone(), kind);
        }
        check::words_name_one_kind(&kinds, &origins)?;
        Ok(Self(kinds))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn built_in_kinds_are_complete() {
        let kinds = Kinds::builtin().expect("the built-in files are valid");
        assert_eq!(kinds.iter().count(), builtin::FILES.len());
        for (file, _) in builtin::FILES {
            let kind =
                kinds.get(file.trim_end_matches(".toml")).expect("a file is named by its key");
            assert!(kind.measures.len() >= 4 && !kind.roles.is_empty(), "{file}");
            for measure in &kind.measures {
                let place = format!("{file}: {}", measure.key);
                assert!(!measure.source.is_empty() && !measure.words.is_empty(), "{place}");
                assert!(!measure.how.is_empty() && !measure.instrument.is_empty(), "{place}");
                assert_eq!(measure.range.is_some(), measure.domain.is_number(), "{place}");
            }
        }
    }

    #[test]
    fn a_kind_and_a_measure_answer_to_key_and_word() {
        let kinds = Kinds::builtin().unwrap();
        let plate = kinds.get("RP").expect("by its word");
        assert_eq!(plate.key, "rectifier-plate");
        assert_eq!(plate.measure("OD").map(|(_, m)| m.key.as_str()), Some("outline_od"));
        assert_eq!(plate.measure("mount_pitch").map(|(at, _)| at), Some(3));
        assert!(plate.measure("girth").is_none() && kinds.get("gizmo").is_none());
    }

    const WHEEL: &str = "key = \"fly-wheel\"\nlabel = \"fly wheel\"\n\n[[measure]]\nkey = \"od\"\n\
        label = \"diameter\"\ntype = \"length\"\nunit = \"mm\"\ninstrument = \"rule\"\n\
        how = \"across\"\nspread = 0.5\nrange = [10, 90]\nslip = 0.02\nminutes = 1\nrank = 1\n";

    fn laid_over(text: &str) -> Result<Kinds, KindError> {
        Kinds::load(&[("shop.toml".to_owned(), text.to_owned())])
    }

    #[test]
    fn a_shop_file_adds_a_kind_and_replaces_one() {
        let added = laid_over(WHEEL).unwrap();
        assert_eq!(added.iter().count(), builtin::FILES.len() + 1);
        let replaced = laid_over(&WHEEL.replace("fly-wheel", "fan")).unwrap();
        assert_eq!(replaced.iter().count(), builtin::FILES.len());
        assert_eq!(replaced.get("fan").unwrap().measures.len(), 1);
    }

    #[test]
    fn every_mistake_is_named_with_its_file_and_line() {
        let twice = format!("{WHEEL}\n{}", &WHEEL[WHEEL.find("[[").unwrap()..]);
        let rows = [
            ("spread = 0.5", "spraed = 0.5", 11, "did you mean `spread`?"),
            ("\"length\"", "\"lenght\"", 7, "did you mean `length`?"),
            ("spread = 0.5", "spread = 0", 11, "`spread` is 0; it must be above 0"),
            ("[10, 90]", "[90, 10]", 12, "`range` runs from 90 down to 10"),
            ("0.02", "0.5", 13, "`slip` is 0.5; a share from 0 to below 0.5 is right"),
            ("minutes = 1", "minutes = -1", 14, "`minutes` is -1"),
            ("\"length\"", "\"choice\"", 7, "a choice needs `choices`"),
            ("\"mm\"", "\"in\"", 8, "`unit` is `in`; a length is kept in mm"),
            ("\"fly-wheel\"", "\"Fly Wheel\"", 1, "`Fly Wheel` is not a key"),
            (
                "label = \"fly wheel\"",
                "label = \"x\"\nwords = [\"plate\"]",
                3,
                "`plate` already names",
            ),
            (
                "rank = 1",
                "rank = 1\nwear = \"down\"",
                16,
                "`wear` needs a `wear_allowance` above 0",
            ),
            ("rank = 1", "rank = 1\nwords = [\"OD\"]", 16, "`OD` is taken"),
            ("key = \"od\"", "", 4, "missing field `key`"),
        ];
        for (right, wrong, line, says) in rows {
            let error = laid_over(&WHEEL.replacen(right, wrong, 1)).unwrap_err().to_string();
            let place = format!("shop.toml, line {line}:");
            assert!(error.starts_with(&place) && error.contains(says), "{wrong}: {error}");
        }
        let error = laid_over(&twice).unwrap_err().to_string();
        assert!(
            error.starts_with("shop.toml, line 18:") && error.contains("`od` is taken"),
            "{error}"
        );
        let error = laid_over(&twice.replacen("key = \"od\"", "key = \"id\"", 1)).unwrap_err();
        assert!(error.to_string().contains("rank 1 is taken"), "{error}");
    }
}
