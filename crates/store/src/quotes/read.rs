//! How is a quote read out of the store?

use binwright_catalog::{Currency, Machine, Money, Quantity};
use rusqlite::{Connection, OptionalExtension, Row};

use super::{QuoteLine, QuoteReading, QuoteState, Revision, StoredQuote, id_of, number_of};
use crate::holds::holds_of;
use crate::stock::{condition, day};
use crate::{OpenHold, Store, StoreError, Writer, sql};

impl Store {
    /// The quote with `number`.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchQuote`], or what the engine says.
    pub fn quote(&self, number: &str) -> Result<StoredQuote, StoreError> {
        read_quote(&self.connection, id_of(number)?, number)
    }

    /// One revision of the quote with `number`.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchQuote`], or what the engine says.
    pub fn quote_revision(&self, number: &str, revision: u32) -> Result<Revision, StoreError> {
        read_revision(&self.connection, id_of(number)?, number, revision)
    }

    /// All quotes in `state`, or all, oldest first.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn quotes(&self, state: Option<QuoteState>) -> Result<Vec<StoredQuote>, StoreError> {
        let word = state.map_or("", QuoteState::word);
        let mut query = self.connection.prepare_cached(sql!("quote_ids"))?;
        let ids: Vec<i64> = query.query_map([word], |row| row.get(0))?.collect::<Result<_, _>>()?;
        ids.into_iter().map(|id| read_quote(&self.connection, id, &number_of(id))).collect()
    }

    /// How many quotes are in `state`.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn quotes_in(&self, state: QuoteState) -> Result<u64, StoreError> {
        let mut query = self.connection.prepare_cached(sql!("quotes_in_state"))?;
        Ok(query.query_row([state.word()], |row| row.get(0))?)
    }
}

impl Writer<'_> {
    /// The quote with `number` as this transaction has left it.
    ///
    /// # Errors
    ///
    /// As [`Store::quote`].
    pub fn quote(&self, number: &str) -> Result<StoredQuote, StoreError> {
        read_quote(&self.transaction, id_of(number)?, number)
    }
}

/// The row of a quote.
pub(super) struct QuoteHead {
    customer: String,
    machine: Machine,
    unit: String,
    pub state: QuoteState,
    note: String,
}

pub(super) fn read_head(
    connection: &Connection,
    id: i64,
    number: &str,
) -> Result<QuoteHead, StoreError> {
    let mut query = connection.prepare_cached(sql!("quote_by_id"))?;
    let row = |row: &Row<'_>| -> rusqlite::Result<[String; 5]> {
        Ok([row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?])
    };
    let [customer, machine, unit, state, note] = query
        .query_row([id], row)
        .optional()?
        .ok_or_else(|| StoreError::NoSuchQuote { number: number.to_owned() })?;
    let damaged = |what: &str| StoreError::Damaged { what: format!("{what} of `{number}`") };
    Ok(QuoteHead {
        customer,
        machine: machine.parse().map_err(|_| damaged("machine"))?,
        unit,
        state: QuoteState::named(&state).ok_or_else(|| damaged("state"))?,
        note,
    })
}

pub(super) fn read_quote(
    connection: &Connection,
    id: i64,
    number: &str,
) -> Result<StoredQuote, StoreError> {
    let QuoteHead { customer, machine, unit, state, note } = read_head(connection, id, number)?;
    let last: u32 = connection
        .prepare_cached(sql!("quote_revision_last"))?
        .query_row([id], |row| row.get(0))?;
    let (mut before, mut closing) = (Vec::new(), Vec::new());
    let mut query = connection.prepare_cached(sql!("quote_readings"))?;
    let mut rows = query.query([id])?;
    while let Some(row) = rows.next()? {
        let reading = QuoteReading { check: row.get(1)?, outcome: row.get(2)?, typed: row.get(3)? };
        let is_before = row.get::<_, String>(0)? == "before";
        (if is_before { &mut before } else { &mut closing }).push(reading);
    }
    let mut query = connection.prepare_cached(sql!("quote_faults"))?;
    let faults = query.query_map([id], |row| row.get(0))?.collect::<Result<_, _>>()?;
    Ok(StoredQuote {
        number: number_of(id),
        newest: read_revision(connection, id, number, last)?,
        holds: open_holds(connection, id)?,
        customer,
        machine,
        unit,
        state,
        note,
        before,
        closing,
        faults,
    })
}

/// The holds that are open for the quote with `id`.
pub(super) fn open_holds(connection: &Connection, id: i64) -> Result<Vec<OpenHold>, StoreError> {
    let mut query = connection.prepare_cached(sql!("quote_holds"))?;
    holds_of(query.query([id])?)
}

fn read_revision(
    connection: &Connection,
    id: i64,
    number: &str,
    revision: u32,
) -> Result<Revision, StoreError> {
    let mut query = connection.prepare_cached(sql!("quote_revision"))?;
    let mut rows = query.query((id, revision))?;
    let Some(row) = rows.next()? else {
        return Err(StoreError::NoSuchQuote { number: format!("{number} revision {revision}") });
    };
    let damaged = |what: &str| StoreError::Damaged { what: format!("{what} of `{number}`") };
    let currency: Currency = row.get::<_, String>(7)?.parse().map_err(|_| damaged("currency"))?;
    let money = |minor: i64| Money { minor, currency };
    let mut lines = Vec::new();
    let mut query = connection.prepare_cached(sql!("quote_lines"))?;
    let mut line_rows = query.query((id, revision))?;
    while let Some(line) = line_rows.next()? {
        let part: Option<String> = line.get(2)?;
        let kept: Option<String> = line.get(3)?;
        lines.push(QuoteLine {
            class: line.get(0)?,
            words: line.get(1)?,
            part: part
                .zip(kept)
                .map(|(part, kept)| Ok::<_, StoreError>((part, condition(&kept)?)))
                .transpose()?,
            quantity: Quantity::from_thousandths(line.get(4)?),
            each: line.get::<_, Option<i64>>(5)?.map(money),
            net: money(line.get(6)?),
            tax: money(line.get(7)?),
            tax_percent: line.get(8)?,
        });
    }
    Ok(Revision {
        revision: row.get(0)?,
        issued: day(&row.get::<_, String>(1)?)?,
        valid_until: day(&row.get::<_, String>(2)?)?,
        hold_until: day(&row.get::<_, String>(3)?)?,
        cover: row.get(4)?,
        asked: row.get(5)?,
        words: row.get(6)?,
        lines,
        net: money(row.get(8)?),
        tax: money(row.get(9)?),
        rounding: money(row.get(10)?),
        total: money(row.get(11)?),
        who: row.get(12)?,
        at: row.get::<_, String>(13)?.parse().map_err(|_| damaged("time"))?,
    })
}
