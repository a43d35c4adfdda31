//! Which branch's surplus should go where it is short? Gathers what each has and used, and hands it to the
//! buyer's rules.
//!
//! How many of a part all branches together are to have is what the advice orders up to; what each used in
//! the year before shares it out.

use std::collections::HashMap;

use binwright_buying::transfers::{AtBranch, Load, PartAcross, Trip, Way, trips};
use binwright_catalog::{Condition, Money, Quantity};
use jiff::Span;
use serde::Serialize;

use super::AdviceAsked;
use super::advise::supply;
use crate::{Shop, ShopError};

/// Something that costs less to fetch from another branch than to buy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TransferAdvice {
    /// House number.
    pub part: String,
    /// How many.
    pub quantity: u32,
    /// The branch that has too many.
    pub from: String,
    /// The branch that has too few.
    pub to: String,
    /// What the trip costs, for everything that is suggested between the two.
    pub trip: Money,
    /// How long it takes.
    pub minutes: u32,
    /// What buying them would cost, with an order line.
    pub buying: Money,
    /// Why, in one sentence of figures.
    pub why: String,
}

/// What a branch used of each part, and all together did, in thousandths.
pub(super) struct Shares {
    used: HashMap<u64, (i64, i64)>,
    branches: i64,
}

impl Shares {
    /// The branch's share of `quantity` of a part.
    pub fn of(&self, part: Option<u64>, quantity: Quantity) -> Quantity {
        let used = part.and_then(|part| self.used.get(&part)).filter(|(_, all)| *all > 0);
        let (own, all) = used.copied().unwrap_or((1, self.branches.max(1)));
        let share = i128::from(quantity.thousandths()) * i128::from(own) / i128::from(all);
        // No more than the whole.
        Quantity::from_thousandths(i64::try_from(share).unwrap_or_default())
    }
}

impl Shop {
    /// What should go from branch to branch, the trip that saves most first; nothing in a shop that is one
    /// place. An order line costs what `asked` says placing an order does; all branches count, whichever it
    /// names. Parts that nobody offers are left out: what they would cost is not known.
    ///
    /// # Errors
    ///
    /// As [`Shop::advise`].
    pub fn advise_transfers(&self, asked: &AdviceAsked) -> Result<Vec<TransferAdvice>, ShopError> {
        let asked = &AdviceAsked { branch: None, ..asked.clone() };
        let names = self.branches()?.branches;
        let place = |name: &str| names.iter().position(|known| known == name);
        let ways: Vec<Way> = self
            .store
            .branch_ways()?
            .into_iter()
            .filter_map(|way| {
                let (one, two) = (place(&way.one)?, place(&way.two)?);
                Some(Way { one, two, minutes: way.minutes, cost: way.cost })
            })
            .collect();
        if ways.is_empty() {
            return Ok(Vec::new());
        }
        let used = self.used_by_branch(asked)?;
        let (mut told, mut parts) = (Vec::new(), Vec::new());
        for line in self.advise(asked)?.lines {
            let Some(id) = line.card else { continue };
            let Some(each) = self.least_price(asked, id)? else { continue };
            let have = self.have_by_branch(id)?;
            let at = names.iter().map(|name| AtBranch {
                have: have.get(name).copied().map_or(0, pieces),
                used: used.get(&(id, name.clone())).copied().map_or(0, pieces),
            });
            let at = at.collect();
            let level = u32::try_from(line.order_up_to).unwrap_or(u32::MAX);
            parts.push(PartAcross { level, each, at });
            told.push((line.part, line.lead_days));
        }
        let order_line = match asked.order_cost {
            Some(cost) => cost,
            None => Money::zero(self.currency()?),
        };
        let trips = trips(&parts, &ways, order_line);
        let lines = trips.iter().flat_map(|trip| trip.loads.iter().map(move |load| (trip, load)));
        let line = |(trip, load): (&Trip, &Load)| {
            let (from, to) = (names[trip.from].clone(), names[trip.to].clone());
            let (part, lead_days) = told[load.part].clone();
            TransferAdvice {
                why: trip.why(load, &from, &to, lead_days),
                part,
                quantity: load.pieces,
                from,
                to,
                trip: trip.way.cost,
                minutes: trip.way.minutes,
                buying: load.buying,
            }
        };
        Ok(lines.map(line).collect())
    }

    /// The share that `branch` has of what names no branch.
    pub(super) fn shares_of(&self, branch: &str, asked: &AdviceAsked) -> Result<Shares, ShopError> {
        let branches = i64::try_from(self.store.branches()?.len()).unwrap_or(i64::MAX);
        let mut used: HashMap<u64, (i64, i64)> = HashMap::new();
        for ((part, at), quantity) in self.used_by_branch(asked)? {
            // More may have come back than was used.
            let thousandths = quantity.thousandths().max(0);
            let (own, all) = used.entry(part).or_default();
            *own += if at == branch { thousandths } else { 0 };
            *all += thousandths;
        }
        Ok(Shares { used, branches })
    }

    /// What each branch used of each part in the year before the day.
    fn used_by_branch(
        &self,
        asked: &AdviceAsked,
    ) -> Result<HashMap<(u64, String), Quantity>, ShopError> {
        let since = asked.as_of.saturating_sub(Span::new().years(1));
        let used = self.store.used_by_branch(since, asked.as_of)?;
        Ok(used.into_iter().map(|(id, branch, quantity)| ((id, branch), quantity)).collect())
    }

    /// What of a part is free at each branch or on its way there.
    fn have_by_branch(&self, id: u64) -> Result<HashMap<String, Quantity>, ShopError> {
        let mut have: HashMap<String, Quantity> = HashMap::new();
        let mut add = |branch: String, quantity: Quantity| {
            let sum = have.entry(branch).or_insert(Quantity::ZERO);
            *sum = sum.saturating_add(quantity);
        };
        let stock = self.store.stock(id, self.today)?.into_iter();
        stock
            .filter(|line| line.condition == Condition::New)
            .for_each(|line| add(line.branch.clone(), line.free()));
        let on_way = self.store.in_transit()?.into_iter();
        on_way
            .filter(|line| line.part_id == id && line.condition == Condition::New)
            .for_each(|line| add(line.to_branch.clone(), line.quantity));
        Ok(have)
    }

    /// What one costs where it costs least, in the shop's currency.
    fn least_price(&self, asked: &AdviceAsked, id: u64) -> Result<Option<Money>, ShopError> {
        let suppliers = self.suppliers(asked.as_of)?;
        let mut least: Option<Money> = None;
        for offered in suppliers.offers(self, id)? {
            let price = supply(&offered, &suppliers)?.prices.first().map(|(_, price)| *price);
            least = least.into_iter().chain(price).min_by_key(|price| price.minor);
        }
        Ok(least)
    }
}

fn pieces(quantity: Quantity) -> u32 {
    u32::try_from(quantity.thousandths().max(0) / 1000).unwrap_or(u32::MAX)
}
