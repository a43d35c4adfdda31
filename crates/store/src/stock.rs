//! What lies where? Stock of a part by bin and condition, and what of it is free.

use binwright_catalog::{Condition, Quantity};
use jiff::civil::Date;

use crate::engine::{Row, Session, values};
use crate::put::bin_id;
use crate::{Store, StoreError, Writer, sql};

/// Stock of one part in one bin and condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StockLine {
    /// The bin.
    pub bin: String,
    /// The bin's branch; empty in a shop that is one place.
    pub branch: String,
    /// In what condition.
    pub condition: Condition,
    /// What lies there.
    pub on_hand: Quantity,
    /// What of it is promised.
    pub held: Quantity,
}

impl StockLine {
    /// What is not promised to anybody.
    pub fn free(&self) -> Quantity {
        self.on_hand.checked_sub(self.held).unwrap_or(Quantity::ZERO)
    }
}

/// Stock of one part in one bin and condition, the part by house number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StockRow {
    /// House number.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// What lies there.
    pub on_hand: Quantity,
}

impl Writer<'_> {
    /// What lies of a part in one bin and condition.
    ///
    /// # Errors
    ///
    /// When part or bin is not known, or the engine fails.
    pub fn on_hand_of(
        &self,
        part: &str,
        bin: &str,
        condition: Condition,
    ) -> Result<Quantity, StoreError> {
        let (part, bin) = self.place(part, bin)?;
        Ok(Quantity::from_thousandths(self.on_hand(part, bin, condition.word())?))
    }
}

impl Store {
    /// Whether there is a bin of this name.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn is_bin(&self, name: &str) -> Result<bool, StoreError> {
        Ok(bin_id(self.near(), name)?.is_some())
    }

    /// What lies in the bins of the part with `id`; holds whose last day is before `today` are
    /// let go.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn stock(&self, id: u64, today: Date) -> Result<Vec<StockLine>, StoreError> {
        stock_of(self.near(), id, today)
    }

    /// What the shelf still takes of each part, by id, where every bin it lies in, or last lay in, has a
    /// limit. Parts that share a bin are each told its whole room.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn shelf_room(&self) -> Result<Vec<(u64, Quantity)>, StoreError> {
        self.session.all(sql!("shelf_room"), &[], |row| {
            Ok((row.get(0)?, Quantity::from_thousandths(row.get(1)?)))
        })
    }

    /// Hands everything that lies in the bins to `take`.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_stock<E: From<StoreError>>(
        &self,
        take: impl FnMut(StockRow) -> Result<(), E>,
    ) -> Result<(), E> {
        let read = |row: &Row<'_>| {
            Ok(StockRow {
                part: row.get(0)?,
                bin: row.get(1)?,
                condition: condition(&row.get::<String>(2)?)?,
                on_hand: Quantity::from_thousandths(row.get(3)?),
            })
        };
        self.near().each(sql!("stock_all"), &[], read, take)
    }
}

pub(crate) fn stock_of(
    session: &Session,
    id: u64,
    today: Date,
) -> Result<Vec<StockLine>, StoreError> {
    session.all(sql!("stock_of_part"), values![id, today.to_string()], |row| {
        Ok(StockLine {
            bin: row.get(0)?,
            condition: condition(&row.get::<String>(1)?)?,
            on_hand: Quantity::from_thousandths(row.get(2)?),
            held: Quantity::from_thousandths(row.get(3)?),
            branch: row.get(4)?,
        })
    })
}

pub(crate) fn condition(word: &str) -> Result<Condition, StoreError> {
    word.parse().map_err(|_| StoreError::Damaged { what: format!("condition `{word}`") })
}

pub(crate) fn day(text: &str) -> Result<Date, StoreError> {
    text.parse().map_err(|_| StoreError::Damaged { what: format!("day `{text}`") })
}
