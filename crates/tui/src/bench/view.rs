//! How is the bench laid out? Unit, panes, what the pane lists, what is told of the chosen one.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use super::typing::{Typing, What};
use super::{Bench, Benched, Pane, checks, covers, findings, paper, told};
use crate::actions::{Act, Context};
use crate::desk::Desk;
use crate::keys::Keys;
use crate::text::{columns, cut, left, rule, scrolled, told_wrong};
use crate::theme::{Theme, Tone};

/// What stands where nothing more is worth reading.
const STOP: &str = "stop here: more checks cannot change what you would order";

pub(super) fn draw(desk: &Bench, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    let width = usize::from(area.width);
    let benched = desk.benched.as_deref();
    let stops = benched.is_some_and(|benched| benched.answer.diagnosis.stop.stop);
    let asks = desk.typing.as_ref().is_some_and(|typing| !matches!(typing.what, What::Unit(_)));
    let told = panes_lines(desk, width, theme);
    let [unit, panes, stop, prompt, body] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Length(told.len().min(3) as u16),
        Constraint::Length(u16::from(stops)),
        Constraint::Length(u16::from(asks)),
        Constraint::Min(3),
    ])
    .areas(area);
    frame.render_widget(Paragraph::new(told), panes);
    let stop_text = cut(STOP, width, theme);
    frame.render_widget(Paragraph::new(Line::styled(stop_text, theme.style(Tone::Head))), stop);
    match &desk.typing {
        Some(typing) if !asks => {
            entry(typing, "unit", frame, unit, &desk.keys, theme);
            let lines = unit_lines(desk, typing, width, theme);
            frame.render_widget(Paragraph::new(lines), body);
            return;
        }
        Some(typing) => {
            let lead = asked_for(typing, benched);
            entry(typing, &lead, frame, prompt, &desk.keys, theme);
        }
        None => {}
    }
    frame.render_widget(Paragraph::new(unit_line(desk, width, theme)), unit);
    if let Some(benched) = benched {
        let size = (width, usize::from(body.height));
        frame.render_widget(Paragraph::new(pane(desk, benched, size, theme)), body);
    }
}

/// The line that is typed, after what it is for.
fn entry(
    typing: &Typing,
    lead: &str,
    frame: &mut Frame<'_>,
    area: Rect,
    keys: &Keys,
    theme: Theme,
) {
    let lead = format!("{lead} {} ", theme.mark("▏", ">"));
    let lead = cut(&lead, usize::from(area.width) / 2, theme);
    let at = columns(&lead);
    let room = usize::from(area.width).saturating_sub(at + 1);
    let (shown, cursor) = scrolled(&typing.line, room);
    let text = if typing.line.value().is_empty() {
        Span::styled(cut(&hint(typing, keys), room, theme), theme.style(Tone::Quiet))
    } else {
        Span::styled(cut(&shown, room, theme), theme.style(Tone::Head))
    };
    frame.render_widget(Paragraph::new(Line::from(vec![Span::raw(lead), text])), area);
    frame.set_cursor_position(Position::new(area.x + (at + cursor) as u16, area.y));
}

fn asked_for(typing: &Typing, benched: Option<&Benched>) -> String {
    match (&typing.what, benched) {
        (What::Reading(at), Some(benched)) => benched.checks[*at].code.clone(),
        (What::Part, Some(benched)) => {
            let role = benched.roles().get(typing.at.unwrap_or(0)).copied().unwrap_or_default();
            format!("part in {role}")
        }
        (What::Customer, _) => "for whom".to_owned(),
        _ => "unit".to_owned(),
    }
}

fn hint(typing: &Typing, keys: &Keys) -> String {
    let [enter, esc, down] =
        [Act::Accept, Act::Back, Act::Newer].map(|act| keys.of(Context::Line, act));
    match typing.what {
        What::Unit(_) => format!("its number or words; {down} chooses, {enter} takes it"),
        What::Reading(_) => {
            format!("type what was read, or choose with {down}; empty takes it back")
        }
        What::Part => "its number, or what was measured: plate od 112.3 lugs 3".to_owned(),
        What::Customer => {
            format!("may stay empty; {enter} makes the quote and holds stock, {esc} does not")
        }
    }
}

/// What is on the bench.
fn unit_line(desk: &Bench, width: usize, theme: Theme) -> Line<'static> {
    let Some(benched) = &desk.benched else {
        return Line::styled("asking", theme.style(Tone::Quiet));
    };
    let answer = &benched.answer;
    let unit = answer.unit.as_deref().unwrap_or("unknown unit");
    let came = match answer.loose {
        true => "carried in loose",
        false if benched.is_off() => "off the machine",
        false => "on the machine",
    };
    let count = answer.diagnosis.readings.len();
    let read = if count == 1 { "1 reading".to_owned() } else { format!("{count} readings") };
    let quote = desk.work.quote.as_ref().map_or(String::new(), |made| format!(", {}", made.number));
    let waits = if desk.waiting { ", asking" } else { "" };
    let text =
        format!("{unit} {} {} V, {came}, {read}{quote}{waits}", answer.machine, answer.volts);
    Line::styled(cut(&text, width, theme), theme.style(Tone::Head))
}

fn panes_lines(desk: &Bench, width: usize, theme: Theme) -> Vec<Line<'static>> {
    if let Some(trouble) = &desk.trouble {
        return told_wrong(trouble, width, theme);
    }
    if desk.benched.is_none() {
        return vec![Line::default()];
    }
    let names = Pane::ALL.map(|pane| {
        let (name, here) = (pane.name(), pane == desk.pane);
        let text = if here { format!("[{name}] ") } else { format!(" {name}  ") };
        Span::styled(text, theme.style(if here { Tone::Head } else { Tone::Quiet }))
    });
    vec![Line::from(names.to_vec())]
}

/// Which unit may be meant: those put aside first, while nothing is typed.
fn unit_lines(desk: &Bench, typing: &Typing, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let What::Unit(choices) = &typing.what else { return Vec::new() };
    let aside = desk.aside.iter().take(typing.offers(desk.aside.len())).map(|work| {
        let unit = work.job.unit.as_deref().unwrap_or("unknown");
        let machine = work.job.machine.map_or("", |machine| machine.word());
        let quote = work.quote.as_ref().map_or(String::new(), |made| format!(", {}", made.number));
        let count = work.job.readings.len();
        format!("{} {machine}, put aside with {count} readings{quote}", left(unit, 14, theme))
    });
    let choices = choices.iter().map(|choice| {
        let unit = choice.unit.as_deref().unwrap_or("unknown unit");
        format!("{} {:>2} V  {}", left(unit, 14, theme), choice.volts, choice.words)
    });
    let mut rows = choice_rows(aside.chain(choices), typing.at, width, theme);
    if rows.is_empty() && !desk.waiting {
        let none = "no such unit; say alternator or starter and the voltage for one nobody knows";
        rows.push(Line::styled(cut(none, width, theme), theme.style(Tone::Quiet)));
    }
    rows
}

fn pane(
    desk: &Bench,
    benched: &Benched,
    (width, height): (usize, usize),
    theme: Theme,
) -> Vec<Line<'static>> {
    match desk.pane {
        Pane::Checks => {
            let (list, row) = checks::list(benched, desk.check, width, theme);
            let Some(card) = benched.checks.get(desk.check) else { return list };
            let mut below = chosen_below(desk.typing.as_ref(), benched, width, theme);
            below.extend(told::lines(&checks::told(benched, card), width, theme));
            let title = rule(&checks::title(benched, card), width, theme);
            split(desk, (list, row), title, below, height, theme)
        }
        Pane::Findings => {
            let list = findings::list(benched, desk.finding, width, theme);
            let all = &benched.answer.diagnosis.findings;
            let Some(finding) = all.get(desk.finding) else { return list };
            let below = told::lines(&findings::told(benched, finding), width, theme);
            let title = rule(&findings::title(finding), width, theme);
            split(desk, (list, desk.finding), title, below, height, theme)
        }
        Pane::Covers | Pane::Quote => {
            let mut lines = chosen_below(desk.typing.as_ref(), benched, width, theme);
            lines.extend(whole(desk, benched, width, theme));
            window(desk, lines, height, theme)
        }
    }
}

/// Covers or quote from top to bottom.
fn whole(desk: &Bench, benched: &Benched, width: usize, theme: Theme) -> Vec<Line<'static>> {
    if desk.pane == Pane::Covers {
        let mut lines = covers::side_by_side(benched, desk.cover, width, theme);
        let title = if desk.too { "with what else is worth changing" } else { "for and against" };
        lines.push(rule(title, width, theme));
        lines.extend(told::lines(&covers::told(benched, desk.cover), width, theme));
        return lines;
    }
    let Some(card) = &desk.paper else {
        let text = if desk.option().is_some() { "asking" } else { "there is no cover to quote" };
        return vec![Line::styled(text, theme.style(Tone::Quiet))];
    };
    let title = paper::title(card, desk.work.number(), &desk.keys);
    let mut lines = vec![rule(&title, width, theme)];
    lines.extend(paper::lines(card, width, theme));
    lines.extend(told::lines(&paper::told(card), width, theme));
    lines
}

/// All that scrolls on the least screen: nothing is scrolled further than that.
pub(super) fn extent(desk: &Bench) -> usize {
    const LEAST: usize = 60;
    let (Some(benched), theme) = (desk.benched.as_deref(), Theme::default()) else { return 0 };
    let tale = match desk.pane {
        Pane::Checks => benched.checks.get(desk.check).map(|card| checks::told(benched, card)),
        Pane::Findings => {
            let all = &benched.answer.diagnosis.findings;
            all.get(desk.finding).map(|finding| findings::told(benched, finding))
        }
        Pane::Covers | Pane::Quote => return whole(desk, benched, LEAST, theme).len(),
    };
    tale.map_or(0, |tale| told::lines(&tale, LEAST, theme).len())
}

/// What can be chosen for the line that is typed.
fn chosen_below(
    typing: Option<&Typing>,
    benched: &Benched,
    width: usize,
    theme: Theme,
) -> Vec<Line<'static>> {
    let Some(typing) = typing else { return Vec::new() };
    match typing.what {
        What::Reading(at) => {
            let card = &benched.checks[at];
            let number = card.number.iter().map(|number| format!("or a number, like {number}"));
            let outcomes = card.outcomes.iter().map(|(key, words, _)| format!("{key}: {words}"));
            choice_rows(outcomes, typing.at, width, theme)
                .into_iter()
                .chain(number.map(|number| Line::raw(cut(&format!("  {number}"), width, theme))))
                .collect()
        }
        What::Part => {
            choice_rows(benched.roles().into_iter().map(str::to_owned), typing.at, width, theme)
        }
        _ => Vec::new(),
    }
}

/// One row a choice, the one `at` that place chosen.
fn choice_rows(
    choices: impl Iterator<Item = String>,
    at: Option<usize>,
    width: usize,
    theme: Theme,
) -> Vec<Line<'static>> {
    let row = |(row, text): (usize, String)| {
        let on = at == Some(row);
        let tone = if on { Tone::Cursor } else { Tone::Plain };
        let text = format!("{}{text}", theme.pointer(on));
        Line::styled(cut(&text, width, theme), theme.style(tone))
    };
    choices.enumerate().map(row).collect()
}

/// A list above, with the row at that place in sight, and what is told of it below.
fn split(
    desk: &Bench,
    (list, row): (Vec<Line<'static>>, usize),
    title: Line<'static>,
    below: Vec<Line<'static>>,
    height: usize,
    theme: Theme,
) -> Vec<Line<'static>> {
    let least = (height * 2 / 5).max(3);
    let above = height.saturating_sub(below.len() + 1).max(least).min(list.len());
    let first = (row + 2).saturating_sub(above).min(list.len() - above);
    let mut lines: Vec<Line<'static>> = list.into_iter().skip(first).take(above).collect();
    lines.push(title);
    lines.extend(window(desk, below, height.saturating_sub(above + 1), theme));
    lines
}

/// `lines` from where the desk is scrolled to; where more stands below, the last row says how much.
fn window(
    desk: &Bench,
    lines: Vec<Line<'static>>,
    height: usize,
    theme: Theme,
) -> Vec<Line<'static>> {
    let first = desk.scroll.min(lines.len().saturating_sub(height));
    let below = lines.len() - first;
    let mut shown: Vec<Line<'static>> = lines.into_iter().skip(first).take(height).collect();
    if let (true, Some(last)) = (below > height, shown.last_mut()) {
        let down = desk.keys.of(desk.context(), Act::PageDown);
        let (mark, more) = (theme.mark("…", "~"), below + 1 - height);
        *last = Line::styled(format!("{mark} {more} more lines: {down}"), theme.style(Tone::Quiet));
    }
    shown
}
