//! Which sets of options fill all needs and are not beaten in cost, days and what they replace?

use std::collections::BTreeMap;

/// One part or piece of rework: which needs it fills and what that takes. Sets are bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Choice {
    pub fills: u64,
    /// All roles of the unit that are replaced by it, needed or not; none for rework.
    pub replaces: u64,
    pub cost: i128,
    pub days: u32,
}

/// A set of choices that fills all needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Set {
    /// Places of the choices, ascending.
    pub chosen: Vec<usize>,
    pub replaces: u64,
    pub cost: i128,
    pub days: u32,
}

/// A way to fill some of the needs, and the choice that led there.
#[derive(Clone, Copy)]
struct Step {
    replaces: u64,
    cost: i128,
    choice: usize,
    from: Option<usize>,
}

impl Step {
    /// Whether whatever completes `other` completes this one at least as well.
    fn beats(&self, other: &Self) -> bool {
        self.cost <= other.cost && self.replaces & other.replaces == self.replaces
    }
}

/// Returns every set not beaten in cost, latest day and number of roles replaced, by rising cost; of
/// sets equal in all three, one.
///
/// For each day that any choice is ready on, only what is ready by then counts, and of choices of the
/// same use the cheapest: so thousands of parts become a few dozen, and days need no weighing.
pub(crate) fn unbeaten(needs: u64, choices: &[Choice]) -> Vec<Set> {
    let mut by_day: Vec<usize> = (0..choices.len()).collect();
    by_day.retain(|at| choices[*at].fills & needs != 0);
    by_day.sort_by_key(|at| choices[*at].days);
    let mut cheapest: BTreeMap<(u64, u64), usize> = BTreeMap::new();
    let mut sets = Vec::new();
    for ready in by_day.chunk_by(|a, b| choices[*a].days == choices[*b].days) {
        let mut news = false;
        for &at in ready {
            let choice = &choices[at];
            let best = cheapest.entry((choice.fills & needs, choice.replaces)).or_insert(at);
            news |= *best == at || choice.cost < choices[*best].cost;
            if choice.cost < choices[*best].cost {
                *best = at;
            }
        }
        if news {
            let worth: Vec<usize> = cheapest.values().copied().collect();
            sets.extend(filled(needs, choices, &worth));
        }
    }
    front(sets)
}

/// Returns every way to fill `needs` not beaten in cost and in what it replaces.
///
/// Needs are filled lowest first; for each set of needs filled so far only the steps that no other
/// beats are kept (dynamic programming with labels).
fn filled(needs: u64, choices: &[Choice], worth: &[usize]) -> Vec<Set> {
    let mut steps = vec![Step { replaces: 0, cost: 0, choice: usize::MAX, from: None }];
    let mut open: BTreeMap<u64, Vec<usize>> = BTreeMap::from([(0, vec![0])]);
    // Filling only ever adds bits: a set of needs is complete before it is used.
    while let Some((filled, ends)) = open.pop_first() {
        if filled == needs {
            return ends.into_iter().map(|end| set(choices, &steps, end)).collect();
        }
        let lowest = 1 << (needs & !filled).trailing_zeros();
        for &choice in worth.iter().filter(|choice| choices[**choice].fills & lowest != 0) {
            let Choice { fills, replaces, cost, .. } = choices[choice];
            let there = open.entry(filled | fills & needs).or_default();
            for &from in &ends {
                let Step { replaces: before, cost: spent, .. } = steps[from];
                let (replaces, cost) = (before | replaces, spent + cost);
                let step = Step { replaces, cost, choice, from: Some(from) };
                if there.iter().any(|known| steps[*known].beats(&step)) {
                    continue;
                }
                there.retain(|known| !step.beats(&steps[*known]));
                there.push(steps.len());
                steps.push(step);
            }
        }
    }
    Vec::new()
}

fn set(choices: &[Choice], steps: &[Step], end: usize) -> Set {
    let trail = std::iter::successors(Some(end), |step| steps[*step].from);
    let mut chosen: Vec<usize> =
        trail.map(|step| steps[step].choice).filter(|choice| *choice != usize::MAX).collect();
    chosen.sort_unstable();
    let days = chosen.iter().map(|at| choices[*at].days).max().unwrap_or(0);
    Set { chosen, replaces: steps[end].replaces, cost: steps[end].cost, days }
}

/// Keeps the sets that no other beats.
fn front(mut sets: Vec<Set>) -> Vec<Set> {
    sets.sort_by_key(|set| (set.cost, set.days, set.replaces.count_ones(), set.chosen.clone()));
    let mut kept: Vec<Set> = Vec::new();
    for set in sets {
        let beaten = |other: &Set| {
            other.days <= set.days && other.replaces.count_ones() <= set.replaces.count_ones()
        };
        if !kept.iter().any(beaten) {
            kept.push(set);
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every subset of the choices, by the definition alone.
    fn brute_force(needs: u64, choices: &[Choice]) -> Vec<(i128, u32, u32)> {
        let every = (0_u32..1 << choices.len()).map(|subset| {
            let taken = || (0..choices.len()).filter(move |at| subset & (1 << at) != 0);
            let all = |of: fn(&Choice) -> u64| taken().fold(0, |set, at| set | of(&choices[at]));
            let cost = taken().map(|at| choices[at].cost).sum::<i128>();
            let days = taken().map(|at| choices[at].days).max().unwrap_or(0);
            (all(|c| c.fills), (cost, days, all(|c| c.replaces).count_ones()))
        });
        let filled: Vec<_> =
            every.filter(|(fills, _)| fills & needs == needs).map(|(_, marks)| marks).collect();
        let beats = |a: &(i128, u32, u32), b: &(i128, u32, u32)| {
            a != b && a.0 <= b.0 && a.1 <= b.1 && a.2 <= b.2
        };
        let mut front: Vec<_> = filled
            .iter()
            .copied()
            .filter(|marks| !filled.iter().any(|other| beats(other, marks)))
            .collect();
        front.sort_unstable();
        front.dedup();
        front
    }

    fn choice() -> impl Strategy<Value = Choice> {
        (1..32_u64, 0..96_u64, 0..12_i128, 0..4_u32, any::<bool>()).prop_map(
            |(fills, more, cost, days, rework)| {
                let replaces = if rework { 0 } else { fills | more };
                Choice { fills, replaces, cost, days }
            },
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]
        #[test]
        fn unbeaten_sets_are_those_of_brute_force(
            needs in 1..32_u64,
            choices in prop::collection::vec(choice(), 0..11),
        ) {
            let found = unbeaten(needs, &choices);
            let marks: Vec<_> =
                found.iter().map(|set| (set.cost, set.days, set.replaces.count_ones())).collect();
            prop_assert_eq!(marks, brute_force(needs, &choices));
            for set in found {
                let all = |of: fn(&Choice) -> u64| {
                    set.chosen.iter().fold(0, |bits, at| bits | of(&choices[*at]))
                };
                prop_assert_eq!(all(|c| c.fills) & needs, needs);
                prop_assert_eq!(all(|c| c.replaces), set.replaces);
                prop_assert_eq!(set.chosen.iter().map(|at| choices[*at].cost).sum::<i128>(), set.cost);
            }
        }
    }
}
