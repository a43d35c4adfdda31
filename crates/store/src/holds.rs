//! What is promised? Holds: stock kept for a quote until a day, then posted, released or lapsed.

use binwright_catalog::{Condition, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::engine::{Row, values};
use crate::ledger::Entry;
use crate::post::Leg;
use crate::stock::{condition, day};
use crate::worth::Worth;
use crate::{Reason, Store, StoreError, Writer, sql};

/// Stock to be promised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    /// To what it is promised.
    pub reference: String,
    /// Any number of the part.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
    /// The last day it is promised.
    pub until: Date,
}

/// A hold that is open, with its number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenHold {
    /// Its number.
    pub id: i64,
    /// What is promised, the part by house number.
    pub hold: Hold,
}

impl Store {
    /// The holds that are open on `today`, the first to lapse first.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn holds(&self, today: Date) -> Result<Vec<OpenHold>, StoreError> {
        self.session.all(sql!("holds_open"), values![today.to_string()], read_hold)
    }
}

/// The hold in a row of a query for them.
pub(crate) fn read_hold(row: &Row<'_>) -> Result<OpenHold, StoreError> {
    Ok(OpenHold {
        id: row.get(0)?,
        hold: Hold {
            reference: row.get(1)?,
            part: row.get(2)?,
            bin: row.get(3)?,
            condition: condition(&row.get::<String>(4)?)?,
            quantity: Quantity::from_thousandths(row.get(5)?),
            until: day(&row.get::<String>(6)?)?,
        },
    })
}

impl Writer<'_> {
    /// Promises stock and returns the hold's number.
    ///
    /// # Errors
    ///
    /// When part or bin is not known, or less is free on `today`.
    pub fn hold(&mut self, hold: &Hold, today: Date) -> Result<i64, StoreError> {
        let (part, bin) = self.place(&hold.part, &hold.bin)?;
        if !hold.quantity.is_positive() {
            return Err(StoreError::Nothing);
        }
        let (condition, asked) = (hold.condition.word(), hold.quantity.thousandths());
        self.standing(part, bin, condition, &today.to_string())?.refuse_short(asked)?;
        self.session.one(
            sql!("hold_add"),
            values![&hold.reference, part, bin, condition, asked, hold.until.to_string()],
            |row| row.get(0),
        )
    }

    /// Lets a hold go; at most once.
    ///
    /// # Errors
    ///
    /// [`StoreError::HoldNotOpen`] when it was posted or released, or lapsed before `today`.
    pub fn release(&mut self, hold: i64, today: Date) -> Result<(), StoreError> {
        self.settle_hold(hold, "released", Some(today))
    }

    /// Turns a hold into the movement it was kept for, at most once, and returns its number.
    ///
    /// # Errors
    ///
    /// [`StoreError::HoldNotOpen`] when it was posted or released, or lapsed before `today`;
    /// [`StoreError::WrongWay`] when nothing goes out by `reason`.
    pub fn post_hold(
        &mut self,
        hold: i64,
        reason: Reason,
        who: &str,
        at: Timestamp,
        today: Date,
    ) -> Result<i64, StoreError> {
        if !matches!(reason, Reason::Issue | Reason::Sale) {
            return Err(StoreError::WrongWay { reason: reason.word() });
        }
        let entry = self
            .session
            .first(sql!("hold_by_id"), values![hold, today.to_string()], |row| {
                Ok(Entry {
                    part: row.get(0)?,
                    bin: row.get(1)?,
                    condition: row.get(2)?,
                    quantity: -row.get::<i64>(3)?,
                    reason: reason.word().to_owned(),
                    reference: row.get(4)?,
                    who: who.to_owned(),
                    at: at.to_string(),
                    day: today.to_string(),
                    ..Entry::default()
                })
            })?
            .ok_or(StoreError::HoldNotOpen { hold })?;
        self.whole(|w| {
            w.settle_hold(hold, "posted", Some(today))?;
            w.post_legs("", vec![Leg { entry, worth: Worth::Average }])
        })
    }

    /// Ends an open hold; one that lapsed only when no day is given.
    pub(crate) fn settle_hold(
        &mut self,
        hold: i64,
        state: &str,
        today: Option<Date>,
    ) -> Result<(), StoreError> {
        let today = today.map(|today| today.to_string());
        let done = self.session.run(sql!("hold_settle"), values![hold, state, today])?;
        if done == 1 { Ok(()) } else { Err(StoreError::HoldNotOpen { hold }) }
    }
}
