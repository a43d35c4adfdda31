//! What is kept of a part, and how is it read back?

use std::cell::Cell;

use binwright_catalog::{IssueUnit, Layout, Money, Part, PartNumber, number};

use crate::engine::{Row, Session, values};
use crate::{Store, StoreError, sql};

/// A part with its id in this store.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredPart {
    /// Stays the same as long as the part is there.
    pub id: u64,
    /// The part.
    pub part: Part,
}

/// One line of the change log: what is looked up of this part may have changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change {
    /// Its place in the log, from 1.
    pub seq: u64,
    /// The part.
    pub part: u64,
}

/// One list price.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Price {
    /// House number of the part.
    pub part: String,
    /// Whose list.
    pub list: String,
    /// What it says.
    pub price: Money,
}

impl Store {
    /// A number that is another once another program, or another connection, has changed anything
    /// in the store; what is changed through this one leaves it as it is. Of a shop on a server it is
    /// what is kept at the desk that is looked at.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn seen_from_outside(&self) -> Result<i64, StoreError> {
        match (&self.near, &self.session) {
            (Some(near), Session::Server(line)) => {
                near.catch_up(&self.session);
                Ok(near.turn()? - line.own_turns())
            }
            _ => self.session.seen_from_outside(),
        }
    }

    /// The number of the last change; 0 when nothing was ever changed.
    ///
    /// # Errors
    ///
    /// What the engine says; so all reading here.
    pub fn last_change(&self) -> Result<u64, StoreError> {
        self.near().one(sql!("last_change"), &[], |row| row.get(0))
    }

    /// The changes after `seq`, oldest first, `limit` at most.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn changes_since(&self, seq: u64, limit: usize) -> Result<Vec<Change>, StoreError> {
        self.near().all(
            sql!("changes_since"),
            values![seq, i64::try_from(limit).unwrap_or(i64::MAX)],
            |row| Ok(Change { seq: row.get(0)?, part: row.get(1)? }),
        )
    }

    /// The part with `id`.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn part(&self, id: u64) -> Result<Option<StoredPart>, StoreError> {
        let found = self.near().first(sql!("part_by_id"), values![id], read_part)?;
        found.map(|part| with_numbers(self.near(), part)).transpose()
    }

    /// The house number of the part with `id`.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn house_of(&self, id: u64) -> Result<Option<String>, StoreError> {
        self.near().first(sql!("house_of_part"), values![id], |row| row.get(0))
    }

    /// The parts that bear the number `text`, by its folded form, as house number or another.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn parts_by_number(&self, text: &str) -> Result<Vec<u64>, StoreError> {
        parts_by_number(self.near(), text)
    }

    /// Hands every part of `kind` to `take`, in the order of their ids; of all kinds when `None`.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_part<E: From<StoreError>>(
        &self,
        kind: Option<&str>,
        mut take: impl FnMut(StoredPart) -> Result<(), E>,
    ) -> Result<(), E> {
        // A part has a row for each of its other numbers; what it is is read from the first.
        let at = Cell::new(0);
        let read = |row: &Row<'_>| {
            let id: u64 = row.get(0)?;
            let part = if at.replace(id) == id { None } else { Some(read_part(row)?) };
            let text: Option<String> = row.get(8)?;
            let number =
                text.map(|text| Ok::<_, StoreError>(PartNumber { text, user: row.get(9)? }));
            Ok((part, number.transpose()?))
        };
        let mut whole: Option<StoredPart> = None;
        let gather = |(part, number): (Option<StoredPart>, Option<PartNumber>)| {
            if let Some(before) = part.and_then(|part| whole.replace(part)) {
                take(before)?;
            }
            if let Some(part) = &mut whole {
                part.part.numbers.extend(number);
            }
            Ok::<_, E>(())
        };
        match kind {
            Some(kind) => self.near().each(sql!("parts_of_kind"), values![kind], read, gather)?,
            None => self.near().each(sql!("parts_all"), &[], read, gather)?,
        }
        whole.map_or(Ok(()), take)
    }

    /// The kinds that have parts, with their number.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn kinds_present(&self) -> Result<Vec<(String, u64)>, StoreError> {
        self.near().all(sql!("kinds_present"), &[], |row| Ok((row.get(0)?, row.get(1)?)))
    }

    /// The list prices of the part with `id`.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn prices(&self, id: u64) -> Result<Vec<(String, Money)>, StoreError> {
        self.near().all(sql!("prices_of_part"), values![id], |row| {
            Ok((row.get(0)?, money(row.get(1)?, &row.get::<String>(2)?)?))
        })
    }

    /// Hands every list price to `take`.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_price<E: From<StoreError>>(
        &self,
        take: impl FnMut(Price) -> Result<(), E>,
    ) -> Result<(), E> {
        self.near().each(sql!("prices_all"), &[], read_price, take)
    }
}

fn read_price(row: &Row<'_>) -> Result<Price, StoreError> {
    let price = money(row.get(2)?, &row.get::<String>(3)?)?;
    Ok(Price { part: row.get(0)?, list: row.get(1)?, price })
}

pub(crate) fn money(minor: i64, currency: &str) -> Result<Money, StoreError> {
    let currency = currency
        .parse()
        .map_err(|_| StoreError::Damaged { what: format!("currency `{currency}`") })?;
    Ok(Money { minor, currency })
}

pub(crate) fn parts_by_number(session: &Session, text: &str) -> Result<Vec<u64>, StoreError> {
    session.all(sql!("parts_by_number"), values![number::fold(text)], |row| row.get(0))
}

/// The part of a row of the part queries, its other numbers still missing.
pub(crate) fn read_part(row: &Row<'_>) -> Result<StoredPart, StoreError> {
    let id = row.get(0)?;
    let text = |at: usize| row.get::<String>(at);
    let house = text(1)?;
    let damaged = |what: &str| StoreError::Damaged { what: format!("{what} of `{house}`") };
    let layout: Option<String> = row.get(7)?;
    let layout: Option<Layout> =
        layout.map(|text| text.parse().map_err(|_| damaged("layout"))).transpose()?;
    let part = Part {
        kind: text(2)?,
        description: text(3)?,
        maker: text(4)?,
        issue: IssueUnit::named(&text(5)?).ok_or_else(|| damaged("unit of issue"))?,
        measures: serde_json::from_str(row.text(6).map_err(|_| damaged("measures"))?)?,
        layout,
        numbers: Vec::new(),
        house,
    };
    Ok(StoredPart { id, part })
}

pub(crate) fn with_numbers(
    session: &Session,
    mut stored: StoredPart,
) -> Result<StoredPart, StoreError> {
    let rows = session.all(sql!("numbers_of_part"), values![stored.id], |row| {
        Ok(PartNumber { text: row.get(0)?, user: row.get(1)? })
    })?;
    stored.part.numbers = rows;
    Ok(stored)
}
