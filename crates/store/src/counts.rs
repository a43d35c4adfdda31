//! Does what lies there agree with the book? Count sheets, counts, and the corrections they post.
//!
//! A count is set against the book of its own moment. What moves afterwards moves both, so the
//! difference stays right until it is posted; a correction of the book in between, by another count
//! or an undo, is taken off it.

use std::collections::BTreeSet;

use binwright_catalog::{Condition, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::engine::{Session, values};
use crate::history::last_movement;
use crate::ledger::Entry;
use crate::post::Leg;
use crate::stock::{condition, day};
use crate::worth::{Worth, currency};
use crate::{Reason, Store, StoreError, Writer, sql};

/// A place where something lies, as one chooses what to count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountPlace {
    /// House number.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// Its aisle.
    pub aisle: String,
    /// In what condition.
    pub condition: Condition,
    /// How often the part was issued or sold since the day that was asked for.
    pub picks: u32,
    /// The day it was last counted.
    pub counted_on: Option<Date>,
}

/// A sheet to be drawn up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewSheet {
    /// What is counted, in words.
    pub what: String,
    /// Who draws it up.
    pub who: String,
    /// The day.
    pub day: Date,
    /// A difference above so many thousandths of the book is counted again.
    pub recount_above_permille: u32,
    /// Differences worth more than this in all need a second person.
    pub second_above: Money,
}

/// A sheet with what was counted so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountSheet {
    /// Its number.
    pub id: i64,
    /// What it was drawn up as.
    pub drawn: NewSheet,
    /// Whether it can still be counted on.
    pub open: bool,
    /// Its lines.
    pub lines: Vec<CountLine>,
}

/// One line of a sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountLine {
    /// Its number on the sheet.
    pub line: i64,
    /// House number.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// How often it was counted.
    pub times: u32,
    /// What was counted last.
    pub counted: Quantity,
    /// What the book said at that moment.
    pub book: Quantity,
    /// Who counted.
    pub counter: String,
    /// Whether the difference is so large that it is to be counted again.
    pub recount: bool,
    /// What posting it would change: the difference, less corrections of the book since.
    pub correction: Quantity,
    place: (u64, u64),
}

/// An open sheet, in short.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenSheet {
    /// Its number.
    pub id: i64,
    /// What is counted, in words.
    pub what: String,
    /// Who drew it up.
    pub who: String,
    /// When.
    pub day: Date,
    /// Its lines.
    pub lines: u32,
    /// Those that were counted.
    pub counted: u32,
}

/// What somebody found in a bin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counted {
    /// Any number of the part.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
    /// Who counted.
    pub who: String,
    /// When, if not at this moment.
    pub at: Option<Timestamp>,
}

impl Store {
    /// Every place where something lies, along the aisles; picks are counted after `since`.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn count_places(&self, since: Date) -> Result<Vec<CountPlace>, StoreError> {
        self.session.all(sql!("count_places"), values![since.to_string()], |row| {
            let counted_on: Option<String> = row.get(7)?;
            Ok(CountPlace {
                condition: condition(&row.get::<String>(2)?)?,
                part: row.get(3)?,
                bin: row.get(4)?,
                aisle: row.get(5)?,
                picks: row.get(6)?,
                counted_on: counted_on.map(|text| day(&text)).transpose()?,
            })
        })
    }

    /// The sheets that are not posted yet.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn open_sheets(&self) -> Result<Vec<OpenSheet>, StoreError> {
        self.session.all(sql!("sheets_open"), &[], |row| {
            Ok(OpenSheet {
                id: row.get(0)?,
                what: row.get(1)?,
                who: row.get(2)?,
                day: day(&row.get::<String>(3)?)?,
                lines: row.get(4)?,
                counted: row.get(5)?,
            })
        })
    }

    /// The sheet with this number.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchSheet`], or what the engine says.
    pub fn sheet(&self, id: i64) -> Result<CountSheet, StoreError> {
        sheet(&self.session, id)
    }
}

impl Writer<'_> {
    /// Draws up a sheet of `places` and returns its number.
    ///
    /// # Errors
    ///
    /// When there is nothing to count, or the engine fails.
    pub fn draw_sheet(
        &mut self,
        drawn: &NewSheet,
        places: &[CountPlace],
    ) -> Result<i64, StoreError> {
        if places.is_empty() {
            return Err(StoreError::NothingToCount);
        }
        let id = self.session.one(
            sql!("sheet_add"),
            values![
                &drawn.what,
                &drawn.who,
                drawn.day.to_string(),
                drawn.recount_above_permille,
                drawn.second_above.minor
            ],
            |row| row.get(0),
        )?;
        for at in places {
            let (part, bin) = self.place(&at.part, &at.bin)?;
            self.session
                .run(sql!("count_line_add"), values![id, part, bin, at.condition.word()])?;
        }
        Ok(id)
    }

    /// Takes a count. What is found where the sheet has no line gets one.
    ///
    /// # Errors
    ///
    /// When part, bin or sheet is not known, the sheet is closed, or the count is below nothing.
    pub fn count(&mut self, sheet: i64, counted: &Counted) -> Result<(), StoreError> {
        if !self.sheet(sheet)?.open {
            return Err(StoreError::SheetClosed { sheet });
        }
        let (part, bin) = self.place(&counted.part, &counted.bin)?;
        let (condition, quantity) = (counted.condition.word(), counted.quantity.thousandths());
        if quantity < 0 {
            return Err(StoreError::Nothing);
        }
        let after: i64 = match counted.at {
            Some(at) => {
                self.session.one(sql!("movement_at"), values![at.to_string()], |row| row.get(0))?
            }
            None => last_movement(self.session)?,
        };
        let since: i64 =
            self.session
                .one(sql!("moved_since"), values![part, bin, condition, after], |row| row.get(0))?;
        let on_hand = self.on_hand(part, bin, condition)?;
        let book = on_hand.checked_sub(since).ok_or(StoreError::TooLarge)?;
        self.session.run(sql!("count_line_add"), values![sheet, part, bin, condition])?;
        self.session.run(
            sql!("count_line_put"),
            values![sheet, part, bin, condition, quantity, book, after, &counted.who],
        )?;
        Ok(())
    }

    /// Posts what was counted and closes the sheet: corrections where the book was wrong, together
    /// and under the sheet's name. Returns their posting, `None` where all agreed. What was not
    /// counted stays as it is.
    ///
    /// # Errors
    ///
    /// [`StoreError::SheetClosed`]; [`StoreError::Recount`] names the first line to be counted
    /// again; [`StoreError::SecondNeeded`] when the corrections are worth more than one person may
    /// post and `second` is nobody else; [`StoreError::Short`] when what is missing is promised.
    pub fn post_sheet(
        &mut self,
        sheet: i64,
        second: &str,
        who: &str,
        at: Timestamp,
        today: Date,
    ) -> Result<Option<i64>, StoreError> {
        let read = self.sheet(sheet)?;
        if !read.open {
            return Err(StoreError::SheetClosed { sheet });
        }
        if let Some(line) = read.lines.iter().find(|line| line.recount) {
            return Err(StoreError::Recount { part: line.part.clone(), bin: line.bin.clone() });
        }
        let (mut legs, mut people) = (Vec::new(), BTreeSet::from([folded(who)]));
        let mut worth = 0_i64;
        for line in read.lines.iter().filter(|line| line.times > 0) {
            people.insert(folded(&line.counter));
            let quantity = line.correction.thousandths();
            if quantity == 0 {
                continue;
            }
            let (part, bin) = line.place;
            let value = self.at_average(part, line.condition.word(), quantity)?;
            worth = worth.checked_add(value.saturating_abs()).ok_or(StoreError::TooLarge)?;
            let entry = Entry {
                part,
                bin,
                condition: line.condition.word().to_owned(),
                quantity,
                reason: Reason::Count.word().to_owned(),
                reference: format!("count {sheet}"),
                note: posted_by(line, second),
                who: who.to_owned(),
                at: at.to_string(),
                day: today.to_string(),
                ..Entry::default()
            };
            legs.push(Leg { entry, worth: Worth::Average });
        }
        let above = read.drawn.second_above;
        let alone = second.trim().is_empty() || people.contains(&folded(second));
        if worth > above.minor && alone {
            let worth = Money { minor: worth, ..above };
            return Err(StoreError::SecondNeeded { worth, above });
        }
        self.whole(|w| {
            w.close_sheet(sheet, "posted")?;
            if legs.is_empty() { Ok(None) } else { w.post_legs("", legs).map(Some) }
        })
    }

    /// Throws an open sheet away.
    ///
    /// # Errors
    ///
    /// [`StoreError::SheetClosed`] when it is not open.
    pub fn drop_sheet(&mut self, sheet: i64) -> Result<(), StoreError> {
        self.close_sheet(sheet, "dropped")
    }

    /// As [`Store::sheet`], with what was written by this hand.
    ///
    /// # Errors
    ///
    /// As [`Store::sheet`].
    pub fn sheet(&self, id: i64) -> Result<CountSheet, StoreError> {
        sheet(self.session, id)
    }

    fn close_sheet(&mut self, sheet: i64, state: &str) -> Result<(), StoreError> {
        let done = self.session.run(sql!("sheet_settle"), values![sheet, state])?;
        if done == 1 { Ok(()) } else { Err(StoreError::SheetClosed { sheet }) }
    }
}

fn folded(name: &str) -> String {
    name.trim().to_lowercase()
}

fn posted_by(line: &CountLine, second: &str) -> String {
    let by = format!("counted {} by {}, book {}", line.counted, line.counter, line.book);
    if second.trim().is_empty() { by } else { format!("{by}; seen by {}", second.trim()) }
}

fn sheet(session: &Session, id: i64) -> Result<CountSheet, StoreError> {
    let currency = currency(session)?;
    let head = session.first(sql!("sheet_by_id"), values![id], |row| {
        let drawn = NewSheet {
            what: row.get(1)?,
            who: row.get(2)?,
            day: day(&row.get::<String>(3)?)?,
            recount_above_permille: row.get(4)?,
            second_above: Money { minor: row.get(5)?, currency },
        };
        Ok((drawn, row.get::<String>(6)? == "open"))
    })?;
    let (drawn, open) = head.ok_or(StoreError::NoSuchSheet { sheet: id })?;
    let lines = session.all(sql!("count_lines"), values![id], |row| {
        let word: String = row.get(3)?;
        let (times, after): (u32, i64) = (row.get(4)?, row.get(7)?);
        let (counted, book): (i64, i64) = (row.get(5)?, row.get(6)?);
        let place: (u64, u64) = (row.get(9)?, row.get(10)?);
        let differs = counted.checked_sub(book).ok_or(StoreError::TooLarge)?;
        let since: i64 = session.one(
            sql!("book_corrected_since"),
            values![place.0, place.1, &word, after],
            |row| row.get(0),
        )?;
        let limit = i128::from(book) * i128::from(drawn.recount_above_permille);
        let correction = if times == 0 { 0 } else { differs.saturating_sub(since) };
        Ok(CountLine {
            line: row.get(0)?,
            part: row.get(1)?,
            bin: row.get(2)?,
            condition: condition(&word)?,
            times,
            counted: Quantity::from_thousandths(counted),
            book: Quantity::from_thousandths(book),
            counter: row.get(8)?,
            recount: times == 1 && i128::from(differs).abs() * 1000 > limit,
            correction: Quantity::from_thousandths(correction),
            place,
        })
    })?;
    Ok(CountSheet { id, drawn, open, lines })
}
