//! How does the stock of a part go on until the next order could come? Drawn day by day.

use binwright_shop::buying::AdvisedLine;
use jiff::ToSpan;
use jiff::civil::Date;

use super::chart::{SCALE, line_mark};
use crate::text::{cut, left, right};
use crate::theme::Theme;

/// Stock over the days that are covered: what is free, what comes, what is used.
struct Course<'a> {
    line: &'a AdvisedLine,
    /// Day from today, and how many come.
    coming: Vec<(f64, f64)>,
}

impl<'a> Course<'a> {
    fn of(line: &'a AdvisedLine, as_of: Date) -> Self {
        let days = |day: Date| f64::from((day - as_of).get_days().max(0));
        let lead = f64::from(line.lead_days);
        let mut coming: Vec<(f64, f64)> = line
            .coming
            .iter()
            .map(|one| (one.due.map_or(lead, days), one.quantity.thousandths() as f64 / 1000.0))
            .collect();
        coming.push((lead, line.order as f64));
        Self { line, coming }
    }

    /// Least, expected and most stock after so many days, four times in five. What is used strays from
    /// its mean with the root of the time.
    fn after(&self, day: f64) -> [f64; 3] {
        let ahead = &self.line.ahead;
        let here: f64 = self.coming.iter().filter(|(on, _)| *on <= day).map(|(_, many)| many).sum();
        let here = here + self.line.free.thousandths() as f64 / 1000.0;
        let share = day / f64::from(self.line.cover_days.max(1));
        let used = |end: f64| ahead.mean * share + (end - ahead.mean) * share.sqrt();
        [here - used(ahead.most), here - ahead.mean * share, here - used(ahead.least)]
    }
}

/// The stock of `line` from `as_of` until an order placed at the next look could be here, as `height` lines
/// of at most `width` columns, the last two of them telling what comes when.
pub(super) fn drawn(
    line: &AdvisedLine,
    as_of: Date,
    (width, height): (usize, usize),
    theme: Theme,
) -> Vec<String> {
    let (room, rows) = (width.saturating_sub(SCALE), height.saturating_sub(2));
    if room < 10 || rows < 2 {
        return Vec::new();
    }
    let course = Course::of(line, as_of);
    let day_of = |column: usize| column as f64 * f64::from(line.cover_days) / (room - 1) as f64;
    let stock: Vec<[f64; 3]> = (0..room).map(|column| course.after(day_of(column))).collect();
    let top = stock.iter().map(|[.., most]| *most).fold(1.0, f64::max);
    let bottom = stock.iter().map(|[least, ..]| *least).fold(0.0, f64::min);
    let step = (top - bottom) / (rows - 1) as f64;
    let row_of = |units: f64| ((top - units) / step).round() as usize;
    let nought = row_of(0.0);
    let mut lines = Vec::with_capacity(height);
    for row in 0..rows {
        let scale = match row {
            row if row == nought => "0".to_owned(),
            0 => format!("{top:.0}"),
            row if row == rows - 1 => format!("{bottom:.0}"),
            _ => String::new(),
        };
        let mut text = right(&scale, SCALE - 1, theme) + " ";
        for [least, expected, most] in &stock {
            text.push_str(match row {
                row if row == row_of(*expected) => expected_mark(theme),
                row if (row_of(*most)..=row_of(*least)).contains(&row) => band_mark(theme),
                row if row == nought => line_mark(theme),
                _ => " ",
            });
        }
        lines.push(text.trim_end().to_owned());
    }
    let at = |day: f64| (0..room).find(|column| day_of(*column) >= day);
    let mut marks = vec![" "; room];
    for column in course.coming.iter().filter(|(_, many)| *many > 0.0).filter_map(|(on, _)| at(*on))
    {
        marks[column] = theme.mark("▲", "^");
    }
    let end = as_of.saturating_add(i64::from(line.cover_days).days()).to_string();
    let axis = left("today", room.saturating_sub(end.len()), theme) + &end;
    lines.push(" ".repeat(SCALE) + marks.concat().trim_end());
    lines.push(" ".repeat(SCALE) + &axis);
    lines
}

/// What comes when, in words: the mark, how many, of what, on which day.
pub(super) fn told(line: &AdvisedLine, as_of: Date, width: usize, theme: Theme) -> String {
    let mut said: Vec<String> = line
        .coming
        .iter()
        .map(|one| {
            let day = one.due.map_or_else(|| "no day said".to_owned(), |day| day.to_string());
            let late = if one.due.is_some_and(|day| day < as_of) { ", late" } else { "" };
            format!("{} of {} {day}{late}", one.quantity, one.order)
        })
        .collect();
    if line.order > 0 {
        let day = as_of.saturating_add(i64::from(line.lead_days).days());
        said.push(format!("{} ordered today {day}", line.order));
    }
    let comes = if said.is_empty() { "nothing comes".to_owned() } else { said.join("; ") };
    let (expected, band) = (expected_mark(theme).repeat(2), band_mark(theme).repeat(2));
    cut(&format!("stock: {expected} expected, {band} 8 in 10; {comes}"), width, theme)
}

fn expected_mark(theme: Theme) -> &'static str {
    theme.mark("━", "=")
}

fn band_mark(theme: Theme) -> &'static str {
    theme.mark("░", ".")
}
