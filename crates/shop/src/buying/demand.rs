//! What was wanted, of which part and when? Imported months, and what left the bins.

use binwright_catalog::Quantity;
use binwright_store::DemandMark;
use jiff::civil::Date;

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

impl Shop {
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
        self.store.each_used(until, |used| {
            take(used.part_id, used.day, used.quantity);
            Ok(())
        })
    }
}
