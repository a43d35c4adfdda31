//! Which unit is on the bench? Found by its number or words, or told by machine and voltage class.

use std::collections::BTreeSet;

use binwright_catalog::{Machine, Unit, number};

use super::{OnBench, Rules, VOLTS};
use crate::{Shop, ShopError};

/// A unit that may be meant.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitChoice {
    /// Its number; `None` for one that nobody knows.
    pub unit: Option<String>,
    /// Which machine.
    pub machine: Machine,
    /// Its voltage class.
    pub volts: u16,
    /// What a person reads.
    pub words: String,
}

impl UnitChoice {
    fn known(unit: Unit) -> Self {
        let volts = unit.volts.unwrap_or(VOLTS);
        let words = format!("{} {}", unit.description, unit.maker);
        Self { unit: Some(unit.number), machine: unit.machine, volts, words }
    }

    fn unknown(machine: Machine, volts: u16) -> Self {
        Self { unit: None, machine, volts, words: machine.to_string() }
    }

    /// Whether every one of `words` stands in it.
    fn has(&self, words: &[String]) -> bool {
        let Self { unit, machine, volts, words: own } = self;
        let number = unit.as_deref().unwrap_or("unknown unit");
        let all = format!("{number} {own} {machine} {volts}v").to_lowercase();
        let folded = number::fold(number);
        words.iter().all(|word| {
            let short = number::fold(word);
            all.contains(word.as_str()) || !short.is_empty() && folded.contains(&short)
        })
    }

    /// How far it is from what was typed: its number, the start of it, nobody's unit, the rest.
    fn distance(&self, folded: &str) -> u8 {
        match self.unit.as_deref().map(number::fold) {
            Some(own) if own == folded => 0,
            Some(own) if !folded.is_empty() && own.starts_with(folded) => 1,
            None => 2,
            Some(_) => 3,
        }
    }

    /// A unit of which nothing was read yet.
    pub fn on_bench(&self) -> OnBench {
        OnBench {
            machine: Some(self.machine),
            unit: self.unit.clone(),
            volts: Some(self.volts),
            ..OnBench::default()
        }
    }
}

impl Shop {
    /// The units in which all words of `text` stand, at most `most`, the nearest first; among them
    /// one that nobody knows for each machine and each voltage class that checks have limits for.
    ///
    /// # Errors
    ///
    /// When the store fails.
    pub fn unit_choices(
        &self,
        rules: &Rules,
        text: &str,
        most: usize,
    ) -> Result<Vec<UnitChoice>, ShopError> {
        let words: Vec<String> = text.split_whitespace().map(str::to_lowercase).collect();
        let mut choices = Vec::new();
        let mut take = |choice: UnitChoice| {
            if choice.has(&words) {
                choices.push(choice);
            }
        };
        for machine in [Machine::Alternator, Machine::Starter] {
            let scales =
                rules.faults.table(machine).checks.iter().filter_map(|c| c.reading.as_ref());
            let classes = scales.flat_map(|scale| scale.cuts.keys());
            let volts: BTreeSet<u16> = classes.filter_map(|class| class.parse().ok()).collect();
            volts.into_iter().for_each(|volts| take(UnitChoice::unknown(machine, volts)));
        }
        self.store.each_unit(|unit| {
            take(UnitChoice::known(unit));
            Ok::<_, ShopError>(())
        })?;
        let folded = number::fold(text);
        choices.sort_by_key(|choice| choice.distance(&folded));
        choices.truncate(most);
        Ok(choices)
    }
}
