//! What was ordered, and what has come of it? Orders from draft to the last piece received.

use std::io::Write;
use std::path::Path;

use binwright_catalog::{Money, Quantity, number};
use binwright_exchange::{Cell, CellStyle, Sheet};
use binwright_store::{
    Arrival, JobFilled, Keep, Order, OrderLine, Receipt, Rest, Store, StoreError, Writer,
};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use crate::bench::quotes::Lacking;
use crate::files::{is_workbook, refuse_there, write_file};
use crate::stock::{Posted, posted};
use crate::{Shop, ShopError};

/// An order as it stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderCard {
    /// Its name on paper and in the ledger: `O-12`.
    pub order: String,
    /// From whom.
    pub supplier: String,
    /// How far it has come: `draft`, `sent`, `acknowledged`, `part received`, `received`, `cancelled`.
    pub state: &'static str,
    /// When it was drafted.
    pub drafted: Date,
    /// When it was sent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sent: Option<Date>,
    /// The supplier's own number of it; empty until it is acknowledged.
    pub theirs: String,
    /// Who drafted it.
    pub who: String,
    /// The branch it is for; `None` where it is for the whole shop.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub branch: Option<String>,
    /// What was ordered.
    pub lines: Vec<OrderedLine>,
    /// What the goods cost, in the supplier's currency.
    pub goods: Money,
    /// The freight.
    pub freight: Money,
    /// Both.
    pub total: Money,
    /// Whether a line is late.
    pub late: bool,
}

/// One line of an order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderedLine {
    /// Its place, from 1.
    pub line: u32,
    /// House number.
    pub part: String,
    /// What a person calls it.
    pub description: String,
    /// The supplier's number.
    pub number: String,
    /// How many were ordered.
    pub quantity: Quantity,
    /// Price of one, in the supplier's currency.
    pub each: Money,
    /// Price of all.
    pub amount: Money,
    /// How many have come, substitutes among them.
    pub received: Quantity,
    /// How many are still to come.
    pub outstanding: Quantity,
    /// How many came beyond what was ordered.
    pub over: Quantity,
    /// What becomes of what has not come: `due`, `back-ordered` or `short`.
    pub rest: &'static str,
    /// When it should be here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<Date>,
    /// Whether that day is past and some of it is still to come.
    pub late: bool,
    /// What else was said.
    pub note: String,
    /// What came of it, first to last.
    pub arrivals: Vec<ArrivedLine>,
}

/// What came of a line at one time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ArrivedLine {
    /// House number of what came.
    pub part: String,
    /// How many.
    pub quantity: Quantity,
    /// When.
    pub day: Date,
    /// The posting it came by, which `stock undo` takes back.
    pub posting: i64,
    /// Whether it came in place of another part.
    pub substitute: bool,
    /// What of the order's freight lies in its cost, in the shop's currency.
    pub freight: Money,
}

/// What was done to an order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderDone {
    /// The order as it stands now.
    pub order: OrderCard,
    /// The sheet that was written.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// Whether it was only judged.
    pub dry_run: bool,
}

/// What came in, and the order it came of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Received {
    /// The movements.
    #[serde(flatten)]
    pub posted: Posted,
    /// The order as it stands now.
    pub order: OrderCard,
    /// Jobs that had waited for what came; it is held for them.
    pub jobs: Vec<JobLine>,
}

/// A job that was given what it had waited for.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct JobLine {
    /// Its number.
    pub job: String,
    /// For whom.
    pub customer: String,
    /// What it still waits for; empty when it can be issued.
    pub lacks: Vec<Lacking>,
}

/// What came of an order at one time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// What came of its lines, and where it was put.
    pub arrivals: Vec<Arrival>,
    /// The delivery note, and what else is to be said.
    pub note: String,
    /// Who takes it in.
    pub who: String,
    /// The caller's own mark: the same again takes in nothing. Empty when there is none.
    pub key: String,
    /// More than was to come, or a price ten times off the order's, is meant.
    pub sure: bool,
}

impl Shop {
    /// The orders, newest first, `limit` at most.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn orders(&self, limit: usize) -> Result<Vec<OrderCard>, ShopError> {
        self.store.orders(limit)?.iter().map(|order| self.order_card(order)).collect()
    }

    /// The order named `O-12`, or `12`.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is none.
    pub fn order(&self, name: &str) -> Result<OrderCard, ShopError> {
        self.order_card(&self.store.order(order_number(name)?)?)
    }

    /// Says that an order goes to its supplier today, and writes its sheet where one is named: CSV,
    /// or a workbook when the name ends in `.xlsx`. Of an order that was sent already, only the sheet
    /// is written again. A file that is there is only overwritten when `force`.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such order, it is neither draft nor a sheet is wanted, or the
    /// file is there or cannot be written; the order is then as it was.
    pub fn send_order(
        &mut self,
        name: &str,
        file: Option<&Path>,
        force: bool,
        keep: Keep,
    ) -> Result<OrderDone, ShopError> {
        let id = order_number(name)?;
        if let Some(path) = file {
            refuse_there(path, force)?;
        }
        let card = self.order(name)?;
        let again = card.sent.is_some() && card.state != "cancelled" && file.is_some();
        let today = self.today;
        let after = self.store.write_once(keep, |w| -> Result<Order, ShopError> {
            if !again {
                w.send_order(id, today)?;
            }
            if let Some(path) = file.filter(|_| keep == Keep::Yes) {
                write_order_sheet(&card, path)?;
            }
            Ok(w.order(id)?)
        })?;
        let sheet = file.map(|path| path.display().to_string());
        let dry_run = keep == Keep::DryRun;
        Ok(OrderDone { order: self.order_card(&after)?, sheet, dry_run })
    }

    /// Says that the supplier has taken an order, under `theirs` as its own number.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such order or it was not sent.
    pub fn acknowledge_order(
        &mut self,
        name: &str,
        theirs: &str,
        keep: Keep,
    ) -> Result<OrderDone, ShopError> {
        self.change_order(name, keep, |w, id| w.acknowledge_order(id, theirs))
    }

    /// Calls an order off.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such order or some of it has come.
    pub fn cancel_order(&mut self, name: &str, keep: Keep) -> Result<OrderDone, ShopError> {
        let cancel = |w: &mut Writer<'_>, id| w.cancel_order(id);
        self.change_order(name, keep, cancel)
    }

    /// Says what becomes of what has not come of a line, when it is to come, and why.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such order or line, or it was not sent.
    pub fn settle_order_line(
        &mut self,
        name: &str,
        line: u32,
        rest: Rest,
        due: Option<Date>,
        note: &str,
        keep: Keep,
    ) -> Result<OrderDone, ShopError> {
        self.change_order(name, keep, |w, id| w.settle_line(id, line, rest, due, note))
    }

    /// Takes in what came of an order, all or none: it lies in its bins, at its price, from then on. What a
    /// job waits for is held for it at once.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such order, line, part or bin, or the order was not sent.
    pub fn receive_order(
        &mut self,
        name: &str,
        delivery: &Delivery,
        keep: Keep,
    ) -> Result<Received, ShopError> {
        let order = order_number(name)?;
        let Delivery { arrivals, note, who, key, sure } = delivery.clone();
        let receipt = Receipt { order, arrivals, note, who, at: Timestamp::now(), day: self.today };
        let today = self.today;
        let (posted, after, filled) = self.store.write(keep, |w| -> Result<_, ShopError> {
            let before = w.order(order)?;
            let posting = w.receive(&key, &receipt)?;
            if !sure {
                as_ordered(&before, &w.order(order)?, &receipt.arrivals)?;
            }
            let filled = w.jobs_fill(today)?;
            Ok((posted(w, Some(posting), keep)?, w.order(order)?, filled))
        })?;
        let jobs = filled.into_iter().map(JobLine::from).collect();
        Ok(Received { posted, order: self.order_card(&after)?, jobs })
    }

    /// The line of an order that a scanned code names: by the supplier's number or any of the part's,
    /// one of which something is still to come first.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn line_of_code(&self, card: &OrderCard, code: &str) -> Result<Option<u32>, ShopError> {
        let folded = number::fold(code);
        let bears = self.store.parts_by_number(code)?;
        let mut houses = Vec::with_capacity(bears.len());
        for id in bears {
            houses.extend(self.store.house_of(id)?);
        }
        let named = |line: &&OrderedLine| {
            number::fold(&line.number) == folded || houses.contains(&line.part)
        };
        let open = card.lines.iter().filter(named).find(|line| line.outstanding.is_positive());
        Ok(open.or_else(|| card.lines.iter().find(named)).map(|line| line.line))
    }

    fn change_order(
        &mut self,
        name: &str,
        keep: Keep,
        act: impl Fn(&mut Writer<'_>, i64) -> Result<(), StoreError>,
    ) -> Result<OrderDone, ShopError> {
        let id = order_number(name)?;
        let after = self.store.write(keep, |w| {
            act(w, id)?;
            w.order(id)
        })?;
        let dry_run = keep == Keep::DryRun;
        Ok(OrderDone { order: self.order_card(&after)?, sheet: None, dry_run })
    }

    /// The card of an order as the store, or the hand that writes, has it.
    pub(super) fn order_card(&self, order: &Order) -> Result<OrderCard, ShopError> {
        let mut goods = Money::zero(order.freight.currency);
        let arrived = self.store.arrived(order.id)?;
        let mut lines = Vec::with_capacity(order.lines.len());
        for line in &order.lines {
            let amount = line.each.checked_mul(line.quantity.decimal())?;
            goods = goods.checked_add(amount)?;
            let arrivals = arrived.iter().filter(|came| came.line == line.line);
            lines.push(OrderedLine {
                line: line.line,
                part: line.part.clone(),
                description: described(&self.store, line)?,
                number: line.number.clone(),
                quantity: line.quantity,
                each: line.each,
                amount,
                received: line.received,
                outstanding: line.outstanding(),
                over: line.over(),
                rest: line.rest.word(),
                due: line.due,
                late: self.is_late(order, line),
                note: line.note.clone(),
                arrivals: arrivals
                    .map(|came| ArrivedLine {
                        part: came.part.clone(),
                        quantity: came.quantity,
                        day: came.day,
                        posting: came.posting,
                        substitute: came.part != line.part,
                        freight: came.freight,
                    })
                    .collect(),
            });
        }
        Ok(OrderCard {
            branch: order.branch.clone(),
            order: order.name(),
            supplier: order.supplier.clone(),
            state: order.state.word(),
            drafted: order.drafted,
            sent: order.sent,
            theirs: order.theirs.clone(),
            who: order.who.clone(),
            late: lines.iter().any(|line| line.late),
            lines,
            goods,
            freight: order.freight,
            total: goods.checked_add(order.freight)?,
        })
    }

    fn is_late(&self, order: &Order, line: &OrderLine) -> bool {
        use binwright_store::OrderState::{Cancelled, Draft};
        let out = !matches!(order.state, Draft | Cancelled);
        out && line.outstanding().is_positive() && line.due.is_some_and(|due| due < self.today)
    }
}

impl From<JobFilled> for JobLine {
    fn from(filled: JobFilled) -> Self {
        let JobFilled { number: job, customer, lacks } = filled;
        Self { job, customer, lacks: lacks.into_iter().map(Lacking::from).collect() }
    }
}

/// The number in `O-12`, or `12`.
/// Refuses what a slip of the hand may be: more than was to come, a price ten times off.
fn as_ordered(before: &Order, after: &Order, arrivals: &[Arrival]) -> Result<(), ShopError> {
    for (was, is) in before.lines.iter().zip(&after.lines) {
        if is.received == was.received {
            // The same delivery told again.
            continue;
        }
        if is.over() > was.over() {
            let came = is.received.checked_sub(was.received).unwrap_or_default();
            let (line, part, outstanding) = (is.line, is.part.clone(), was.outstanding());
            return Err(ShopError::MoreThanOrdered { line, part, came, outstanding });
        }
        let told = arrivals.iter().filter(|arrival| arrival.line == is.line);
        for each in told.filter_map(|arrival| arrival.each) {
            let (a, b) = (i128::from(each.minor), i128::from(is.each.minor));
            if a >= 10 * b || b >= 10 * a {
                let (line, part, ordered) = (is.line, is.part.clone(), is.each);
                return Err(ShopError::FarPrice { line, part, each, ordered });
            }
        }
    }
    Ok(())
}

fn order_number(name: &str) -> Result<i64, ShopError> {
    let digits = name
        .trim()
        .strip_prefix(['O', 'o'])
        .map_or(name.trim(), |rest| rest.strip_prefix('-').unwrap_or(rest));
    digits.parse().map_err(|_| ShopError::NoSuchOrder { found: name.to_owned() })
}

fn described(store: &Store, line: &OrderLine) -> Result<String, ShopError> {
    Ok(store.part(line.part_id)?.map(|card| card.part.description).unwrap_or_default())
}

/// Writes the sheet a supplier gets: one row a line, nothing in it that a spreadsheet would run.
fn write_order_sheet(card: &OrderCard, path: &Path) -> Result<(), ShopError> {
    write_file(path, |out| order_sheet(card, out, is_workbook(path)))
}

fn order_sheet(card: &OrderCard, out: impl Write + Send, workbook: bool) -> Result<(), ShopError> {
    let mut sheet =
        if workbook { Sheet::xlsx(out, &card.order)? } else { Sheet::csv(out, CellStyle::Defused) };
    let text = |text: &str| Cell::Text(text.to_owned());
    let headers = ["order", "line", "number", "our_number", "description", "quantity"];
    let headers = headers.into_iter().chain(["each", "amount", "currency", "due"]);
    sheet.put(&headers.map(text).collect::<Vec<_>>())?;
    for line in &card.lines {
        sheet.put(&[
            text(&card.order),
            Cell::Number(line.line.to_string()),
            text(&line.number),
            text(&line.part),
            text(&line.description),
            Cell::Number(line.quantity.to_string()),
            Cell::Number(line.each.decimal().to_string()),
            Cell::Number(line.amount.decimal().to_string()),
            text(line.each.currency.code()),
            Cell::Text(line.due.map(|due| due.to_string()).unwrap_or_default()),
        ])?;
    }
    sheet.finish()?;
    Ok(())
}
