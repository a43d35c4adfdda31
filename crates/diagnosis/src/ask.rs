//! Which check next, and when is it enough?

use std::collections::BTreeSet;

use binwright_evidence::{entropy_bits, expected_gain_bits, gain_per_minute};

use serde::Serialize;

use crate::{DiagnosisError, Table, hypotheses::Belief, items::Items};

/// A check that was not made yet and can be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextCheck {
    /// Key of the check.
    pub check: String,
    /// Its code on paper.
    pub code: String,
    /// Its name.
    pub name: String,
    /// Key of the level it needs.
    pub level: String,
    /// Hands-on minutes.
    pub minutes: f64,
    /// Minutes to strip the unit that far from where it is now.
    pub strip_minutes: f64,
    /// Expected drop in uncertainty, in bits.
    pub gain_bits: f64,
    /// The same per minute, strip-down counted.
    pub bits_per_minute: f64,
    /// Chance that it changes what would be ordered or done, or which finding leads.
    pub change_chance: f64,
    /// How to do it.
    pub how: String,
    /// What can hurt, on the way there and at it.
    pub cautions: Vec<String>,
}

/// Whether asking on can still change the order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stop {
    /// Enough is known.
    pub stop: bool,
    /// The chance of the most worthwhile open check to change the order or the leading finding.
    pub change_chance: f64,
    /// Why, in words.
    pub reason: String,
}

/// The levels that are open: those of `reached` and all on the way to them.
pub(crate) fn open_levels<'a>(
    table: &'a Table,
    reached: impl Iterator<Item = &'a str>,
) -> BTreeSet<&'a str> {
    reached.flat_map(|key| table.way_to(key)).map(|level| level.key.as_str()).collect()
}

/// Minutes of strip-down that are still to be spent for `level`, and what can hurt on the way.
///
/// `None` when the level lies behind: a unit that came off works on the vehicle no more.
fn way(
    table: &Table,
    open: &BTreeSet<&str>,
    loose: bool,
    level: &str,
) -> Option<(f64, Vec<String>)> {
    let whole = table.way_to(level).count() == 1;
    if whole && (loose || open.iter().any(|key| *key != level)) {
        return None;
    }
    let shut = table.way_to(level).filter(|step| !open.contains(step.key.as_str()));
    let minutes = shut.map(|step| step.minutes).sum();
    let mut cautions: Vec<String> = table
        .way_to(level)
        .filter(|step| step.key == level || !open.contains(step.key.as_str()))
        .map(|step| step.caution.clone())
        .filter(|caution| !caution.is_empty())
        .collect();
    cautions.reverse();
    Some((minutes, cautions))
}

/// Weighs every check that was not made and can be, best first.
pub(crate) fn next_checks(
    table: &Table,
    belief: &Belief<'_>,
    items: &Items,
    made: &BTreeSet<usize>,
    open: &BTreeSet<&str>,
    loose: bool,
) -> Result<Vec<NextCheck>, DiagnosisError> {
    let now_bits = entropy_bits(&belief.probabilities);
    let now = present(table, &belief.probabilities);
    // Of two faults taken as found, which of them leads is no news.
    let is_news = |fault: usize| now[fault] < table.order_at && leading(&now) != Some(fault);
    let order = items.ordered(&belief.probabilities);
    let mut next = Vec::new();
    for (at, check) in table.checks.iter().enumerate().filter(|(at, _)| !made.contains(at)) {
        let Some((strip_minutes, mut cautions)) = way(table, open, loose, &check.level) else {
            continue;
        };
        let (mut later_bits, mut change_chance) = (0.0, 0.0);
        for outcome in 0..check.outcomes.len() {
            let (chance, then) = belief.supposing(at, outcome)?;
            later_bits += chance * entropy_bits(&then);
            if items.ordered(&then) != order || leading(&present(table, &then)).is_some_and(is_news)
            {
                change_chance += chance;
            }
        }
        if !check.caution.is_empty() {
            cautions.push(check.caution.clone());
        }
        // A check that repeats others of its group can cost more than it adds.
        let gain_bits = (now_bits - later_bits).max(0.0);
        next.push(NextCheck {
            check: check.key.clone(),
            code: check.code.clone(),
            name: check.name.clone(),
            level: check.level.clone(),
            minutes: check.minutes,
            strip_minutes,
            gain_bits,
            bits_per_minute: gain_per_minute(gain_bits, check.minutes + strip_minutes),
            change_chance,
            how: check.how.clone(),
            cautions,
        });
    }
    next.sort_by(|a, b| b.bits_per_minute.total_cmp(&a.bits_per_minute));
    Ok(next)
}

/// How likely each fault is present, alone or with another.
fn present(table: &Table, probabilities: &[f64]) -> Vec<f64> {
    let mut present = vec![0.0; table.faults.len()];
    for (&(a, b), p) in table.hypotheses.members.iter().zip(probabilities) {
        present[a] += p;
        if let Some(b) = b {
            present[b] += p;
        }
    }
    present
}

/// The likeliest fault.
fn leading(present: &[f64]) -> Option<usize> {
    (0..present.len()).max_by(|a, b| present[*a].total_cmp(&present[*b]))
}

/// Says whether any check is still worth its minutes: its chance to change the order or the leading
/// finding, times what a wrong order costs.
pub(crate) fn stop(table: &Table, next: &[NextCheck]) -> Stop {
    let saved = |check: &NextCheck| {
        check.change_chance * table.wrong_order_minutes - check.minutes - check.strip_minutes
    };
    let Some(best) = next.iter().max_by(|a, b| saved(a).total_cmp(&saved(b))) else {
        let reason = "every check that can be made was made".to_owned();
        return Stop { stop: true, change_chance: 0.0, reason };
    };
    let stop = saved(best) < 0.0;
    let (percent, minutes) = (best.change_chance * 100.0, best.minutes + best.strip_minutes);
    let worth = if stop { "not worth" } else { "worth" };
    let reason = format!(
        "`{}` would change the order or the leading finding in {percent:.1} % of such jobs, which is \
         {worth} its {minutes:.0} minutes",
        best.name
    );
    Stop { stop, change_chance: best.change_chance, reason }
}

/// Key of the check that tells the faults at places `a` and `b` apart best per minute.
pub(crate) fn separator(table: &Table, next: &[NextCheck], a: usize, b: usize) -> Option<String> {
    let width = table.hypotheses.members.len();
    let per_minute = |check: &NextCheck| {
        let rows = table.hypotheses.rows(table.check(&check.check).ok()?);
        let two: Vec<f64> = rows.chunks_exact(width).flat_map(|row| [row[a], row[b]]).collect();
        let bits = expected_gain_bits(&[0.5, 0.5], &two).ok().filter(|bits| *bits > 0.05)?;
        Some((gain_per_minute(bits, check.minutes + check.strip_minutes), check.check.clone()))
    };
    next.iter().filter_map(per_minute).max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, key)| key)
}
