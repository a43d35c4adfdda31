//! What was wanted, month by month, before the ledger knew? Imported history.

use std::str::FromStr;

use binwright_catalog::{Quantity, number};

use crate::engine::{Row, values};
use crate::put::{Put, put};
use crate::{Store, StoreError, Writer, sql};

/// What kind of demand a figure is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum DemandMark {
    /// What comes again.
    #[default]
    Regular,
    /// One job that says nothing of the months to come.
    OneOff,
    /// Asked for and not in: wanted, though it never left a bin.
    Lost,
    /// The same, as this shop's own counter noted it.
    Asked,
}

impl DemandMark {
    /// All marks.
    pub const ALL: [Self; 4] = [Self::Regular, Self::OneOff, Self::Lost, Self::Asked];

    /// The word in the store and in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Regular => "regular",
            Self::OneOff => "one-off",
            Self::Lost => "lost",
            Self::Asked => "asked",
        }
    }

    /// Whether it was wanted and never left a bin.
    pub fn is_lost(self) -> bool {
        matches!(self, Self::Lost | Self::Asked)
    }
}

impl FromStr for DemandMark {
    type Err = StoreError;

    fn from_str(text: &str) -> Result<Self, StoreError> {
        Self::ALL
            .into_iter()
            .find(|mark| mark.word() == text)
            .ok_or_else(|| StoreError::Damaged { what: format!("mark of demand `{text}`") })
    }
}

/// What was wanted of one number in one month.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MonthDemand {
    /// The number as it was written; no part of the catalogue need bear it.
    pub number: String,
    /// ISO 8601 year and month, `YYYY-MM`.
    pub month: String,
    /// What kind of demand it is.
    pub mark: DemandMark,
    /// How many; below nought when more came back than went.
    pub quantity: Quantity,
}

impl Writer<'_> {
    /// Puts what was wanted in a month; what was said of that number, month and mark before is
    /// replaced. What the counter noted is never lowered by it.
    ///
    /// # Errors
    ///
    /// When the number has no letter or digit, or the engine fails.
    pub fn put_demand(&mut self, demand: &MonthDemand) -> Result<Put, StoreError> {
        let folded = number::fold(&demand.number);
        if folded.is_empty() {
            return Err(StoreError::EmptyNumber { number: demand.number.clone() });
        }
        let mark = demand.mark.word();
        let there: bool = self.session.one(
            sql!("demand_is_there"),
            values![&folded, &demand.month, mark],
            |row| row.get(0),
        )?;
        let changed = self.session.run(
            sql!("demand_put"),
            values![&folded, &demand.month, mark, &demand.number, demand.quantity.thousandths()],
        )?;
        Ok(put(there, changed))
    }

    /// Adds `quantity` to what was asked for and not in of a number in a month (`YYYY-MM`), and returns
    /// the month's sum. Below nought it takes back what was noted wrongly.
    ///
    /// # Errors
    ///
    /// [`StoreError::NeverAsked`] when more is taken back than was noted; when the number has no
    /// letter or digit, the quantity is nothing, or the engine fails.
    pub fn add_lost(
        &mut self,
        part: &str,
        month: &str,
        quantity: Quantity,
    ) -> Result<Quantity, StoreError> {
        let folded = number::fold(part);
        if folded.is_empty() {
            return Err(StoreError::EmptyNumber { number: part.to_owned() });
        }
        if quantity == Quantity::ZERO {
            return Err(StoreError::Nothing);
        }
        let sum: i64 = self.session.one(
            sql!("demand_asked_add"),
            values![&folded, month, part, quantity.thousandths()],
            |row| row.get(0),
        )?;
        if sum < 0 {
            let noted = Quantity::from_thousandths(sum - quantity.thousandths());
            return Err(StoreError::NeverAsked { noted, month: month.to_owned() });
        }
        Ok(Quantity::from_thousandths(sum))
    }
}

impl Store {
    /// Hands every month's demand up to and with `month` (`YYYY-MM`) to `take`, by number, then
    /// month.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_demand<E: From<StoreError>>(
        &self,
        month: &str,
        take: impl FnMut(MonthDemand) -> Result<(), E>,
    ) -> Result<(), E> {
        let read = |row: &Row<'_>| {
            Ok(MonthDemand {
                number: row.get(0)?,
                month: row.get(1)?,
                mark: row.get::<String>(2)?.parse()?,
                quantity: Quantity::from_thousandths(row.get(3)?),
            })
        };
        self.session.each(sql!("demand_until"), values![month], read, take)
    }
}
