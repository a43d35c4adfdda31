//! What is to be done at the bench, how long does it take, and what does it use up?

use binwright_catalog::{Money, Quantity};
use binwright_diagnosis::{Call, Calls, Fault, Table};
use binwright_quoting::{Candidate, LineClass, Quote, Terms, Wanted};

use super::{OnBench, RepairOption};
use crate::ShopError;
use crate::settings::Quoting;

/// Whether work on the old part is what the findings call for.
pub(super) fn reworked(table: &Table, call: &Call) -> bool {
    !call.ordered && call.rework.as_ref().is_some_and(|(_, enough)| *enough >= table.order_at)
}

/// Work on the old part where the findings allow it.
pub(super) fn rework(table: &Table, calls: &Calls, terms: &Terms) -> Vec<Candidate> {
    let candidate = |call: &Call| {
        let (words, _) = call.rework.clone().filter(|_| reworked(table, call))?;
        let mends = |fault: &&Fault| {
            fault.must.iter().any(|want| want.role == call.role && want.rework.is_some())
        };
        let minutes = table.faults.iter().filter(mends).map(|fault| fault.minutes);
        Some(Candidate {
            part: String::new(),
            words,
            roles: vec![call.role.clone()],
            price: Money::zero(terms.labour_hour.currency),
            condition: None,
            free: Quantity::ZERO,
            days: 0,
            minutes: minutes.fold(0.0, f64::max).round() as u32,
            remark: None,
        })
    };
    calls.must.iter().filter_map(candidate).collect()
}

/// Gives every candidate the minutes of the roles it fills: once where it fills several, none for
/// what is done while the unit is open for another.
pub(super) fn minutes_of(all: &mut [Candidate], table: &Table, calls: &Calls, asked: &OnBench) {
    let of_role = |role: &String| {
        let called = calls.must.iter().find(|call| call.role == *role);
        let called = called.filter(|call| call.ordered || reworked(table, call));
        let too = calls.while_in_there.iter().any(|call| call.role == *role);
        let mends = |fault: &&Fault| {
            let first = fault.must.first().is_some_and(|want| want.role == *role);
            let known = match called {
                Some(call) if call.ordered => calls.found.contains(&fault.key),
                Some(call) => call.faults.contains(&fault.key),
                None => true,
            };
            first && known
        };
        let wanted = called.is_some() || asked.with.contains(role) && !too;
        let minutes = table.faults.iter().filter(mends).map(|fault| fault.minutes);
        if wanted { minutes.fold(0.0, f64::max) } else { 0.0 }
    };
    for candidate in all {
        let most = candidate.roles.iter().map(of_role).fold(0.0, f64::max);
        candidate.minutes = most.round() as u32;
    }
}

/// What a job has beside parts: work without a part and what it uses up.
pub(super) struct JobWork {
    pub lines: Vec<Wanted>,
}

impl JobWork {
    pub fn of(
        table: &Table,
        calls: &Calls,
        settings: &Quoting,
        terms: &Terms,
    ) -> Result<Self, ShopError> {
        let currency = terms.labour_hour.currency;
        let mut lines = Vec::new();
        for fault in table.faults.iter().filter(|fault| calls.found.contains(&fault.key)) {
            if fault.must.is_empty() && fault.minutes > 0.0 {
                let words = fault.work.clone().unwrap_or_else(|| fault.name.clone());
                lines.push(Wanted::Labour { words, minutes: fault.minutes.round() as u32 });
            }
        }
        let mut unlisted = Vec::new();
        for used in &calls.consumables {
            match settings.consumables.get(&used.name) {
                Some(each) => {
                    let thousandths = (used.quantity * 1000.0).round() as i64;
                    lines.push(Wanted::Goods {
                        class: LineClass::Consumable,
                        words: format!("{}, {}", used.name, used.unit),
                        part: None,
                        quantity: Quantity::from_thousandths(thousandths),
                        each: Money::rounded(*each, currency)?,
                    });
                }
                None => unlisted.push(used.name.as_str()),
            }
        }
        let each = Money::rounded(settings.consumables_flat, currency)?;
        if !unlisted.is_empty() && each.minor > 0 {
            lines.push(Wanted::Goods {
                class: LineClass::Consumable,
                words: unlisted.join(", "),
                part: None,
                quantity: Quantity::ONE,
                each,
            });
        }
        Ok(Self { lines })
    }

    pub fn change_over(minutes: u32) -> Self {
        let words = "change the unit over".to_owned();
        Self { lines: vec![Wanted::Labour { words, minutes }] }
    }

    pub fn minutes(&self) -> u32 {
        let minutes = |line: &Wanted| match line {
            Wanted::Labour { minutes, .. } => *minutes,
            Wanted::Goods { .. } => 0,
        };
        self.lines.iter().map(minutes).sum()
    }

    /// The option of a job that calls for no part at all.
    pub fn alone(&self, root_causes: &[String], terms: &Terms) -> Result<RepairOption, ShopError> {
        Ok(RepairOption {
            name: "1".to_owned(),
            takes: Vec::new(),
            extras: Vec::new(),
            parts: Money::zero(terms.labour_hour.currency),
            total: Quote::priced(&self.lines, terms)?.total,
            minutes: self.minutes(),
            days: 0,
            replaces: Vec::new(),
            fills_as_well: Vec::new(),
            reasons: vec!["needs no part".to_owned()],
            advice: root_causes.to_vec(),
            wanted: self.lines.clone(),
        })
    }
}
