//! How does the answer list read? Probability, number, maker, what differs, free stock, price.

use binwright_shop::answer::Supply;
use binwright_shop::catalog::{Condition, Quantity};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use super::{Counter, Row};
use crate::text::{columns, cut, left, right};
use crate::theme::{Theme, Tone};
use binwright_shop::catalog::shown::percent;

/// Rows that the list gets on a screen of `height`.
pub(super) fn height(desk: &Counter, height: u16) -> u16 {
    let most = (height / 3).max(3);
    let wanted = desk.shown.rows.len() as u16 + u16::from(desk.shown.none.is_some());
    wanted.clamp(3, most)
}

pub(super) fn draw(desk: &Counter, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    if area.height == 0 {
        return;
    }
    let width = usize::from(area.width);
    let foot =
        desk.shown.none.map(|none| none_line(none, desk.shown.rows.is_empty(), width, theme));
    let room = usize::from(area.height) - usize::from(foot.is_some());
    // The cursor's row is always among those shown.
    let first = (desk.cursor + 1).saturating_sub(room);
    let fit = Columns::of(desk, width);
    let shown = desk.shown.rows.iter().enumerate().skip(first).take(room);
    let mut lines: Vec<Line<'_>> =
        shown.map(|(at, row)| line(desk, at, row, &fit, theme)).collect();
    if desk.shown.rows.is_empty() && desk.shown.none.is_none() && !desk.line.value().is_empty() {
        let text = if desk.waiting { "  asking" } else { "  nothing found" };
        lines.push(Line::styled(text, theme.style(Tone::Quiet)));
    }
    lines.extend(foot);
    frame.render_widget(Paragraph::new(lines), area);
}

fn none_line(none: f64, alone: bool, width: usize, theme: Theme) -> Line<'static> {
    let says = if alone { "no part of the shop comes near" } else { "none of ours" };
    let text = format!("  {} {} {says}", right(&percent(none), 7, theme), bar(none, theme));
    Line::styled(cut(&text, width, theme), theme.style(Tone::Quiet))
}

/// The widths of the columns that vary.
struct Columns {
    lead: usize,
    number: usize,
    maker: usize,
    differs: usize,
    stock: usize,
    price: usize,
}

impl Columns {
    fn of(desk: &Counter, width: usize) -> Self {
        let widest = |text: &dyn Fn(&Row) -> String, most: usize| {
            desk.shown.rows.iter().map(|row| columns(&text(row))).max().unwrap_or(0).min(most)
        };
        let lead = if desk.shown.none.is_some() { 14 } else { widest(&|row| row.how.clone(), 20) };
        let number = widest(&|row| row.number.clone(), 16);
        let maker = if width < 72 { 0 } else { widest(&|row| row.maker.clone(), 10) };
        let stock = widest(&|row| stock(&row.supply), 14);
        let price = widest(&|row| price(&row.supply), 12);
        let spaces = 2 + 4 + usize::from(maker > 0);
        let differs = width.saturating_sub(lead + number + maker + stock + price + spaces);
        Self { lead, number, maker, differs, stock, price }
    }
}

fn line(desk: &Counter, at: usize, row: &Row, fit: &Columns, theme: Theme) -> Line<'static> {
    let on = at == desk.cursor;
    let marked = if desk.marked.contains(&row.number) { "*" } else { " " };
    let mark = format!("{}{marked}", if on { theme.mark("▸", ">") } else { " " });
    let lead = match row.chance {
        Some(chance) => format!("{} {}", right(&percent(chance), 7, theme), bar(chance, theme)),
        None => left(&row.how, fit.lead, theme),
    };
    let (differs, tone) = differs(at, row, fit.differs);
    let mut spans = vec![
        Span::raw(mark),
        Span::raw(lead),
        Span::styled(format!(" {}", left(&row.number, fit.number, theme)), theme.style(Tone::Head)),
    ];
    if fit.maker > 0 {
        spans.push(Span::raw(format!(" {}", left(&row.maker, fit.maker, theme))));
    }
    spans.push(Span::styled(format!(" {}", left(&differs, fit.differs, theme)), theme.style(tone)));
    spans.push(Span::raw(format!(" {}", left(&stock(&row.supply), fit.stock, theme))));
    spans.push(Span::raw(format!(" {}", right(&price(&row.supply), fit.price, theme))));
    let line = Line::from(spans);
    if on && desk.in_list { line.style(theme.style(Tone::Cursor)) } else { line }
}

/// A bar of six columns.
fn bar(share: f64, theme: Theme) -> String {
    let cells = (share.clamp(0.0, 1.0) * 6.0).round() as usize;
    theme.mark("█", "#").repeat(cells) + &theme.mark("·", ".").repeat(6 - cells)
}

/// What tells a row from the first, in short words where `wide` columns are too few for more: the
/// plainest measure; of the first, and of hits, what it is.
fn differs(at: usize, row: &Row, wide: usize) -> (String, Tone) {
    if row.wrong_hand {
        return ("WRONG HAND".to_owned(), Tone::Outside);
    }
    if at == 0 || row.chance.is_none() {
        return (row.description.clone(), Tone::Plain);
    }
    match row.sheet.as_ref().and_then(|sheet| sheet.apart.first()) {
        Some(apart) => {
            let full = apart.in_full();
            (if columns(&full) <= wide { full } else { apart.in_short() }, Tone::Plain)
        }
        None => (row.description.clone(), Tone::Quiet),
    }
}

/// Free stock and the bin it lies in; what a cross has when there is none.
fn stock(supply: &Supply) -> String {
    let for_sale = || supply.stock.iter().filter(|line| line.condition != Condition::Core);
    let sum = |sum: Quantity, free: Quantity| sum.checked_add(free).unwrap_or(sum);
    let here = for_sale().filter(|line| line.here != Some(false));
    let free = here.map(|line| line.free).fold(Quantity::ZERO, sum);
    if free.is_positive() {
        // Of several bins the one with new parts is walked to first.
        let here = || for_sale().filter(|line| line.free.is_positive() && line.here != Some(false));
        let new = here().find(|line| line.condition == Condition::New);
        let bin = new.or_else(|| here().next()).map_or("", |line| &line.bin);
        return format!("{free} {bin}");
    }
    // The nearest branch stands first.
    let far = for_sale().find(|line| line.free.is_positive());
    if let Some((branch, free)) = far.and_then(|line| Some((line.branch.as_ref()?, line.free))) {
        return format!("0, {branch} {free}");
    }
    let crossed = supply.crosses.iter().map(|cross| cross.free).fold(Quantity::ZERO, sum);
    if crossed.is_positive() { format!("0, cross {crossed}") } else { "0".to_owned() }
}

/// What it is sold for; a deposit is no price.
fn price(supply: &Supply) -> String {
    let sold = supply.prices.iter().find(|price| price.sells);
    sold.map_or_else(String::new, |price| price.price.to_string())
}
