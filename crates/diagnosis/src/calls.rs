//! Which roles, work and consumables do the findings call for?

use serde::Serialize;

use crate::{
    Table,
    findings::Finding,
    items::{Item, Items},
    table::{Consumable, Fault, Want},
};

/// A role that must be filled, or may be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Call {
    /// The role in the unit's bill.
    pub role: String,
    /// How many pieces.
    pub pieces: u32,
    /// How likely a new part is needed.
    pub probability: f64,
    /// Whether it would be ordered on what is known.
    pub ordered: bool,
    /// On which condition, or what to mind.
    pub when: Vec<String>,
    /// Work that fills the role in place of a part, with the chance that it is enough.
    pub rework: Option<(String, f64)>,
    /// Keys of the faults that call for it.
    pub faults: Vec<String>,
}

/// Work that is to be done without a part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Work {
    /// Key of the fault.
    pub fault: String,
    /// What is to be done.
    pub words: String,
    /// How likely it is needed.
    pub probability: f64,
}

/// All that the findings call for.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Calls {
    /// Roles that must be filled, likeliest first.
    pub must: Vec<Call>,
    /// Roles worth filling while the unit is open, for the faults taken as found.
    pub while_in_there: Vec<Call>,
    /// Work without a part, likeliest first.
    pub work: Vec<Work>,
    /// What else to look at, for the faults taken as found.
    pub look_at: Vec<String>,
    /// What the work on the faults taken as found uses up.
    pub consumables: Vec<Consumable>,
    /// Bench minutes for the faults taken as found, beyond testing.
    pub minutes: f64,
    /// What can hurt while the faults taken as found are mended.
    pub cautions: Vec<String>,
    /// Why the new parts would die of the same.
    pub root_causes: Vec<String>,
    /// Keys of the faults taken as found: those likely enough to order for, and of each ordered role
    /// the likeliest.
    pub found: Vec<String>,
}

/// Below this a call is not worth a line.
const WORTH_A_LINE: f64 = 0.05;

impl Calls {
    /// Takes in a caution; one that says no more than another is left out.
    fn take_care(&mut self, caution: &str) {
        if self.cautions.iter().any(|known| known.contains(caution)) {
            return;
        }
        self.cautions.retain(|known| !caution.contains(known.as_str()));
        self.cautions.push(caution.to_owned());
    }

    pub(crate) fn of(
        table: &Table,
        items: &Items,
        probabilities: &[f64],
        found: &[Finding],
    ) -> Self {
        let needed = items.needed(probabilities);
        let chance = |item: &Item| {
            items.all.iter().position(|known| known == item).map_or(0.0, |at| needed[at])
        };
        let must = must(table, found, chance);
        // Where several faults call for one part and none is sure, the likeliest stands for them.
        let leads = |fault: &Fault, call: &Call| {
            let others = call.faults.iter().filter_map(|key| found.iter().find(|f| f.key == *key));
            let lead = others.max_by(|a, b| a.probability.total_cmp(&b.probability));
            call.ordered && lead.is_some_and(|lead| lead.key == fault.key)
        };
        let likely = |fault: &&Fault| {
            chance_of(found, fault) >= table.order_at || must.iter().any(|call| leads(fault, call))
        };
        let chosen: Vec<&Fault> = table.faults.iter().filter(likely).collect();
        let mut calls = Self {
            work: work(table, chance),
            found: chosen.iter().map(|fault| fault.key.clone()).collect(),
            must,
            ..Self::default()
        };
        calls.minutes = once_per_role(&chosen, |fault| fault.minutes).iter().sum();
        for fault in &chosen {
            calls.root_causes.extend(fault.root_cause.clone());
            calls.take_care(&fault.caution);
            for look in &fault.look_at {
                if !calls.look_at.contains(look) {
                    calls.look_at.push(look.clone());
                }
            }
            for want in &fault.while_in_there {
                let ordered = |call: &Call| call.ordered && call.role == want.role;
                if !calls.must.iter().any(ordered) {
                    add(&mut calls.while_in_there, fault, want, chance_of(found, fault));
                }
            }
        }
        calls.consumables = consumables(&chosen);
        calls
    }
}

fn chance_of(found: &[Finding], fault: &Fault) -> f64 {
    found.iter().find(|finding| finding.key == fault.key).map_or(0.0, |f| f.probability)
}

fn must(table: &Table, found: &[Finding], chance: impl Fn(&Item) -> f64) -> Vec<Call> {
    let mut calls: Vec<Call> = Vec::new();
    for fault in &table.faults {
        for want in &fault.must {
            if chance_of(found, fault) >= WORTH_A_LINE {
                add(&mut calls, fault, want, chance(&Item::Part(want.role.clone())));
            }
        }
    }
    for call in &mut calls {
        if let Some((_, enough)) = &mut call.rework {
            *enough = chance(&Item::Rework(call.role.clone()));
        }
        call.ordered = call.probability >= table.order_at;
    }
    let either = |call: &Call| call.probability + call.rework.as_ref().map_or(0.0, |r| r.1);
    calls.retain(|call| either(call) >= WORTH_A_LINE);
    calls.sort_by(|a, b| either(b).total_cmp(&either(a)));
    calls
}

fn add(calls: &mut Vec<Call>, fault: &Fault, want: &Want, probability: f64) {
    let at = calls.iter().position(|call| call.role == want.role).unwrap_or_else(|| {
        calls.push(Call {
            role: want.role.clone(),
            pieces: 0,
            probability: 0.0,
            ordered: false,
            when: Vec::new(),
            rework: None,
            faults: Vec::new(),
        });
        calls.len() - 1
    });
    let call = &mut calls[at];
    call.pieces = call.pieces.max(want.pieces);
    call.probability = call.probability.max(probability);
    call.faults.push(fault.key.clone());
    if let Some(when) = want.when.as_ref().filter(|when| !call.when.contains(when)) {
        call.when.push(when.clone());
    }
    if let Some(rework) = &want.rework {
        call.rework = Some((rework.clone(), 0.0));
    }
}

fn work(table: &Table, chance: impl Fn(&Item) -> f64) -> Vec<Work> {
    let likely = |fault: &Fault| {
        let words = fault.work.clone()?;
        let probability = chance(&Item::Work(fault.key.clone()));
        let worth = probability >= WORTH_A_LINE;
        worth.then(|| Work { fault: fault.key.clone(), words, probability })
    };
    let mut work: Vec<Work> = table.faults.iter().filter_map(likely).collect();
    work.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    work
}

/// One value per piece of work: faults that call for the same role are mended in one go, at the
/// larger of their values.
fn once_per_role(chosen: &[&Fault], value: impl Fn(&Fault) -> f64) -> Vec<f64> {
    let mut by_role: Vec<(Option<&str>, f64)> = Vec::new();
    for fault in chosen {
        let role = fault.must.first().map(|want| want.role.as_str());
        match by_role.iter_mut().find(|(known, _)| role.is_some() && *known == role) {
            Some((_, most)) => *most = most.max(value(fault)),
            None => by_role.push((role, value(fault))),
        }
    }
    by_role.into_iter().map(|(_, most)| most).collect()
}

fn consumables(chosen: &[&Fault]) -> Vec<Consumable> {
    let mut all: Vec<Consumable> = Vec::new();
    for used in chosen.iter().flat_map(|fault| &fault.consumables) {
        if all.iter().all(|known| known.name != used.name) {
            let of = |fault: &Fault| {
                let same = fault.consumables.iter().filter(|other| other.name == used.name);
                same.map(|other| other.quantity).sum()
            };
            all.push(Consumable {
                quantity: once_per_role(chosen, of).iter().sum(),
                ..used.clone()
            });
        }
    }
    all
}
