//! The bench's desk: what do the readings say, which check next, what is called for?

pub mod covers;
pub mod quotes;
mod units;
mod work;

use std::collections::BTreeMap;

use binwright_catalog::{Machine, standard::terminal};
use binwright_diagnosis::electrical::bridge;
use binwright_diagnosis::{Check, Diagnosis, Faults, Form, Job, Learnt, Scale, Table, diagnose};
use serde::{Deserialize, Serialize};

use crate::settings::Settings;
use crate::shop::own_files;
use crate::{Asked, Shop, ShopError};

use binwright_store::Hold;
pub use binwright_store::QuoteState;
pub use covers::{FromBin, Repair, RepairOption, RoleNeed, Taken};
pub use quotes::{Closing, QuoteAsked, QuoteCard, UNKNOWN};
pub use units::UnitChoice;

/// The voltage class of a unit of which nothing is said.
const VOLTS: u16 = 12;
/// A number that moved by less is not worth a line.
const MOVED: f64 = 0.001;
/// Explanations worth handing out.
const EXPLANATIONS: usize = 10;

/// One unit on the bench as it was typed or read; nothing of it is judged yet.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct OnBench {
    /// The asker's own name for the question.
    pub id: Option<String>,
    /// Which machine; that of the unit when absent.
    pub machine: Option<Machine>,
    /// The unit's number, when it is known.
    pub unit: Option<String>,
    /// Voltage class, in V; that of the unit, or 12, when absent.
    pub volts: Option<u16>,
    /// Whether it came without its vehicle.
    pub loose: bool,
    /// How far it is stripped already, beyond what the readings show.
    pub stripped: Option<String>,
    /// Readings as `check=value`; of two of one check the later counts.
    pub readings: Vec<String>,
    /// Roles whose part is known though the unit is not, with a number of the part.
    pub parts: BTreeMap<String, String>,
    /// Roles whose part was measured.
    pub fits: BTreeMap<String, Asked>,
    /// Roles that are wanted whatever the readings say.
    pub with: Vec<String>,
    /// What the quote that is being revised holds itself.
    #[serde(skip)]
    pub(crate) own: Vec<Hold>,
}

impl OnBench {
    /// Reads the machine (or not) and the readings from words.
    ///
    /// # Errors
    ///
    /// [`ShopError::Machine`] for a first word that is neither machine nor reading.
    pub fn from_words(words: &[String]) -> Result<Self, ShopError> {
        let mut asked = Self::default();
        let mut readings = words;
        if let Some((first, rest)) = words.split_first().filter(|(first, _)| !first.contains('=')) {
            asked.machine = Some(first.parse()?);
            readings = rest;
        }
        asked.readings = readings.to_vec();
        Ok(asked)
    }
}

/// What the readings of one unit say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchAnswer {
    /// The asker's own name for the question.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<String>,
    /// Which machine.
    pub machine: Machine,
    /// The unit's number, when it is known.
    pub unit: Option<String>,
    /// Voltage class it was judged by.
    pub volts: u16,
    /// Whether it came without its vehicle.
    pub loose: bool,
    /// Findings, next checks and calls.
    #[serde(flatten)]
    pub diagnosis: Diagnosis,
    /// The repair options, when it is known what sits in the unit.
    pub repair: Repair,
    /// What stands beside every caution.
    pub deference: String,
}

/// How one check is made and read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckCard {
    /// Stable key.
    pub key: String,
    /// Code on paper.
    pub code: String,
    /// What a person reads.
    pub name: String,
    /// How far the unit is stripped for it: key and name.
    pub level: (String, String),
    /// Hands-on minutes.
    pub minutes: f64,
    /// How to do it.
    pub how: String,
    /// What can hurt, on the way there and at it.
    pub cautions: Vec<String>,
    /// Terminals by DIN 72552, each with what it does.
    pub terminals: Vec<(String, String)>,
    /// Outcomes: key, words and what they say.
    pub outcomes: Vec<(String, String, Option<String>)>,
    /// How a number is typed, by example, for checks that take one.
    pub number: Option<String>,
    /// What theory says of a sound unit, where it says something.
    pub theory: Option<String>,
}

/// One fault that a job may be closed with.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FaultCard {
    /// Stable key.
    pub key: String,
    /// Code on paper.
    pub code: String,
    /// What a person reads.
    pub name: String,
    /// Share of jobs, as far as is known.
    pub prior: f64,
}

/// What the bench goes by: read once, good for many questions.
#[derive(Debug, Clone)]
pub struct Rules {
    /// Faults and checks in force, as closed jobs taught them.
    pub faults: Faults,
    /// The same before any job.
    pub told: Faults,
    /// How many closed jobs taught.
    pub jobs: usize,
    /// The shop's settings.
    pub settings: Settings,
}

/// What closed jobs have taught.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LearntCard {
    /// Whether learning is on.
    pub on: bool,
    /// How many closed jobs taught.
    pub jobs: usize,
    /// As how many jobs the built-in numbers count.
    pub pseudo_jobs: f64,
    /// Numbers that moved, by machine, the largest differences first.
    pub moved: Vec<(Machine, Vec<Learnt>)>,
}

impl Rules {
    /// What closed jobs have taught: every number that moved by a thousandth or more.
    pub fn learnt(&self) -> LearntCard {
        let moved = [Machine::Alternator, Machine::Starter]
            .map(|machine| (machine, self.faults.differences(&self.told, machine, MOVED)));
        LearntCard {
            on: self.settings.learning.on,
            jobs: self.jobs,
            pseudo_jobs: self.settings.learning.pseudo_jobs,
            moved: moved.to_vec(),
        }
    }
}

impl Shop {
    /// What the bench goes by: the built-in faults with the shop's own `faults` files laid over and
    /// closed jobs learnt from, unless a setting says not to; and the settings.
    ///
    /// # Errors
    ///
    /// When a file of the shop has a mistake.
    pub fn rules(&self) -> Result<Rules, ShopError> {
        let dir = self.store.dir();
        let (settings, told) = (Settings::of(dir)?, Faults::load(&own_files(dir, "faults")?)?);
        let jobs = if settings.learning.on { self.closed_jobs(&told)? } else { Vec::new() };
        let faults = told.learnt_from(&jobs, settings.learning.pseudo_jobs)?;
        Ok(Rules { faults, settings, jobs: jobs.len(), told })
    }

    /// Weighs the readings of one unit and lays out what can be done about it.
    ///
    /// # Errors
    ///
    /// When the unit is not known, machine and unit differ, a reading cannot be understood, or a part
    /// that was named or measured is not known.
    pub fn bench(&mut self, rules: &Rules, asked: &OnBench) -> Result<BenchAnswer, ShopError> {
        let (machine, volts, diagnosis) = self.diagnosed(rules, asked)?;
        let table = rules.faults.table(machine);
        let repair = self.repair(rules, table, &diagnosis.calls, asked)?;
        Ok(BenchAnswer {
            id: asked.id.clone(),
            machine,
            unit: asked.unit.clone(),
            volts,
            loose: asked.loose,
            diagnosis,
            repair,
            deference: table.deference.clone(),
        })
    }

    /// Machine, voltage class, and what the readings say.
    pub(crate) fn diagnosed(
        &self,
        rules: &Rules,
        asked: &OnBench,
    ) -> Result<(Machine, u16, Diagnosis), ShopError> {
        let (machine, volts) = self.machine_and_volts(asked)?;
        let table = rules.faults.table(machine);
        let readings = asked.readings.iter().map(|text| table.reading(text));
        let job = Job {
            machine,
            volts,
            carried_in_loose: asked.loose,
            stripped_to: asked.stripped.clone(),
            readings: readings.collect::<Result<_, _>>()?,
        };
        let mut diagnosis = diagnose(&rules.faults, &job)?;
        diagnosis.explanations.truncate(EXPLANATIONS);
        Ok((machine, volts, diagnosis))
    }

    fn machine_and_volts(&self, asked: &OnBench) -> Result<(Machine, u16), ShopError> {
        let Some(number) = &asked.unit else {
            let machine = asked.machine.ok_or(ShopError::NoMachine)?;
            return Ok((machine, asked.volts.unwrap_or(VOLTS)));
        };
        let unit = self.unit(number)?;
        if let Some(machine) = asked.machine.filter(|machine| *machine != unit.machine) {
            return Err(ShopError::OtherMachine { unit: unit.number, is: unit.machine, machine });
        }
        Ok((unit.machine, asked.volts.or(unit.volts).unwrap_or(VOLTS)))
    }

    fn unit(&self, number: &str) -> Result<binwright_catalog::Unit, ShopError> {
        let found = self.store.unit(number)?;
        found.ok_or_else(|| ShopError::NoSuchUnit { found: number.to_owned() })
    }
}

/// The checks of `table`, in its order.
pub fn check_cards(table: &Table) -> Vec<CheckCard> {
    table.checks.iter().map(|check| check_card(table, check)).collect()
}

/// The check called `word` by key or code.
///
/// # Errors
///
/// When there is none.
pub fn check_named(table: &Table, word: &str) -> Result<CheckCard, ShopError> {
    Ok(check_card(table, &table.checks[table.check(word)?]))
}

/// The faults of `table`, in its order.
pub fn fault_cards(table: &Table) -> Vec<FaultCard> {
    let card = |fault: &binwright_diagnosis::Fault| FaultCard {
        key: fault.key.clone(),
        code: fault.code.clone(),
        name: fault.name.clone(),
        prior: fault.prior,
    };
    table.faults.iter().map(card).collect()
}

/// How a number is typed, shown on one of the limits: `13.5V`, `0.72V/OL with the leads swapped`.
fn example(scale: &Scale) -> String {
    let unit = &scale.unit;
    let cuts = scale.cuts.values().next().unwrap_or(&scale.relative);
    let one = match cuts.get(cuts.len() / 2).copied().unwrap_or(1.0) {
        cut if cut >= 1e3 => format!("{}k{unit}", cut / 1e3),
        cut => format!("{cut}{unit}"),
    };
    match scale.form {
        Form::Single if scale.copper => format!("{one}@85C when the copper is at 85 C"),
        Form::Single => one,
        Form::TwoWay => format!("{one}/OL with the leads swapped; OL is open"),
        // Its limits are in percent.
        Form::ThreeLead => {
            format!("0.12{unit}/0.12{unit}/0.13{unit} for U-V, V-W, W-U; OL is open")
        }
    }
}

fn check_card(table: &Table, check: &Check) -> CheckCard {
    let level = table.levels.iter().find(|level| level.key == check.level);
    let cautions = level.map(|level| &level.caution).into_iter().chain([&check.caution]);
    let meaning =
        |code: &String| (code.clone(), terminal::meaning(code).unwrap_or_default().to_owned());
    let bridge = bridge(1.0);
    CheckCard {
        key: check.key.clone(),
        code: check.code.clone(),
        name: check.name.clone(),
        level: (check.level.clone(), level.map(|level| level.name.clone()).unwrap_or_default()),
        minutes: check.minutes,
        how: check.how.clone(),
        cautions: cautions.filter(|caution| !caution.is_empty()).cloned().collect(),
        terminals: check.terminals.iter().map(meaning).collect(),
        outcomes: check
            .outcomes
            .iter()
            .map(|o| (o.key.clone(), o.words.clone(), o.means.clone()))
            .collect(),
        number: check.reading.as_ref().map(example),
        theory: (check.key == "ripple").then(|| {
            format!(
                "without a battery a sound bridge gives {:.3} times the voltage between lines and \
                 ripples {:.1} % from top to bottom, six times a cycle; the battery flattens it",
                bridge.mean, bridge.ripple_percent
            )
        }),
    }
}
