//! What left the bins for jobs and sales, day by day?

use binwright_catalog::Quantity;
use jiff::civil::Date;

use crate::engine::{Row, values};
use crate::stock::day;
use crate::{Store, StoreError, sql};

/// What was used of a part on one day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Used {
    /// The part's id.
    pub part_id: u64,
    /// The shop's day.
    pub day: Date,
    /// Issued and sold, less what customers brought back; below nought when more came back.
    pub quantity: Quantity,
}

impl Store {
    /// Hands what was used up to and with `until` to `take`, by part, then day, as it was known when
    /// that day ended: what was undone until then did not happen. Of one branch alone where it is named.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_used<E: From<StoreError>>(
        &self,
        until: Date,
        of_branch: Option<&str>,
        take: impl FnMut(Used) -> Result<(), E>,
    ) -> Result<(), E> {
        let branch = self.branch_id(of_branch)?;
        let read = |row: &Row<'_>| {
            Ok(Used {
                part_id: row.get(0)?,
                day: day(&row.get::<String>(1)?)?,
                quantity: Quantity::from_thousandths(row.get(2)?),
            })
        };
        self.session.each(sql!("demand_of_ledger"), values![until.to_string(), branch], read, take)
    }

    /// What each branch used of each part after `since`, up to and with `until`, less what came back and
    /// what was undone: part, branch, quantity.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn used_by_branch(
        &self,
        since: Date,
        until: Date,
    ) -> Result<Vec<(u64, String, Quantity)>, StoreError> {
        let days = (since.to_string(), until.to_string());
        self.session.all(sql!("used_by_branch"), values![days.0, days.1], |row| {
            Ok((row.get(0)?, row.get(1)?, Quantity::from_thousandths(row.get(2)?)))
        })
    }
}
