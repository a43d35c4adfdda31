//! What can be pressed here? The keys in force, those that count where the person is first.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;
use ratatui::widgets::Paragraph;

use crate::actions::{Act, Context};
use crate::keys::Keys;
use crate::text::{cut, left};
use crate::theme::{Theme, Tone};

/// Draws whole lines in as many columns as there is room for; what is left stands on further pages,
/// of which `page` counts from 0 and is the last when there are fewer.
pub(crate) fn draw(
    keys: &Keys,
    here: Context,
    page: usize,
    frame: &mut Frame<'_>,
    area: Rect,
    theme: Theme,
) {
    let lines = lines(keys, here, theme);
    let wide = lines.iter().map(Line::width).max().unwrap_or(0) + 2;
    let across = (usize::from(area.width) / wide).max(1);
    let high = usize::from(area.height).saturating_sub(1).max(1);
    let pages = lines.len().div_ceil(high * across).max(1);
    let page = page.min(pages - 1);
    let shown = lines.chunks(high).skip(page * across).take(across);
    for (at, column) in shown.enumerate() {
        let x = area.x + (at * wide) as u16;
        let width = area.right().saturating_sub(x).min(wide as u16);
        let place = Rect { x, width, height: high as u16, ..area };
        let fit =
            |line: &Line<'_>| Line::styled(cut(&line.to_string(), width.into(), theme), line.style);
        frame.render_widget(Paragraph::new(column.iter().map(fit).collect::<Vec<_>>()), place);
    }
    let [down, up] = [Act::PageDown, Act::PageUp].map(|act| keys.of(here, act));
    let foot = match pages {
        1 => "Any key goes back.".to_owned(),
        _ => format!("Page {} of {pages}, {down} {up}; any other key goes back.", page + 1),
    };
    let last = Rect { y: area.bottom() - 1, height: 1, ..area };
    let foot = cut(&foot, area.width.into(), theme);
    frame.render_widget(Paragraph::new(foot).style(theme.style(Tone::Quiet)), last);
}

/// The context that the person is in stands first.
fn lines(keys: &Keys, here: Context, theme: Theme) -> Vec<Line<'static>> {
    let mut contexts = Context::ALL;
    contexts.sort_by_key(|context| *context != here);
    let mut lines: Vec<Line<'static>> = Vec::new();
    for context in contexts {
        let title = match context {
            Context::Everywhere => "On every screen",
            Context::Line => "While a line is typed",
            Context::List => "In a list",
        };
        lines.push(Line::styled(title, theme.style(Tone::Head)));
        for (action, keys) in keys.shown().iter().filter(|(row, _)| row.context == context) {
            let keys: Vec<String> = keys.iter().map(ToString::to_string).collect();
            let keys = left(&keys.join(" "), 14, theme);
            lines.push(Line::raw(format!("  {keys} {}", action.help)));
        }
    }
    lines
}
