//! Who owes an old part? Cores owed against deposits, by customers to the shop and by the shop to
//! suppliers; deposits are kept apart from what is earned.

use binwright_catalog::{Condition, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::engine::{Session, values};
use crate::stock::day;
use crate::worth::{currency, share};
use crate::{Movement, Reason, Store, StoreError, Writer, sql};

/// With whom a deposit was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Side {
    /// A customer owes an old part, and gets the deposit back that the shop holds.
    Customer,
    /// The shop owes a supplier an old part; the supplier owes it the deposit.
    Supplier,
}

impl Side {
    /// The word in the store and on the command line.
    pub fn word(self) -> &'static str {
        match self {
            Self::Customer => "customer",
            Self::Supplier => "supplier",
        }
    }
}

/// How a debt ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Settled {
    /// The old part came back, the deposit went back.
    Returned,
    /// It did not; the deposit was kept.
    Kept,
}

/// Old parts that are owed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CoreDebt {
    /// With whom the deposit was made.
    pub side: Side,
    /// Who it is.
    pub party: String,
    /// Number of the unit or part.
    pub item: String,
    /// How many.
    pub quantity: Quantity,
    /// The deposit for all of them.
    pub deposit: Money,
    /// Order, sale or job it belongs to.
    pub reference: String,
    /// Who wrote it down.
    pub who: String,
    /// When.
    pub day: Date,
    /// The last day the old part is taken back.
    pub until: Option<Date>,
}

/// How much of a debt ends, and how.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settling {
    /// The debt's number.
    pub debt: i64,
    /// How it ends.
    pub how: Settled,
    /// How many.
    pub quantity: Quantity,
    /// What it belongs to.
    pub reference: String,
    /// Who wrote it down.
    pub who: String,
    /// The bin the old parts go into or come out of; no stock moves without.
    pub bin: Option<String>,
}

/// A debt with what is left of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CoreLine {
    /// Its number.
    pub id: i64,
    /// As it was written down.
    pub debt: CoreDebt,
    /// How many are still owed.
    pub open: Quantity,
    /// The deposit that is still out.
    pub open_deposit: Money,
    /// What of the deposit was kept.
    pub kept: Money,
}

impl Store {
    /// Every debt of old parts, settled ones too, oldest first.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn cores(&self) -> Result<Vec<CoreLine>, StoreError> {
        cores(&self.session, None)
    }
}

impl Writer<'_> {
    /// Writes down old parts that are owed and returns the debt's number.
    ///
    /// # Errors
    ///
    /// When nothing is owed, or the deposit is below nothing or in another currency.
    pub fn owe_core(&mut self, debt: &CoreDebt) -> Result<i64, StoreError> {
        let shop = currency(self.session)?;
        if debt.deposit.currency != shop {
            return Err(StoreError::OtherCurrency { found: debt.deposit.currency, shop });
        }
        if debt.deposit.minor < 0 {
            return Err(StoreError::NegativeCost);
        }
        self.add_core(debt, "owed", None)
    }

    /// Settles so many of a debt and returns the deposit that goes with them: their share of what
    /// is still out, rounded half to even, all of it with the last. Old parts that came back with
    /// a bin named lie in it as cores from then on, those that went to a supplier are taken out of
    /// it; the number of that movement is returned as well.
    ///
    /// # Errors
    ///
    /// [`StoreError::CoreNotOwed`] when so many are not owed any more; with a bin, as
    /// [`Writer::post`].
    pub fn settle_core(
        &mut self,
        settling: &Settling,
        at: Timestamp,
        day: Date,
    ) -> Result<(Money, Option<i64>), StoreError> {
        let Settling { debt, how, quantity, ref reference, ref who, ref bin } = *settling;
        let line = cores(self.session, Some(debt))?.into_iter().next();
        let line = line.filter(|line| quantity <= line.open);
        let line = line.ok_or(StoreError::CoreNotOwed { debt, quantity })?;
        let (part, whole) = (quantity.thousandths().into(), line.open.thousandths().into());
        let minor = share(line.open_deposit.minor, part, whole)?;
        let deposit = Money { minor, ..line.open_deposit };
        let settled = CoreDebt {
            quantity,
            deposit,
            reference: reference.to_owned(),
            who: who.to_owned(),
            day,
            until: None,
            ..line.debt
        };
        let act = if how == Settled::Kept { "kept" } else { "returned" };
        self.whole(|w| {
            let bin = bin.clone().filter(|_| how == Settled::Returned);
            let posting = bin.map(|bin| w.post(&moved(&settled, debt, bin, at))).transpose()?;
            w.add_core(&settled, act, Some(debt))?;
            Ok((deposit, posting))
        })
    }

    fn add_core(&self, debt: &CoreDebt, act: &str, of: Option<i64>) -> Result<i64, StoreError> {
        if !debt.quantity.is_positive() {
            return Err(StoreError::Nothing);
        }
        self.session.one(
            sql!("core_add"),
            values![
                debt.side.word(),
                debt.party,
                debt.item,
                debt.quantity.thousandths(),
                debt.deposit.minor,
                act,
                of,
                debt.reference,
                debt.who,
                debt.day.to_string(),
                debt.until.map(|day| day.to_string()).unwrap_or_default(),
            ],
            |row| row.get(0),
        )
    }
}

/// What the return of old parts moves: a customer's into the bin, those for a supplier out of it.
fn moved(returned: &CoreDebt, debt: i64, bin: String, at: Timestamp) -> Movement {
    let (reason, quantity) = match returned.side {
        Side::Customer => (Reason::ReturnIn, returned.quantity),
        Side::Supplier => (Reason::ReturnOut, returned.quantity.negated()),
    };
    Movement {
        part: returned.item.clone(),
        bin,
        condition: Condition::Core,
        quantity,
        unit_cost: None,
        reason,
        reference: returned.reference.clone(),
        note: format!("core of debt {debt}, {}", returned.party),
        who: returned.who.clone(),
        at,
        day: returned.day,
    }
}

fn cores(session: &Session, debt: Option<i64>) -> Result<Vec<CoreLine>, StoreError> {
    let currency = currency(session)?;
    let money = |minor| Money { minor, currency };
    session.all(sql!("cores"), values![debt], |row| {
        let until: String = row.get(9)?;
        Ok(CoreLine {
            id: row.get(0)?,
            debt: CoreDebt {
                side: match row.get::<String>(1)?.as_str() {
                    "customer" => Side::Customer,
                    "supplier" => Side::Supplier,
                    word => return Err(StoreError::Damaged { what: format!("side `{word}`") }),
                },
                party: row.get(2)?,
                item: row.get(3)?,
                quantity: Quantity::from_thousandths(row.get(4)?),
                deposit: money(row.get(5)?),
                reference: row.get(6)?,
                who: row.get(7)?,
                day: day(&row.get::<String>(8)?)?,
                until: if until.is_empty() { None } else { Some(day(&until)?) },
            },
            open: Quantity::from_thousandths(row.get(10)?),
            open_deposit: money(row.get(11)?),
            kept: money(row.get(12)?),
        })
    })
}
