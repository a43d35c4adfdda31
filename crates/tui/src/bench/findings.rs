//! How do findings read? As bars with probability; of the chosen one the readings for and against it.

use binwright_shop::diagnosis::Finding;
use ratatui::text::{Line, Span};

use super::Benched;
use super::told::Told;
use crate::text::{left, right};
use crate::theme::{Theme, Tone};
use binwright_shop::catalog::shown::percent;

/// Columns of a bar.
const BAR: usize = 20;
/// Columns of a finding's name.
const NAME: usize = 36;

/// `share` of `width` cells, in eighths of a cell or whole marks of ASCII; what is not zero is seen.
fn bar(share: f64, width: usize, theme: Theme) -> String {
    const PARTS: [&str; 8] = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"];
    let eighths = ((share * (8 * width) as f64).round() as usize).max(usize::from(share > 0.0));
    if theme.ascii {
        return "#".repeat(eighths.div_ceil(8));
    }
    "█".repeat(eighths / 8) + PARTS[eighths % 8]
}

/// All findings as bars.
pub(super) fn list(
    benched: &Benched,
    chosen: usize,
    width: usize,
    theme: Theme,
) -> Vec<Line<'static>> {
    let findings = benched.answer.diagnosis.findings.iter().enumerate();
    let wide = BAR.min(width / 4);
    let name = NAME.min(width.saturating_sub(wide + 19));
    let row = |(at, finding): (usize, &Finding)| {
        let on = at == chosen;
        let mark = theme.pointer(on);
        let words = format!(
            "{mark}{} {} {}",
            left(&finding.code, 5, theme),
            left(&finding.name, name, theme),
            right(&percent(finding.probability), 8, theme)
        );
        let tone = if on { Tone::Cursor } else { Tone::Plain };
        Line::from(vec![
            Span::styled(words, theme.style(tone)),
            Span::raw(format!(" {}", bar(finding.probability, wide, theme))),
        ])
    };
    findings.map(row).collect()
}

pub(super) fn title(finding: &Finding) -> String {
    let before = percent(finding.prior);
    format!("{} {}: {before} before any reading", finding.code, finding.name)
}

/// Why the chosen finding stands where it does, what cannot be told apart, and whether to stop.
pub(super) fn told(benched: &Benched, finding: &Finding) -> Vec<Told> {
    let diagnosis = &benched.answer.diagnosis;
    let mut tale = Vec::new();
    for (lead, reasons) in [("for", &finding.speaks_for), ("against", &finding.speaks_against)] {
        for reason in reasons {
            tale.push(Told::plain(
                lead,
                format!("x {}  {}", reason.factor_in_words(), reason.words),
            ));
        }
    }
    if tale.is_empty() {
        tale.push(Told::plain("why", "no reading speaks for or against it"));
    }
    for pair in diagnosis.indistinct.iter().filter(|pair| pair.faults.contains(&finding.key)) {
        let names = pair.faults.each_ref().map(|key| name_of(benched, key));
        let apart = match pair.told_apart_by.as_deref().map(|key| check_of(benched, key)) {
            Some(check) => format!("{check} tells them apart"),
            None => "no check that is left tells them apart".to_owned(),
        };
        tale.push(Told::plain("open", format!("{} or {}: {apart}", names[0], names[1])));
    }
    let lead = if diagnosis.stop.stop { "stop" } else { "go on" };
    tale.push(Told::plain(lead, &diagnosis.stop.reason));
    tale
}

fn name_of<'a>(benched: &'a Benched, key: &'a str) -> &'a str {
    let found = benched.answer.diagnosis.findings.iter().find(|finding| finding.key == key);
    found.map_or(key, |finding| &finding.name)
}

fn check_of(benched: &Benched, key: &str) -> String {
    let card = benched.checks.iter().find(|card| card.key == key);
    card.map_or_else(|| key.to_owned(), |card| format!("{} {}", card.code, card.name))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_is_as_long_as_its_share_and_what_is_not_nothing_is_seen() {
        let fine = Theme::default();
        let ascii = Theme { ascii: true, ..fine };
        let rows = [
            (0.5, fine, "████"),
            (0.55, fine, "████▍"),
            (0.0001, fine, "▏"),
            (0.0, fine, ""),
            (1.0, fine, "████████"),
            (0.51, ascii, "#####"),
            (0.0001, ascii, "#"),
        ];
        for (share, theme, drawn) in rows {
            assert_eq!(bar(share, 8, theme), drawn, "{share}");
        }
    }
}
