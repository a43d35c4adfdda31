//! How does a quote read on the screen, before it is made and after?

use binwright_shop::bench::QuoteCard;
use ratatui::text::Line;

use super::told::Told;
use crate::actions::{Act, Context};
use crate::keys::Keys;
use crate::text::{left, right, wrapped};
use crate::theme::{Theme, Tone};
use binwright_shop::catalog::shown::percent;

/// What it holds, in one clause.
pub(super) fn holds(card: &QuoteCard) -> String {
    let held =
        card.holds.iter().map(|hold| format!("{} x {} in {}", hold.quantity, hold.part, hold.bin));
    let held = held.collect::<Vec<_>>().join(", ");
    let until = card.holds.iter().filter_map(|hold| hold.until).min();
    match (held.as_str(), until) {
        ("", _) => "nothing".to_owned(),
        (_, Some(day)) => format!("{held} until {day}"),
        (_, None) => held,
    }
}

pub(super) fn title(card: &QuoteCard, number: Option<&str>, keys: &Keys) -> String {
    let unit = if card.unit.is_empty() { "unknown unit" } else { &card.unit };
    let revision = format!("{} revision {}", card.number, card.revision);
    let would_be = format!("as it would be; {} makes it", keys.of(Context::List, Act::Accept));
    let what = match number {
        None if card.dry_run => would_be,
        Some(_) if card.dry_run => format!("{revision} {would_be}"),
        _ => format!("{revision}, {}", card.state),
    };
    format!("cover {} of {} {unit}: {what}", card.cover, card.machine)
}

/// Lines with their money flush, tax, total.
pub(super) fn lines(card: &QuoteCard, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut row = |class: &str, words: &str, net: String, tone: Tone| {
        let room = width.saturating_sub(30);
        for (at, words) in wrapped(words, room, theme).into_iter().enumerate() {
            let first = at == 0;
            let (class, net) = if first { (class, net.as_str()) } else { ("", "") };
            let (class, words) = (left(class, 13, theme), left(&words, room, theme));
            let text = format!("{class} {words} {}", right(net, 14, theme));
            lines.push(Line::styled(text, theme.style(tone)));
        }
    };
    for line in &card.lines {
        let part = line.part.as_ref().map_or(String::new(), |part| format!("{part} "));
        let condition = line.condition.map_or(String::new(), |c| format!("{c} "));
        let quantity = match line.each {
            None => format!("{} min", line.quantity),
            Some(each) => format!("{} x {each}", line.quantity),
        };
        let words = format!("{part}{condition}{}, {quantity}", line.words);
        row(&line.class, &words, line.net.to_string(), Tone::Plain);
    }
    for tax in &card.taxes {
        let words = format!("{} % on {} of {}", tax.percent, tax.net, tax.class);
        row("tax", &words, tax.tax.to_string(), Tone::Plain);
    }
    if card.rounding.minor != 0 {
        row("rounding", "to what is paid", card.rounding.to_string(), Tone::Plain);
    }
    let valid = format!("valid until {}", card.valid_until);
    row("total", &valid, card.total.to_string(), Tone::Head);
    lines
}

/// What stands beside the lines.
pub(super) fn told(card: &QuoteCard) -> Vec<Told> {
    let mut tale = Vec::new();
    if !card.customer.is_empty() {
        tale.push(Told::plain("for", &card.customer));
    }
    tale.extend(card.next_step().map(|step| Told::plain("next", step)));
    tale.extend(card.beside.left_out.iter().map(|why| Told::head("left out", why)));
    if !card.holds.is_empty() {
        let lead = if card.dry_run { "will hold" } else { "holds" };
        tale.push(Told::head(lead, holds(card)));
    }
    for lack in &card.to_order {
        let text = format!("{} x {} {}", lack.quantity, lack.part, lack.condition);
        tale.push(Told::plain("to order", text));
    }
    // What can hurt is read before what is likely.
    tale.extend(card.beside.cautions.iter().map(Told::caution));
    for (name, probability) in &card.beside.findings {
        tale.push(Told::plain("likely", format!("{name} {}", percent(*probability))));
    }
    tale.extend(card.beside.advice.iter().map(|advice| Told::plain("mind", advice)));
    tale.extend(card.beside.look_at.iter().map(|look| Told::plain("look at", look)));
    tale.push(Told::plain("note", &card.beside.deference));
    tale.push(Told::plain("tax", card.tax_note));
    tale
}
