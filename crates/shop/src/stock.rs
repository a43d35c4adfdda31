//! The stock desk: what comes in, what goes out, what has moved, what it is worth?

pub mod by_hand;
pub mod reach;

use std::path::{Path, PathBuf};

use binwright_catalog::{Condition, Money, Quantity};
use binwright_store::{
    History, Hold, Keep, Moved, Movement, OpenHold, Reason, Sending, Store, StoreError, Writer,
};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use crate::{Shop, ShopError};

/// What is done with stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Act {
    /// It comes from a supplier, at so much a piece.
    Receive(Option<Money>),
    /// It goes into a job.
    Issue,
    /// It is sold over the counter.
    Sell,
    /// It goes to the bin named.
    Move(String),
    /// It is sent to the bin named, which is another branch's.
    Transfer(String),
    /// It was tested, or given up for a core, and lies in this condition now.
    Regrade(Condition),
    /// It is given up.
    Scrap,
    /// A customer brings it back.
    ReturnIn,
    /// It goes back to the supplier.
    ReturnOut,
    /// So many lie there, whatever the book says.
    Correct,
    /// A kit is broken into its parts, which go to the bin named.
    Break(String),
    /// A kit is built of parts out of the bin named.
    Build(String),
}

/// One thing to be done with stock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// What.
    pub act: Act,
    /// Any number of the part.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition it lies there.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
    /// What stands beside it.
    pub slip: Slip,
}

/// What stands beside a posting.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Slip {
    /// Job, order or quote it belongs to.
    pub reference: String,
    /// What else is to be said: the readings of a test, why a piece came back.
    pub note: String,
    /// Who does it.
    pub who: String,
    /// The caller's own mark: the same again posts nothing. Empty when there is none.
    pub key: String,
}

/// What came of a posting.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Posted {
    /// Its number: that of its first movement. `None` when there was nothing to post.
    pub posting: Option<i64>,
    /// Its movements.
    pub movements: Vec<MovedLine>,
    /// Whether it was only judged.
    pub dry_run: bool,
}

/// A movement that was posted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MovedLine {
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
    /// What the stock is worth more or less by it.
    pub value: Money,
    /// Why.
    pub reason: &'static str,
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
    #[serde(skip_serializing_if = "Option::is_none")]
    pub undoes: Option<i64>,
    /// The movement that took it back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub undone_by: Option<i64>,
}

/// What stock is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Value {
    /// When this day ended.
    pub day: Date,
    /// Part by part and condition.
    pub lines: Vec<ValueLine>,
    /// All of it.
    pub total: Money,
    /// What was on its way between branches beside, when anything was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub in_transit: Option<Money>,
}

/// What a part in one condition is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ValueLine {
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
    /// What they are worth in all; nought is not known, for they came in without a cost.
    pub value: Money,
}

/// A hold that is open.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HoldLine {
    /// Its number.
    pub hold: i64,
    /// To what it is promised.
    pub reference: String,
    /// House number.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
    /// The last day it is promised.
    pub until: Date,
    /// Whether it was only judged.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub dry_run: bool,
}

/// What a restored backup holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Restored {
    /// Where the shop is now.
    pub folder: PathBuf,
    /// How many movements its ledger has; every hash and balance agrees.
    pub movements: i64,
}

impl Shop {
    /// Does one thing with stock; judges it only when `keep` says so.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when part or bin is not known, less is free than goes out, or it is not to be
    /// done: a core is not sold as it is, and is not good without the readings of its test.
    pub fn post(&mut self, task: &Task, keep: Keep) -> Result<Posted, ShopError> {
        refuse_untested(task)?;
        let today = self.today;
        self.store.write(keep, |w| {
            let posting = perform(w, task, today)?;
            posted(w, posting, keep)
        })
    }

    /// Takes back a posting by counter-movements.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such movement, it was undone already, or the stock is gone.
    pub fn undo(&mut self, seq: i64, who: &str, keep: Keep) -> Result<Posted, ShopError> {
        let today = self.today;
        self.store.write(keep, |w| {
            let posting = w.undo(seq, who, Timestamp::now(), today)?;
            posted(w, Some(posting), keep)
        })
    }

    /// The newest movements that agree with what is given.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when part or bin is not known.
    pub fn history(
        &self,
        part: Option<&str>,
        bin: Option<&str>,
        reference: Option<&str>,
        limit: usize,
    ) -> Result<Vec<MovedLine>, ShopError> {
        let part = part.map(|number| self.part_numbered(number)).transpose()?;
        let (bin, reference) = (bin.map(str::to_owned), reference.map(str::to_owned));
        let asked = History { part, bin, reference, posting: None, limit };
        Ok(self.store.history(&asked)?.into_iter().map(MovedLine::from).collect())
    }

    /// What the stock was worth when `day` ended, from the ledger alone.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the sum is too large or the store fails.
    pub fn value(&self, day: Date) -> Result<Value, ShopError> {
        let mut total = Money::zero(self.currency()?);
        let mut lines = Vec::new();
        for line in self.store.value_on(day)? {
            total = total.checked_add(line.value)?;
            let binwright_store::ValueLine { part, condition, quantity, value } = line;
            lines.push(ValueLine { part, condition, quantity, value });
        }
        let in_transit = self.store.value_in_transit_on(day)?;
        let in_transit = Some(in_transit).filter(|value| value.minor != 0);
        Ok(Value { day, lines, total, in_transit })
    }

    /// Promises stock until a day; returns the hold.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when less is free, or part or bin is not known.
    pub fn hold(&mut self, hold: &Hold, keep: Keep) -> Result<HoldLine, ShopError> {
        let today = self.today;
        if hold.until < today {
            return Err(ShopError::PastDay { day: hold.until });
        }
        let id = self.store.write(keep, |w| w.hold(hold, today))?;
        let line = HoldLine::from(OpenHold { id, hold: hold.clone() });
        Ok(HoldLine { dry_run: keep == Keep::DryRun, ..line })
    }

    /// The holds that are open, the first to lapse first.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn holds(&self) -> Result<Vec<HoldLine>, ShopError> {
        Ok(self.store.holds(self.today)?.into_iter().map(HoldLine::from).collect())
    }

    /// Lets a hold go.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when it is not open any more.
    pub fn release(&mut self, hold: i64, keep: Keep) -> Result<(), ShopError> {
        let today = self.today;
        Ok(self.store.write(keep, |w| w.release(hold, today))?)
    }

    /// Turns a hold into the movement it was kept for: sold, or issued to its job.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when it is not open any more.
    pub fn post_hold(
        &mut self,
        hold: i64,
        sell: bool,
        who: &str,
        keep: Keep,
    ) -> Result<Posted, ShopError> {
        let (today, now) = (self.today, Timestamp::now());
        let reason = if sell { Reason::Sale } else { Reason::Issue };
        self.store.write(keep, |w| {
            let posting = w.post_hold(hold, reason, who, now, today)?;
            posted(w, Some(posting), keep)
        })
    }

    /// The id of the one part that `number` names: a house number first, another only when it is
    /// not shared.
    pub(crate) fn part_numbered(&self, number: &str) -> Result<u64, ShopError> {
        match self.store.part_named(number) {
            Err(StoreError::NoSuchPart { number }) => {
                Err(ShopError::NoSuchNumber { found: number })
            }
            other => Ok(other?),
        }
    }
}

/// Brings the backup `from` into the new folder `to` and checks every movement of it; a backup
/// that is not sound is not restored.
///
/// # Errors
///
/// [`ShopError`] when `to` is a shop already, the file is no backup, or something in it is wrong.
pub fn restore(from: &Path, to: &Path, today: Date) -> Result<Restored, ShopError> {
    let movements = Store::restore(from, to, today)?.last_movement()?;
    Ok(Restored { folder: to.to_owned(), movements })
}

/// What is not to be done, whatever lies there.
fn refuse_untested(task: &Task) -> Result<(), ShopError> {
    let is_core = task.condition == Condition::Core;
    match task.act {
        Act::Sell if is_core => Err(ShopError::CoreForSale),
        Act::Regrade(Condition::UsedGood) if is_core && task.slip.note.trim().is_empty() => {
            Err(ShopError::Untested)
        }
        Act::Regrade(into) if into == task.condition || into == Condition::New => {
            Err(ShopError::NoRegrade { from: task.condition, into })
        }
        _ => Ok(()),
    }
}

fn perform(w: &mut Writer<'_>, task: &Task, today: Date) -> Result<Option<i64>, ShopError> {
    let Task { act, part, bin, condition, quantity, slip } = task;
    if !quantity.is_positive() && *act != Act::Correct {
        return Err(StoreError::Nothing.into());
    }
    if let Act::Transfer(to) = act {
        let sending = Sending {
            part: part.clone(),
            condition: *condition,
            from: bin.clone(),
            to: to.clone(),
            quantity: *quantity,
            reference: slip.reference.clone(),
            note: slip.note.clone(),
            who: slip.who.clone(),
            at: Timestamp::now(),
            day: today,
        };
        return Ok(Some(w.send(&slip.key, &sending)?));
    }
    let leg = |reason, quantity| Movement {
        part: part.clone(),
        bin: bin.clone(),
        condition: *condition,
        quantity,
        unit_cost: None,
        reason,
        reference: slip.reference.clone(),
        note: slip.note.clone(),
        who: slip.who.clone(),
        at: Timestamp::now(),
        day: today,
    };
    let (into, out) = (*quantity, quantity.negated());
    let legs = match act {
        Act::Receive(unit_cost) => {
            vec![Movement { unit_cost: *unit_cost, ..leg(Reason::Receive, into) }]
        }
        Act::Issue => vec![leg(Reason::Issue, out)],
        Act::Transfer(_) => Vec::new(), // sent above
        Act::Sell => vec![leg(Reason::Sale, out)],
        Act::Scrap => vec![leg(Reason::Scrap, out)],
        Act::ReturnIn => vec![leg(Reason::ReturnIn, into)],
        Act::ReturnOut => vec![leg(Reason::ReturnOut, out)],
        Act::Move(to) => {
            vec![leg(Reason::Move, out), Movement { bin: to.clone(), ..leg(Reason::Move, into) }]
        }
        Act::Regrade(better) => vec![
            leg(Reason::Condition, out),
            Movement { condition: *better, ..leg(Reason::Condition, into) },
        ],
        Act::Correct => {
            let book = w.on_hand_of(part, bin, *condition)?;
            let difference = quantity.checked_sub(book).ok_or(StoreError::TooLarge)?;
            if difference == Quantity::ZERO {
                return Ok(None);
            }
            vec![leg(Reason::Count, difference)]
        }
        Act::Break(parts) => {
            return Ok(Some(w.post_kit(&slip.key, &leg(Reason::Break, out), parts)?));
        }
        Act::Build(parts) => {
            return Ok(Some(w.post_kit(&slip.key, &leg(Reason::Build, into), parts)?));
        }
    };
    Ok(Some(w.post_once(&slip.key, &legs)?))
}

pub(crate) fn posted(
    w: &Writer<'_>,
    posting: Option<i64>,
    keep: Keep,
) -> Result<Posted, ShopError> {
    let movements = match posting {
        None => Vec::new(),
        Some(_) => w.history(&History { posting, limit: usize::MAX, ..History::default() })?,
    };
    let mut movements: Vec<_> = movements.into_iter().map(MovedLine::from).collect();
    movements.reverse();
    Ok(Posted { posting, movements, dry_run: keep == Keep::DryRun })
}

impl From<Moved> for MovedLine {
    fn from(moved: Moved) -> Self {
        Self {
            seq: moved.seq,
            posting: moved.posting,
            part: moved.part,
            bin: moved.bin,
            condition: moved.condition,
            quantity: moved.quantity,
            value: moved.value,
            reason: moved.reason.word(),
            reference: moved.reference,
            note: moved.note,
            who: moved.who,
            at: moved.at,
            day: moved.day,
            undoes: moved.undoes,
            undone_by: moved.undone_by,
        }
    }
}

impl From<OpenHold> for HoldLine {
    fn from(OpenHold { id, hold }: OpenHold) -> Self {
        let Hold { reference, part, bin, condition, quantity, until } = hold;
        Self { hold: id, reference, part, bin, condition, quantity, until, dry_run: false }
    }
}
