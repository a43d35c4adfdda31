//! What did each part sell, month by month, as it was known on a day?
//!
//! Months are counted back from the as-of day: if that is the 25th, the newest month runs from the
//! 26th before to the 25th; if it is the last of its month, months are those of the calendar. A line
//! that is known by the month only is dated on the month's last day, so it counts once it is over.

use binwright_catalog::Quantity;
use jiff::civil::Date;

use crate::BuyingError;

/// Why a part left the bins, or did not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Reason {
    /// It was used on a job or sold.
    #[default]
    Issued,
    /// It came back, fit to be sold again: the newest issues are taken back. Quantity positive.
    Returned,
    /// It was asked for and was not there: demand all the same.
    Lost,
    /// The line's month is known to be no guide (a fleet order, a stocktaking): left out whole.
    OneOff,
}

/// One line of demand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// The day, or the last day of the month when only the month is known.
    pub day: Date,
    /// How many. A negative issue is a return.
    pub quantity: Quantity,
    /// Why.
    pub reason: Reason,
}

impl Line {
    /// Returns the demand of a whole month, given any day of it: it is known on the month's last day.
    pub fn of_month(day_of_month: Date, quantity: Quantity) -> Self {
        Self { day: day_of_month.last_of_month(), quantity, reason: Reason::Issued }
    }
}

/// Demand per month of one part, oldest first, every month from the first line to the as-of day.
///
/// Months marked [`Reason::OneOff`] are taken out and the gap is closed. Months of no demand before
/// the first sale are kept when a line (of quantity zero, say) shows that the part was there.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct History {
    /// Demand per month in units of issue, never negative.
    pub months: Vec<f64>,
}

impl History {
    /// Gathers the lines of a part, and of those it replaces, as known on `as_of`; later ones are not read.
    pub fn gather<'a>(lines: impl IntoIterator<Item = &'a Line>, as_of: Date) -> Self {
        let mut thousandths: Vec<i64> = Vec::new(); // newest first
        let mut left_out: Vec<bool> = Vec::new();
        for line in lines {
            let Some(ago) = months_ago(line.day, as_of) else { continue };
            if ago >= thousandths.len() {
                thousandths.resize(ago + 1, 0);
                left_out.resize(ago + 1, false);
            }
            match line.reason {
                Reason::OneOff => left_out[ago] = true,
                Reason::Returned => thousandths[ago] -= line.quantity.thousandths(),
                Reason::Issued | Reason::Lost => thousandths[ago] += line.quantity.thousandths(),
            }
        }
        take_back_returns(&mut thousandths);
        let months = thousandths
            .iter()
            .zip(&left_out)
            .rev()
            .filter(|&(_, left_out)| !left_out)
            .map(|(&amount, _)| amount as f64 / 1000.0)
            .collect();
        Self { months }
    }

    /// The months from the first sale on; empty when nothing was ever sold.
    pub fn since_first_sale(&self) -> &[f64] {
        let first = self.months.iter().position(|&sold| sold > 0.0).unwrap_or(self.months.len());
        &self.months[first..]
    }
}

/// More came back in a month than went out: what came back went out earlier, latest first. What
/// never went out in the time we know is not demand.
fn take_back_returns(newest_first: &mut [i64]) {
    let mut owed = 0;
    for month in newest_first {
        *month -= owed;
        owed = (-*month).max(0);
        *month = (*month).max(0);
    }
}

/// How many months before the newest one a day falls; `None` when it is after `as_of`. The last day
/// of a month counts as its 31st, so that months of different length stay apart.
fn months_ago(day: Date, as_of: Date) -> Option<usize> {
    if day > as_of {
        return None;
    }
    let months = |date: Date| i32::from(date.year()) * 12 + i32::from(date.month());
    let within = |date: Date| if date == date.last_of_month() { 31 } else { date.day() };
    let later_in_month = i32::from(within(day) > within(as_of));
    usize::try_from(months(as_of) - months(day) - later_in_month).ok()
}

/// Returns for each item the one that stands for it today: itself, or the end of its chain of
/// replacements (`replaced_by`, one entry an item).
///
/// # Errors
///
/// [`BuyingError::ReplacedByItself`] when a chain runs in a circle, [`BuyingError::NoSuchItem`] when
/// it leaves the list.
pub fn stands_for(replaced_by: &[Option<usize>]) -> Result<Vec<usize>, BuyingError> {
    let mut ends: Vec<Option<usize>> = vec![None; replaced_by.len()];
    for item in 0..replaced_by.len() {
        let (mut at, mut path) = (item, Vec::new());
        let end = loop {
            if let Some(end) = ends[at] {
                break end;
            }
            path.push(at);
            match replaced_by[at] {
                None => break at,
                Some(by) if by >= replaced_by.len() => {
                    return Err(BuyingError::NoSuchItem { item: at, by });
                }
                Some(_) if path.len() > replaced_by.len() => {
                    return Err(BuyingError::ReplacedByItself { item });
                }
                Some(by) => at = by,
            }
        };
        path.into_iter().for_each(|passed| ends[passed] = Some(end));
    }
    Ok(ends.into_iter().flatten().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn line(day: Date, quantity: i32, reason: Reason) -> Line {
        Line { day, quantity: Quantity::whole(quantity), reason }
    }

    fn issued(day: Date, quantity: i32) -> Line {
        line(day, quantity, Reason::Issued)
    }

    #[test]
    fn months_are_dense_and_end_on_the_as_of_day() {
        let lines = [issued(date(2026, 1, 31), 4), issued(date(2026, 4, 2), 1)];
        assert_eq!(History::gather(&lines, date(2026, 4, 30)).months, [4.0, 0.0, 0.0, 1.0]);
        // On 15 April the newest month runs from 16 March; January's last day is three of those back.
        assert_eq!(History::gather(&lines, date(2026, 4, 15)).months, [4.0, 0.0, 1.0]);
        assert_eq!(History::gather(&lines, date(2026, 4, 1)).months, [4.0, 0.0, 0.0]);
        assert_eq!(History::gather(&lines, date(2026, 1, 30)).months, [0.0; 0]);
    }

    #[test]
    fn whole_months_never_share_a_month_whatever_the_as_of_day() {
        let lines: Vec<Line> = (1..=12)
            .map(|month| Line::of_month(date(2025, month, 1), Quantity::whole(i32::from(month))))
            .collect();
        let mut day = date(2025, 12, 31);
        while day < date(2027, 3, 5) {
            let months = History::gather(&lines, day).months;
            let sold: Vec<f64> = months.iter().copied().take(12).collect();
            assert_eq!(sold, (1..=12).map(f64::from).collect::<Vec<_>>(), "as of {day}");
            day = day.tomorrow().unwrap();
        }
    }

    #[test]
    fn returns_are_taken_from_the_newest_issues() {
        let as_of = date(2026, 3, 31);
        let lines = [
            issued(date(2026, 1, 5), 5),
            issued(date(2026, 2, 5), 2),
            line(date(2026, 3, 5), 3, Reason::Returned),
        ];
        assert_eq!(History::gather(&lines, as_of).months, [4.0, 0.0, 0.0]);
        let more_than_sold = [issued(date(2026, 2, 5), 2), issued(date(2026, 3, 5), -9)];
        assert_eq!(History::gather(&more_than_sold, as_of).months, [0.0, 0.0]);
    }

    #[test]
    fn lost_sales_count_and_one_off_months_do_not() {
        let lines = [
            issued(date(2026, 1, 5), 1),
            line(date(2026, 1, 9), 2, Reason::Lost),
            issued(date(2026, 2, 5), 80),
            line(date(2026, 2, 5), 0, Reason::OneOff),
            issued(date(2026, 3, 5), 2),
        ];
        assert_eq!(History::gather(&lines, date(2026, 3, 31)).months, [3.0, 2.0]);
    }

    #[test]
    fn chains_of_replacements_end_and_circles_are_named() {
        assert_eq!(stands_for(&[Some(1), Some(2), None, None]).unwrap(), [2, 2, 2, 3]);
        let circle = stands_for(&[None, Some(2), Some(1)]);
        assert_eq!(circle, Err(BuyingError::ReplacedByItself { item: 1 }));
        assert_eq!(stands_for(&[Some(7)]), Err(BuyingError::NoSuchItem { item: 0, by: 7 }));
    }
}
