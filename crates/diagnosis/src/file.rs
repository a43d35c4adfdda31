//! How is a faults file read, checked and laid over the built-in ones?

use std::ops::Range;

use binwright_catalog::{Machine, suggest};
use serde::Deserialize;
use toml::Spanned;

use crate::{
    DiagnosisError,
    hypotheses::Hypotheses,
    items::{ITEMS_MAX, distinct},
    table::{Bond, Check, Closing, Fault, Level, OTHERS, Scale, Table},
};

/// How far a sum of chances may be from one.
const TOLERANCE: f64 = 1e-6;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    machine: Machine,
    deference: Option<String>,
    order_at: Option<f64>,
    wrong_order_minutes: Option<f64>,
    closing: Option<Closing>,
    #[serde(default)]
    level: Vec<Spanned<Level>>,
    #[serde(default)]
    fault: Vec<Spanned<Fault>>,
    #[serde(default)]
    bond: Vec<Spanned<Bond>>,
    #[serde(default)]
    check: Vec<Spanned<Check>>,
}

/// The faults of both machines.
#[derive(Debug, Clone, PartialEq)]
pub struct Faults {
    /// Of alternators.
    pub alternator: Table,
    /// Of starters.
    pub starter: Table,
}

const BUILT_IN: [(&str, &str); 2] = [
    ("alternator.toml", include_str!("../../../schema/faults/alternator.toml")),
    ("starter.toml", include_str!("../../../schema/faults/starter.toml")),
];

impl Faults {
    /// Returns the faults built into the program.
    ///
    /// # Errors
    ///
    /// [`DiagnosisError`] never in a released program: the files are checked by test.
    pub fn builtin() -> Result<Self, DiagnosisError> {
        Self::load(&[])
    }

    /// Returns the built-in faults with those of `files` (name, TOML text) laid over: the same key
    /// replaces, a new key adds.
    ///
    /// A file's own priors stand as written; the faults it does not name share the rest in the
    /// proportions they had.
    ///
    /// # Errors
    ///
    /// [`DiagnosisError`] names the file, the line and what would be right.
    pub fn load(files: &[(String, String)]) -> Result<Self, DiagnosisError> {
        let mut faults =
            Self { alternator: empty(Machine::Alternator), starter: empty(Machine::Starter) };
        let own = files.iter().map(|(name, text)| (name.as_str(), text.as_str()));
        for (name, text) in BUILT_IN.into_iter().chain(own) {
            let source = Source { name, text };
            let file: File = toml::from_str(text).map_err(|error| source.toml(&error))?;
            source.lay_over(faults.table_mut(file.machine), file)?;
        }
        Ok(faults)
    }

    /// The table of one machine.
    pub fn table(&self, machine: Machine) -> &Table {
        match machine {
            Machine::Alternator => &self.alternator,
            Machine::Starter => &self.starter,
        }
    }

    pub(crate) fn table_mut(&mut self, machine: Machine) -> &mut Table {
        match machine {
            Machine::Alternator => &mut self.alternator,
            Machine::Starter => &mut self.starter,
        }
    }
}

fn empty(machine: Machine) -> Table {
    Table {
        machine,
        deference: String::new(),
        order_at: 0.5,
        wrong_order_minutes: 0.0,
        closing: Closing::default(),
        levels: Vec::new(),
        faults: Vec::new(),
        bonds: Vec::new(),
        checks: Vec::new(),
        hypotheses: Hypotheses::default(),
    }
}

/// A file while it is read: knows where a mistake stands.
#[derive(Clone, Copy)]
struct Source<'a> {
    name: &'a str,
    text: &'a str,
}

impl Source<'_> {
    fn line(self, span: &Range<usize>) -> usize {
        let before = self.text.get(..span.start).unwrap_or(self.text);
        before.bytes().filter(|byte| *byte == b'\n').count() + 1
    }

    fn toml(self, error: &toml::de::Error) -> DiagnosisError {
        let message = error.message().to_owned();
        DiagnosisError::Toml {
            file: self.name.to_owned(),
            line: error.span().map_or(1, |span| self.line(&span)),
            nearest: suggest::meant(&message).map(|(_, near)| near.to_owned()),
            message,
        }
    }

    fn item(
        self,
        span: &Range<usize>,
        what: &'static str,
        key: &str,
        message: String,
    ) -> DiagnosisError {
        let (file, key) = (self.name.to_owned(), key.to_owned());
        DiagnosisError::Item { file, line: self.line(span), what, key, message }
    }

    fn known<'k>(
        self,
        span: &Range<usize>,
        what: &'static str,
        found: &str,
        known: impl Iterator<Item = &'k str> + Clone,
    ) -> Result<(), DiagnosisError> {
        if known.clone().any(|key| key == found) {
            return Ok(());
        }
        Err(DiagnosisError::UnknownKey {
            file: self.name.to_owned(),
            line: self.line(span),
            what,
            found: found.to_owned(),
            nearest: suggest::nearest(found, known).map(str::to_owned),
        })
    }

    fn lay_over(self, table: &mut Table, file: File) -> Result<(), DiagnosisError> {
        table.order_at = file.order_at.unwrap_or(table.order_at);
        table.wrong_order_minutes = file.wrong_order_minutes.unwrap_or(table.wrong_order_minutes);
        if let Some(deference) = file.deference {
            table.deference = deference;
        }
        if let Some(closing) = file.closing {
            table.closing = closing;
        }
        for level in file.level {
            let span = level.span();
            let level = level.into_inner();
            if let Some(after) = &level.after {
                // Only levels above: so no way down can run in a circle.
                let above = table.levels.iter().map(|level| level.key.as_str());
                self.known(&span, "level", after, above.take_while(|key| *key != level.key))?;
            }
            replace_or_add(&mut table.levels, level, |a, b| a.key == b.key);
        }
        self.lay_faults(table, file.fault)?;
        for bond in file.bond {
            let faults = table.faults.iter().map(|fault| fault.key.as_str());
            for key in &bond.get_ref().faults {
                self.known(&bond.span(), "fault", key, faults.clone())?;
            }
            if bond.get_ref().times.is_nan() || bond.get_ref().times < 0.0 {
                let message = format!("`{}` is below nought", bond.get_ref().times);
                return Err(self.item(&bond.span(), "bond", "times", message));
            }
            replace_or_add(&mut table.bonds, bond.into_inner(), |a, b| {
                a.faults.iter().all(|key| b.faults.contains(key))
            });
        }
        for check in file.check {
            self.check(table, &check)?;
            replace_or_add(&mut table.checks, check.into_inner(), |a, b| a.key == b.key);
        }
        self.hand_rows_to_checks(table)?;
        self.closing(table)?;
        table.hypotheses = Hypotheses::of(&table.faults, &table.bonds, &table.checks);
        Ok(())
    }

    fn lay_faults(
        self,
        table: &mut Table,
        faults: Vec<Spanned<Fault>>,
    ) -> Result<(), DiagnosisError> {
        let Some(last) = faults.last().map(Spanned::span) else { return Ok(()) };
        let stated: f64 = faults.iter().map(|fault| fault.get_ref().prior).sum();
        let untouched = |old: &Fault| faults.iter().all(|new| new.get_ref().key != old.key);
        let others: f64 = table.faults.iter().filter(|f| untouched(f)).map(|f| f.prior).sum();
        let whole = if others > 0.0 { stated < 1.0 } else { (stated - 1.0).abs() <= TOLERANCE };
        if !whole || faults.iter().any(|fault| !(0.0..=1.0).contains(&fault.get_ref().prior)) {
            let message = format!("the priors sum to {stated:.6}, and all faults together to one");
            let key = faults.last().map_or("", |fault| fault.get_ref().key.as_str());
            return Err(self.item(&last, "fault", key, message));
        }
        for old in table.faults.iter_mut().filter(|old| untouched(old)) {
            old.prior *= (1.0 - stated) / others;
        }
        for fault in faults {
            replace_or_add(&mut table.faults, fault.into_inner(), |a, b| a.key == b.key);
        }
        if distinct(&table.faults, false).len() > ITEMS_MAX {
            let key = table.faults.last().map_or("", |fault| fault.key.as_str());
            let message = format!("with it there are more than {ITEMS_MAX} things to order or do");
            return Err(self.item(&last, "fault", key, message));
        }
        Ok(())
    }

    /// The closing test asks for checks and outcomes that there are.
    fn closing(self, table: &Table) -> Result<(), DiagnosisError> {
        let at = self.text.find("[closing]").unwrap_or(0);
        for (check, outcome) in &table.closing.checks {
            self.known(&(at..at), "check", check, table.checks.iter().map(|c| c.key.as_str()))?;
            for known in table.checks.iter().filter(|known| known.key == *check) {
                let outcomes = known.outcomes.iter().map(|outcome| outcome.key.as_str());
                self.known(&(at..at), "outcome", outcome, outcomes)?;
            }
        }
        Ok(())
    }

    /// A shop's own fault brings its rows for checks that are there already.
    fn hand_rows_to_checks(self, table: &mut Table) -> Result<(), DiagnosisError> {
        for fault in &mut table.faults {
            for (key, row) in std::mem::take(&mut fault.likelihood) {
                let checks = table.checks.iter().map(|check| check.key.as_str());
                self.known(&row.span(), "check", &key, checks)?;
                for check in table.checks.iter_mut().filter(|check| check.key == key) {
                    self.row(check, &row)?;
                    check.likelihood.insert(fault.key.clone(), row.clone());
                }
            }
        }
        Ok(())
    }

    fn check(self, table: &Table, check: &Spanned<Check>) -> Result<(), DiagnosisError> {
        let span = check.span();
        let check = check.get_ref();
        self.known(&span, "level", &check.level, table.levels.iter().map(|l| l.key.as_str()))?;
        if check.minutes.is_nan() || check.minutes <= 0.0 {
            let message = format!("`{}` is not a number of minutes above zero", check.minutes);
            return Err(self.item(&span, "check", &check.key, message));
        }
        let rows = table.faults.iter().map(|fault| fault.key.as_str()).chain([OTHERS]);
        for (fault, row) in &check.likelihood {
            self.known(&row.span(), "fault", fault, rows.clone())?;
            self.row(check, row)?;
        }
        if !check.likelihood.contains_key(OTHERS) {
            let message = format!("there is no row `{OTHERS}`");
            return Err(self.item(&span, "check", &check.key, message));
        }
        match &check.reading {
            Some(scale) => self.scale(&span, check, scale),
            None => Ok(()),
        }
    }

    fn row(self, check: &Check, row: &Spanned<Vec<f64>>) -> Result<(), DiagnosisError> {
        let wrong = |message| Err(self.item(&row.span(), "check", &check.key, message));
        let chances = row.get_ref();
        if chances.len() != check.outcomes.len() {
            let outcomes = check.outcome_keys();
            return wrong(format!("{} chances for the outcomes {outcomes}", chances.len()));
        }
        if let Some(chance) = chances.iter().find(|chance| chance.is_nan() || **chance <= 0.0) {
            return wrong(format!(
                "`{chance}` is not above zero; nothing is impossible at a bench"
            ));
        }
        let sum: f64 = chances.iter().sum();
        if (sum - 1.0).abs() > TOLERANCE {
            return wrong(format!("the row sums to {sum:.6} and not to one"));
        }
        Ok(())
    }

    fn scale(
        self,
        span: &Range<usize>,
        check: &Check,
        scale: &Scale,
    ) -> Result<(), DiagnosisError> {
        let outcomes = check.outcomes.iter().map(|outcome| outcome.key.as_str());
        for key in scale.order.iter().chain(&scale.both_ways) {
            self.known(span, "outcome", key, outcomes.clone())?;
        }
        let relative = (!scale.relative.is_empty()).then_some(&scale.relative);
        for cuts in scale.cuts.values().chain(relative) {
            if cuts.len() + 1 != scale.order.len() || !cuts.is_sorted() {
                let message = format!(
                    "{} limits for {} outcomes in order; there is one less limit, each higher than \
                     the one before",
                    cuts.len(),
                    scale.order.len()
                );
                return Err(self.item(span, "check", &check.key, message));
            }
        }
        Ok(())
    }
}

fn replace_or_add<T>(list: &mut Vec<T>, new: T, same: impl Fn(&T, &T) -> bool) {
    match list.iter_mut().find(|old| same(old, &new)) {
        Some(old) => *old = new,
        None => list.push(new),
    }
}
