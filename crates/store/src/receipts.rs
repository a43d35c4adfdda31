//! What has come of an order? Receipts post movements, and lead times are learnt from them.
//!
//! Freight lies in what the goods cost, shared by their value at the order's prices. Each receipt takes its
//! share of what no earlier one took, and the last takes the rest: to the last minor unit, whatever
//! comes in parts, falls short or is undone, all that came bears all of the freight.
//!
//! A receipt is a posting of the ledger; `arrival` says which line each of its movements belongs to. A
//! receipt that is undone there is undone here.

use binwright_catalog::{Condition, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::engine::values;
use crate::stock::day;
use crate::worth::{currency, share};
use crate::{Movement, Order, Reason, Store, StoreError, Writer, sql};

/// What came at one time of one order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Receipt {
    /// The order.
    pub order: i64,
    /// What came of its lines.
    pub arrivals: Vec<Arrival>,
    /// The delivery note, and what else is to be said.
    pub note: String,
    /// Who took it in.
    pub who: String,
    /// When.
    pub at: Timestamp,
    /// The shop's day.
    pub day: Date,
}

/// What came of one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrival {
    /// The line.
    pub line: u32,
    /// Any number of the part that came in place of the one ordered.
    pub substitute: Option<String>,
    /// Where it was put.
    pub bin: String,
    /// How many.
    pub quantity: Quantity,
    /// The price of one in the order's currency, where it differs from the line's.
    pub each: Option<Money>,
}

/// What came of a line, read back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Arrived {
    /// The line.
    pub line: u32,
    /// House number of what came.
    pub part: String,
    /// How many.
    pub quantity: Quantity,
    /// The shop's day.
    pub day: Date,
    /// The posting it came by.
    pub posting: i64,
    /// What of the order's freight lies in its cost, in the shop's currency.
    pub freight: Money,
}

/// How long something took to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeadSeen {
    /// The supplier's name.
    pub supplier: String,
    /// The id of the part that was ordered.
    pub part_id: u64,
    /// The day the order was sent.
    pub sent: Date,
    /// The day it came.
    pub came: Date,
    /// How many came.
    pub quantity: Quantity,
}

impl LeadSeen {
    /// Days from sending to receipt; none when it came before the order was written up.
    pub fn days(&self) -> u32 {
        u32::try_from((self.came - self.sent).get_days()).unwrap_or(0)
    }
}

impl Writer<'_> {
    /// Takes in what came, all or none, and returns the number of the first movement. The same receipt
    /// under the same `key` again takes in nothing; an empty key is none. Goods cost their price and
    /// their share of the freight at the order's rate.
    ///
    /// More than was ordered may come, and more after all has come: both are shown on the line.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchOrder`], [`StoreError::NoSuchLine`]; [`StoreError::OrderIs`] when it is a
    /// draft or called off; [`StoreError::Terms`] when a price is in another currency; as
    /// [`Writer::post_once`].
    pub fn receive(&mut self, key: &str, receipt: &Receipt) -> Result<i64, StoreError> {
        let order = self.order(receipt.order)?;
        order.refuse_unless_out()?;
        let movements = receipt
            .arrivals
            .iter()
            .map(|arrival| self.movement(&order, receipt, arrival))
            .collect::<Result<Vec<_>, _>>()?;
        if movements.is_empty() {
            return Err(StoreError::Nothing);
        }
        let freight = self.freight_shares(&order, &receipt.arrivals)?;
        self.whole(|w| {
            let key =
                if key.is_empty() { String::new() } else { format!("{} {key}", order.name()) };
            let first = w.post_landed(&key, &movements, &freight)?;
            // All of them come in, so they were numbered in the order they were given.
            for ((seq, arrival), freight) in (first..).zip(&receipt.arrivals).zip(freight) {
                let values = values![seq, order.id, arrival.line, freight];
                w.session.run(sql!("receipt_line_add"), values)?;
            }
            Ok(first)
        })
    }

    /// What of the order's freight each arrival takes, in the shop's minor units.
    fn freight_shares(&self, order: &Order, arrivals: &[Arrival]) -> Result<Vec<i64>, StoreError> {
        let all = order.freight.converted(order.rate, currency(self.session)?);
        let taken: i64 =
            self.session.one(sql!("order_freight_taken"), values![order.id], |row| row.get(0))?;
        let mut left = all.map_err(|_| StoreError::TooLarge)?.minor - taken;
        let mut to_come: Vec<i64> =
            order.lines.iter().map(|line| line.outstanding().thousandths()).collect();
        let worth = |nth: usize, quantity: i64| {
            i128::from(order.lines[nth].each.minor) * i128::from(quantity)
        };
        let mut shares = Vec::with_capacity(arrivals.len());
        for arrival in arrivals {
            let nth = order.lines.iter().position(|line| line.line == arrival.line);
            let Some(nth) = nth.filter(|&nth| to_come[nth] > 0) else {
                shares.push(0); // beyond what was ordered
                continue;
            };
            let comes = arrival.quantity.thousandths().clamp(0, to_come[nth]);
            let whole: i128 = to_come.iter().enumerate().map(|(at, &due)| worth(at, due)).sum();
            let takes = share(left, worth(nth, comes), whole)?;
            to_come[nth] -= comes;
            left -= takes;
            shares.push(takes);
        }
        Ok(shares)
    }

    fn movement(
        &self,
        order: &Order,
        receipt: &Receipt,
        arrival: &Arrival,
    ) -> Result<Movement, StoreError> {
        let no_line = StoreError::NoSuchLine { order: order.id, line: arrival.line };
        let line = order.lines.iter().find(|line| line.line == arrival.line).ok_or(no_line)?;
        let each = arrival.each.unwrap_or(line.each);
        if each.currency != line.each.currency {
            let what = "a price is not in the order's currency";
            return Err(StoreError::Terms { of: order.name(), what });
        }
        let cost = each.converted(order.rate, currency(self.session)?);
        Ok(Movement {
            part: arrival.substitute.clone().unwrap_or_else(|| line.part.clone()),
            bin: arrival.bin.clone(),
            condition: Condition::New,
            quantity: arrival.quantity,
            unit_cost: Some(cost.map_err(|_| StoreError::TooLarge)?),
            reason: Reason::Receive,
            reference: order.name(),
            note: receipt.note.clone(),
            who: receipt.who.clone(),
            at: receipt.at,
            day: receipt.day,
        })
    }
}

impl Store {
    /// What has come of an order, first to last, without what was undone.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn arrived(&self, order: i64) -> Result<Vec<Arrived>, StoreError> {
        let currency = currency(&self.session)?;
        self.session.all(sql!("order_arrivals"), values![order], |row| {
            Ok(Arrived {
                line: row.get(0)?,
                part: row.get(1)?,
                quantity: Quantity::from_thousandths(row.get(2)?),
                day: day(&row.get::<String>(3)?)?,
                posting: row.get(4)?,
                freight: Money { minor: row.get(5)?, currency },
            })
        })
    }

    /// How long everything took that came until `day`, first to last.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn lead_times(&self, until: Date) -> Result<Vec<LeadSeen>, StoreError> {
        self.session.all(sql!("receipt_lead_days"), values![until.to_string()], |row| {
            Ok(LeadSeen {
                supplier: row.get(0)?,
                part_id: row.get(1)?,
                sent: day(&row.get::<String>(2)?)?,
                came: day(&row.get::<String>(3)?)?,
                quantity: Quantity::from_thousandths(row.get(4)?),
            })
        })
    }
}
