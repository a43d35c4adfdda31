//! How do covers read? Side by side: what each takes out of which bin, price, days, what is kept.

use binwright_shop::bench::{RepairOption, Taken};
use ratatui::text::{Line, Span};

use super::Benched;
use super::told::Told;
use crate::text::{left, wrapped};
use crate::theme::{Theme, Tone};
use binwright_shop::catalog::shown::percent;

/// The narrowest and the widest a cover is drawn.
const WIDTHS: (usize, usize) = (25, 40);

/// Whether it is another unit, no repair of this one.
fn is_whole_unit(option: &RepairOption) -> bool {
    let takes_parts = option.takes.iter().any(|taken| taken.condition.is_some());
    takes_parts && option.replaces.is_empty()
}

fn ready(option: &RepairOption) -> String {
    match option.days {
        0 => "ready today".to_owned(),
        1 => "parts here tomorrow".to_owned(),
        days => format!("parts in {days} days"),
    }
}

fn where_from(taken: &Taken) -> String {
    let from = taken.from.iter().map(|from| format!("{} from {}", from.quantity, from.bin));
    let lacks = taken.to_order.is_positive().then(|| format!("{} to order", taken.to_order));
    from.chain(lacks).collect::<Vec<_>>().join(", ")
}

/// One cover from top to bottom.
fn column(option: &RepairOption, width: usize, theme: Theme) -> Vec<String> {
    let mut lines = vec![
        format!("{} in all", option.total),
        format!("parts {}", option.parts),
        format!("{}, {} min", ready(option), option.minutes),
    ];
    for taken in &option.takes {
        let mut texts = match taken.condition {
            None => vec![taken.words.clone()],
            Some(condition) => vec![
                format!("{} x {} {condition}", taken.pieces, taken.part),
                format!("  {} each", taken.each),
                format!("  {}", where_from(taken)),
            ],
        };
        texts.extend(taken.remark.iter().map(|remark| format!("  {remark}")));
        for text in texts {
            let indent = if text.starts_with(' ') { "  " } else { "" };
            let room = width.saturating_sub(indent.len());
            lines.extend(
                wrapped(&text, room, theme).into_iter().map(|text| indent.to_owned() + &text),
            );
        }
    }
    let replaced = option.replaces.join(", ");
    let kept = match replaced.as_str() {
        "" if is_whole_unit(option) => "changes the whole unit".to_owned(),
        "" => "keeps all parts".to_owned(),
        _ => format!("replaces {replaced}; keeps the rest"),
    };
    lines.extend(wrapped(&kept, width, theme));
    lines.extend(wrapped(&option.reasons.join(", "), width, theme));
    lines
}

/// The covers around the chosen one, as many as stand side by side.
pub(super) fn side_by_side(
    benched: &Benched,
    chosen: usize,
    width: usize,
    theme: Theme,
) -> Vec<Line<'static>> {
    let options = &benched.answer.repair.options;
    if options.is_empty() {
        return Vec::new();
    }
    let across = (width / (WIDTHS.0 + 1)).clamp(1, options.len());
    let wide = (width / across - 1).min(WIDTHS.1);
    let first = (chosen + 1).saturating_sub(across);
    let shown = &options[first..(first + across).min(options.len())];
    let columns: Vec<Vec<String>> =
        shown.iter().map(|option| column(option, wide, theme)).collect();
    let heads = shown.iter().enumerate().map(|(at, option)| {
        let on = first + at == chosen;
        let mark = if on { theme.mark("▸ ", "> ") } else { "" };
        let head = left(&format!("{mark}cover {}", option.name), wide, theme);
        let tone = if on { Tone::Cursor } else { Tone::Head };
        Span::styled(head, theme.style(tone))
    });
    let mut head: Vec<Span<'static>> = Vec::new();
    for span in heads {
        head.extend([span, Span::raw(" ")]);
    }
    let before = first > 0;
    let after = first + across < options.len();
    if before || after {
        let more = options.len() - shown.len();
        head.push(Span::styled(format!("+{more}"), theme.style(Tone::Quiet)));
    }
    let mut lines = vec![Line::from(head)];
    let tall = columns.iter().map(Vec::len).max().unwrap_or(0);
    for row in 0..tall {
        let cell = |column: &Vec<String>| {
            left(column.get(row).map_or("", String::as_str), wide, theme) + " "
        };
        lines.push(Line::raw(columns.iter().map(cell).collect::<String>()));
    }
    lines
}

/// What is called for, what speaks for or against the chosen cover, and what cannot be had.
pub(super) fn told(benched: &Benched, chosen: usize) -> Vec<Told> {
    let calls = &benched.answer.diagnosis.calls;
    let repair = &benched.answer.repair;
    let mut tale = Vec::new();
    if let Some(option) = repair.options.get(chosen) {
        tale.extend(option.advice.iter().map(|advice| Told::head("mind", advice)));
    }
    tale.extend(calls.cautions.iter().map(Told::caution));
    if !calls.cautions.is_empty() {
        tale.push(Told::plain("note", &benched.answer.deference));
    }
    if let Some(option) = repair.options.get(chosen) {
        if !option.fills_as_well.is_empty() {
            tale.push(Told::plain("as well", option.fills_as_well.join(", ")));
        }
        for extra in &option.extras {
            let (pieces, part, words, each) = (extra.pieces, &extra.part, &extra.words, extra.each);
            let from = where_from(extra);
            tale.push(Told::plain("too", format!("{pieces} x {part} {words}, {each}, {from}")));
        }
    }
    for call in &calls.must {
        let lead = if call.ordered { "order" } else { "maybe" };
        let when = if call.when.is_empty() { "" } else { ": " };
        let text = format!(
            "{} x {} ({}){when}{}",
            call.role,
            call.pieces,
            percent(call.probability),
            call.when.join("; ")
        );
        tale.push(Told::plain(lead, text));
        if let Some((work, enough)) = &call.rework {
            tale.push(Told::plain("", format!("or {work}, enough with {}", percent(*enough))));
        }
    }
    for work in &calls.work {
        tale.push(Told::plain("do", format!("{} ({})", work.words, percent(work.probability))));
    }
    tale.extend(calls.look_at.iter().map(|look| Told::plain("look at", look)));
    if !repair.missing.is_empty() {
        tale.push(Told::plain(
            "none",
            format!("nothing to be had for {}", repair.missing.join(", ")),
        ));
    }
    tale.extend(repair.without_price().map(|why| Told::plain("none", why)));
    if repair.options.iter().all(is_whole_unit) {
        let text = if calls.must.iter().all(|call| !call.ordered) {
            "nothing is called for yet: read on"
        } else if benched.answer.unit.is_some() {
            "no cover: nothing to be had fills it; say which part sits in a role"
        } else {
            "no cover yet: name the unit, or say which part sits in a role"
        };
        tale.insert(0, Told::head("covers", text));
    }
    tale
}
