//! How do checks read? By level of strip-down, what was read, which is next; how one is made, and its cautions.

use binwright_shop::bench::CheckCard;
use binwright_shop::diagnosis::{Explained, NextCheck};
use ratatui::text::{Line, Span};

use super::Benched;
use super::told::Told;
use crate::text::{columns, cut, left};
use crate::theme::{Theme, Tone};
use binwright_shop::catalog::shown::percent;

/// Columns of a check's name, where there is room.
const NAME: usize = 36;

fn next_of<'a>(benched: &'a Benched, card: &CheckCard) -> Option<(usize, &'a NextCheck)> {
    let next = benched.answer.diagnosis.next_checks.iter().enumerate();
    next.into_iter().find(|(_, next)| next.check == card.key)
}

fn reading_of<'a>(benched: &'a Benched, card: &CheckCard) -> Option<&'a Explained> {
    benched.answer.diagnosis.readings.iter().find(|reading| reading.check == card.key)
}

/// What was read in it, or whether and when it is to be made.
fn state(benched: &Benched, card: &CheckCard) -> (String, Tone) {
    if let Some(reading) = reading_of(benched, card) {
        let same = reading.typed.eq_ignore_ascii_case(&reading.outcome);
        let typed = if same { String::new() } else { format!("{}: ", reading.typed) };
        return (format!("{typed}{}", reading.words), Tone::Taken);
    }
    match next_of(benched, card) {
        Some((at, next)) => {
            let minutes = next.minutes + next.strip_minutes;
            let best = at == 0 && !benched.answer.diagnosis.stop.stop;
            let (lead, tone) = if best { ("NEXT, ", Tone::Head) } else { ("", Tone::Quiet) };
            (format!("{lead}{minutes:.0} min"), tone)
        }
        None if benched.is_least_stripped(card) => ("only on the vehicle".to_owned(), Tone::Quiet),
        None => ("cannot be made any more".to_owned(), Tone::Quiet),
    }
}

/// All checks below their levels, and the row the chosen one is in.
pub(super) fn list(
    benched: &Benched,
    chosen: usize,
    width: usize,
    theme: Theme,
) -> (Vec<Line<'static>>, usize) {
    let (mut lines, mut row) = (Vec::new(), 0);
    let name = NAME.min(width / 2);
    let mut level = "";
    for (at, card) in benched.checks.iter().enumerate() {
        if card.level.0 != level {
            level = &card.level.0;
            let head = cut(&format!("{level} {}", card.level.1), width, theme);
            lines.push(Line::styled(head, theme.style(Tone::Quiet)));
        }
        let on = at == chosen;
        if on {
            row = lines.len();
        }
        let mark = theme.pointer(on);
        let (state, tone) = state(benched, card);
        let lead =
            format!("{mark}{} {}", left(&card.code, 5, theme), left(&card.name, name, theme));
        let state = cut(&state, width.saturating_sub(columns(&lead) + 1), theme);
        let whole = if on { Tone::Cursor } else { Tone::Plain };
        lines.push(Line::from(vec![
            Span::styled(lead + " ", theme.style(whole)),
            Span::styled(state, theme.style(tone)),
        ]));
    }
    (lines, row)
}

/// The check in words for a rule: what it is and what it would bring.
pub(super) fn title(benched: &Benched, card: &CheckCard) -> String {
    let worth = next_of(benched, card).map_or(String::new(), |(_, next)| {
        let strip = match next.strip_minutes {
            minutes if minutes > 0.0 => format!(" and {minutes:.0} to strip"),
            _ => String::new(),
        };
        let change = percent(next.change_chance);
        format!(": {:.0} min{strip}, in {change} a new order or leading finding", next.minutes)
    });
    format!("{} {}{worth}", card.code, card.name)
}

/// How the check is made, what can hurt first.
pub(super) fn told(benched: &Benched, card: &CheckCard) -> Vec<Told> {
    let next = next_of(benched, card).map(|(_, next)| next);
    let mut tale: Vec<Told> = Vec::new();
    if let Some(reading) = reading_of(benched, card) {
        tale.push(Told::plain("read", format!("{}: {}", reading.typed, reading.words)));
        tale.extend(reading.means.iter().map(|means| Told::plain("", means)));
    }
    // The caution of the check itself stands before those of the way there.
    let cautions = next.map_or(&card.cautions, |next| &next.cautions);
    tale.extend(cautions.iter().rev().map(Told::caution));
    tale.push(Told::plain("how", &card.how));
    for (code, meaning) in &card.terminals {
        tale.push(Told::plain("terminal", format!("{code}: {meaning}")));
    }
    tale.extend(
        card.number.iter().map(|number| Told::plain("number", format!("type it like {number}"))),
    );
    for (key, words, means) in &card.outcomes {
        let means = means.as_ref().map_or(String::new(), |means| format!(". {means}"));
        tale.push(Told::plain("or", format!("{key}: {words}{means}")));
    }
    tale.extend(card.theory.iter().map(|theory| Told::plain("theory", theory)));
    tale.push(Told::plain("note", &benched.answer.deference));
    tale
}
