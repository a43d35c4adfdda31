//! Which jobs do the tables expect? Draws them, for tests.

use std::collections::BTreeMap;

use binwright_diagnosis::{FaultKind, Table};
use rand::Rng;
use rand_chacha::ChaCha8Rng;

/// One job whose truth is known.
pub struct Drawn {
    /// Places of the faults that are there.
    pub truth: Vec<usize>,
    /// What each check would show.
    pub outcomes: Vec<usize>,
}

/// Single faults and pairs with their weights, laid out from the public tables alone.
pub fn hypotheses(table: &Table) -> Vec<(Vec<usize>, f64)> {
    let mut all: Vec<(Vec<usize>, f64)> =
        table.faults.iter().enumerate().map(|(at, fault)| (vec![at], fault.prior)).collect();
    for (a, first) in table.faults.iter().enumerate() {
        for (b, second) in table.faults.iter().enumerate().skip(a + 1) {
            let bond = table
                .bonds
                .iter()
                .find(|bond| bond.faults.contains(&first.key) && bond.faults.contains(&second.key));
            let good = first.kind == FaultKind::Good || second.kind == FaultKind::Good;
            let times = if good { 0.0 } else { bond.map_or(1.0, |bond| bond.times) };
            all.push((vec![a, b], first.prior * second.prior * times));
        }
    }
    all
}

/// Draws what is wrong and what every check would show.
pub fn draw(table: &Table, all: &[(Vec<usize>, f64)], rng: &mut ChaCha8Rng) -> Drawn {
    let total: f64 = all.iter().map(|(_, weight)| weight).sum();
    let truth = pick(all.iter().map(|(_, weight)| weight / total), rng.random());
    let truth = all[truth].0.clone();
    let mut luck_of_group: BTreeMap<&str, f64> = BTreeMap::new();
    let mut outcomes = Vec::new();
    for check in &table.checks {
        let own: Vec<&[f64]> =
            truth.iter().filter_map(|fault| check.row(&table.faults[*fault])).collect();
        let own = if own.is_empty() { vec![check.others()] } else { own };
        let chance = |at: usize| own.iter().map(|row| row[at]).sum::<f64>() / own.len() as f64;
        let mut luck: f64 = rng.random();
        if let Some(group) = &check.group {
            let shared = *luck_of_group.entry(group).or_insert(luck);
            luck = if rng.random_bool(0.5) { shared } else { luck };
        }
        outcomes.push(pick((0..check.outcomes.len()).map(chance), luck));
    }
    Drawn { truth, outcomes }
}

fn pick(chances: impl ExactSizeIterator<Item = f64>, luck: f64) -> usize {
    let (last, mut reached) = (chances.len() - 1, 0.0);
    let below = |chance: f64| {
        reached += chance;
        luck < reached
    };
    chances.map(below).position(|hit| hit).unwrap_or(last)
}
