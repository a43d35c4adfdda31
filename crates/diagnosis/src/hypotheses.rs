//! Which explanations are weighed, and how likely is each outcome under each of them?

use std::collections::BTreeMap;

use binwright_evidence::{EvidenceError, normalise_ln};

use crate::table::{Bond, Check, Fault, FaultKind};

/// One fault alone, or two together.
pub(crate) type Members = (usize, Option<usize>);

/// All single faults and all pairs of a table, with what each expects of every check.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Hypotheses {
    pub members: Vec<Members>,
    ln_priors: Vec<f64>,
    /// Per check, one row per outcome, one column per hypothesis.
    likelihoods: Vec<Vec<f64>>,
    group_of: Vec<Option<usize>>,
    groups: usize,
}

impl Hypotheses {
    /// Lays out the hypotheses. "Nothing wrong" goes with no other fault; a bond of nought means that
    /// two faults never meet.
    pub fn of(faults: &[Fault], bonds: &[Bond], checks: &[Check]) -> Self {
        let mut members: Vec<Members> = (0..faults.len()).map(|f| (f, None)).collect();
        let mut ln_priors: Vec<f64> = faults.iter().map(|f| f.prior.ln()).collect();
        for (a, first) in faults.iter().enumerate() {
            for (b, second) in faults.iter().enumerate().skip(a + 1) {
                let times = bond(bonds, &first.key, &second.key);
                let good = [first.kind, second.kind].contains(&FaultKind::Good);
                if times > 0.0 && !good {
                    members.push((a, Some(b)));
                    ln_priors.push((first.prior * second.prior * times).ln());
                }
            }
        }
        let likelihoods = checks.iter().map(|check| spread_out(check, faults, &members)).collect();
        let mut names = BTreeMap::new();
        let group_of = checks
            .iter()
            .map(|check| {
                let next = names.len();
                check.group.as_ref().map(|group| *names.entry(group.clone()).or_insert(next))
            })
            .collect();
        Self { members, ln_priors, likelihoods, group_of, groups: names.len() }
    }

    /// The rows of a check: one per outcome, one column per hypothesis.
    pub fn rows(&self, check: usize) -> &[f64] {
        &self.likelihoods[check]
    }
}

fn bond(bonds: &[Bond], a: &str, b: &str) -> f64 {
    let pair = |bond: &&Bond| bond.faults == [a, b] || bond.faults == [b, a];
    bonds.iter().find(pair).map_or(1.0, |bond| bond.times)
}

/// A pair's row is that of the one fault that has its own, the mean where both have, else `others`.
fn spread_out(check: &Check, faults: &[Fault], members: &[Members]) -> Vec<f64> {
    let chance = |outcome: usize, &(a, b): &Members| {
        let own = |fault: usize| check.row(&faults[fault]).map(|row| row[outcome]);
        match (own(a), b.and_then(own)) {
            (Some(first), Some(second)) => f64::midpoint(first, second),
            (Some(only), None) | (None, Some(only)) => only,
            (None, None) => check.others()[outcome],
        }
    };
    (0..check.outcomes.len())
        .flat_map(|outcome| members.iter().map(move |pair| chance(outcome, pair)))
        .collect()
}

/// One reading as weights of the check's outcomes (a soft border gives two of them some weight).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Observed {
    pub check: usize,
    pub weights: Vec<f64>,
}

/// The state of belief after some readings.
pub(crate) struct Belief<'a> {
    hypotheses: &'a Hypotheses,
    /// Log prior and log likelihood of readings outside any group.
    ln_alone: Vec<f64>,
    /// Per group: how many of its checks were made, and the sum of their log likelihoods.
    grouped: Vec<(usize, Vec<f64>)>,
    pub probabilities: Vec<f64>,
}

/// n checks that repeat each other count as 1 + 0.5 (n - 1); each gets this power, in any order.
fn power(made: usize) -> f64 {
    let made = made.max(1) as f64;
    (1.0 + 0.5 * (made - 1.0)) / made
}

impl<'a> Belief<'a> {
    /// Weighs `observed`, which holds each check once.
    pub fn after(hypotheses: &'a Hypotheses, observed: &[Observed]) -> Result<Self, EvidenceError> {
        let width = hypotheses.members.len();
        let mut belief = Self {
            hypotheses,
            ln_alone: hypotheses.ln_priors.clone(),
            grouped: vec![(0, vec![0.0; width]); hypotheses.groups],
            probabilities: Vec::new(),
        };
        // In the order of the table, so that not even rounding depends on the order of entry.
        let mut ordered: Vec<&Observed> = observed.iter().collect();
        ordered.sort_by_key(|reading| reading.check);
        for reading in ordered {
            let sum = match hypotheses.group_of[reading.check] {
                None => &mut belief.ln_alone,
                Some(group) => {
                    belief.grouped[group].0 += 1;
                    &mut belief.grouped[group].1
                }
            };
            let mut likelihood = vec![0.0; width];
            let rows = hypotheses.rows(reading.check).chunks_exact(width);
            for (row, weight) in rows.zip(&reading.weights).filter(|(_, weight)| **weight > 0.0) {
                likelihood.iter_mut().zip(row).for_each(|(sum, l)| *sum += weight * l);
            }
            sum.iter_mut().zip(likelihood).for_each(|(ln, l)| *ln += l.ln());
        }
        belief.probabilities = belief.weighed(None)?;
        Ok(belief)
    }

    /// What would be believed after `check` had come out as `outcome`, and how likely that is now.
    pub fn supposing(
        &self,
        check: usize,
        outcome: usize,
    ) -> Result<(f64, Vec<f64>), EvidenceError> {
        let width = self.probabilities.len();
        let row = &self.hypotheses.rows(check)[outcome * width..][..width];
        let chance = self.probabilities.iter().zip(row).map(|(p, l)| p * l).sum();
        Ok((chance, self.weighed(Some((self.hypotheses.group_of[check], row)))?))
    }

    fn weighed(&self, more: Option<(Option<usize>, &[f64])>) -> Result<Vec<f64>, EvidenceError> {
        let mut ln = self.ln_alone.clone();
        if let Some((None, row)) = more {
            ln.iter_mut().zip(row).for_each(|(ln, l)| *ln += l.ln());
        }
        for (group, (made, sum)) in self.grouped.iter().enumerate() {
            match more {
                Some((Some(this), row)) if this == group => {
                    let power = power(made + 1);
                    let terms = sum.iter().zip(row).map(|(sum, l)| power * (sum + l.ln()));
                    ln.iter_mut().zip(terms).for_each(|(ln, term)| *ln += term);
                }
                _ if *made > 0 => {
                    let power = power(*made);
                    ln.iter_mut().zip(sum).for_each(|(ln, sum)| *ln += power * sum);
                }
                _ => {}
            }
        }
        normalise_ln(&mut ln)?;
        Ok(ln)
    }
}
