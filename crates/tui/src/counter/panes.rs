//! What is known of the chosen part? Its sheet with the drawing, crosses, units, bins.

use binwright_shop::answer::{Compared, InBin, Verdict};
use binwright_shop::catalog::Quantity;
use binwright_shop::sheet::OnCard;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use super::{Counter, Pane, Row, drawing};
use crate::text::{cut, left, right};
use crate::theme::{Theme, Tone};

pub(super) fn draw(desk: &Counter, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    let Some(row) = desk.chosen() else { return };
    let width = usize::from(area.width);
    let lines = match desk.pane {
        Pane::Sheet => return sheet(desk, row, frame, area, theme),
        Pane::Crosses => crosses(row, width, theme),
        Pane::Units => units(row, width, theme),
        Pane::Bins => bins(row, width, theme),
    };
    scrolled(desk, lines, frame, area);
}

fn scrolled(desk: &Counter, lines: Vec<Line<'static>>, frame: &mut Frame<'_>, area: Rect) {
    let last = lines.len().saturating_sub(usize::from(area.height));
    let from = desk.scroll.min(last);
    frame.render_widget(Paragraph::new(lines).scroll((from as u16, 0)), area);
}

impl Counter {
    /// Lines of the pane shown, as a bound for scrolling.
    pub(super) fn pane_lines(&self) -> usize {
        let Some(row) = self.chosen() else { return 0 };
        match self.pane {
            Pane::Sheet => row.sheet.as_ref().map_or(0, |sheet| sheet.measures.len()),
            Pane::Crosses => 2 * row.supply.crosses.len(),
            Pane::Units => row.supply.units.len(),
            Pane::Bins => row.supply.stock.len() + row.supply.prices.len(),
        }
    }
}

fn sheet(desk: &Counter, row: &Row, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    let Some(sheet) = &row.sheet else { return };
    let (plan, table) = match &sheet.drawing {
        // The drawing gets what is left of the table, about as wide as it is high.
        Some(_) => {
            let wide = (area.height * 2 + 8).clamp(20, (area.width * 9 / 20).max(20));
            let [plan, _, table] = Layout::horizontal([
                Constraint::Length(wide),
                Constraint::Length(1),
                Constraint::Min(20),
            ])
            .areas(area);
            (Some(plan), table)
        }
        None => (None, area),
    };
    if let (Some(plan), Some(drawing)) = (plan, &sheet.drawing) {
        drawing::draw(drawing, frame, plan, theme);
    }
    let width = usize::from(table.width);
    let taken = |card: &OnCard| row.compared.iter().find(|c| c.measure == card.measure);
    let mut lines = Vec::new();
    if row.wrong_hand {
        lines.push(Line::styled(
            cut("! WRONG HAND: fits only in the mirror", width, theme),
            theme.style(Tone::Outside),
        ));
    }
    for far in &desk.shown.far {
        let text = format!("! {}", far.in_short());
        lines.push(Line::styled(cut(&text, width, theme), theme.style(Tone::Outside)));
    }
    if let Some(points) = &row.points {
        let text = format!("  {points}");
        lines.push(Line::styled(cut(&text, width, theme), theme.style(Tone::Taken)));
    }
    // What was taken stands first.
    for card in sheet.measures.iter().filter(|card| taken(card).is_some()) {
        lines.push(measure(card, taken(card), width, theme));
    }
    for card in sheet.measures.iter().filter(|card| taken(card).is_none()) {
        lines.push(measure(card, None, width, theme));
    }
    scrolled(desk, lines, frame, table);
}

/// One measure: sign, label, taken, as on the card, deviation, verdict.
fn measure(card: &OnCard, taken: Option<&Compared>, width: usize, theme: Theme) -> Line<'static> {
    let (sign, verdict, tone) = match taken.map(|taken| taken.verdict) {
        None => (" ", "", Tone::Quiet),
        Some(Verdict::Unknown) => ("?", "gap", Tone::Near),
        Some(verdict @ Verdict::Inside) => ("=", verdict.word(), Tone::Inside),
        Some(verdict @ Verdict::Near) => ("~", verdict.word(), Tone::Near),
        Some(verdict) => ("!", verdict.word(), Tone::Outside),
    };
    let nominal = match (taken.and_then(|t| t.lent_by.as_ref()), &card.nominal) {
        (_, Some(nominal)) => nominal.clone(),
        (Some(by), None) => {
            let lent = taken.and_then(|taken| taken.nominal.clone()).unwrap_or_default();
            format!("gap, {lent} by {by}")
        }
        (None, None) => "gap".to_owned(),
    };
    let off = taken.and_then(|taken| taken.deviation).filter(|off| *off != 0.0);
    let whole = card.unit.is_empty();
    let off =
        off.map_or_else(
            String::new,
            |off| {
                if whole { format!("{off:+}") } else { format!("{off:+.2}") }
            },
        );
    let said = taken.map_or("", |taken| taken.taken.as_str());
    let label = width.saturating_sub(2 + 9 + 9 + 7 + 8).clamp(10, 26);
    let known = width.saturating_sub(2 + label + 9 + 7 + 8);
    let quiet = theme.style(Tone::Quiet);
    let styled = |text: String, tone: Tone| Span::styled(text, theme.style(tone));
    let name = if taken.is_some() { Tone::Plain } else { Tone::Quiet };
    Line::from(vec![
        styled(format!("{sign} "), tone),
        styled(left(&card.label, label, theme), name),
        styled(right(said, 8, theme) + " ", Tone::Taken),
        Span::styled(
            left(&nominal, known, theme),
            if taken.is_some() { theme.style(Tone::Plain) } else { quiet },
        ),
        styled(right(&off, 7, theme), tone),
        styled(format!(" {}", cut(verdict, 7, theme)), tone),
    ])
}

fn says(text: &str, theme: Theme) -> Vec<Line<'static>> {
    vec![Line::styled(format!("  {text}"), theme.style(Tone::Quiet))]
}

fn crosses(row: &Row, width: usize, theme: Theme) -> Vec<Line<'static>> {
    if row.supply.crosses.is_empty() {
        return says("no cross is known", theme);
    }
    let mut lines = Vec::new();
    for cross in &row.supply.crosses {
        // The arrow says which way it may be used: from what is needed to what takes its place.
        let arrow = match (cross.kind, cross.forward) {
            (binwright_shop::catalog::CrossKind::Same, _) => theme.mark("⇄", "="),
            (_, true) => theme.mark("←", "<"),
            (_, false) => theme.mark("→", ">"),
        };
        let many = if cross.quantity == Quantity::ONE {
            String::new()
        } else {
            format!(" x {}", cross.quantity)
        };
        let bins: Vec<String> = cross.stock.iter().map(InBin::words).collect();
        let bins = if bins.is_empty() { "none in the bins".to_owned() } else { bins.join(", ") };
        let head = format!("{arrow} {} ", left(cross.words(), 22, theme));
        let number = cut(&format!("{}{many}", cross.number), 20, theme);
        let room = width.saturating_sub(25 + number.len());
        lines.push(Line::from(vec![
            Span::raw(head),
            Span::styled(number, theme.style(Tone::Head)),
            Span::raw(cut(&format!("  {bins}"), room, theme)),
        ]));
        let way = if cross.by_way_of.is_empty() {
            String::new()
        } else {
            format!("by way of {}. ", cross.by_way_of.join(", "))
        };
        let note = format!("{way}{}", cross.remark);
        if !note.is_empty() {
            let text = cut(&format!("  {note}"), width, theme);
            lines.push(Line::styled(text, theme.style(Tone::Quiet)));
        }
    }
    lines
}

fn units(row: &Row, width: usize, theme: Theme) -> Vec<Line<'static>> {
    if row.supply.units.is_empty() {
        return says("no unit is known to take it", theme);
    }
    let line = |unit: &binwright_shop::answer::UnitRole| {
        let text = format!("  {}  as {}", unit.description, unit.role);
        Line::from(vec![
            Span::raw("  "),
            Span::styled(left(&unit.unit, 14, theme), theme.style(Tone::Head)),
            Span::raw(cut(&text, width.saturating_sub(16), theme)),
        ])
    };
    row.supply.units.iter().map(line).collect()
}

fn bins(row: &Row, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let mut lines: Vec<Line<'static>> = row
        .supply
        .stock
        .iter()
        .map(|line| {
            let free = format!("{} free of {}{}", line.free, line.on_hand, line.away());
            Line::from(vec![
                Span::raw("  "),
                Span::styled(left(&line.bin, 12, theme), theme.style(Tone::Head)),
                Span::raw(left(line.condition.word(), 12, theme)),
                Span::raw(cut(&free, width.saturating_sub(26), theme)),
            ])
        })
        .collect();
    if lines.is_empty() {
        lines = says("none in the bins", theme);
    }
    for price in &row.supply.prices {
        let text = format!("  price {} {}", price.price, price.list);
        lines.push(Line::raw(cut(&text, width, theme)));
    }
    lines
}
