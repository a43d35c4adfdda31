//! How does stock move? An append-only ledger, its chain of hashes, balances, holds.

use binwright_catalog::{Condition, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{OptionalExtension, Row};
use sha2::{Digest, Sha256};

use crate::put::{Put, bin_id};
use crate::stock::condition;
use crate::{StoreError, Writer, sql};

/// Why stock moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reason {
    /// It lay there when the shop was opened.
    Opening,
    /// It came from a supplier.
    Receive,
    /// It went into a job.
    Issue,
    /// It was sold over the counter.
    Sale,
    /// It went to or came from another bin.
    Move,
    /// It was tested, or given up, and lies in another condition now.
    Condition,
    /// It was counted and the book was wrong.
    Count,
    /// A customer brought it back.
    ReturnIn,
    /// It went back to the supplier.
    ReturnOut,
    /// It takes back an earlier movement.
    Undo,
}

impl Reason {
    const ALL: [Self; 10] = [
        Self::Opening,
        Self::Receive,
        Self::Issue,
        Self::Sale,
        Self::Move,
        Self::Condition,
        Self::Count,
        Self::ReturnIn,
        Self::ReturnOut,
        Self::Undo,
    ];

    /// The word in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::Opening => "opening",
            Self::Receive => "receive",
            Self::Issue => "issue",
            Self::Sale => "sale",
            Self::Move => "move",
            Self::Condition => "condition",
            Self::Count => "count",
            Self::ReturnIn => "return-in",
            Self::ReturnOut => "return-out",
            Self::Undo => "undo",
        }
    }

    fn named(word: &str) -> Result<Self, StoreError> {
        Self::ALL
            .into_iter()
            .find(|reason| reason.word() == word)
            .ok_or_else(|| StoreError::Damaged { what: format!("reason `{word}`") })
    }
}

/// One movement to be posted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Movement {
    /// Any number of the part.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// In is positive, out negative.
    pub quantity: Quantity,
    /// Why.
    pub reason: Reason,
    /// Job, order, quote or note it belongs to.
    pub reference: String,
    /// Who posts it.
    pub who: String,
    /// When.
    pub at: Timestamp,
}

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

/// A movement as a row of the ledger, what its hash covers.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Entry {
    pub seq: i64,
    pub part: u64,
    pub bin: u64,
    pub condition: String,
    pub quantity: i64,
    pub reason: String,
    pub reference: String,
    pub who: String,
    pub at: String,
    pub undoes: Option<i64>,
}

impl Entry {
    /// Reads the columns of the movement queries; the hash is the last.
    pub fn read(row: &Row<'_>) -> rusqlite::Result<(Self, Vec<u8>)> {
        let entry = Self {
            seq: row.get(0)?,
            part: row.get(1)?,
            bin: row.get(2)?,
            condition: row.get(3)?,
            quantity: row.get(4)?,
            reason: row.get(5)?,
            reference: row.get(6)?,
            who: row.get(7)?,
            at: row.get(8)?,
            undoes: row.get(9)?,
        };
        Ok((entry, row.get(10)?))
    }

    /// SHA-256 over the hash before it and every field, each with its length so that no two
    /// movements spell alike.
    pub fn hash(&self, before: &[u8]) -> Vec<u8> {
        let mut hasher = Sha256::new();
        hasher.update(before);
        let numbers = format!(
            "{} {} {} {} {}",
            self.seq,
            self.part,
            self.bin,
            self.quantity,
            self.undoes.unwrap_or(0)
        );
        for text in [&numbers, &self.condition, &self.reason, &self.reference, &self.who, &self.at]
        {
            hasher.update((text.len() as u64).to_le_bytes());
            hasher.update(text.as_bytes());
        }
        hasher.finalize().to_vec()
    }
}

impl Writer<'_> {
    /// Posts a movement and returns its number.
    ///
    /// # Errors
    ///
    /// When part or bin is not known, it is a movement of nothing, or more would go out than is
    /// free on the day of posting.
    pub fn post(&mut self, movement: &Movement) -> Result<i64, StoreError> {
        let (part, bin) = self.place(&movement.part, &movement.bin)?;
        self.append(Entry {
            seq: 0,
            part,
            bin,
            condition: movement.condition.word().to_owned(),
            quantity: movement.quantity.thousandths(),
            reason: movement.reason.word().to_owned(),
            reference: movement.reference.clone(),
            who: movement.who.clone(),
            at: movement.at.to_string(),
            undoes: None,
        })
    }

    /// Says what lay in a bin when the shop was opened. Saying the same again changes nothing,
    /// whatever moved since; saying another quantity posts the difference.
    ///
    /// # Errors
    ///
    /// As [`Writer::post`].
    pub fn put_opening(&mut self, movement: &Movement) -> Result<Put, StoreError> {
        let (part, bin) = self.place(&movement.part, &movement.bin)?;
        let condition = movement.condition.word();
        let so_far: i64 = self
            .transaction
            .prepare_cached(sql!("opening_so_far"))?
            .query_row((part, bin, condition), |row| row.get(0))?;
        let difference = movement
            .quantity
            .checked_sub(Quantity::from_thousandths(so_far))
            .ok_or(StoreError::TooLarge)?;
        if difference == Quantity::ZERO {
            return Ok(Put::Unchanged);
        }
        self.post(&Movement { quantity: difference, reason: Reason::Opening, ..movement.clone() })?;
        Ok(if so_far == 0 { Put::Added } else { Put::Changed })
    }

    /// Posts the counter-movement of movement `seq` and returns its number.
    ///
    /// # Errors
    ///
    /// When there is no such movement, it was undone already, or the stock is gone.
    pub fn undo(&mut self, seq: i64, who: &str, at: Timestamp) -> Result<i64, StoreError> {
        let (entry, _) = self
            .transaction
            .prepare_cached(sql!("movement_by_seq"))?
            .query_row([seq], Entry::read)
            .optional()?
            .ok_or(StoreError::NoSuchMovement { seq })?;
        let undone: bool = self
            .transaction
            .prepare_cached(sql!("movement_is_undone"))?
            .query_row([seq], |row| row.get(0))?;
        if undone {
            return Err(StoreError::UndoneAlready { seq });
        }
        let quantity = entry.quantity.checked_neg().ok_or(StoreError::TooLarge)?;
        self.append(Entry {
            quantity,
            reason: Reason::Undo.word().to_owned(),
            who: who.to_owned(),
            at: at.to_string(),
            undoes: Some(seq),
            ..entry
        })
    }

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
        let condition = hold.condition.word();
        let on_hand = self.on_hand(part, bin, condition)?;
        self.refuse_short(part, bin, condition, on_hand, hold.quantity.thousandths(), today)?;
        let mut add = self.transaction.prepare_cached(sql!("hold_add"))?;
        Ok(add.query_row(
            (
                &hold.reference,
                part,
                bin,
                condition,
                hold.quantity.thousandths(),
                hold.until.to_string(),
            ),
            |row| row.get(0),
        )?)
    }

    /// Lets a hold go; at most once.
    ///
    /// # Errors
    ///
    /// [`StoreError::HoldNotOpen`] when it is not open.
    pub fn release(&mut self, hold: i64) -> Result<(), StoreError> {
        let done =
            self.transaction.prepare_cached(sql!("hold_settle"))?.execute((hold, "released"))?;
        if done == 1 { Ok(()) } else { Err(StoreError::HoldNotOpen { hold }) }
    }

    fn place(&self, part: &str, bin: &str) -> Result<(u64, u64), StoreError> {
        let part = self.part_id(part)?;
        let id = bin_id(&self.transaction, bin)?;
        Ok((part, id.ok_or_else(|| StoreError::NoSuchBin { bin: bin.to_owned() })?))
    }

    fn on_hand(&self, part: u64, bin: u64, condition: &str) -> Result<i64, StoreError> {
        let mut query = self.transaction.prepare_cached(sql!("on_hand"))?;
        let found = query.query_row((part, bin, condition), |row| row.get(0)).optional()?;
        Ok(found.unwrap_or(0))
    }

    fn refuse_short(
        &self,
        part: u64,
        bin: u64,
        condition: &str,
        on_hand: i64,
        asked: i64,
        today: Date,
    ) -> Result<(), StoreError> {
        let held: i64 = self
            .transaction
            .prepare_cached(sql!("held"))?
            .query_row((part, bin, condition, today.to_string()), |row| row.get(0))?;
        let free = on_hand.saturating_sub(held);
        if asked > free {
            let amount = Quantity::from_thousandths;
            return Err(StoreError::Short {
                free: amount(free),
                asked: amount(asked),
                short: amount(asked.saturating_sub(free)),
            });
        }
        Ok(())
    }

    /// Appends `entry` under the next number, with its hash, and brings the balance along.
    fn append(&mut self, mut entry: Entry) -> Result<i64, StoreError> {
        if entry.quantity == 0 {
            return Err(StoreError::Nothing);
        }
        condition(&entry.condition)?;
        Reason::named(&entry.reason)?;
        let on_hand = self.on_hand(entry.part, entry.bin, &entry.condition)?;
        if entry.quantity < 0 {
            let at: Timestamp = entry
                .at
                .parse()
                .map_err(|_| StoreError::Damaged { what: format!("time `{}`", entry.at) })?;
            let today = jiff::tz::Offset::UTC.to_datetime(at).date();
            let asked = entry.quantity.saturating_neg();
            self.refuse_short(entry.part, entry.bin, &entry.condition, on_hand, asked, today)?;
        }
        let balance = on_hand.checked_add(entry.quantity).ok_or(StoreError::TooLarge)?;
        let last: Option<(i64, Vec<u8>)> = self
            .transaction
            .prepare_cached(sql!("movement_last"))?
            .query_row([], |row| Ok((row.get(0)?, row.get(1)?)))
            .optional()?;
        let (seq, before) = last.unwrap_or_default();
        entry.seq = seq + 1;
        let hash = entry.hash(&before);
        self.transaction.prepare_cached(sql!("movement_add"))?.execute((
            entry.seq,
            entry.part,
            entry.bin,
            &entry.condition,
            entry.quantity,
            &entry.reason,
            &entry.reference,
            &entry.who,
            &entry.at,
            entry.undoes,
            hash,
        ))?;
        self.transaction.prepare_cached(sql!("balance_put"))?.execute((
            entry.part,
            entry.bin,
            &entry.condition,
            balance,
        ))?;
        Ok(entry.seq)
    }
}
