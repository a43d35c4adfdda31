//! How is a quote read out of the store?

use binwright_catalog::{Currency, Machine, Money, Quantity};

use super::{QuoteLine, QuoteReading, QuoteState, Revision, StoredQuote, id_of, number_of};
use crate::engine::{Row, Session, values};
use crate::holds::read_hold;
use crate::stock::{condition, day};
use crate::{OpenHold, Store, StoreError, Writer, sql};

impl Store {
    /// The quote with `number`.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchQuote`], or what the engine says.
    pub fn quote(&self, number: &str) -> Result<StoredQuote, StoreError> {
        read_quote(&self.session, id_of(number)?, number)
    }

    /// One revision of the quote with `number`.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchQuote`], or what the engine says.
    pub fn quote_revision(&self, number: &str, revision: u32) -> Result<Revision, StoreError> {
        read_revision(&self.session, id_of(number)?, number, revision)
    }

    /// All quotes in `state`, or all, oldest first.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn quotes(&self, state: Option<QuoteState>) -> Result<Vec<StoredQuote>, StoreError> {
        let word = state.map_or("", QuoteState::word);
        let ids: Vec<i64> = self.session.all(sql!("quote_ids"), values![word], |row| row.get(0))?;
        ids.into_iter().map(|id| read_quote(&self.session, id, &number_of(id))).collect()
    }

    /// How many quotes are in `state`.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn quotes_in(&self, state: QuoteState) -> Result<u64, StoreError> {
        self.session.one(sql!("quotes_in_state"), values![state.word()], |row| row.get(0))
    }
}

impl Writer<'_> {
    /// The quote with `number` as this transaction has left it.
    ///
    /// # Errors
    ///
    /// As [`Store::quote`].
    pub fn quote(&self, number: &str) -> Result<StoredQuote, StoreError> {
        read_quote(self.session, id_of(number)?, number)
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

pub(super) fn read_head(session: &Session, id: i64, number: &str) -> Result<QuoteHead, StoreError> {
    let row = |row: &Row<'_>| -> Result<[String; 5], StoreError> {
        Ok([row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?])
    };
    let [customer, machine, unit, state, note] = session
        .first(sql!("quote_by_id"), values![id], row)?
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
    session: &Session,
    id: i64,
    number: &str,
) -> Result<StoredQuote, StoreError> {
    let QuoteHead { customer, machine, unit, state, note } = read_head(session, id, number)?;
    let last: u32 = session.one(sql!("quote_revision_last"), values![id], |row| row.get(0))?;
    let (mut before, mut closing) = (Vec::new(), Vec::new());
    let readings = session.all(sql!("quote_readings"), values![id], |row| {
        let reading = QuoteReading { check: row.get(1)?, outcome: row.get(2)?, typed: row.get(3)? };
        Ok((row.get::<String>(0)? == "before", reading))
    })?;
    for (is_before, reading) in readings {
        (if is_before { &mut before } else { &mut closing }).push(reading);
    }
    let faults = session.all(sql!("quote_faults"), values![id], |row| row.get(0))?;
    Ok(StoredQuote {
        number: number_of(id),
        newest: read_revision(session, id, number, last)?,
        holds: open_holds(session, id)?,
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
pub(super) fn open_holds(session: &Session, id: i64) -> Result<Vec<OpenHold>, StoreError> {
    session.all(sql!("quote_holds"), values![id], read_hold)
}

fn read_revision(
    session: &Session,
    id: i64,
    number: &str,
    revision: u32,
) -> Result<Revision, StoreError> {
    let damaged = |what: &str| StoreError::Damaged { what: format!("{what} of `{number}`") };
    let read = |row: &Row<'_>| {
        let currency: Currency = row.get::<String>(7)?.parse().map_err(|_| damaged("currency"))?;
        let money = |minor: i64| Money { minor, currency };
        Ok(Revision {
            revision: row.get(0)?,
            issued: day(&row.get::<String>(1)?)?,
            valid_until: day(&row.get::<String>(2)?)?,
            hold_until: day(&row.get::<String>(3)?)?,
            cover: row.get(4)?,
            asked: row.get(5)?,
            words: row.get(6)?,
            lines: read_lines(session, id, revision, currency)?,
            net: money(row.get(8)?),
            tax: money(row.get(9)?),
            rounding: money(row.get(10)?),
            total: money(row.get(11)?),
            who: row.get(12)?,
            at: row.get::<String>(13)?.parse().map_err(|_| damaged("time"))?,
        })
    };
    let none = || StoreError::NoSuchQuote { number: format!("{number} revision {revision}") };
    session.first(sql!("quote_revision"), values![id, revision], read)?.ok_or_else(none)
}

fn read_lines(
    session: &Session,
    id: i64,
    revision: u32,
    currency: Currency,
) -> Result<Vec<QuoteLine>, StoreError> {
    let money = |minor: i64| Money { minor, currency };
    session.all(sql!("quote_lines"), values![id, revision], |row| {
        let part: Option<String> = row.get(2)?;
        let kept: Option<String> = row.get(3)?;
        Ok(QuoteLine {
            class: row.get(0)?,
            words: row.get(1)?,
            part: part
                .zip(kept)
                .map(|(part, kept)| Ok::<_, StoreError>((part, condition(&kept)?)))
                .transpose()?,
            quantity: Quantity::from_thousandths(row.get(4)?),
            each: row.get::<Option<i64>>(5)?.map(money),
            net: money(row.get(6)?),
            tax: money(row.get(7)?),
            tax_percent: row.get(8)?,
        })
    })
}
