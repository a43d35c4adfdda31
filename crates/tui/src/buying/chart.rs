//! How do months of demand become bars? Eighths of a cell, or three marks of ASCII; never colour.

use crate::text::{columns, left, right};
use crate::theme::Theme;

/// Columns of the scale on the left.
pub(super) const SCALE: usize = 7;

/// The widest a month is drawn.
const WIDEST: usize = 4;

/// Bars for the months ahead, whatever their number.
const AHEAD: usize = 2;

/// What is forecast of a month, and between what it lies eight times in ten.
#[derive(Debug, Clone, Copy)]
pub(super) struct Forecast {
    pub least: f64,
    pub mean: f64,
    pub most: f64,
}

/// `months`, oldest first, as `height` lines of at most `width` columns, the last of them saying
/// which months they are. A line runs through the level of the forecast a month and ends in its band, shaded
/// dark up to the least and light up to the most. Of more months than there is room for, the newest are drawn.
pub(super) fn bars(
    months: &[f64],
    forecast: Forecast,
    (width, height): (usize, usize),
    theme: Theme,
) -> Vec<String> {
    let room = width.saturating_sub(SCALE);
    let shown = &months[months.len().saturating_sub(room.saturating_sub(AHEAD))..];
    let Forecast { least, mean: forecast, most: band_top } = forecast;
    let most = shown.iter().copied().fold(forecast.max(band_top), f64::max);
    if shown.is_empty() || height < 2 || most <= 0.0 {
        return Vec::new();
    }
    let wide = (room / (shown.len() + AHEAD)).clamp(1, WIDEST);
    let high = height - 1;
    let at_forecast = ((forecast / most * high as f64) as usize).min(high - 1);
    let mut lines = Vec::with_capacity(height);
    for row in (0..high).rev() {
        let on_line = row == at_forecast;
        let scale = match row {
            _ if on_line => format!("{forecast:.1}"),
            row if row == high - 1 => format!("{most:.1}"),
            _ => String::new(),
        };
        let empty = if on_line { line_mark(theme) } else { " " };
        let mut line = right(&scale, SCALE - 1, theme) + empty;
        for &month in shown {
            let eighths = eighths(month, most, high).saturating_sub(8 * row).min(8);
            let cell = match eighths {
                0 if row == 0 && !on_line => theme.mark("·", "_"),
                0 => empty,
                some => block(some, theme),
            };
            // A bar leaves a column free to the next where there is room.
            let bar = (wide - 1).max(1);
            line.push_str(&cell.repeat(bar));
            line.push_str(&empty.repeat(wide - bar));
        }
        let (foot, head) = (row as f64 / high as f64 * most, (row + 1) as f64 / high as f64 * most);
        let band = match () {
            () if head <= least => theme.mark("▒", "="),
            () if foot < band_top => theme.mark("░", ":"),
            () => empty,
        };
        line.push_str(&band.repeat(AHEAD * wide));
        lines.push(line.trim_end().to_owned());
    }
    let oldest = format!("{} months ago", shown.len());
    let now_at = (wide * shown.len()).saturating_sub(4);
    let oldest = if columns(&oldest) < now_at { &oldest } else { "" };
    let named = left(oldest, now_at, theme) + "now ahead";
    lines.push(" ".repeat(SCALE) + &named);
    lines
}

/// What the line through the forecast is drawn with.
pub(super) fn line_mark(theme: Theme) -> &'static str {
    theme.mark("┄", "-")
}

/// Height of a bar in eighths of a cell; what is not zero is seen.
fn eighths(month: f64, most: f64, high: usize) -> usize {
    let eighths = (month / most * (8 * high) as f64).round() as usize;
    eighths.max(usize::from(month > 0.0))
}

fn block(eighths: usize, theme: Theme) -> &'static str {
    const FINE: [&str; 8] = ["▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"];
    const PLAIN: [&str; 8] = [".", ".", ".", ":", ":", ":", "#", "#"];
    let marks = if theme.ascii { PLAIN } else { FINE };
    marks[eighths.clamp(1, 8) - 1]
}

#[cfg(test)]
mod tests {
    use super::*;

    const ASCII: Theme = Theme { palette: crate::theme::Palette::Mono, ascii: true };

    #[test]
    fn a_bar_is_as_high_as_its_month_and_the_forecast_runs_between() {
        let months = [0.0, 4.0, 2.0, 0.1];
        let forecast = Forecast { least: 1.0, mean: 1.0, most: 2.5 };
        let fine = bars(&months, forecast, (31, 5), Theme::default());
        let wanted = [
            "   4.0     ███",
            "           ███         ░░░░░░░░",
            "   1.0┄┄┄┄┄███┄███┄┄┄┄┄░░░░░░░░",
            "       ··· ███ ███ ▁▁▁ ▒▒▒▒▒▒▒▒",
            "                   now ahead",
        ];
        assert_eq!(fine, wanted);
        let plain = bars(&months, forecast, (31, 5), ASCII);
        assert_eq!(plain[2], "   1.0-----###-###-----::::::::");
        assert_eq!(plain[3], "       ___ ### ### ... ========");
    }

    #[test]
    fn of_too_many_months_the_newest_are_drawn() {
        let mut months = vec![9.0; 100];
        months.extend([1.0; 10]);
        let none = Forecast { least: 0.0, mean: 0.0, most: 0.0 };
        let lines = bars(&months, none, (SCALE + 10 + AHEAD, 3), ASCII);
        assert_eq!(lines[0], "   1.0 ##########");
    }

    #[test]
    fn nothing_wanted_draws_nothing() {
        let of = |mean| Forecast { least: 0.0, mean, most: mean };
        assert!(bars(&[0.0; 12], of(0.0), (80, 8), ASCII).is_empty());
        assert!(bars(&[], of(1.0), (80, 8), ASCII).is_empty());
    }
}
