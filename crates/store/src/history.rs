//! What has moved? The ledger read back, newest first.

use binwright_catalog::{Condition, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::engine::{Session, values};
use crate::put::known_bin;
use crate::stock::{condition, day};
use crate::worth::currency;
use crate::{Reason, Store, StoreError, Writer, sql};

/// Which movements are asked for: all that agree with what is given.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct History {
    /// Of the part with this id.
    pub part: Option<u64>,
    /// Into and out of this bin.
    pub bin: Option<String>,
    /// With this reference.
    pub reference: Option<String>,
    /// Of the posting whose first movement has this number.
    pub posting: Option<i64>,
    /// So many at most, the newest.
    pub limit: usize,
}

/// A movement that was posted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moved {
    /// Its number.
    pub seq: i64,
    /// The number of the first movement that was posted with it.
    pub posting: i64,
    /// House number.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// In is positive, out negative.
    pub quantity: Quantity,
    /// What the part was worth more or less by it.
    pub value: Money,
    /// Why.
    pub reason: Reason,
    /// Job, order or quote it belongs to.
    pub reference: String,
    /// What else was said.
    pub note: String,
    /// Who posted it.
    pub who: String,
    /// When.
    pub at: Timestamp,
    /// The shop's day.
    pub day: Date,
    /// The movement it takes back.
    pub undoes: Option<i64>,
    /// The movement that took it back.
    pub undone_by: Option<i64>,
}

impl Store {
    /// The movements that `asked` names, newest first.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchBin`], or what the engine says.
    pub fn history(&self, asked: &History) -> Result<Vec<Moved>, StoreError> {
        history(&self.session, asked)
    }

    /// The number of the last movement; 0 when nothing ever moved.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn last_movement(&self) -> Result<i64, StoreError> {
        last_movement(&self.session)
    }
}

pub(crate) fn last_movement(session: &Session) -> Result<i64, StoreError> {
    session.one(sql!("movement_last"), &[], |row| row.get(0))
}

impl Writer<'_> {
    /// As [`Store::history`], with what was posted by this hand.
    ///
    /// # Errors
    ///
    /// As [`Store::history`].
    pub fn history(&self, asked: &History) -> Result<Vec<Moved>, StoreError> {
        history(self.session, asked)
    }
}

fn history(session: &Session, asked: &History) -> Result<Vec<Moved>, StoreError> {
    let bin = asked.bin.as_ref().map(|bin| known_bin(session, bin)).transpose()?;
    let currency = currency(session)?;
    let limit = i64::try_from(asked.limit).unwrap_or(i64::MAX);
    session.all(
        sql!("history"),
        values![asked.part, bin, &asked.reference, limit, asked.posting],
        |row| {
            let text = |at| row.get::<String>(at);
            let at = text(8)?;
            Ok(Moved {
                seq: row.get(0)?,
                part: text(1)?,
                bin: text(2)?,
                condition: condition(&text(3)?)?,
                quantity: Quantity::from_thousandths(row.get(4)?),
                reason: Reason::named(&text(5)?)?,
                reference: text(6)?,
                who: text(7)?,
                at: at.parse().map_err(|_| StoreError::Damaged { what: format!("time `{at}`") })?,
                posting: row.get(9)?,
                undoes: row.get(10)?,
                value: Money { minor: row.get(11)?, currency },
                day: day(&text(12)?)?,
                note: text(13)?,
                undone_by: row.get(14)?,
            })
        },
    )
}
