//! How is stock moved? Postings: whole, at most once by key, undone by counter-movements.

use std::collections::BTreeMap;

use binwright_catalog::{Quantity, number};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::engine::values;
use crate::ledger::Entry;
use crate::put::Put;
use crate::stock::condition;
use crate::worth::{Worth, share};
use crate::{Movement, Reason, StoreError, Writer, sql};

/// One movement of a posting, with how its value is found.
#[derive(Debug)]
pub(crate) struct Leg {
    pub entry: Entry,
    pub worth: Worth,
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
    /// out of one bin and into another, one unit sold and its core brought in. They are undone
    /// together.
    ///
    /// # Errors
    ///
    /// When part or bin is not known, it is a movement of nothing or the wrong way for its reason,
    /// what is moved or changed in condition does not come to nothing in all, its cost is not in
    /// the shop's currency, or more would go out than is free on its day.
    pub fn post_together(&mut self, movements: &[Movement]) -> Result<i64, StoreError> {
        self.post_once("", movements)
    }

    /// Posts as [`Writer::post_together`] does, once: the same movements under the same `key`
    /// again post nothing and return the number of the first time. An empty key is none.
    ///
    /// # Errors
    ///
    /// As [`Writer::post_together`]; [`StoreError::KeyTaken`] when other movements bear the key.
    pub fn post_once(&mut self, key: &str, movements: &[Movement]) -> Result<i64, StoreError> {
        self.post_landed(key, movements, &[])
    }

    /// As [`Writer::post_once`]; each movement is worth so many minor units more than its cost says.
    pub(crate) fn post_landed(
        &mut self,
        key: &str,
        movements: &[Movement],
        beside: &[i64],
    ) -> Result<i64, StoreError> {
        let mut legs = Vec::with_capacity(movements.len());
        for (nth, movement) in movements.iter().enumerate() {
            let (part, bin) = self.place(&movement.part, &movement.bin)?;
            let worth = match (self.worth_of(movement)?, beside.get(nth)) {
                (Worth::Amount(cost), Some(beside)) => {
                    Worth::Amount(cost.checked_add(*beside).ok_or(StoreError::TooLarge)?)
                }
                (worth, _) => worth,
            };
            legs.push(Leg { entry: Entry::of(movement, part, bin), worth });
        }
        if let Some(first) = self.posted_before(key, &legs)? {
            return Ok(first);
        }
        refuse_lopsided(movements, &legs)?;
        self.post_legs(key, legs)
    }

    /// The posting that bears `key`, when it is of the same movements.
    pub(crate) fn posted_before(&self, key: &str, legs: &[Leg]) -> Result<Option<i64>, StoreError> {
        if key.is_empty() {
            return Ok(None);
        }
        let Some(posting) =
            self.session.first(sql!("posting_of_key"), values![key], |row| row.get(0))?
        else {
            return Ok(None);
        };
        let told = |entry: &Entry| {
            let Entry { part, bin, quantity, .. } = *entry;
            (part, bin, quantity, entry.condition.clone(), entry.reason.clone())
        };
        let mut asked: Vec<_> = legs.iter().map(|leg| told(&leg.entry)).collect();
        let mut known: Vec<_> = self.posting_of(posting)?.iter().map(told).collect();
        asked.sort_unstable();
        known.sort_unstable();
        let same = asked == known;
        if same {
            Ok(Some(posting))
        } else {
            Err(StoreError::KeyTaken { key: key.into(), posting })
        }
    }

    /// The movements posted together with `seq`, last first.
    fn posting_of(&self, seq: i64) -> Result<Vec<Entry>, StoreError> {
        self.session.all(sql!("movements_of_posting"), values![seq], |row| Ok(Entry::read(row)?.0))
    }

    /// Appends what goes out, then what comes in, so that what is carried over is known.
    pub(crate) fn post_legs(&mut self, key: &str, mut legs: Vec<Leg>) -> Result<i64, StoreError> {
        legs.sort_by_key(|leg| leg.entry.quantity > 0);
        self.post_in_order(key, legs)
    }

    /// Appends the legs as they stand.
    pub(crate) fn post_in_order(&mut self, key: &str, legs: Vec<Leg>) -> Result<i64, StoreError> {
        match legs.len() {
            // It is whole by itself.
            1 => self.append_all(key, legs),
            _ => self.whole(|w| w.append_all(key, legs)),
        }
    }

    fn append_all(&mut self, key: &str, legs: Vec<Leg>) -> Result<i64, StoreError> {
        let mut weight: i128 = legs.iter().map(|leg| leg.worth.weight()).sum();
        let mut carried: i64 = 0;
        let mut posting = 0;
        for Leg { mut entry, worth } in legs {
            let worth = match worth {
                Worth::Carried(own) => {
                    let amount = share(carried, own.into(), weight)?;
                    carried -= amount;
                    weight -= i128::from(own);
                    Worth::Amount(amount)
                }
                other => other,
            };
            let goes_out = entry.quantity < 0;
            entry.posting = posting;
            if posting == 0 {
                key.clone_into(&mut entry.key);
            }
            let (seq, value) = self.append(entry, worth)?;
            if goes_out {
                carried = carried.checked_sub(value).ok_or(StoreError::TooLarge)?;
            }
            posting = if posting == 0 { seq } else { posting };
        }
        if posting == 0 { Err(StoreError::Nothing) } else { Ok(posting) }
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
        let so_far: i64 =
            self.session
                .one(sql!("opening_so_far"), values![part, bin, condition], |row| row.get(0))?;
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
    /// number of the first. What it brought in value goes again; where not so much is left of it, the
    /// average goes.
    ///
    /// # Errors
    ///
    /// When there is no such movement, it was undone already, or the stock is gone or promised on
    /// `day`.
    pub fn undo(
        &mut self,
        seq: i64,
        who: &str,
        at: Timestamp,
        day: Date,
    ) -> Result<i64, StoreError> {
        let undone: bool =
            self.session.one(sql!("movement_is_undone"), values![seq], |row| row.get(0))?;
        if undone {
            return Err(StoreError::UndoneAlready { seq });
        }
        self.refuse_undoing_transfer(seq)?;
        let entries = self.posting_of(seq)?;
        if entries.is_empty() {
            return Err(StoreError::NoSuchMovement { seq });
        }
        let worths = counter_worths(&entries)?;
        let mut legs = Vec::with_capacity(entries.len());
        for (entry, worth) in entries.into_iter().zip(worths) {
            let entry = Entry {
                quantity: entry.quantity.checked_neg().ok_or(StoreError::TooLarge)?,
                reason: Reason::Undo.word().to_owned(),
                who: who.to_owned(),
                at: at.to_string(),
                day: day.to_string(),
                undoes: Some(entry.seq),
                note: String::new(),
                key: String::new(),
                ..entry
            };
            legs.push(Leg { entry, worth });
        }
        // Backwards, so that what came in and went out again in one posting is there to go back.
        self.post_in_order("", legs)
    }

    /// Keeps all that `act` writes, or nothing of it when it fails, whatever the caller then does.
    pub(crate) fn whole<T>(
        &mut self,
        act: impl FnOnce(&mut Self) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        self.session.whole(|| act(self))
    }

    pub(crate) fn place(&self, part: &str, bin: &str) -> Result<(u64, u64), StoreError> {
        let (house, known) = self.session.one(
            sql!("place"),
            values![number::fold(part), number::fold(bin)],
            |row| Ok((row.get::<Option<u64>>(0)?, row.get::<Option<u64>>(1)?)),
        )?;
        let part = house.map_or_else(|| self.part_id(part), Ok)?;
        Ok((part, known.ok_or_else(|| StoreError::NoSuchBin { bin: bin.to_owned() })?))
    }

    pub(crate) fn on_hand(&self, part: u64, bin: u64, condition: &str) -> Result<i64, StoreError> {
        let found =
            self.session.first(sql!("on_hand"), values![part, bin, condition], |row| row.get(0))?;
        Ok(found.unwrap_or(0))
    }

    /// How things stand with a part in a bin, for one who posts or promises on `day`.
    pub(crate) fn standing(
        &self,
        part: u64,
        bin: u64,
        condition: &str,
        day: &str,
    ) -> Result<Standing, StoreError> {
        self.session.one(sql!("standing"), values![part, bin, condition, day], |row| {
            Ok(Standing {
                on_hand: row.get(0)?,
                held: row.get(1)?,
                pool: (row.get(2)?, row.get(3)?),
                last: row.get(4)?,
                branch: row.get(5)?,
                before: row.get::<Option<Vec<u8>>>(6)?.unwrap_or_default(),
            })
        })
    }

    /// Appends `entry` under the next number, with its value and hash, and brings balance and
    /// worth along, all or none; returns number and value.
    fn append(&mut self, mut entry: Entry, worth: Worth) -> Result<(i64, i64), StoreError> {
        if entry.quantity == 0 {
            return Err(StoreError::Nothing);
        }
        condition(&entry.condition)?;
        let (part, bin, quantity) = (entry.part, entry.bin, entry.quantity);
        let standing = self.standing(part, bin, &entry.condition, &entry.day)?;
        if quantity < 0 {
            standing.refuse_short(quantity.saturating_neg())?;
        }
        let sum = |one: i64, other| one.checked_add(other).ok_or(StoreError::TooLarge);
        let balance = sum(standing.on_hand, quantity)?;
        entry.value = self.value_of(&entry, worth, standing.pool)?;
        entry.seq = standing.last + 1;
        entry.branch = standing.branch;
        if entry.posting == 0 {
            entry.posting = entry.seq;
        }
        let hash = entry.hash(&standing.before);
        let movement = values![
            entry.seq,
            part,
            bin,
            entry.condition,
            quantity,
            entry.reason,
            entry.reference,
            entry.who,
            entry.at,
            entry.posting,
            entry.undoes,
            entry.value,
            entry.day,
            entry.note,
            entry.key,
            entry.branch,
            hash
        ];
        let balance = values![part, bin, entry.condition, balance];
        let pool = (sum(standing.pool.0, quantity)?, sum(standing.pool.1, entry.value)?);
        let pool = values![part, entry.condition, pool.0, pool.1];
        let all = [
            (sql!("movement_add"), &movement[..]),
            (sql!("balance_put"), &balance[..]),
            (sql!("worth_put"), &pool[..]),
        ];
        // What only changes its bin leaves what lies there in all as it is.
        let written = if worth == Worth::Stays { &all[..2] } else { &all[..] };
        self.session.run_together(written)?;
        Ok((entry.seq, entry.value))
    }
}

/// How things stand with a part in a bin.
#[derive(Debug)]
pub(crate) struct Standing {
    /// So much lies there.
    on_hand: i64,
    /// So much of it is promised.
    held: i64,
    /// What lies of the part in all bins, and what it is worth.
    pool: (i64, i64),
    /// The last movement.
    last: i64,
    /// The bin's branch.
    branch: u64,
    /// The hash of that branch's last movement.
    before: Vec<u8>,
}

impl Standing {
    /// Refuses to let more go than is free.
    pub fn refuse_short(&self, asked: i64) -> Result<(), StoreError> {
        let free = self.on_hand.saturating_sub(self.held);
        if asked <= free {
            return Ok(());
        }
        let amount = Quantity::from_thousandths;
        Err(StoreError::Short {
            free: amount(free),
            asked: amount(asked),
            short: amount(asked.saturating_sub(free)),
        })
    }
}

impl Entry {
    /// The row of `movement`; its number, posting and value are still to be found.
    pub fn of(movement: &Movement, part: u64, bin: u64) -> Self {
        Self {
            part,
            bin,
            condition: movement.condition.word().to_owned(),
            quantity: movement.quantity.thousandths(),
            reason: movement.reason.word().to_owned(),
            reference: movement.reference.clone(),
            note: movement.note.clone(),
            who: movement.who.clone(),
            at: movement.at.to_string(),
            day: movement.day.to_string(),
            ..Self::default()
        }
    }
}

/// How the counter-movements of a posting find their values: what only went from bin to bin stays
/// worth what it is; where one thing became another, what is taken of the one goes back to the
/// other; else each takes back its own.
fn counter_worths(entries: &[Entry]) -> Result<Vec<Worth>, StoreError> {
    let mut net: BTreeMap<(u64, &str), (i64, i64)> = BTreeMap::new();
    let mut value: i64 = 0;
    let sum = |a: i64, b| a.checked_add(b).ok_or(StoreError::TooLarge);
    for entry in entries {
        let net = net.entry((entry.part, &entry.condition)).or_default();
        *net = (sum(net.0, entry.quantity)?, sum(net.1, entry.value)?);
        value = sum(value, entry.value)?;
    }
    let out = |entry: &&Entry| entry.quantity < 0;
    let became = value == 0 && entries.iter().any(|e| out(&e)) && !entries.iter().all(|e| out(&e));
    let priced = entries.iter().filter(out).any(|entry| entry.value != 0);
    // A transfer's arrival takes back what it brought, and what of it was given up.
    let landed = entries.iter().any(|entry| entry.reason == Reason::TransferIn.word());
    let worth = |entry: &Entry| match net[&(entry.part, entry.condition.as_str())] {
        _ if landed => Worth::Amount(entry.value.saturating_neg()),
        (0, 0) => Worth::Stays,
        _ if became && entry.quantity < 0 => {
            let weight = if priced { entry.value } else { entry.quantity };
            Worth::Carried(weight.unsigned_abs())
        }
        _ => Worth::Amount(entry.value.saturating_neg()),
    };
    Ok(entries.iter().map(worth).collect())
}

/// Each reason has its direction; stock that is moved or changes its condition neither appears nor
/// vanishes, and is of one part.
fn refuse_lopsided(movements: &[Movement], legs: &[Leg]) -> Result<(), StoreError> {
    let mut sum = 0_i64;
    let mut moved = None;
    for (movement, leg) in movements.iter().zip(legs) {
        let quantity = movement.quantity.thousandths();
        let reason = movement.reason;
        if quantity == 0 {
            return Err(StoreError::Nothing);
        }
        let other_way = reason.comes_in().is_some_and(|comes_in| comes_in != (quantity > 0));
        if other_way || reason.is_of_its_own() {
            return Err(StoreError::WrongWay { reason: reason.word() });
        }
        if matches!(reason, Reason::Move | Reason::Condition) {
            sum = sum.checked_add(quantity).ok_or(StoreError::TooLarge)?;
            // What is moved keeps its condition too.
            let kept = (reason == Reason::Move).then_some(movement.condition);
            if *moved.get_or_insert((leg.entry.part, reason, kept))
                != (leg.entry.part, reason, kept)
            {
                return Err(StoreError::Lopsided);
            }
        }
    }
    if sum == 0 { Ok(()) } else { Err(StoreError::Lopsided) }
}
