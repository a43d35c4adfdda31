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

    /// Whether stock comes in (`true`) or goes out by it; `None` when it may do either.
    fn comes_in(self) -> Option<bool> {
        match self {
            Self::Receive | Self::ReturnIn => Some(true),
            Self::Issue | Self::Sale | Self::ReturnOut => Some(false),
            _ => None,
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
    pub posting: i64,
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
            posting: row.get(9)?,
            undoes: row.get(10)?,
        };
        Ok((entry, row.get(11)?))
    }

    /// SHA-256 over the hash before it and every field, each with its length so that no two
    /// movements spell alike.
    pub fn hash(&self, before: &[u8]) -> Vec<u8> {
        let mut hasher = Sha256::new();
        hasher.update(before);
        let numbers = format!(
            "{} {} {} {} {} {}",
            self.seq,
            self.part,
            self.bin,
            self.quantity,
            self.posting,
            self.undoes.map_or_else(|| "-".to_owned(), |seq| seq.to_string())
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
    /// As [`Writer::post_together`].
    pub fn post(&mut self, movement: &Movement) -> Result<i64, StoreError> {
        self.post_together(std::slice::from_ref(movement))
    }

    /// Posts movements that belong together, all or none, and returns the number of the first:
    /// out of one bin and into another, a kit broken into its parts. They are undone together.
    ///
    /// # Errors
    ///
    /// When part or bin is not known, it is a movement of nothing or the wrong way for its reason,
    /// what is moved or changed in condition does not come to nothing in all, or more would go out
    /// than is free on the day of posting.
    pub fn post_together(&mut self, movements: &[Movement]) -> Result<i64, StoreError> {
        refuse_lopsided(movements)?;
        self.whole(|w| {
            let mut posting = 0;
            for movement in movements {
                let (part, bin) = w.place(&movement.part, &movement.bin)?;
                let seq = w.append(Entry {
                    seq: 0,
                    part,
                    bin,
                    condition: movement.condition.word().to_owned(),
                    quantity: movement.quantity.thousandths(),
                    reason: movement.reason.word().to_owned(),
                    reference: movement.reference.clone(),
                    who: movement.who.clone(),
                    at: movement.at.to_string(),
                    posting,
                    undoes: None,
                })?;
                posting = if posting == 0 { seq } else { posting };
            }
            Ok(posting)
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

    /// Takes back movement `seq` and all that was posted with it by counter-movements; returns the
    /// number of the first.
    ///
    /// # Errors
    ///
    /// When there is no such movement, it was undone already, or the stock is gone.
    pub fn undo(&mut self, seq: i64, who: &str, at: Timestamp) -> Result<i64, StoreError> {
        let undone: bool = self
            .transaction
            .prepare_cached(sql!("movement_is_undone"))?
            .query_row([seq], |row| row.get(0))?;
        if undone {
            return Err(StoreError::UndoneAlready { seq });
        }
        let entries: Vec<Entry> = self
            .transaction
            .prepare_cached(sql!("movements_of_posting"))?
            .query_map([seq], |row| Ok(Entry::read(row)?.0))?
            .collect::<Result<_, _>>()?;
        self.whole(|w| {
            let mut posting = 0;
            for entry in entries {
                let quantity = entry.quantity.checked_neg().ok_or(StoreError::TooLarge)?;
                let counter = w.append(Entry {
                    quantity,
                    reason: Reason::Undo.word().to_owned(),
                    who: who.to_owned(),
                    at: at.to_string(),
                    posting,
                    undoes: Some(entry.seq),
                    ..entry
                })?;
                posting = if posting == 0 { counter } else { posting };
            }
            if posting == 0 { Err(StoreError::NoSuchMovement { seq }) } else { Ok(posting) }
        })
    }

    /// Keeps all that `act` writes, or nothing of it when it fails, whatever the caller then does.
    pub(crate) fn whole<T>(
        &mut self,
        act: impl FnOnce(&mut Self) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        self.transaction.prepare_cached("SAVEPOINT whole")?.execute([])?;
        let done = act(self);
        if done.is_err() {
            self.transaction.prepare_cached("ROLLBACK TO whole")?.execute([])?;
        }
        self.transaction.prepare_cached("RELEASE whole")?.execute([])?;
        done
    }

    pub(crate) fn place(&self, part: &str, bin: &str) -> Result<(u64, u64), StoreError> {
        let part = self.part_id(part)?;
        let id = bin_id(&self.transaction, bin)?;
        Ok((part, id.ok_or_else(|| StoreError::NoSuchBin { bin: bin.to_owned() })?))
    }

    pub(crate) fn on_hand(&self, part: u64, bin: u64, condition: &str) -> Result<i64, StoreError> {
        let mut query = self.transaction.prepare_cached(sql!("on_hand"))?;
        let found = query.query_row((part, bin, condition), |row| row.get(0)).optional()?;
        Ok(found.unwrap_or(0))
    }

    pub(crate) fn refuse_short(
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
    pub(crate) fn append(&mut self, mut entry: Entry) -> Result<i64, StoreError> {
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
        if entry.posting == 0 {
            entry.posting = entry.seq;
        }
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
            entry.posting,
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

/// Stock that is moved or changes its condition neither appears nor vanishes.
fn refuse_lopsided(movements: &[Movement]) -> Result<(), StoreError> {
    let mut sum = 0_i64;
    for movement in movements {
        let quantity = movement.quantity.thousandths();
        let reason = movement.reason;
        if quantity == 0 {
            return Err(StoreError::Nothing);
        }
        if reason.comes_in().is_some_and(|comes_in| comes_in != (quantity > 0)) {
            return Err(StoreError::WrongWay { reason: reason.word() });
        }
        if matches!(reason, Reason::Move | Reason::Condition) {
            sum = sum.checked_add(quantity).ok_or(StoreError::TooLarge)?;
        }
    }
    if sum == 0 { Ok(()) } else { Err(StoreError::Lopsided) }
}
