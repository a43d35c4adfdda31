//! The desk of old parts: who owes a core, whose deposit is it?

use binwright_catalog::{Money, Quantity};
use binwright_store::{CoreDebt, CoreLine, Keep, Settled, Settling, Side};
use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;

use crate::{Shop, ShopError};

/// Cores that are owed, and the deposits behind them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cores {
    /// Debt by debt, oldest first.
    pub lines: Vec<Core>,
    /// Deposits of customers that the shop holds: theirs, not income.
    pub held_for_customers: Money,
    /// Deposits of the shop that suppliers hold.
    pub lying_with_suppliers: Money,
    /// Deposits of customers that were kept, since no core came: income.
    pub kept_from_customers: Money,
    /// Deposits of the shop that suppliers kept: lost.
    pub kept_by_suppliers: Money,
}

/// One debt.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Core {
    /// Its number.
    pub debt: i64,
    /// `customer` or `supplier`.
    pub side: &'static str,
    /// Who it is.
    pub party: String,
    /// Number of the unit or part.
    pub item: String,
    /// How many are still owed.
    pub owed: Quantity,
    /// The deposit that is still out.
    pub deposit: Money,
    /// Order, sale or job it belongs to.
    pub reference: String,
    /// Since when.
    pub day: Date,
    /// The last day the old part is taken back.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub until: Option<Date>,
    /// Whether that day is past.
    pub late: bool,
}

/// What settling a debt did.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CoreSettled {
    /// The debt.
    pub debt: i64,
    /// How many.
    pub quantity: Quantity,
    /// The deposit that went back, or was kept.
    pub deposit: Money,
    /// Whether it was kept.
    pub kept: bool,
    /// The movement of the old part into its bin, or out of it to the supplier.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub posting: Option<i64>,
    /// Whether it was only judged.
    pub dry_run: bool,
}

impl Shop {
    /// Writes down old parts that are owed; returns the debt's number.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when nothing is owed or the deposit is below nothing.
    pub fn owe_core(&mut self, debt: &CoreDebt, keep: Keep) -> Result<i64, ShopError> {
        Ok(self.store.write(keep, |w| w.owe_core(debt))?)
    }

    /// Settles so many of a debt: the old part came, and lies in its bin from then on, or its
    /// deposit is kept.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when so many are not owed, or the bin or its part is not known.
    pub fn settle_core(
        &mut self,
        settling: &Settling,
        keep: Keep,
    ) -> Result<CoreSettled, ShopError> {
        let today = self.today;
        let (deposit, posting) =
            self.store.write(keep, |w| w.settle_core(settling, Timestamp::now(), today))?;
        Ok(CoreSettled {
            debt: settling.debt,
            quantity: settling.quantity,
            deposit,
            kept: settling.how == Settled::Kept,
            posting,
            dry_run: keep == Keep::DryRun,
        })
    }

    /// The cores that are owed, of one side or both, and all deposits.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when a sum is too large or the store fails.
    pub fn cores(&self, side: Option<Side>) -> Result<Cores, ShopError> {
        let all = self.store.cores()?;
        let zero = Money::zero(self.currency()?);
        let sum = |side, of: fn(&CoreLine) -> Money| {
            let lines = all.iter().filter(|line| line.debt.side == side);
            lines.map(of).try_fold(zero, Money::checked_add)
        };
        Ok(Cores {
            held_for_customers: sum(Side::Customer, |line| line.open_deposit)?,
            lying_with_suppliers: sum(Side::Supplier, |line| line.open_deposit)?,
            kept_from_customers: sum(Side::Customer, |line| line.kept)?,
            kept_by_suppliers: sum(Side::Supplier, |line| line.kept)?,
            lines: all
                .into_iter()
                .filter(|line| line.open.is_positive())
                .filter(|line| side.is_none_or(|side| side == line.debt.side))
                .map(|line| self.core(line))
                .collect(),
        })
    }

    fn core(&self, line: CoreLine) -> Core {
        let debt = line.debt;
        Core {
            debt: line.id,
            side: debt.side.word(),
            party: debt.party,
            item: debt.item,
            owed: line.open,
            deposit: line.open_deposit,
            reference: debt.reference,
            day: debt.day,
            until: debt.until,
            late: debt.until.is_some_and(|until| until < self.today),
        }
    }
}
