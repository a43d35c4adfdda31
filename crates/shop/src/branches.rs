//! Which branch is this, how far are the others, and what travels between them?
//!
//! A shop that is one place has one branch without a name, and nothing here is seen of it.

use std::collections::BTreeMap;

use binwright_catalog::{Condition, Money, Quantity};
use binwright_store::{BranchWay, InTransit, Keep, Landing, StockLine, Store, StoreError};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use crate::answer::InBin;
use crate::stock::{Posted, Slip, posted};
use crate::{Shop, ShopError};

/// The branches as seen from one of them.
#[derive(Debug, Default)]
pub(crate) struct Chain {
    names: Vec<String>,
    here: Option<String>,
    /// How far the others are from here, where it is known.
    minutes: BTreeMap<String, u32>,
}

/// The branches of a shop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BranchList {
    /// Their names, in the order they were made; empty in a shop that is one place.
    pub branches: Vec<String>,
    /// The one this is, when it was said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub here: Option<String>,
    /// How far they are apart.
    pub ways: Vec<WayLine>,
}

/// The way between two branches, in both directions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WayLine {
    /// The one.
    pub one: String,
    /// The other.
    pub two: String,
    /// How long a trip takes.
    pub minutes: u32,
    /// What a trip costs.
    pub cost: Money,
}

/// Something on its way between branches.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TransitLine {
    /// The number of the movement it left by.
    pub transfer: i64,
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// The bin it was taken from.
    pub from: String,
    /// That bin's branch.
    pub from_branch: String,
    /// The bin it is meant for.
    pub to: String,
    /// That bin's branch.
    pub to_branch: String,
    /// How many left.
    pub sent: Quantity,
    /// How many are still on their way.
    pub quantity: Quantity,
    /// What they are worth.
    pub value: Money,
    /// The day they left.
    pub day: Date,
    /// Who sent them.
    pub who: String,
    /// What they were sent for.
    pub reference: String,
}

/// What came of a transfer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Come {
    /// The number of the movement it left by.
    pub transfer: i64,
    /// How many came; all that is on its way and not lost when not given.
    pub came: Option<Quantity>,
    /// How many never will.
    pub lost: Quantity,
    /// The bin it is put in, where it is not the one it was meant for.
    pub bin: Option<String>,
    /// What stands beside it.
    pub slip: Slip,
}

impl Chain {
    /// What `store` says of its branches, seen from `here`.
    pub fn read(store: &Store, here: Option<String>) -> Result<Self, ShopError> {
        let names = store.branches()?;
        let mut minutes = BTreeMap::new();
        if let Some(here) = &here {
            for BranchWay { one, two, minutes: far, .. } in store.branch_ways()? {
                let other = if one == *here {
                    two
                } else if two == *here {
                    one
                } else {
                    continue;
                };
                minutes.insert(other, far);
            }
        }
        Ok(Self { names, here, minutes })
    }

    fn is_here(&self, branch: &str) -> bool {
        self.here() == Some(branch)
    }

    /// Whether no branch was ever named.
    fn is_one_place(&self) -> bool {
        self.names.iter().all(String::is_empty)
    }

    /// The branch one works at, when it was said.
    pub fn here(&self) -> Option<&str> {
        self.here.as_deref()
    }
}

impl Shop {
    /// Sees the shop from the branch that `name` means.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such branch.
    pub fn stand_at(&mut self, name: &str) -> Result<(), ShopError> {
        let here = self.store.stand_at(name)?;
        self.chain = Chain::read(&self.store, Some(here))?;
        Ok(())
    }

    /// As [`Shop::stand_at`], of a desk that is at `name` whichever its shop: in one that is one place there
    /// is nothing to choose.
    ///
    /// # Errors
    ///
    /// As [`Shop::stand_at`].
    pub fn work_at(&mut self, name: &str) -> Result<(), ShopError> {
        if self.chain.is_one_place() { Ok(()) } else { self.stand_at(name) }
    }

    /// Whether stock travels between branches here.
    pub fn has_branches(&self) -> bool {
        self.chain.names.len() > 1
    }

    /// Reads the branches anew.
    pub(crate) fn look_around(&mut self) -> Result<(), ShopError> {
        // Where the store cannot be asked, the desk still knows where it is.
        self.chain = Chain::read(&self.store, self.chain.here.clone())?;
        Ok(())
    }

    /// The stock of the part with `id`, what lies here first.
    pub(crate) fn stock_here_first(&self, id: u64) -> Result<Vec<StockLine>, ShopError> {
        let mut stock = self.store.stock(id, self.today)?;
        let far = |line: &StockLine| {
            let minutes = self.chain.minutes.get(&line.branch).copied().unwrap_or(u32::MAX);
            (!self.chain.is_here(&line.branch), minutes)
        };
        stock.sort_by_key(far);
        Ok(stock)
    }

    /// The lines as they are shown; of several branches each says whose it is, and how far away.
    pub(crate) fn in_bins(&self, lines: Vec<StockLine>) -> Vec<InBin> {
        let several = self.has_branches();
        let in_bin = |line: StockLine| InBin {
            free: line.free(),
            minutes_away: self.chain.minutes.get(&line.branch).copied(),
            here: self.chain.here.as_ref().filter(|_| several).map(|here| *here == line.branch),
            branch: several.then_some(line.branch),
            bin: line.bin,
            condition: line.condition,
            on_hand: line.on_hand,
        };
        lines.into_iter().map(in_bin).collect()
    }

    /// The branches and how far they are apart.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn branches(&self) -> Result<BranchList, ShopError> {
        let mut branches = self.store.branches()?;
        branches.retain(|name| !name.is_empty());
        let way = |BranchWay { one, two, minutes, cost }| WayLine { one, two, minutes, cost };
        let ways = self.store.branch_ways()?.into_iter().map(way).collect();
        Ok(BranchList { branches, here: self.chain.here.clone(), ways })
    }

    /// Adds a branch.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the one that is there has no name yet, or the store fails.
    pub fn add_branch(&mut self, name: &str) -> Result<(), ShopError> {
        self.store.write(Keep::Yes, |w| w.put_branch(name.trim()))?;
        self.look_around()
    }

    /// Names the branch that was `old`; the one without a name when `old` is empty.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is none, another bears the name, or the store fails.
    pub fn name_branch(&mut self, old: &str, new: &str) -> Result<(), ShopError> {
        let old = self.store.branch_named(old)?;
        self.store.write(Keep::Yes, |w| w.name_branch(&old, new.trim()))?;
        if self.chain.is_here(&old) {
            self.chain.here = Some(self.store.stand_at(new.trim())?);
        }
        self.look_around()
    }

    /// Says how far two branches are apart.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when one is not known, both are the same, or the store fails.
    pub fn put_branch_way(
        &mut self,
        one: &str,
        two: &str,
        minutes: u32,
        cost: Money,
    ) -> Result<(), ShopError> {
        let way = BranchWay { one: one.to_owned(), two: two.to_owned(), minutes, cost };
        self.store.write(Keep::Yes, |w| w.put_branch_way(&way))?;
        self.look_around()
    }

    /// What is on its way between branches, first sent first.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn in_transit(&self) -> Result<Vec<TransitLine>, ShopError> {
        Ok(self.store.in_transit()?.into_iter().map(TransitLine::from).collect())
    }

    /// Takes in what came of a transfer; what is given up is scrapped with its value.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when so much is not on its way, or the bin is not of the branch it was sent to.
    pub fn arrive(&mut self, come: &Come, keep: Keep) -> Result<Posted, ShopError> {
        let on_way = self.store.in_transit()?;
        let on_way = on_way.into_iter().find(|line| line.transfer == come.transfer);
        let left = on_way.map_or(Quantity::ZERO, |line| line.quantity);
        let rest = left.checked_sub(come.lost).unwrap_or(Quantity::ZERO);
        let Slip { note, who, key, .. } = come.slip.clone();
        let landing = Landing {
            transfer: come.transfer,
            bin: come.bin.clone(),
            came: come.came.unwrap_or(rest),
            lost: come.lost,
            note,
            who,
            at: Timestamp::now(),
            day: self.today,
        };
        if come.came.is_none() && left == Quantity::ZERO {
            return Err(StoreError::NotOnItsWay { transfer: come.transfer, left }.into());
        }
        self.store.write(keep, |w| {
            let posting = w.land(&key, &landing)?;
            posted(w, Some(posting), keep)
        })
    }
}

impl From<InTransit> for TransitLine {
    fn from(line: InTransit) -> Self {
        Self {
            transfer: line.transfer,
            part: line.part,
            condition: line.condition,
            from: line.from,
            from_branch: line.from_branch,
            to: line.to,
            to_branch: line.to_branch,
            sent: line.sent,
            quantity: line.quantity,
            value: line.value,
            day: line.day,
            who: line.who,
            reference: line.reference,
        }
    }
}
