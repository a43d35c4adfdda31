//! What do the readings of one job say: what is wrong, what to check next, what to order?

use std::collections::BTreeSet;

use binwright_catalog::Machine;

use serde::Serialize;

use crate::{
    DiagnosisError, Faults, Table,
    ask::{NextCheck, Stop, next_checks, open_levels, separator, stop},
    calls::Calls,
    findings::{Explanation, Finding, explanations, findings},
    hypotheses::{Belief, Observed},
    items::Items,
    reading::{Explained, Reading},
    table::FaultKind,
};

/// One unit on the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Which machine.
    pub machine: Machine,
    /// Voltage class, in V.
    pub volts: u16,
    /// Whether it came without its vehicle: what is wrong there cannot be told then.
    pub carried_in_loose: bool,
    /// How far it is stripped already, beyond what the readings show.
    pub stripped_to: Option<String>,
    /// What was read; of two readings of one check the later counts.
    pub readings: Vec<Reading>,
}

/// What the readings of a job say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Diagnosis {
    /// The readings as they are understood, in the order of entry.
    pub readings: Vec<Explained>,
    /// Every fault, likeliest first.
    pub findings: Vec<Finding>,
    /// Every single fault and every pair, likeliest first.
    pub explanations: Vec<Explanation>,
    /// How likely nothing in the unit is at fault.
    pub unit_good: f64,
    /// Likely faults that what was read cannot tell apart.
    pub indistinct: Vec<Indistinct>,
    /// Checks that can be made, best per minute first.
    pub next_checks: Vec<NextCheck>,
    /// Whether asking on can still change the order.
    pub stop: Stop,
    /// What the findings call for.
    pub calls: Calls,
}

/// Two faults between which the readings do not decide.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Indistinct {
    /// Keys of the two.
    pub faults: [String; 2],
    /// The factor between them that the readings make, 1 to 2.
    pub factor: f64,
    /// Key of the open check that tells them apart best per minute, when one does.
    pub told_apart_by: Option<String>,
}

/// Faults this likely are worth telling apart.
const LIKELY: f64 = 0.05;
/// Readings that make less of a factor than this do not decide between two faults.
const UNDECIDED: f64 = 2.0;

/// Weighs the readings of `job`.
///
/// Single faults, pairs of faults and "nothing wrong" are weighed together; all on the vehicle is one
/// finding when the unit came without it.
///
/// # Errors
///
/// [`DiagnosisError`] when a reading cannot be understood.
///
/// ```
/// # use binwright_catalog::Machine;
/// # use binwright_diagnosis::{Faults, Job, diagnose};
/// let faults = Faults::builtin()?;
/// let readings = ["charge-voltage=low", "ripple=high", "bplus-to-case=0.47V/OL"];
/// let job = Job {
///     machine: Machine::Alternator,
///     volts: 12,
///     carried_in_loose: false,
///     stripped_to: None,
///     readings: readings.map(|r| faults.alternator.reading(r)).into_iter().collect::<Result<_, _>>()?,
/// };
/// let diagnosis = diagnose(&faults, &job)?;
/// assert_eq!(diagnosis.findings[0].key, "diode-shorted");
/// assert_eq!(diagnosis.calls.must[0].role, "rectifier");
/// # Ok::<(), binwright_diagnosis::DiagnosisError>(())
/// ```
pub fn diagnose(faults: &Faults, job: &Job) -> Result<Diagnosis, DiagnosisError> {
    let table = faults.table(job.machine);
    let loose = job.carried_in_loose;
    let (mut observed, mut readings): (Vec<Observed>, Vec<Explained>) = (Vec::new(), Vec::new());
    for reading in &job.readings {
        let (seen, explained) = table.observe(reading, job.volts)?;
        if let Some(earlier) = observed.iter().position(|other| other.check == seen.check) {
            observed.remove(earlier);
            readings.remove(earlier);
        }
        observed.push(seen);
        readings.push(explained);
    }
    let belief = Belief::after(&table.hypotheses, &observed)?;
    let items = Items::of(table, loose);
    let made: BTreeSet<usize> = observed.iter().map(|reading| reading.check).collect();
    let stripped = job.stripped_to.as_deref().map(|key| table.level(key)).transpose()?;
    let reached = made
        .iter()
        .map(|check| table.checks[*check].level.as_str())
        .chain(stripped.map(|level| table.levels[level].key.as_str()))
        // Loose, it is off the vehicle: one level down.
        .chain(table.levels.get(usize::from(loose)).map(|level| level.key.as_str()));
    let open = open_levels(table, reached);
    let next_checks = next_checks(table, &belief, &items, &made, &open, loose)?;
    let findings = findings(table, &belief, &observed, &readings, loose)?;
    Ok(Diagnosis {
        explanations: explanations(table, &belief.probabilities),
        unit_good: unit_good(table, &belief.probabilities),
        indistinct: indistinct(table, &belief.probabilities, &findings, &next_checks),
        stop: stop(table, &next_checks),
        calls: Calls::of(table, &items, &belief.probabilities, &findings),
        readings,
        findings,
        next_checks,
    })
}

fn unit_good(table: &Table, probabilities: &[f64]) -> f64 {
    let sound = |fault: usize| table.faults[fault].kind != FaultKind::Unit;
    let all = table.hypotheses.members.iter().zip(probabilities);
    all.filter(|((a, b), _)| sound(*a) && b.is_none_or(sound)).map(|(_, p)| p).sum()
}

/// Compares the two as single faults: the ratio of what they are now to what they were before.
fn indistinct(
    table: &Table,
    probabilities: &[f64],
    findings: &[Finding],
    next: &[NextCheck],
) -> Vec<Indistinct> {
    let likely: Vec<usize> = findings
        .iter()
        .filter(|finding| finding.probability >= LIKELY)
        .filter_map(|finding| table.fault(&finding.key).ok())
        .collect();
    let mut pairs = Vec::new();
    for (at, &a) in likely.iter().enumerate() {
        for &b in &likely[at + 1..] {
            let prior = table.faults[a].prior / table.faults[b].prior;
            let factor = (probabilities[a] / probabilities[b] / prior).ln().abs().exp();
            if factor < UNDECIDED {
                pairs.push(Indistinct {
                    faults: [a, b].map(|fault| table.faults[fault].key.clone()),
                    factor,
                    told_apart_by: separator(table, next, a, b),
                });
            }
        }
    }
    pairs
}
