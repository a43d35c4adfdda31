//! What travels between branches? It leaves by one movement and arrives by others, perhaps short.
//!
//! On its way it lies in no bin, and its value is in no stock: both are what left less what arrived. What
//! is given up on the way arrives and is scrapped in the same posting, so that the ledger tells its value
//! and an undo takes both back.

use binwright_catalog::{Condition, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::branches::branch_of;
use crate::engine::{Row, Session, Value, values};
use crate::ledger::Entry;
use crate::post::Leg;
use crate::put::known_bin;
use crate::stock::{condition, day};
use crate::worth::{Worth, currency, share};
use crate::{Movement, Reason, Store, StoreError, Writer, sql};

/// What is sent to another branch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sending {
    /// Any number of the part.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// The bin it is taken from.
    pub from: String,
    /// The bin it is meant for.
    pub to: String,
    /// How many.
    pub quantity: Quantity,
    /// What it is sent for.
    pub reference: String,
    /// What else is to be said.
    pub note: String,
    /// Who sends it.
    pub who: String,
    /// When.
    pub at: Timestamp,
    /// The shop's day.
    pub day: Date,
}

/// What came of a transfer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Landing {
    /// The movement it left by.
    pub transfer: i64,
    /// The bin it is put in, where it is not the one it was meant for.
    pub bin: Option<String>,
    /// How many came.
    pub came: Quantity,
    /// How many will never come.
    pub lost: Quantity,
    /// What else is to be said.
    pub note: String,
    /// Who took it in.
    pub who: String,
    /// When.
    pub at: Timestamp,
    /// The shop's day.
    pub day: Date,
}

/// What is on its way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InTransit {
    /// The movement it left by.
    pub transfer: i64,
    /// The part.
    pub part_id: u64,
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
    /// The day it left.
    pub day: Date,
    /// Who sent it.
    pub who: String,
    /// What it was sent for.
    pub reference: String,
}

impl Store {
    /// What is on its way between branches, first sent first.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn in_transit(&self) -> Result<Vec<InTransit>, StoreError> {
        in_transit(&self.session, values![None::<i64>])
    }

    /// What was on its way between branches when `day` ended, from the ledger alone.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn value_in_transit_on(&self, day: Date) -> Result<Money, StoreError> {
        let currency = currency(&self.session)?;
        self.session.one(sql!("transit_value_on"), values![day.to_string()], |row| {
            Ok(Money { minor: row.get(0)?, currency })
        })
    }
}

impl Writer<'_> {
    /// Sends stock to another branch and returns the number of the movement out, which names the
    /// transfer. The same under the same `key` again sends nothing; an empty key is none.
    ///
    /// # Errors
    ///
    /// [`StoreError::SameBranch`]; when part or bin is not known or less is free, and as
    /// [`Writer::post_once`].
    pub fn send(&mut self, key: &str, sending: &Sending) -> Result<i64, StoreError> {
        let (part, from) = self.place(&sending.part, &sending.from)?;
        let to = known_bin(self.session, &sending.to)?;
        let branch = branch_of(self.session, to)?;
        if branch == branch_of(self.session, from)? {
            return Err(StoreError::SameBranch { branch: branch.1 });
        }
        if !sending.quantity.is_positive() {
            return Err(StoreError::Nothing);
        }
        let movement = Movement {
            part: sending.part.clone(),
            bin: sending.from.clone(),
            condition: sending.condition,
            quantity: Quantity::from_thousandths(-sending.quantity.thousandths()),
            unit_cost: None,
            reason: Reason::TransferOut,
            reference: sending.reference.clone(),
            note: sending.note.clone(),
            who: sending.who.clone(),
            at: sending.at,
            day: sending.day,
        };
        let legs = vec![Leg { entry: Entry::of(&movement, part, from), worth: Worth::Average }];
        if let Some(sent) = self.posted_before(key, &legs)? {
            return Ok(sent);
        }
        self.whole(|w| {
            let seq = w.post_legs(key, legs)?;
            w.session.run(sql!("transfer_add"), values![seq, to])?;
            Ok(seq)
        })
    }

    /// Takes in what came of a transfer and gives up what never will; the rest stays on its way. Returns
    /// the number of the first movement. The same under the same `key` again takes in nothing.
    ///
    /// # Errors
    ///
    /// [`StoreError::NotOnItsWay`] when so much is not on its way; [`StoreError::OtherBranch`] when the
    /// bin is another branch's than the one it was sent to; as [`Writer::post_once`].
    pub fn land(&mut self, key: &str, landing: &Landing) -> Result<i64, StoreError> {
        let refused = |left| StoreError::NotOnItsWay { transfer: landing.transfer, left };
        let both = landing.came.checked_add(landing.lost).ok_or(StoreError::TooLarge)?;
        let (out, meant) = self
            .session
            .first(sql!("transfer_by_seq"), values![landing.transfer], |row| {
                Ok(((row.get::<u64>(0)?, row.get::<String>(1)?), row.get::<u64>(2)?))
            })?
            .ok_or_else(|| refused(Quantity::ZERO))?;
        let bin = landing.bin.as_ref().map_or(Ok(meant), |bin| known_bin(self.session, bin))?;
        if branch_of(self.session, bin)? != branch_of(self.session, meant)? {
            return Err(StoreError::OtherBranch { transfer: landing.transfer });
        }
        if landing.came < Quantity::ZERO || landing.lost < Quantity::ZERO || !both.is_positive() {
            return Err(StoreError::Nothing);
        }
        let entry = |quantity: Quantity, reason: Reason| Entry {
            part: out.0,
            bin,
            condition: out.1.clone(),
            quantity: quantity.thousandths(),
            reason: reason.word().to_owned(),
            reference: format!("transfer {}", landing.transfer),
            note: landing.note.clone(),
            who: landing.who.clone(),
            at: landing.at.to_string(),
            day: landing.day.to_string(),
            ..Entry::default()
        };
        let lost = Quantity::from_thousandths(-landing.lost.thousandths());
        let mut legs =
            vec![Leg { entry: entry(both, Reason::TransferIn), worth: Worth::Amount(0) }];
        if landing.lost.is_positive() {
            legs.push(Leg { entry: entry(lost, Reason::Scrap), worth: Worth::Amount(0) });
        }
        if let Some(landed) = self.posted_before(key, &legs)? {
            return Ok(landed);
        }
        let on_way = in_transit(self.session, values![Some(landing.transfer)])?.pop();
        let left = on_way.as_ref().map_or(Quantity::ZERO, |line| line.quantity);
        let on_way = on_way.filter(|line| line.quantity >= both).ok_or_else(|| refused(left))?;
        let part_of = |value, part: Quantity, of: Quantity| {
            share(value, part.thousandths().into(), of.thousandths().into())
        };
        let value = part_of(on_way.value.minor, both, left)?;
        legs[0].worth = Worth::Amount(value);
        if let Some(scrap) = legs.get_mut(1) {
            scrap.worth = Worth::Amount(-part_of(value, landing.lost, both)?);
        }
        self.whole(|w| {
            let seq = w.post_in_order(key, legs)?;
            w.session.run(sql!("transfer_arrival_add"), values![seq, landing.transfer])?;
            Ok(seq)
        })
    }

    /// Refuses to take back a sending of which something has come, or what took a transfer back.
    pub(crate) fn refuse_undoing_transfer(&self, seq: i64) -> Result<(), StoreError> {
        let is = |query| self.session.one(query, values![seq], |row| row.get::<bool>(0));
        if is(sql!("transfer_has_come"))? {
            return Err(StoreError::HasCome { transfer: seq });
        }
        if is(sql!("is_of_a_transfer"))? {
            return Err(StoreError::TransferTakenBack { seq });
        }
        Ok(())
    }
}

fn in_transit(session: &Session, which: &[Value<'_>]) -> Result<Vec<InTransit>, StoreError> {
    let currency = currency(session)?;
    session.all(sql!("transfers"), which, |row: &Row<'_>| {
        let amount = |at| Ok::<_, StoreError>(Quantity::from_thousandths(row.get(at)?));
        let left = row.get::<i64>(8)? - row.get::<i64>(10)?;
        Ok(InTransit {
            transfer: row.get(0)?,
            part_id: row.get(1)?,
            part: row.get(2)?,
            condition: condition(&row.get::<String>(3)?)?,
            from: row.get(4)?,
            from_branch: row.get(5)?,
            to: row.get(6)?,
            to_branch: row.get(7)?,
            sent: amount(8)?,
            quantity: Quantity::from_thousandths(left),
            value: Money { minor: row.get::<i64>(9)? - row.get::<i64>(11)?, currency },
            day: day(&row.get::<String>(12)?)?,
            who: row.get(13)?,
            reference: row.get(14)?,
        })
    })
}
