//! How much of a part can be had? What lies under its own number, under those it stands for or
//! took the place of, in kits, and what may stand in.

use std::collections::BTreeSet;

use binwright_catalog::{CrossKind, Quantity};
use serde::Serialize;

use crate::answer::{InBin, free};
use crate::{Shop, ShopError};

/// Everything of a part that can be had.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reach {
    /// House number.
    pub part: String,
    /// UN/ECE Recommendation 20 code of what it is counted in.
    pub unit: &'static str,
    /// What lies under its own number and those that are it: the same part under another number,
    /// the old numbers it took the place of, the new ones that took its place. Each once.
    pub own: Vec<Under>,
    /// Kits that contain it: broken, they give so many.
    pub in_kits: Vec<InKit>,
    /// What may stand in for it, with what must be said; never counted in.
    pub stand_ins: Vec<StandIn>,
    /// Free under its own numbers, cores left out.
    pub free: Quantity,
    /// Free in kits beyond that; a kit inside a kit is counted once.
    pub free_in_kits: Quantity,
}

/// What lies under one number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Under {
    /// House number.
    pub part: String,
    /// How it is the part that was asked for: `itself`, `same`, `old number`, `new number`.
    pub how: &'static str,
    /// By bin and condition.
    pub bins: Vec<InBin>,
    /// Free, cores left out.
    pub free: Quantity,
}

/// A kit with what of the part is in it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InKit {
    /// House number of the kit.
    pub kit: String,
    /// How many of the part one kit contains.
    pub in_one: Quantity,
    /// Kits by bin.
    pub bins: Vec<InBin>,
    /// How many of the part the free kits give.
    pub free: Quantity,
}

/// A part that may stand in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StandIn {
    /// House number.
    pub part: String,
    /// What must be said of it.
    pub remark: String,
    /// By bin and condition.
    pub bins: Vec<InBin>,
    /// Free, cores left out.
    pub free: Quantity,
}

impl Shop {
    /// Says how much of the part that `number` names can be had, and where it lies.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when no part or more than one bears the number, or the store fails.
    pub fn reach(&self, number: &str) -> Result<Reach, ShopError> {
        let id = self.part_numbered(number)?;
        let part = self.part(id)?;
        let own = self.own_numbers(id)?;
        let ids: BTreeSet<u64> = own.iter().map(|(id, _)| *id).collect();
        let mut under = Vec::with_capacity(own.len());
        for (id, how) in own {
            let stock = self.stock_here_first(id)?;
            under.push(Under {
                part: self.part(id)?.house,
                how,
                free: free(&stock),
                bins: self.in_bins(stock),
            });
        }
        let in_kits = self.kits_of(&ids)?;
        Ok(Reach {
            part: part.house,
            unit: part.issue.code(),
            free: sum(under.iter().map(|line| line.free))?,
            free_in_kits: sum(in_kits.iter().map(|kit| kit.free))?,
            own: under,
            in_kits,
            stand_ins: self.stand_ins(&ids)?,
        })
    }

    /// The parts that are the one with `id`: itself, the same under other numbers, what they
    /// replaced, however far back, and what replaced them, however far on. From an old number the
    /// way leads only further back, from a new one only further on: two old numbers of one new
    /// part need not fit for each other.
    fn own_numbers(&self, id: u64) -> Result<Vec<(u64, &'static str)>, ShopError> {
        let mut own = vec![(id, "itself")];
        let mut known = BTreeSet::from([id]);
        let mut next = 0;
        while let Some(&(at, how)) = own.get(next) {
            next += 1;
            for line in self.store.crosses_of(at)? {
                let from_here = line.from_id == at;
                let found = match (line.cross.kind, how) {
                    (CrossKind::Same, "itself") => Some("same"),
                    (CrossKind::Same, _) => Some(how),
                    (CrossKind::Replaces, "new number") if from_here => None,
                    (CrossKind::Replaces, "old number") if !from_here => None,
                    (CrossKind::Replaces, _) if from_here => Some("old number"),
                    (CrossKind::Replaces, _) => Some("new number"),
                    _ => None,
                };
                let other = if from_here { line.to_id } else { line.from_id };
                if let Some(how) = found.filter(|_| known.insert(other)) {
                    own.push((other, how));
                }
            }
        }
        Ok(own)
    }

    /// The kits that contain one of `ids`, directly or in a kit inside, each once.
    fn kits_of(&self, ids: &BTreeSet<u64>) -> Result<Vec<InKit>, ShopError> {
        let mut kits: Vec<InKit> = Vec::new();
        let mut open: Vec<(u64, Quantity)> = ids.iter().map(|id| (*id, Quantity::ONE)).collect();
        let mut counted = ids.clone();
        while let Some((inside, of_it)) = open.pop() {
            for line in self.store.crosses_of(inside)? {
                let contains = line.cross.kind == CrossKind::Contains && line.to_id == inside;
                if !contains || !counted.insert(line.from_id) {
                    continue;
                }
                let in_one = times(of_it, line.cross.quantity)?;
                open.push((line.from_id, in_one));
                let stock = self.stock_here_first(line.from_id)?;
                kits.push(InKit {
                    kit: line.cross.from,
                    in_one,
                    free: times(free(&stock), in_one)?,
                    bins: self.in_bins(stock),
                });
            }
        }
        Ok(kits)
    }

    fn stand_ins(&self, ids: &BTreeSet<u64>) -> Result<Vec<StandIn>, ShopError> {
        let mut named = ids.clone();
        let mut stand_ins = Vec::new();
        for id in ids {
            for line in self.store.crosses_of(*id)? {
                let stands_in = line.cross.kind == CrossKind::StandsIn && line.to_id == *id;
                if !stands_in || !named.insert(line.from_id) {
                    continue;
                }
                let stock = self.stock_here_first(line.from_id)?;
                stand_ins.push(StandIn {
                    part: line.cross.from,
                    remark: line.cross.remark,
                    free: free(&stock),
                    bins: self.in_bins(stock),
                });
            }
        }
        Ok(stand_ins)
    }
}

fn sum(mut all: impl Iterator<Item = Quantity>) -> Result<Quantity, ShopError> {
    let sum = all.try_fold(Quantity::ZERO, Quantity::checked_add);
    Ok(sum.ok_or(binwright_store::StoreError::TooLarge)?)
}

/// Thousandths of one times thousandths of the other, cut to what is whole.
fn times(a: Quantity, b: Quantity) -> Result<Quantity, ShopError> {
    let product = i128::from(a.thousandths()) * i128::from(b.thousandths()) / 1000;
    let product = i64::try_from(product).map_err(|_| binwright_store::StoreError::TooLarge)?;
    Ok(Quantity::from_thousandths(product))
}
