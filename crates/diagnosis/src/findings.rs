//! How likely is each fault, and which readings speak for it and against it?

use serde::Serialize;

use crate::{
    DiagnosisError, Table,
    hypotheses::{Belief, Members, Observed},
    reading::Explained,
    table::FaultKind,
};

/// A fault that the readings support, or do not.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// Key of the fault; [`OUTSIDE`] for all that is on the vehicle when the unit came without it.
    pub key: String,
    /// Its code on paper.
    pub code: String,
    /// Its name.
    pub name: String,
    /// How likely it is present, alone or with another.
    pub probability: f64,
    /// The same before any reading.
    pub prior: f64,
    /// Readings that speak for it, strongest first.
    pub speaks_for: Vec<Reason>,
    /// Readings that speak against it, strongest first.
    pub speaks_against: Vec<Reason>,
}

/// What one reading does to one finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// Key of the check.
    pub check: String,
    /// The reading in words.
    pub words: String,
    /// By how much it multiplies the odds of the finding, given all the other readings.
    pub factor: f64,
}

impl Reason {
    /// Three digits of the factor: `0.04`, `1.62`, `28.1`, `340`.
    pub fn factor_in_words(&self) -> String {
        let decimals = match self.factor {
            f if f >= 100.0 => 0,
            f if f >= 10.0 => 1,
            f if f >= 0.095 => 2,
            _ => 4,
        };
        format!("{:.decimals$}", self.factor)
    }
}

/// One or two faults that together explain the readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Explanation {
    /// Keys of the faults.
    pub faults: Vec<String>,
    /// How likely it is these and no others.
    pub probability: f64,
}

/// Key of the finding that stands for everything on the vehicle.
pub const OUTSIDE: &str = "outside";

/// A factor this near to one says nothing.
const NOTHING: f64 = 1.05;

/// The faults that make up one finding.
struct Class {
    key: String,
    code: String,
    name: String,
    faults: Vec<usize>,
}

impl Class {
    fn holds(&self, &(a, b): &Members) -> bool {
        self.faults.contains(&a) || b.is_some_and(|b| self.faults.contains(&b))
    }

    /// Probability that it is present and that it is not, each summed: neither is one minus the other,
    /// so that both keep their digits.
    fn split(&self, table: &Table, probabilities: &[f64]) -> (f64, f64) {
        let mut sums = (0.0, 0.0);
        for (members, p) in table.hypotheses.members.iter().zip(probabilities) {
            *(if self.holds(members) { &mut sums.0 } else { &mut sums.1 }) += p;
        }
        sums
    }
}

fn classes(table: &Table, loose: bool) -> Vec<Class> {
    let merged = |fault: usize| loose && table.faults[fault].kind == FaultKind::Outside;
    let mut classes: Vec<Class> = (0..table.faults.len())
        .filter(|fault| !merged(*fault))
        .map(|at| {
            let fault = &table.faults[at];
            let (key, code) = (fault.key.clone(), fault.code.clone());
            Class { key, code, name: fault.name.clone(), faults: vec![at] }
        })
        .collect();
    let outside: Vec<usize> = (0..table.faults.len()).filter(|fault| merged(*fault)).collect();
    if let [first, .., last] = outside[..] {
        classes.push(Class {
            key: OUTSIDE.to_owned(),
            code: format!("{}-{}", table.faults[first].code, table.faults[last].code),
            name: "unit good, look at the vehicle".to_owned(),
            faults: outside,
        });
    }
    classes
}

/// Weighs every fault, likeliest first, with its reasons.
pub(crate) fn findings(
    table: &Table,
    belief: &Belief<'_>,
    observed: &[Observed],
    explained: &[Explained],
    loose: bool,
) -> Result<Vec<Finding>, DiagnosisError> {
    let before = Belief::after(&table.hypotheses, &[])?;
    let mut without = Vec::with_capacity(observed.len());
    for left_out in observed {
        let rest: Vec<Observed> =
            observed.iter().filter(|other| other.check != left_out.check).cloned().collect();
        without.push(Belief::after(&table.hypotheses, &rest)?.probabilities);
    }
    let finding = |class: Class| {
        let (probability, absent) = class.split(table, &belief.probabilities);
        let mut reasons: Vec<Reason> = without
            .iter()
            .zip(explained)
            .map(|(without, reading)| {
                let (with_it, rest) = class.split(table, without);
                let factor = (probability / absent) / (with_it / rest);
                let words = format!("{} {}: {}", reading.name, reading.typed, reading.words);
                Reason { check: reading.check.clone(), words, factor }
            })
            .filter(|reason| reason.factor.ln().abs() >= NOTHING.ln())
            .collect();
        reasons.sort_by(|a, b| b.factor.ln().abs().total_cmp(&a.factor.ln().abs()));
        let (speaks_for, speaks_against) = reasons.into_iter().partition(|r| r.factor > 1.0);
        let prior = class.split(table, &before.probabilities).0;
        let Class { key, code, name, .. } = class;
        Finding { key, code, name, probability, prior, speaks_for, speaks_against }
    };
    let mut findings: Vec<Finding> = classes(table, loose).into_iter().map(finding).collect();
    findings.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    Ok(findings)
}

/// All hypotheses, likeliest first.
pub(crate) fn explanations(table: &Table, probabilities: &[f64]) -> Vec<Explanation> {
    let key = |fault: usize| table.faults[fault].key.clone();
    let mut all: Vec<Explanation> = table
        .hypotheses
        .members
        .iter()
        .zip(probabilities)
        .map(|(&(a, b), p)| Explanation {
            faults: std::iter::once(a).chain(b).map(key).collect(),
            probability: *p,
        })
        .collect();
    all.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    all
}
