//! What was wanted, of which part and when? Imported months, what left the bins, what was not in.

use binwright_catalog::Quantity;
use binwright_store::{DemandMark, Keep};
use jiff::civil::Date;
use serde::Serialize;

use crate::{Shop, ShopError};

/// An imported month of one number.
pub(super) struct Imported<'a> {
    /// The one part that bears the number; `None` where no card does, or several do.
    pub part: Option<u64>,
    /// The number as it was written.
    pub number: &'a str,
    /// The month's first day.
    pub day: Date,
    /// What kind of demand it is.
    pub mark: DemandMark,
    /// How many.
    pub quantity: Quantity,
}

/// A sale that was lost at the counter, and those of its month.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LostSale {
    /// House number.
    pub part: String,
    /// How many were asked for and not in; below nought when they were taken back.
    pub quantity: Quantity,
    /// The month it counts in, `YYYY-MM`.
    pub month: String,
    /// All that was asked for and not in that month.
    pub lost_in_month: Quantity,
    /// Free all the same, under all the part's own numbers.
    pub free: Quantity,
    /// Nothing was written.
    pub dry_run: bool,
}

impl Shop {
    /// Notes that `quantity` of the part were asked for today and not in: demand, though nothing left
    /// a bin. Below nought takes back what was noted wrongly this month.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when no part or more than one bears the number, the quantity is nothing, or more
    /// is taken back than was noted.
    pub fn note_lost(
        &mut self,
        number: &str,
        quantity: Quantity,
        keep: Keep,
    ) -> Result<LostSale, ShopError> {
        let reach = self.reach(number)?;
        let (part, free) = (reach.part, reach.free);
        let month = self.today.strftime("%Y-%m").to_string();
        let lost_in_month = self.store.write(keep, |w| w.add_lost(&part, &month, quantity))?;
        Ok(LostSale { part, quantity, month, lost_in_month, free, dry_run: keep == Keep::DryRun })
    }

    /// Hands every imported month up to that of `until` to `take`, by number.
    pub(super) fn each_imported(
        &self,
        until: Date,
        mut take: impl FnMut(Imported<'_>),
    ) -> Result<(), ShopError> {
        let month = until.strftime("%Y-%m").to_string();
        // They come by number: its part is looked up once for all its months.
        let mut last: Option<(String, Option<u64>)> = None;
        self.store.each_demand(&month, |line| {
            let Ok(day) = format!("{}-01", line.month).parse::<Date>() else { return Ok(()) };
            let part = match &last {
                Some((number, part)) if *number == line.number => *part,
                _ => match self.store.parts_by_number(&line.number)?[..] {
                    [id] => Some(id),
                    _ => None,
                },
            };
            let number = &line.number;
            take(Imported { part, number, day, mark: line.mark, quantity: line.quantity });
            last = Some((line.number, part));
            Ok::<_, ShopError>(())
        })
    }

    /// Hands all that was wanted up to `until`, imported or out of the bins, to `take`: part, day,
    /// how many. A month counts on its first day; single jobs and losses are left out.
    pub(super) fn each_wanted(
        &self,
        until: Date,
        mut take: impl FnMut(u64, Date, Quantity),
    ) -> Result<(), ShopError> {
        self.each_imported(until, |line| {
            if let (DemandMark::Regular, Some(part)) = (line.mark, line.part) {
                take(part, line.day, line.quantity);
            }
        })?;
        self.store.each_used(until, None, |used| {
            take(used.part_id, used.day, used.quantity);
            Ok(())
        })
    }
}
