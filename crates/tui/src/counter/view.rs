//! How is the counter laid out? Line, what was read of it, answers, the chosen part, what next.

use binwright_shop::entry::{Entry, Reading, Term};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use super::{Aid, Counter, Pane, Row, list, panes};
use crate::actions::{Act, Context};
use crate::text::{clean, columns, cut, left, scrolled, wrapped};
use crate::theme::{Theme, Tone};

pub(super) fn draw(desk: &Counter, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    // On a small screen a slip needs the rows of the list.
    let gives_way = desk.whole || area.height < 20 && matches!(desk.aid, Some(Aid::Slip(_)));
    let rows = if gives_way { 0 } else { list::height(desk, area.height) };
    let told = reading(desk, usize::from(area.width), theme);
    let foot = if area.height < 20 { 2 } else { 3 };
    let [line, read, list, rule, pane, next] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Length(told.len().clamp(1, 3) as u16),
        Constraint::Length(rows),
        Constraint::Length(1),
        Constraint::Min(3),
        Constraint::Length(foot),
    ])
    .areas(area);
    entry_line(desk, frame, line, theme);
    frame.render_widget(Paragraph::new(told), read);
    list::draw(desk, frame, list, theme);
    let lower = Rect { height: rule.height + pane.height + next.height, ..rule };
    match &desk.aid {
        Some(Aid::Guide(guide)) => return guide.view(frame, lower, &desk.keys, theme),
        Some(Aid::Points(points)) => return points.view(frame, lower, &desk.keys, theme),
        Some(Aid::Slip(slip)) => return slip.view(frame, lower, &desk.keys, theme),
        None => {}
    }
    frame.render_widget(Paragraph::new(pane_rule(desk, usize::from(rule.width), theme)), rule);
    panes::draw(desk, frame, pane, theme);
    frame.render_widget(
        Paragraph::new(foot_lines(desk, usize::from(next.width), foot, theme)),
        next,
    );
}

fn entry_line(desk: &Counter, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    let lead = theme.mark("▏", "| ");
    let lead = if desk.in_list { "  " } else { lead };
    let lead = left(lead, 2, theme);
    let room = usize::from(area.width).saturating_sub(3);
    let (shown, at) = scrolled(&desk.line, room);
    let empty = desk.line.value().is_empty();
    let text = if empty {
        let hint = "a number, words, or a kind and measures: plate od 112.3 lugs 3 m8";
        Span::styled(cut(hint, room, theme), theme.style(Tone::Quiet))
    } else {
        Span::styled(cut(&shown, room, theme), theme.style(Tone::Head))
    };
    frame.render_widget(Paragraph::new(Line::from(vec![lead.into(), text])), area);
    if !desk.in_list && desk.aid.is_none() {
        frame.set_cursor_position(Position::new(area.x + 2 + at as u16, area.y));
    }
}

/// What was understood of the line.
fn reading(desk: &Counter, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let quiet = theme.style(Tone::Quiet);
    if let Some(what) = &desk.trouble {
        let text = format!("! {what}");
        let style = theme.style(Tone::Outside);
        let lines = wrapped(&text, width.saturating_sub(2), theme).into_iter();
        return lines.map(|line| Line::styled(format!("  {line}"), style)).collect();
    }
    vec![match &desk.read {
        None => Line::styled("  opening the shop", quiet),
        Some(Entry::Nothing) => Line::default(),
        Some(Entry::Find(_)) if desk.waiting => Line::styled("  find", quiet),
        Some(Entry::Find(_)) if desk.shown.unit.is_some() => {
            let unit = desk.shown.unit.as_deref().unwrap_or_default();
            let bench = desk.keys.of(Context::Line, Act::Desk(1));
            let says = format!("; {bench} takes it on the bench");
            let unit = cut(&format!("  a unit: {unit}"), width.saturating_sub(says.len()), theme);
            Line::styled(unit + &says, theme.style(Tone::Head))
        }
        Some(Entry::Find(_)) => {
            let told = desk.shown.standard.first().map_or("  find", String::as_str);
            let lead = if desk.shown.standard.is_empty() { "" } else { "  standard: " };
            Line::styled(cut(&format!("{lead}{told}"), width, theme), quiet)
        }
        Some(Entry::Fit(reading)) => return terms(reading, width, theme),
    }]
}

/// What was read, term by term; what is wrong is never cut short as long as there is a line.
fn terms(reading: &Reading, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut spans = vec![Span::raw("  ")];
    let mut used = 2;
    for (at, term) in reading.terms.iter().enumerate() {
        let (text, tone) = match term {
            Term::Kind(kind) => (kind.clone(), Tone::Head),
            Term::Measure { label, value, .. } => (format!("{label} {value}"), Tone::Taken),
            Term::Points(1) => ("1 point".to_owned(), Tone::Taken),
            Term::Points(count) => (format!("{count} points"), Tone::Taken),
            Term::Distances(1) => ("1 distance".to_owned(), Tone::Taken),
            Term::Distances(count) => (format!("{count} distances"), Tone::Taken),
            Term::Open(what) => (format!("{what} .."), Tone::Quiet),
            Term::Trouble { word, says } => (format!("! {word}: {says}"), Tone::Outside),
        };
        let wide = columns(&text) + 2;
        if tone == Tone::Outside && used > 2 && used + wide > width {
            lines.push(Line::from(std::mem::replace(&mut spans, vec![Span::raw("  ")])));
            used = 2;
        }
        let lead = if at == 0 || used == 2 { "" } else { ", " };
        let text = cut(&format!("{lead}{text}"), width.saturating_sub(used), theme);
        used += columns(&text);
        spans.push(Span::styled(text, theme.style(tone)));
    }
    lines.push(Line::from(spans));
    lines
}

/// The rule between list and pane: the chosen part and which pane is shown.
fn pane_rule(desk: &Counter, width: usize, theme: Theme) -> Line<'static> {
    let dash = theme.mark("─", "-");
    let quiet = theme.style(Tone::Quiet);
    let mut spans = Vec::new();
    for pane in Pane::ALL {
        let name = pane.name();
        let shown = pane == desk.pane;
        // Brackets say which pane is shown, so that it needs no colour.
        let text = if shown { format!("[{name}]") } else { format!(" {name} ") };
        spans.push(Span::styled(text, if shown { theme.style(Tone::Head) } else { quiet }));
    }
    let tabs: usize = spans.iter().map(Span::width).sum();
    let head = desk.chosen().map_or_else(String::new, |row| {
        let also = if row.also.is_empty() {
            String::new()
        } else {
            format!(" = {}", row.also.join(" = "))
        };
        format!(" {}{also}  {} ", row.number, row.description)
    });
    let head = cut(&head, width.saturating_sub(tabs + 3), theme);
    let fill = width.saturating_sub(tabs + 2 + columns(&head));
    let mut line =
        vec![Span::styled(dash.repeat(2), quiet), Span::styled(head, theme.style(Tone::Head))];
    line.push(Span::styled(dash.repeat(fill), quiet));
    line.extend(spans);
    Line::from(line)
}

/// The next measure to take, how, and what it would settle.
fn foot_lines(desk: &Counter, width: usize, lines: u16, theme: Theme) -> Vec<Line<'static>> {
    let quiet = theme.style(Tone::Quiet);
    let dash = theme.mark("─", "-");
    let mut foot = Vec::new();
    let Some(next) = desk.shown.next.first() else {
        if lines > 2 {
            foot.push(Line::styled(dash.repeat(width), quiet));
        }
        return foot;
    };
    if lines > 2 {
        let others: Vec<&str> =
            desk.shown.next.iter().skip(1).take(3).map(|n| n.label.as_str()).collect();
        let others =
            if others.is_empty() { String::new() } else { format!(" then {} ", others.join(", ")) };
        let others = cut(&others, width.saturating_sub(2), theme);
        let fill = width.saturating_sub(columns(&others) + 2);
        foot.push(Line::styled(format!("{}{others}{}", dash.repeat(2), dash.repeat(fill)), quiet));
    }
    let settles = settles(&desk.shown.rows, &next.measure)
        .map_or_else(String::new, |what| format!("; settles {what}"));
    let head = format!("{} ", clean(&next.label, theme));
    let rest = format!("{} min, {:.1} bit of doubt{settles}", next.minutes, next.gain_bits);
    let lead = theme.mark("▸ ", "> ");
    let room = width.saturating_sub(columns(&head) + 2 + 5);
    foot.push(Line::from(vec![
        Span::raw(lead),
        Span::raw("take "),
        Span::styled(head, theme.style(Tone::Head)),
        Span::raw(cut(&rest, room, theme)),
    ]));
    foot.push(Line::styled(cut(&format!("  {}", next.how), width, theme), quiet));
    foot
}

/// Which candidates a measure would tell apart: the first from the next that differs in it.
fn settles(rows: &[Row], measure: &str) -> Option<String> {
    let (first, others) = rows.split_first()?;
    let here = first.nominal(measure)?;
    let mut apart = others.iter().filter_map(|row| Some((row, row.nominal(measure)?)));
    let (other, there) = apart.find(|(_, there)| *there != here)?;
    Some(format!("{} {here} from {} {there}", first.number, other.number))
}
