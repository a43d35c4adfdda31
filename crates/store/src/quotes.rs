//! What was offered to whom, what became of it? Quotes with their revisions and holds, and jobs.
//!
//! Every step is one call inside one [`Store::write`]: a quote and its holds change together or not
//! at all.

use std::collections::BTreeMap;

use binwright_catalog::{Condition, Currency, Machine, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, OptionalExtension, Row};

use crate::holds::holds_of;
use crate::stock::{condition, day, stock_of};
use crate::{Hold, OpenHold, Reason, Store, StoreError, Writer, sql};

/// Where a quote stands. Taken, it is a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum QuoteState {
    /// Offered.
    Open,
    /// Taken: the stock stays held until it is issued.
    Accepted,
    /// Its parts have left the bins.
    Issued,
    /// Tested and done.
    Closed,
    /// Given up; its stock is let go.
    Dropped,
}

impl QuoteState {
    const ALL: [Self; 5] = [Self::Open, Self::Accepted, Self::Issued, Self::Closed, Self::Dropped];

    /// The word in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Accepted => "accepted",
            Self::Issued => "issued",
            Self::Closed => "closed",
            Self::Dropped => "dropped",
        }
    }

    /// The state called `word`.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|state| state.word() == word)
    }
}

/// One revision of a quote.
#[derive(Debug, Clone, PartialEq)]
pub struct Revision {
    /// 1 for the first; given by the store.
    pub revision: u32,
    /// The day it was made.
    pub issued: Date,
    /// The last day it is valid.
    pub valid_until: Date,
    /// The last day it holds its stock.
    pub hold_until: Date,
    /// Name of the repair option.
    pub cover: String,
    /// JSON of the question it was made from.
    pub asked: String,
    /// JSON of what stands beside the lines.
    pub words: String,
    /// Its lines.
    pub lines: Vec<QuoteLine>,
    /// Sum before tax.
    pub net: Money,
    /// Sum of taxes.
    pub tax: Money,
    /// What rounding the total adds or takes.
    pub rounding: Money,
    /// What is paid.
    pub total: Money,
    /// Who made it.
    pub who: String,
    /// When.
    pub at: Timestamp,
}

/// A line of a quote.
#[derive(Debug, Clone, PartialEq)]
pub struct QuoteLine {
    /// `part`, `labour`, `consumable` or `core-deposit`.
    pub class: String,
    /// What a person reads.
    pub words: String,
    /// Any number of the part, and its condition, for what is taken from stock.
    pub part: Option<(String, Condition)>,
    /// How many; of labour, how many minutes.
    pub quantity: Quantity,
    /// What one costs; `None` for labour.
    pub each: Option<Money>,
    /// Before tax.
    pub net: Money,
    /// Its share of the tax.
    pub tax: Money,
    /// The rate in percent, as a decimal; empty when its class is not taxed.
    pub tax_percent: String,
}

/// What came of one check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuoteReading {
    /// Key of the check.
    pub check: String,
    /// Key of the outcome.
    pub outcome: String,
    /// As it was typed.
    pub typed: String,
}

/// A quote as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredQuote {
    /// Its number.
    pub number: String,
    /// For whom.
    pub customer: String,
    /// Which machine.
    pub machine: Machine,
    /// Number of the unit; empty when it is not known.
    pub unit: String,
    /// Where it stands.
    pub state: QuoteState,
    /// Why it was dropped, or closed against its closing test.
    pub note: String,
    /// The newest revision.
    pub newest: Revision,
    /// What is promised to it and was not let go.
    pub holds: Vec<OpenHold>,
    /// What was read before the repair.
    pub before: Vec<QuoteReading>,
    /// What was read in the closing test.
    pub closing: Vec<QuoteReading>,
    /// Keys of the faults truly found.
    pub faults: Vec<String>,
}

/// Pieces that were in no bin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToOrder {
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
}

/// Takes `quantity` out of as few bins as can be: the smallest that has all, else the largest first.
/// Each bin comes with what is free there; what is missing is left out.
pub fn out_of_bins(
    mut free: Vec<(String, Quantity)>,
    quantity: Quantity,
) -> Vec<(String, Quantity)> {
    let mut left = quantity.thousandths();
    free.sort_by_key(|(_, free)| {
        let free = free.thousandths();
        if free < left { (true, -free) } else { (false, free) }
    });
    let mut from = Vec::new();
    for (bin, free) in free {
        let some = free.thousandths().min(left);
        if some > 0 {
            left -= some;
            from.push((bin, Quantity::from_thousandths(some)));
        }
    }
    from
}

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
}

impl Writer<'_> {
    /// Puts down a quote and holds what lies in the bins of its parts; returns its number and what
    /// is in no bin. The revision's number is given here.
    ///
    /// # Errors
    ///
    /// When a part is not known or the engine fails.
    pub fn quote_add(
        &mut self,
        customer: &str,
        machine: Machine,
        unit: &str,
        revision: &Revision,
        before: &[QuoteReading],
    ) -> Result<(String, Vec<ToOrder>), StoreError> {
        self.whole(|w| {
            let id = w
                .transaction
                .prepare_cached(sql!("quote_add"))?
                .query_row((customer, machine.word(), unit), |row| row.get(0))?;
            let missing = w.put_revision(id, revision, before)?;
            Ok((number_of(id), missing))
        })
    }

    /// Puts down another revision of an open quote: what was held is let go, what the new one needs
    /// is held. Returns what is in no bin.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not open.
    pub fn quote_revise(
        &mut self,
        number: &str,
        revision: &Revision,
        before: &[QuoteReading],
    ) -> Result<Vec<ToOrder>, StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Open])?;
            w.let_go(id)?;
            w.put_revision(id, revision, before)
        })
    }

    /// Makes a job of an open quote: its stock is held until it is issued, or taken anew when it was
    /// let go meanwhile. Returns what is in no bin.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not open, [`StoreError::QuoteLapsed`] when it was valid
    /// until before `today`.
    pub fn quote_accept(&mut self, number: &str, today: Date) -> Result<Vec<ToOrder>, StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Open])?;
            let quote = read_quote(&w.transaction, id, number)?;
            if quote.newest.valid_until < today {
                let until = quote.newest.valid_until;
                return Err(StoreError::QuoteLapsed { number: number.to_owned(), until });
            }
            w.extend(id, Date::MAX, today)?;
            w.set_state(id, QuoteState::Accepted, "")?;
            w.promise(id, &quote.newest.lines, Date::MAX, today)
        })
    }

    /// Turns the holds of a job into movements, all of them, and returns their numbers. What was in
    /// no bin when it was taken is taken from what came in since.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not accepted, [`StoreError::QuoteShort`] when a part is
    /// not all here.
    pub fn quote_issue(
        &mut self,
        number: &str,
        who: &str,
        at: Timestamp,
        today: Date,
    ) -> Result<Vec<i64>, StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Accepted])?;
            let quote = read_quote(&w.transaction, id, number)?;
            if let Some(missing) = w.promise(id, &quote.newest.lines, Date::MAX, today)?.pop() {
                return Err(StoreError::QuoteShort { part: missing.part, short: missing.quantity });
            }
            w.set_state(id, QuoteState::Issued, "")?;
            let holds = open_holds(&w.transaction, id)?;
            let post = |hold: OpenHold| w.post_hold(hold.id, Reason::Issue, who, at, today);
            holds.into_iter().map(post).collect()
        })
    }

    /// Closes an issued job with its closing test and the faults truly found.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is not issued.
    pub fn quote_close(
        &mut self,
        number: &str,
        closing: &[QuoteReading],
        faults: &[String],
        note: &str,
    ) -> Result<(), StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Issued])?;
            w.put_readings(id, "closing", closing)?;
            for fault in faults {
                w.transaction.prepare_cached(sql!("quote_fault_add"))?.execute((id, fault))?;
            }
            w.set_state(id, QuoteState::Closed, note)
        })
    }

    /// Gives up a quote, or a job whose parts are not issued, and lets its stock go.
    ///
    /// # Errors
    ///
    /// [`StoreError::QuoteState`] when it is neither open nor accepted.
    pub fn quote_drop(&mut self, number: &str, note: &str) -> Result<(), StoreError> {
        self.whole(|w| {
            let id = w.quote_in(number, &[QuoteState::Open, QuoteState::Accepted])?;
            w.let_go(id)?;
            w.set_state(id, QuoteState::Dropped, note)
        })
    }

    /// The id of the quote, when it stands in one of `states`.
    fn quote_in(&self, number: &str, states: &[QuoteState]) -> Result<i64, StoreError> {
        let id = id_of(number)?;
        let state = read_head(&self.transaction, id, number)?.state;
        if states.contains(&state) {
            return Ok(id);
        }
        let wanted: Vec<&str> = states.iter().map(|state| state.word()).collect();
        Err(StoreError::QuoteState {
            number: number_of(id),
            state: state.word(),
            wanted: wanted.join(" or "),
        })
    }

    fn set_state(&self, id: i64, state: QuoteState, note: &str) -> Result<(), StoreError> {
        let mut set = self.transaction.prepare_cached(sql!("quote_state_set"))?;
        set.execute((id, state.word(), note))?;
        Ok(())
    }

    fn let_go(&mut self, id: i64) -> Result<(), StoreError> {
        for hold in open_holds(&self.transaction, id)? {
            // One that lapsed too: it is no more shown with the quote.
            self.settle_hold(hold.id, "released", None)?;
        }
        Ok(())
    }

    /// Promises until `until` what is still held; what lapsed before `today` is let go.
    fn extend(&mut self, id: i64, until: Date, today: Date) -> Result<(), StoreError> {
        for open in open_holds(&self.transaction, id)? {
            if open.hold.until < today {
                self.settle_hold(open.id, "released", None)?;
            } else {
                let mut extend = self.transaction.prepare_cached(sql!("hold_extend"))?;
                extend.execute((open.id, until.to_string()))?;
            }
        }
        Ok(())
    }

    /// Holds what lies free in the bins of the parts of `lines`, less what is held already; returns
    /// what does not.
    fn promise(
        &mut self,
        id: i64,
        lines: &[QuoteLine],
        until: Date,
        today: Date,
    ) -> Result<Vec<ToOrder>, StoreError> {
        let mut wanted: BTreeMap<(u64, Condition), i64> = BTreeMap::new();
        for line in lines {
            if let Some((part, condition)) = &line.part {
                let sum = wanted.entry((self.part_id(part)?, *condition)).or_default();
                let quantity = line.quantity.thousandths();
                *sum = sum.checked_add(quantity).ok_or(StoreError::TooLarge)?;
            }
        }
        for OpenHold { hold, .. } in open_holds(&self.transaction, id)? {
            let sum = wanted.entry((self.part_id(&hold.part)?, hold.condition)).or_default();
            *sum -= hold.quantity.thousandths();
        }
        let mut missing = Vec::new();
        for ((part_id, condition), thousandths) in wanted {
            let quantity = Quantity::from_thousandths(thousandths);
            let part = self.house(part_id)?;
            let free = self.free_in_bins(part_id, condition, today)?;
            let mut left = quantity;
            for (bin, quantity) in out_of_bins(free, quantity) {
                left = left.checked_sub(quantity).ok_or(StoreError::TooLarge)?;
                let (reference, part) = (number_of(id), part.clone());
                let hold =
                    self.hold(&Hold { reference, part, bin, condition, quantity, until }, today)?;
                self.transaction.prepare_cached(sql!("quote_hold_add"))?.execute((hold, id))?;
            }
            if left.is_positive() {
                missing.push(ToOrder { part, condition, quantity: left });
            }
        }
        Ok(missing)
    }

    fn free_in_bins(
        &self,
        part_id: u64,
        wanted: Condition,
        today: Date,
    ) -> Result<Vec<(String, Quantity)>, StoreError> {
        let mut lines = stock_of(&self.transaction, part_id, today)?;
        lines.retain(|line| line.condition == wanted);
        Ok(lines.into_iter().map(|line| (line.bin.clone(), line.free())).collect())
    }

    fn put_revision(
        &mut self,
        id: i64,
        revision: &Revision,
        before: &[QuoteReading],
    ) -> Result<Vec<ToOrder>, StoreError> {
        let last: u32 = self
            .transaction
            .prepare_cached(sql!("quote_revision_last"))?
            .query_row([id], |row| row.get(0))?;
        let number = last + 1;
        self.transaction.prepare_cached(sql!("quote_revision_add"))?.execute(rusqlite::params![
            id,
            number,
            revision.issued.to_string(),
            revision.valid_until.to_string(),
            revision.hold_until.to_string(),
            revision.cover,
            revision.asked,
            revision.words,
            revision.total.currency.code(),
            revision.net.minor,
            revision.tax.minor,
            revision.rounding.minor,
            revision.total.minor,
            revision.who,
            revision.at.to_string(),
        ])?;
        for (place, line) in revision.lines.iter().enumerate() {
            let part = line.part.as_ref().map(|(part, _)| self.part_id(part)).transpose()?;
            self.transaction.prepare_cached(sql!("quote_line_add"))?.execute(rusqlite::params![
                id,
                number,
                place + 1,
                line.class,
                line.words,
                part,
                line.part.as_ref().map(|(_, condition)| condition.word()),
                line.quantity.thousandths(),
                line.each.map(|each| each.minor),
                line.net.minor,
                line.tax.minor,
                line.tax_percent,
            ])?;
        }
        self.put_readings(id, "before", before)?;
        self.promise(id, &revision.lines, revision.hold_until, revision.issued)
    }

    fn put_readings(
        &self,
        id: i64,
        stage: &str,
        readings: &[QuoteReading],
    ) -> Result<(), StoreError> {
        self.transaction.prepare_cached(sql!("quote_readings_drop"))?.execute((id, stage))?;
        let mut put = self.transaction.prepare_cached(sql!("quote_reading_put"))?;
        for QuoteReading { check, outcome, typed } in readings {
            put.execute((id, stage, check, outcome, typed))?;
        }
        Ok(())
    }
}

/// Number of a quote: `Q-0042`.
fn number_of(id: i64) -> String {
    format!("Q-{id:04}")
}

/// The id in a number typed as `Q-0042`, `q42` or `42`.
fn id_of(number: &str) -> Result<i64, StoreError> {
    let digits = number.trim().trim_start_matches(['Q', 'q']).trim_start_matches('-');
    let id = digits.parse().ok().filter(|_| digits.bytes().all(|b| b.is_ascii_digit()));
    id.ok_or_else(|| StoreError::NoSuchQuote { number: number.to_owned() })
}

/// The row of a quote.
struct QuoteHead {
    customer: String,
    machine: Machine,
    unit: String,
    state: QuoteState,
    note: String,
}

fn read_head(connection: &Connection, id: i64, number: &str) -> Result<QuoteHead, StoreError> {
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

fn read_quote(connection: &Connection, id: i64, number: &str) -> Result<StoredQuote, StoreError> {
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

fn open_holds(connection: &Connection, id: i64) -> Result<Vec<OpenHold>, StoreError> {
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
