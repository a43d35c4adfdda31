//! What can go wrong with one machine, and how is it found? Faults, checks and their likelihoods.

use std::collections::BTreeMap;

use binwright_catalog::{Machine, suggest};
use serde::{Deserialize, Serialize};
use toml::Spanned;

use crate::{DiagnosisError, hypotheses::Hypotheses};

/// All that is known of one machine's faults.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Which machine.
    pub machine: Machine,
    /// What stands beside every caution: whose rules come first.
    pub deference: String,
    /// An item is ordered when it is needed with at least this probability.
    pub order_at: f64,
    /// What a wrong order costs, in bench minutes: a check must promise to save its own minutes of it.
    pub wrong_order_minutes: f64,
    /// The test made before a job closes.
    pub closing: Closing,
    /// Levels of strip-down, shallow first.
    pub levels: Vec<Level>,
    /// Faults, in the order of the file.
    pub faults: Vec<Fault>,
    /// Pairs that come together more (or less) often than chance.
    pub bonds: Vec<Bond>,
    /// Checks, in the order of the file.
    pub checks: Vec<Check>,
    pub(crate) hypotheses: Hypotheses,
}

/// The test that a finished unit must pass.
#[derive(Debug, Clone, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Closing {
    /// Stable key.
    pub key: String,
    /// Short code on paper.
    pub code: String,
    /// What a person reads.
    pub name: String,
    /// Hands-on minutes.
    pub minutes: f64,
    /// How to do it.
    pub how: String,
    /// What can hurt.
    pub caution: String,
    /// Checks that are made once more, with the outcome each must have.
    pub checks: BTreeMap<String, String>,
}

/// How far the unit is stripped for a check.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// Stable key.
    pub key: String,
    /// What a person reads.
    pub name: String,
    /// The level that is open before this one can be; none for the unit where it works.
    pub after: Option<String>,
    /// Minutes to get here from there.
    pub minutes: f64,
    /// What can hurt on the way and here.
    #[serde(default)]
    pub caution: String,
}

/// Where a fault sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum FaultKind {
    /// In the unit.
    #[default]
    Unit,
    /// On the vehicle: belt, cable, battery, wiring.
    Outside,
    /// There is none.
    Good,
}

/// One thing that can be wrong, and what it calls for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    /// Stable key.
    pub key: String,
    /// Short code on paper.
    pub code: String,
    /// What a person reads.
    pub name: String,
    /// Share of jobs; all faults of a table sum to one.
    pub prior: f64,
    /// Where it sits.
    #[serde(default)]
    pub kind: FaultKind,
    /// What is to be done where no part is called for.
    pub work: Option<String>,
    /// Roles that must be filled.
    #[serde(default)]
    pub must: Vec<Want>,
    /// Roles worth filling while the unit is open.
    #[serde(default)]
    pub while_in_there: Vec<Want>,
    /// What else to look at.
    #[serde(default)]
    pub look_at: Vec<String>,
    /// What the work uses up.
    #[serde(default)]
    pub consumables: Vec<Consumable>,
    /// Bench minutes beyond testing.
    pub minutes: f64,
    /// What can hurt while it is mended.
    #[serde(default)]
    pub caution: String,
    /// Why the new part would die of the same, when it would.
    pub root_cause: Option<String>,
    /// Rows a shop's own fault brings to checks that are there already; handed to them on load.
    #[serde(default)]
    pub(crate) likelihood: BTreeMap<String, Spanned<Vec<f64>>>,
}

/// A role a fault calls for.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Want {
    /// The role in the unit's bill.
    pub role: String,
    /// How many pieces.
    #[serde(default = "one")]
    pub pieces: u32,
    /// On which condition, or what to mind.
    pub when: Option<String>,
    /// Work that fills the role in place of a part.
    pub rework: Option<String>,
}

fn one() -> u32 {
    1
}

/// Something the work uses up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Consumable {
    /// What a person reads.
    pub name: String,
    /// How much.
    pub quantity: f64,
    /// Of what: `g`, `pcs`, `mL`.
    pub unit: String,
}

/// Two faults that come together `times` as often as chance has it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bond {
    /// Keys of the two.
    pub faults: [String; 2],
    /// 1 = chance, 0 = never.
    pub times: f64,
}

/// One test on the unit.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Stable key.
    pub key: String,
    /// Short code on paper; a reading may be given under it as well.
    pub code: String,
    /// What a person reads.
    pub name: String,
    /// Key of the level it needs.
    pub level: String,
    /// Hands-on minutes, strip-down apart.
    pub minutes: f64,
    /// How to do it.
    pub how: String,
    /// What can hurt.
    #[serde(default)]
    pub caution: String,
    /// Checks of one group repeat each other in part and are weighed at less than full power.
    pub group: Option<String>,
    /// Designations of DIN 72552 the meter goes to.
    #[serde(default)]
    pub terminals: Vec<String>,
    /// What can come of it.
    pub outcomes: Vec<Outcome>,
    /// How a number becomes an outcome, for checks that give one.
    pub reading: Option<Scale>,
    pub(crate) likelihood: BTreeMap<String, Spanned<Vec<f64>>>,
}

/// One thing that can come of a check.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Outcome {
    /// Stable key.
    pub key: String,
    /// What a person reads.
    pub words: String,
    /// What it says, when the words do not.
    pub means: Option<String>,
}

/// How many numbers a reading has and what they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Form {
    /// One number.
    #[default]
    Single,
    /// Forward, and the meter leads swapped.
    TwoWay,
    /// Between each two of three leads; weighed by their spread in percent.
    ThreeLead,
}

/// How a number becomes an outcome: cut points with soft borders.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Scale {
    /// Unit the limits are in: `V`, `A`, `ohm`, `mm`, `%`.
    pub unit: String,
    /// How many numbers it takes.
    #[serde(default)]
    pub form: Form,
    /// Whether it is copper, to be brought to 20 °C.
    #[serde(default)]
    pub copper: bool,
    /// Outcomes from the lowest reading to the highest (open reads highest).
    pub order: Vec<String>,
    /// Outcome of a two-way reading that conducts both ways.
    pub both_ways: Option<String>,
    /// Limits between them by voltage class, in the unit (of a three-lead reading: in percent).
    #[serde(default)]
    pub cuts: BTreeMap<String, Vec<f64>>,
    /// Limits as multiples of the card's value, when it is known.
    #[serde(default)]
    pub relative: Vec<f64>,
    /// Standard deviation of the limits themselves, in the unit of the cuts.
    #[serde(default)]
    pub border: f64,
    /// Standard deviation of the instrument, in the unit.
    #[serde(default)]
    pub spread: f64,
    /// And in percent of the reading.
    #[serde(default)]
    pub spread_percent: f64,
    /// Where the limits come from.
    #[serde(default)]
    pub source: String,
}

/// The name of the row that stands for every fault not named.
pub(crate) const OTHERS: &str = "others";

impl Check {
    /// Chances of each outcome under `fault` when it has a row of its own.
    pub fn row(&self, fault: &Fault) -> Option<&[f64]> {
        self.likelihood.get(&fault.key).map(|row| row.get_ref().as_slice())
    }

    /// Chances of each outcome under every fault not named.
    pub fn others(&self) -> &[f64] {
        self.likelihood.get(OTHERS).map_or(&[], |row| row.get_ref())
    }

    /// Place of the outcome `key` in [`Check::outcomes`].
    pub fn outcome(&self, key: &str) -> Option<usize> {
        self.outcomes.iter().position(|outcome| outcome.key.eq_ignore_ascii_case(key))
    }

    /// The same, or what the outcomes are.
    pub(crate) fn known_outcome(&self, key: &str) -> Result<usize, DiagnosisError> {
        self.outcome(key).ok_or_else(|| self.unknown_outcome(key))
    }

    pub(crate) fn unknown_outcome(&self, found: &str) -> DiagnosisError {
        let (check, outcomes) = (self.key.clone(), self.outcome_keys());
        DiagnosisError::UnknownOutcome { check, found: found.to_owned(), outcomes }
    }

    pub(crate) fn outcome_keys(&self) -> String {
        let keys: Vec<&str> = self.outcomes.iter().map(|outcome| outcome.key.as_str()).collect();
        keys.join(", ")
    }
}

impl Table {
    /// Place of the check called `word` by key or code in [`Table::checks`].
    ///
    /// # Errors
    ///
    /// [`DiagnosisError::UnknownCheck`] with the nearest name there is.
    pub fn check(&self, word: &str) -> Result<usize, DiagnosisError> {
        let same = |check: &Check| {
            check.key.eq_ignore_ascii_case(word) || check.code.eq_ignore_ascii_case(word)
        };
        self.checks.iter().position(same).ok_or_else(|| DiagnosisError::UnknownCheck {
            machine: self.machine,
            found: word.to_owned(),
            nearest: suggest::nearest(word, self.checks.iter().map(|check| check.key.as_str()))
                .map(str::to_owned),
        })
    }

    /// Place of the fault called `word` by key or code in [`Table::faults`].
    ///
    /// # Errors
    ///
    /// [`DiagnosisError::UnknownFault`] with the nearest name there is.
    pub fn fault(&self, word: &str) -> Result<usize, DiagnosisError> {
        let same = |fault: &Fault| {
            fault.key.eq_ignore_ascii_case(word) || fault.code.eq_ignore_ascii_case(word)
        };
        self.faults.iter().position(same).ok_or_else(|| DiagnosisError::UnknownFault {
            machine: self.machine,
            found: word.to_owned(),
            nearest: suggest::nearest(word, self.faults.iter().map(|fault| fault.key.as_str()))
                .map(str::to_owned),
        })
    }

    /// Place of the level `key` in [`Table::levels`].
    ///
    /// # Errors
    ///
    /// [`DiagnosisError::UnknownLevel`] with the levels there are.
    pub fn level(&self, key: &str) -> Result<usize, DiagnosisError> {
        let same = |level: &Level| level.key.eq_ignore_ascii_case(key);
        self.levels.iter().position(same).ok_or_else(|| {
            let levels: Vec<&str> = self.levels.iter().map(|level| level.key.as_str()).collect();
            DiagnosisError::UnknownLevel {
                machine: self.machine,
                found: key.to_owned(),
                levels: levels.join(", "),
            }
        })
    }

    /// The level `key` and all that lie on the way to it, deepest first.
    pub(crate) fn way_to<'a>(&'a self, key: &str) -> impl Iterator<Item = &'a Level> {
        let find = |key: &str| self.levels.iter().find(|level| level.key == key);
        std::iter::successors(find(key), move |level| level.after.as_deref().and_then(find))
    }
}
