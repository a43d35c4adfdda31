//! How long do orders truly take? Lead times learnt from what came.

use std::collections::{BTreeMap, BTreeSet};

use binwright_store::LeadSeen;
use jiff::civil::Date;
use serde::Serialize;

use crate::{Shop, ShopError};

/// Receipts it takes before what was seen counts for more than what was said.
const RECEIPTS_MIN: usize = 3;

/// How long a supplier takes, for all its parts or for one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LeadLine {
    /// Who.
    pub supplier: String,
    /// House number; `None` stands for all parts together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// How many deliveries were seen.
    pub receipts: usize,
    /// Half of them came within so many days.
    pub median_days: u32,
    /// Nine in ten came within so many days.
    pub days_90: u32,
    /// What the supplier says.
    pub stated_days: u32,
    /// Whether what was seen is used in place of what is said.
    pub used: bool,
}

/// Days from sending to receipt, least first, by supplier and part.
pub(super) struct Leads {
    by_part: BTreeMap<(String, u64), Vec<u32>>,
    by_supplier: BTreeMap<String, Vec<u32>>,
}

impl Leads {
    fn of(seen: Vec<LeadSeen>) -> Self {
        // What came in two bins of one delivery came once.
        let once: BTreeSet<_> =
            seen.into_iter().map(|s| (s.supplier.clone(), s.part_id, s.sent, s.days())).collect();
        let mut leads = Self { by_part: BTreeMap::new(), by_supplier: BTreeMap::new() };
        for (supplier, part, _, days) in once {
            leads.by_part.entry((supplier.clone(), part)).or_default().push(days);
            leads.by_supplier.entry(supplier).or_default().push(days);
        }
        leads
            .by_part
            .values_mut()
            .chain(leads.by_supplier.values_mut())
            .for_each(|d| d.sort_unstable());
        leads
    }

    /// Days half of the deliveries took: of the part when it was seen often enough, else of all the
    /// supplier's.
    pub fn median_days(&self, supplier: &str, part: u64) -> Option<u32> {
        let enough = |days: &&Vec<u32>| days.len() >= RECEIPTS_MIN;
        let of_part = self.by_part.get(&(supplier.to_owned(), part)).filter(enough);
        let days = of_part.or_else(|| self.by_supplier.get(supplier).filter(enough))?;
        Some(rank(days, 50))
    }
}

/// The least of `sorted` that `percent` of them do not exceed: the nearest rank, which is one that
/// was seen.
fn rank(sorted: &[u32], percent: usize) -> u32 {
    let place = (sorted.len() * percent).div_ceil(100).max(1);
    sorted.get(place - 1).copied().unwrap_or_default()
}

impl Shop {
    pub(super) fn leads(&self, until: Date) -> Result<Leads, ShopError> {
        Ok(Leads::of(self.store.lead_times(until)?))
    }

    /// How long each supplier took until `until`, for all its parts and for each, beside what it says.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn lead_report(&self, until: Date) -> Result<Vec<LeadLine>, ShopError> {
        let leads = self.leads(until)?;
        let suppliers = self.store.suppliers()?;
        let stated = |name: &str| {
            suppliers.iter().find(|by| by.name == name).map(|by| by.lead_days).unwrap_or_default()
        };
        let line = |supplier: &str, part, days: &[u32], stated_days| LeadLine {
            supplier: supplier.to_owned(),
            part,
            receipts: days.len(),
            median_days: rank(days, 50),
            days_90: rank(days, 90),
            stated_days,
            used: days.len() >= RECEIPTS_MIN,
        };
        let mut lines = Vec::new();
        for (supplier, days) in &leads.by_supplier {
            lines.push(line(supplier, None, days, stated(supplier)));
            let parts = leads.by_part.iter().filter(|((by, _), _)| by == supplier);
            for ((_, id), days) in parts {
                let offers = self.store.offers(*id)?;
                let own = offers.iter().find(|offer| &offer.supplier == supplier);
                let said = own.and_then(|offer| offer.lead_days).unwrap_or(stated(supplier));
                lines.push(line(supplier, self.store.house_of(*id)?, days, said));
            }
        }
        Ok(lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked by hand: of five, the third is the middle, and nine in ten are only reached by the last.
    #[test]
    fn a_rank_is_one_that_was_seen() {
        let days = [2, 3, 4, 9, 30];
        assert_eq!((rank(&days, 50), rank(&days, 90)), (4, 30));
        assert_eq!((rank(&[7], 50), rank(&[], 50)), (7, 0));
    }
}
