//! What do closed jobs teach about priors and likelihoods?

use binwright_catalog::Machine;

use serde::Serialize;

use crate::{DiagnosisError, Faults, Table, hypotheses::Hypotheses, table::OTHERS};

/// A job whose fault was truly found.
#[derive(Debug, Clone, PartialEq)]
pub struct ClosedJob {
    /// Which machine.
    pub machine: Machine,
    /// Keys of the faults that were there.
    pub faults: Vec<String>,
    /// Checks made and their outcomes, by key.
    pub outcomes: Vec<(String, String)>,
}

/// One number that closed jobs moved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Learnt {
    /// Key of the check and of its outcome; `None` for a prior.
    pub outcome: Option<(String, String)>,
    /// Key of the fault, or `others`.
    pub fault: String,
    /// Before.
    pub before: f64,
    /// After.
    pub after: f64,
}

impl Faults {
    /// Returns these faults as `jobs` teach them; what is built in counts as `pseudo_jobs` jobs.
    ///
    /// Every prior, and every row, is the mean of a Dirichlet distribution: `pseudo_jobs` times the
    /// number here plus the jobs counted, over their sum. A job with two faults counts half for the
    /// prior of each; its outcomes count for the fault that has a row of its own in that check (half
    /// each when both have), else for `others`: just as pairs are weighed. Bonds stay. A row weighs as
    /// many pseudo-jobs as its fault had jobs before, so at least one.
    ///
    /// # Errors
    ///
    /// [`DiagnosisError`] when a job names a fault, check or outcome that is not known.
    pub fn learnt_from(
        &self,
        jobs: &[ClosedJob],
        pseudo_jobs: f64,
    ) -> Result<Self, DiagnosisError> {
        let mut learnt = self.clone();
        for machine in [Machine::Alternator, Machine::Starter] {
            let of_machine = jobs.iter().filter(|job| job.machine == machine);
            learn(learnt.table_mut(machine), of_machine, pseudo_jobs.max(1.0))?;
        }
        Ok(learnt)
    }

    /// Returns every number of `machine` that differs from `before` by at least `least`, the largest
    /// differences first.
    pub fn differences(&self, before: &Self, machine: Machine, least: f64) -> Vec<Learnt> {
        let (old, new) = (before.table(machine), self.table(machine));
        let mut all: Vec<Learnt> = Vec::new();
        for (was, is) in old.faults.iter().zip(&new.faults) {
            let (fault, before, after) = (is.key.clone(), was.prior, is.prior);
            all.push(Learnt { outcome: None, fault, before, after });
        }
        for (was, is) in old.checks.iter().zip(&new.checks) {
            for (fault, row) in &is.likelihood {
                let Some(old_row) = was.likelihood.get(fault) else { continue };
                let numbers = old_row.get_ref().iter().zip(row.get_ref());
                for ((before, after), outcome) in numbers.zip(&is.outcomes) {
                    all.push(Learnt {
                        outcome: Some((is.key.clone(), outcome.key.clone())),
                        fault: fault.clone(),
                        before: *before,
                        after: *after,
                    });
                }
            }
        }
        let moved = |learnt: &Learnt| (learnt.after - learnt.before).abs();
        all.retain(|learnt| moved(learnt) >= least);
        all.sort_by(|a, b| moved(b).total_cmp(&moved(a)));
        all
    }
}

fn learn<'a>(
    table: &mut Table,
    jobs: impl Iterator<Item = &'a ClosedJob>,
    pseudo_jobs: f64,
) -> Result<(), DiagnosisError> {
    // Rows are counted by what they held before, so that the order of jobs does not matter.
    let before = table.clone();
    let mut prior: Vec<f64> = before.faults.iter().map(|f| f.prior * pseudo_jobs).collect();
    let mut counts: Vec<Vec<(String, usize, f64)>> = vec![Vec::new(); before.checks.len()];
    for job in jobs.filter(|job| !job.faults.is_empty()) {
        let found: Vec<usize> =
            job.faults.iter().map(|key| before.fault(key)).collect::<Result<_, _>>()?;
        for fault in &found {
            prior[*fault] += 1.0 / found.len() as f64;
        }
        for (check, outcome) in &job.outcomes {
            let at = before.check(check)?;
            let check = &before.checks[at];
            let outcome = check.known_outcome(outcome)?;
            let keys = found.iter().map(|fault| &before.faults[*fault].key);
            let own: Vec<&String> =
                keys.filter(|key| check.likelihood.contains_key(*key)).collect();
            if own.is_empty() {
                counts[at].push((OTHERS.to_owned(), outcome, 1.0));
            }
            for key in &own {
                counts[at].push(((*key).clone(), outcome, 1.0 / own.len() as f64));
            }
        }
    }
    let total: f64 = prior.iter().sum();
    table.faults.iter_mut().zip(prior).for_each(|(fault, jobs)| fault.prior = jobs / total);
    for (check, counts) in table.checks.iter_mut().zip(counts) {
        for (key, row) in &mut check.likelihood {
            let chances = row.get_mut();
            let share =
                before.faults.iter().find(|fault| fault.key == *key).map_or(1.0, |f| f.prior);
            let pseudo = (pseudo_jobs * share).max(1.0);
            for chance in &mut *chances {
                *chance *= pseudo;
            }
            for (_, outcome, jobs) in counts.iter().filter(|(fault, ..)| fault == key) {
                chances[*outcome] += jobs;
            }
            let total: f64 = chances.iter().sum();
            for chance in chances {
                *chance /= total;
            }
        }
    }
    table.hypotheses = Hypotheses::of(&table.faults, &table.bonds, &table.checks);
    Ok(())
}
