//! What was ordered, and what has come of it? Orders, what is under way, lead times as they were.
//!
//! An order is drafted, sent, acknowledged, or cancelled while nothing has come. What has come is told
//! by the ledger: see [`Writer::receive`](crate::Writer::receive).

use binwright_catalog::{Money, Quantity};
use jiff::civil::Date;
use rust_decimal::Decimal;

use crate::branches::branch;
use crate::catalogue::money;
use crate::engine::{Row, Session, values};
use crate::stock::day;
use crate::suppliers::{rate, supplier};
use crate::{Store, StoreError, Writer, sql};

/// How far an order has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum OrderState {
    /// It is being written.
    Draft,
    /// The supplier has it.
    Sent,
    /// The supplier has said yes.
    Acknowledged,
    /// Some of it has come.
    PartReceived,
    /// All has come, or will not come.
    Received,
    /// It was called off before anything came.
    Cancelled,
}

impl OrderState {
    /// The word people read.
    pub fn word(self) -> &'static str {
        match self {
            Self::Draft => "draft",
            Self::Sent => "sent",
            Self::Acknowledged => "acknowledged",
            Self::PartReceived => "part received",
            Self::Received => "received",
            Self::Cancelled => "cancelled",
        }
    }
}

/// What becomes of what has not come yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rest {
    /// It is on its way.
    Due,
    /// The supplier has none now and sends it later.
    BackOrdered,
    /// It will not come.
    Short,
}

impl Rest {
    /// The word in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::Due => "due",
            Self::BackOrdered => "back-ordered",
            Self::Short => "short",
        }
    }

    fn named(word: &str) -> Result<Self, StoreError> {
        [Self::Due, Self::BackOrdered, Self::Short]
            .into_iter()
            .find(|rest| rest.word() == word)
            .ok_or_else(|| StoreError::Damaged { what: format!("rest of an order line `{word}`") })
    }
}

/// An order to be drafted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewOrder {
    /// The supplier's name.
    pub supplier: String,
    /// The freight, in the supplier's currency.
    pub freight: Money,
    /// Who drafts it.
    pub who: String,
    /// The shop's day.
    pub day: Date,
    /// The branch it is for; the whole shop when not given.
    pub branch: Option<String>,
    /// What is wanted.
    pub lines: Vec<NewLine>,
}

/// A line of an order to be drafted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewLine {
    /// Any number of the part.
    pub part: String,
    /// The supplier's number.
    pub number: String,
    /// How many.
    pub quantity: Quantity,
    /// The price of one, in the supplier's currency.
    pub each: Money,
    /// When it should be here.
    pub due: Option<Date>,
}

/// An order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Its number in this shop.
    pub id: i64,
    /// The supplier's name.
    pub supplier: String,
    /// How far it has come.
    pub state: OrderState,
    /// What one of its currency cost in the shop's when it was drafted.
    pub rate: Decimal,
    /// The freight, in the supplier's currency.
    pub freight: Money,
    /// The supplier's own number of it; empty until it is acknowledged.
    pub theirs: String,
    /// Who drafted it.
    pub who: String,
    /// When it was drafted.
    pub drafted: Date,
    /// When it was sent.
    pub sent: Option<Date>,
    /// The branch it is for; `None` where it is for the whole shop.
    pub branch: Option<String>,
    /// Its lines.
    pub lines: Vec<OrderLine>,
}

impl Order {
    /// The name it has on paper and in the ledger.
    pub fn name(&self) -> String {
        order_name(self.id)
    }
}

/// One line of an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderLine {
    /// Its place, from 1.
    pub line: u32,
    /// The part's id.
    pub part_id: u64,
    /// House number.
    pub part: String,
    /// The supplier's number.
    pub number: String,
    /// How many were ordered.
    pub quantity: Quantity,
    /// The price of one, in the supplier's currency.
    pub each: Money,
    /// How many have come, substitutes among them.
    pub received: Quantity,
    /// What becomes of the rest.
    pub rest: Rest,
    /// When it should be here.
    pub due: Option<Date>,
    /// What else was said of it.
    pub note: String,
}

impl OrderLine {
    /// What is still to come.
    pub fn outstanding(&self) -> Quantity {
        match self.rest {
            Rest::Short => Quantity::ZERO,
            _ => self.quantity.checked_sub(self.received).unwrap_or_default().max(Quantity::ZERO),
        }
    }

    /// What has come beyond what was ordered.
    pub fn over(&self) -> Quantity {
        self.received.checked_sub(self.quantity).unwrap_or_default().max(Quantity::ZERO)
    }
}

/// What is under way of a part by one line of an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnderWay {
    /// The part's id.
    pub part_id: u64,
    /// The order.
    pub order: i64,
    /// How many are still to come.
    pub quantity: Quantity,
    /// When they should be here.
    pub due: Option<Date>,
    /// The branch they are for; `None` where they are for the whole shop.
    pub branch: Option<String>,
}

impl UnderWay {
    /// The order's name on paper: `O-12`.
    pub fn name(&self) -> String {
        order_name(self.order)
    }
}

impl Writer<'_> {
    /// Drafts an order at the supplier's rate of now and returns its number.
    ///
    /// # Errors
    ///
    /// When supplier or a part is not known, a line or the order is of nothing, or
    /// [`StoreError::Terms`] when a price makes no sense.
    pub fn draft_order(&mut self, order: &NewOrder) -> Result<i64, StoreError> {
        let (id, supplier) = supplier(self.session, &order.supplier)?;
        let currency = supplier.order_minimum.currency;
        let prices = order.lines.iter().map(|line| line.each).chain([order.freight]);
        for price in prices {
            let what = match price {
                _ if price.currency != currency => "a price is not in the supplier's currency",
                _ if price.minor < 0 => "a price is below nought",
                _ => continue,
            };
            return Err(StoreError::Terms { of: supplier.name, what });
        }
        if order.lines.is_empty() || order.lines.iter().any(|line| !line.quantity.is_positive()) {
            return Err(StoreError::Nothing);
        }
        let for_branch =
            order.branch.as_deref().map(|name| branch(self.session, name)).transpose()?;
        self.whole(|w| {
            let order_id: i64 = w.session.one(
                sql!("order_add"),
                values![
                    id,
                    currency.code(),
                    supplier.rate.to_string(),
                    order.freight.minor,
                    &order.who,
                    order.day.to_string(),
                    for_branch.map(|(id, _)| id)
                ],
                |row| row.get(0),
            )?;
            for (place, line) in (1_i64..).zip(&order.lines) {
                let part = w.part_id(&line.part)?;
                w.session.run(
                    sql!("order_line_add"),
                    values![
                        order_id,
                        place,
                        part,
                        &line.number,
                        line.quantity.thousandths(),
                        line.each.minor,
                        line.due.map(|due| due.to_string())
                    ],
                )?;
            }
            Ok(order_id)
        })
    }

    /// Says that a draft went to the supplier on `day`.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchOrder`]; [`StoreError::OrderIs`] when it is no draft.
    pub fn send_order(&mut self, order: i64, day: Date) -> Result<(), StoreError> {
        self.step(order, &[OrderState::Draft], "sent", Some(day), None)
    }

    /// Says that the supplier has taken the order, under `theirs` as its own number.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchOrder`]; [`StoreError::OrderIs`] when it was not sent.
    pub fn acknowledge_order(&mut self, order: i64, theirs: &str) -> Result<(), StoreError> {
        let from = [OrderState::Sent, OrderState::Acknowledged];
        self.step(order, &from, "acknowledged", None, Some(theirs))
    }

    /// Calls an order off.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchOrder`]; [`StoreError::OrderIs`] when something has come or it was called
    /// off before. What will not come of an order is said by line: [`Writer::settle_line`].
    pub fn cancel_order(&mut self, order: i64) -> Result<(), StoreError> {
        let found = self.order(order)?;
        // All lines short and nothing come is received in full, of nothing: that may still be called off.
        let came = found.lines.iter().any(|line| line.received != Quantity::ZERO);
        if came || found.state == OrderState::Cancelled {
            return Err(StoreError::OrderIs { order, state: found.state.word() });
        }
        self.step(order, &[found.state], "cancelled", None, None)
    }

    /// Says what becomes of what has not come of a line, when it is to come, and why.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchOrder`]; [`StoreError::OrderIs`] when it was not sent or is called off;
    /// [`StoreError::NoSuchLine`].
    pub fn settle_line(
        &mut self,
        order: i64,
        line: u32,
        rest: Rest,
        due: Option<Date>,
        note: &str,
    ) -> Result<(), StoreError> {
        let found = self.order(order)?;
        found.refuse_unless_out()?;
        let due = due.map(|due| due.to_string());
        match self
            .session
            .run(sql!("order_line_settle"), values![order, line, rest.word(), due, note])?
        {
            0 => Err(StoreError::NoSuchLine { order, line }),
            _ => Ok(()),
        }
    }

    /// As [`Store::order`], with what this hand wrote.
    ///
    /// # Errors
    ///
    /// As [`Store::order`].
    pub fn order(&self, id: i64) -> Result<Order, StoreError> {
        order(self.session, id)
    }

    fn step(
        &mut self,
        order: i64,
        from: &[OrderState],
        to: &str,
        sent: Option<Date>,
        theirs: Option<&str>,
    ) -> Result<(), StoreError> {
        let state = self.order(order)?.state;
        if !from.contains(&state) {
            return Err(StoreError::OrderIs { order, state: state.word() });
        }
        let sent = sent.map(|day| day.to_string());
        self.session.run(sql!("order_state_set"), values![order, to, sent, theirs])?;
        Ok(())
    }
}

impl Order {
    /// Whether the supplier has it and it may come.
    pub(crate) fn refuse_unless_out(&self) -> Result<(), StoreError> {
        match self.state {
            OrderState::Draft | OrderState::Cancelled => {
                Err(StoreError::OrderIs { order: self.id, state: self.state.word() })
            }
            _ => Ok(()),
        }
    }
}

impl Store {
    /// The order with that number.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchOrder`], or what the engine says.
    pub fn order(&self, id: i64) -> Result<Order, StoreError> {
        order(&self.session, id)
    }

    /// The orders, newest first, `limit` at most.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn orders(&self, limit: usize) -> Result<Vec<Order>, StoreError> {
        let limit = i64::try_from(limit).unwrap_or(i64::MAX);
        self.session
            .all(sql!("orders_newest"), values![limit], |row| read_order(&self.session, row))
    }

    /// What was sent for and is still to come, by part, the soonest first.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn under_way(&self) -> Result<Vec<UnderWay>, StoreError> {
        self.session.all(sql!("orders_under_way"), &[], under_way)
    }

    /// What stands in drafts that were not sent, by part: meant, and not under way.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn drafted(&self) -> Result<Vec<UnderWay>, StoreError> {
        self.session.all(sql!("orders_drafted"), &[], under_way)
    }
}

fn under_way(row: &Row<'_>) -> Result<UnderWay, StoreError> {
    Ok(UnderWay {
        part_id: row.get(0)?,
        order: row.get(1)?,
        quantity: Quantity::from_thousandths(row.get(2)?),
        due: some_day(row, 3)?,
        branch: row.get(4)?,
    })
}

pub(crate) fn order_name(id: i64) -> String {
    format!("O-{id}")
}

fn order(session: &Session, id: i64) -> Result<Order, StoreError> {
    let found = session.first(sql!("order_by_id"), values![id], |row| read_order(session, row))?;
    found.ok_or(StoreError::NoSuchOrder { order: id })
}

fn read_order(session: &Session, row: &Row<'_>) -> Result<Order, StoreError> {
    let id = row.get(0)?;
    let text = |at| row.get::<String>(at);
    let currency = text(3)?;
    let lines = session.all(sql!("order_lines"), values![id], |row| {
        Ok(OrderLine {
            line: row.get(0)?,
            part_id: row.get(1)?,
            part: row.get(2)?,
            number: row.get(3)?,
            quantity: Quantity::from_thousandths(row.get(4)?),
            each: money(row.get(5)?, &currency)?,
            rest: Rest::named(&row.get::<String>(6)?)?,
            due: some_day(row, 7)?,
            note: row.get(8)?,
            received: Quantity::from_thousandths(row.get(9)?),
        })
    })?;
    Ok(Order {
        id,
        supplier: text(1)?,
        state: state(&text(2)?, &lines)?,
        rate: rate(&text(4)?)?,
        freight: money(row.get(5)?, &currency)?,
        theirs: text(6)?,
        who: text(7)?,
        drafted: day(&text(8)?)?,
        sent: some_day(row, 9)?,
        branch: row.get(10)?,
        lines,
    })
}

/// How far an order has come: what was said of it, and what has come of its lines.
fn state(word: &str, lines: &[OrderLine]) -> Result<OrderState, StoreError> {
    let said = match word {
        "draft" => return Ok(OrderState::Draft),
        "cancelled" => return Ok(OrderState::Cancelled),
        "sent" => OrderState::Sent,
        "acknowledged" => OrderState::Acknowledged,
        _ => return Err(StoreError::Damaged { what: format!("state of an order `{word}`") }),
    };
    let all = lines.iter().all(|line| line.outstanding() == Quantity::ZERO);
    let some = lines.iter().any(|line| line.received != Quantity::ZERO);
    Ok(match (all, some) {
        (true, _) => OrderState::Received,
        (false, true) => OrderState::PartReceived,
        (false, false) => said,
    })
}

fn some_day(row: &Row<'_>, at: usize) -> Result<Option<Date>, StoreError> {
    row.get::<Option<String>>(at)?.map(|text| day(&text)).transpose()
}
