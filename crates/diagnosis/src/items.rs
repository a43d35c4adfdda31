//! What would be ordered or done, if this were wrong?

use crate::{
    Table,
    hypotheses::Members,
    table::{Fault, FaultKind},
};

/// One thing to order or to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Item {
    /// A part in this role.
    Part(String),
    /// Work that fills this role in place of a part.
    Rework(String),
    /// Work without a part, for the fault of this key.
    Work(String),
    /// Anything on the vehicle.
    Vehicle,
}

/// The items of a table and what each hypothesis calls for, as sets of bits.
pub(crate) struct Items {
    pub all: Vec<Item>,
    /// One per hypothesis.
    pub called: Vec<u64>,
    order_at: f64,
}

impl Items {
    /// Lays out the items; a unit carried in loose leaves all that is on the vehicle as one.
    pub fn of(table: &Table, loose: bool) -> Self {
        let all = distinct(&table.faults, loose);
        let by_fault = table.faults.iter().map(|fault| items_of(fault, loose));
        let bit = |item: &Item| all.iter().position(|known| known == item).map_or(0, |at| 1 << at);
        let bits: Vec<u64> =
            by_fault.map(|items| items.iter().map(bit).fold(0, |a, b| a | b)).collect();
        let mut items = Self { called: Vec::new(), order_at: table.order_at, all };
        let called = |&(a, b): &Members| items.settled(bits[a] | b.map_or(0, |b| bits[b]));
        items.called = table.hypotheses.members.iter().map(called).collect();
        items
    }

    /// A new part makes rework of the old one needless.
    fn settled(&self, mut set: u64) -> u64 {
        for (at, item) in self.all.iter().enumerate() {
            if let (Item::Part(role), true) = (item, set & (1 << at) != 0) {
                let rework = self.all.iter().position(|i| *i == Item::Rework(role.clone()));
                set &= !rework.map_or(0, |at| 1 << at);
            }
        }
        set
    }

    /// How likely each item is needed.
    pub fn needed(&self, probabilities: &[f64]) -> Vec<f64> {
        let mut needed = vec![0.0; self.all.len()];
        for (set, p) in self.called.iter().zip(probabilities) {
            let mut left = *set;
            while left != 0 {
                needed[left.trailing_zeros() as usize] += p;
                left &= left - 1;
            }
        }
        needed
    }

    /// The set that would be ordered.
    pub fn ordered(&self, probabilities: &[f64]) -> u64 {
        let needed = self.needed(probabilities);
        let wanted = needed.iter().enumerate().filter(|(_, p)| **p >= self.order_at);
        self.settled(wanted.fold(0, |set, (at, _)| set | 1 << at))
    }
}

/// The most items there may be: a set of them is the bits of a number.
pub(crate) const ITEMS_MAX: usize = 64;

/// What `faults` call for, each once.
pub(crate) fn distinct(faults: &[Fault], loose: bool) -> Vec<Item> {
    let mut all: Vec<Item> = Vec::new();
    for item in faults.iter().flat_map(|fault| items_of(fault, loose)) {
        if !all.contains(&item) {
            all.push(item);
        }
    }
    all
}

fn items_of(fault: &Fault, loose: bool) -> Vec<Item> {
    match fault.kind {
        FaultKind::Good => Vec::new(),
        FaultKind::Outside if loose => vec![Item::Vehicle],
        _ if fault.must.is_empty() => vec![Item::Work(fault.key.clone())],
        _ => {
            let item = |want: &crate::Want| match want.rework {
                Some(_) => Item::Rework(want.role.clone()),
                None => Item::Part(want.role.clone()),
            };
            fault.must.iter().map(item).collect()
        }
    }
}
