//! What does stock cost? The moving average of a part in one condition, kept as quantity and value.
//!
//! The value of all that lies there is kept, not the average: nothing is lost by rounding. What
//! goes out takes its share of the value, rounded half to even; the last piece takes all that is
//! left. Conditions have averages of their own: a core does not water down what a new part costs.

use binwright_catalog::{Condition, Currency, Money, Quantity};
use jiff::civil::Date;

use crate::engine::{Session, values};
use crate::ledger::Entry;
use crate::open::identity;
use crate::stock::condition;
use crate::{Movement, Reason, Store, StoreError, Writer, sql};

/// How the value of a movement is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Worth {
    /// It is the average of what lies there, or of what lay there last.
    Average,
    /// It is so many minor units; the average where not so much is there to go.
    Amount(i64),
    /// Nothing: only the bin changes, and the counterpart follows in the same posting.
    Stays,
    /// It takes over, by this weight, what went out in the same posting.
    Carried(u64),
}

impl Worth {
    pub fn weight(self) -> i128 {
        if let Self::Carried(weight) = self { weight.into() } else { 0 }
    }
}

/// What lies of a part in one condition, all bins together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ValueLine {
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// How many.
    pub quantity: Quantity,
    /// What they are worth in all.
    pub value: Money,
}

impl Store {
    /// What lay in the bins when `day` ended and what it was worth, from the ledger alone.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn value_on(&self, day: Date) -> Result<Vec<ValueLine>, StoreError> {
        self.value_at(day, None)
    }

    /// As [`Store::value_on`], in the bins of one branch where it is named.
    ///
    /// # Errors
    ///
    /// As [`Store::value_on`]; [`StoreError::NoSuchBranch`].
    pub fn value_at(
        &self,
        day: Date,
        of_branch: Option<&str>,
    ) -> Result<Vec<ValueLine>, StoreError> {
        let (currency, branch) = (currency(&self.session)?, self.branch_id(of_branch)?);
        self.session.all(sql!("value_on"), values![day.to_string(), branch], |row| {
            Ok(ValueLine {
                part: row.get(0)?,
                condition: condition(&row.get::<String>(1)?)?,
                quantity: Quantity::from_thousandths(row.get(2)?),
                value: Money { minor: row.get(3)?, currency },
            })
        })
    }
}

impl Writer<'_> {
    /// How the value of a movement that a person posts is found.
    pub(crate) fn worth_of(&self, movement: &Movement) -> Result<Worth, StoreError> {
        let quantity = movement.quantity.thousandths();
        Ok(match movement.reason {
            Reason::Move => Worth::Stays,
            Reason::Condition if quantity > 0 => Worth::Carried(quantity.unsigned_abs()),
            Reason::Condition => Worth::Average,
            _ => match movement.unit_cost {
                Some(cost) if quantity > 0 => {
                    let shop = currency(self.session)?;
                    if cost.currency != shop {
                        return Err(StoreError::OtherCurrency { found: cost.currency, shop });
                    }
                    if cost.minor < 0 {
                        return Err(StoreError::NegativeCost);
                    }
                    Worth::Amount(share(cost.minor, quantity.into(), 1000)?)
                }
                _ => Worth::Average,
            },
        })
    }

    pub(crate) fn at_average(
        &self,
        part: u64,
        condition: &str,
        quantity: i64,
    ) -> Result<i64, StoreError> {
        let pool = self
            .session
            .first(sql!("worth"), values![part, condition], |row| Ok((row.get(0)?, row.get(1)?)))?;
        self.at_average_of(pool.unwrap_or_default(), part, condition, quantity)
    }

    fn at_average_of(
        &self,
        (on_hand, value): (i64, i64),
        part: u64,
        condition: &str,
        quantity: i64,
    ) -> Result<i64, StoreError> {
        if on_hand > 0 {
            return share(value, quantity.into(), on_hand.into());
        }
        let last: Option<(i64, i64)> =
            self.session.first(sql!("last_worth"), values![part, condition], |row| {
                Ok((row.get(0)?, row.get(1)?))
            })?;
        last.map_or(Ok(0), |(moved, value)| share(value, quantity.into(), moved.into()))
    }

    /// The value of the movement `entry` where so much of its part lies there and is worth so much.
    pub(crate) fn value_of(
        &self,
        entry: &Entry,
        worth: Worth,
        pool: (i64, i64),
    ) -> Result<i64, StoreError> {
        let after = pool.0.checked_add(entry.quantity).ok_or(StoreError::TooLarge)?;
        match worth {
            Worth::Stays => Ok(0),
            _ if after == 0 => Ok(-pool.1),
            Worth::Amount(amount) if amount >= -pool.1 => Ok(amount),
            _ => self.at_average_of(pool, entry.part, &entry.condition, entry.quantity),
        }
    }
}

/// What the shop counts in.
pub(crate) fn currency(session: &Session) -> Result<Currency, StoreError> {
    Ok(identity(session)?.currency)
}

/// The share `part / whole` of `value`, rounded half to even; all of it when there is no whole.
pub(crate) fn share(value: i64, part: i128, whole: i128) -> Result<i64, StoreError> {
    if whole == 0 {
        return Ok(value);
    }
    let product = i128::from(value).checked_mul(part).ok_or(StoreError::TooLarge)?;
    let (quotient, rest) = (product.div_euclid(whole), product.rem_euclid(whole));
    // Twice the rest against the whole: more than half, or half beside an odd number, goes up.
    let up = match (rest * 2).cmp(&whole.abs()) {
        std::cmp::Ordering::Greater => 1,
        std::cmp::Ordering::Equal => quotient.rem_euclid(2),
        std::cmp::Ordering::Less => 0,
    };
    let step = if whole < 0 { -up } else { up };
    i64::try_from(quotient + step).map_err(|_| StoreError::TooLarge)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half to even as IEEE 754 names it (round to nearest, ties to even).
    #[test]
    fn a_share_is_rounded_half_to_even() {
        let rows = [
            (5, 1, 2, 2),
            (7, 1, 2, 4),
            (-5, 1, 2, -2),
            (-7, 1, 2, -4),
            (10, 1, 3, 3),
            (20, 1, 3, 7),
            (5, -1, 2, -2),
            (5, 1, -2, -2),
            (9, 0, 0, 9),
        ];
        for (value, part, whole, is) in rows {
            assert_eq!(share(value, part, whole).unwrap(), is, "{value} x {part} / {whole}");
        }
        assert!(matches!(share(i64::MAX, 2, 1), Err(StoreError::TooLarge)));
    }
}
