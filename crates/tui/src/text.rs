//! How does text fit a column? Cleaned, cut between characters as they are seen, never wider.

use binwright_shop::catalog::shown::shown;
use ratatui::text::{Line, Span};
use tui_input::Input;
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

use crate::theme::{Theme, Tone};

/// `text` as one line that does nothing to the terminal; `?` for what ASCII lacks, where only
/// ASCII is drawn.
pub fn clean(text: &str, theme: Theme) -> String {
    let text = shown(text);
    if theme.ascii && !text.is_ascii() {
        return text.graphemes(true).map(|g| if g.is_ascii() { g } else { "?" }).collect();
    }
    text.into_owned()
}

/// Columns that `text` takes.
pub fn columns(text: &str) -> usize {
    text.width()
}

/// `text` cleaned and cut to at most `width` columns, with a mark where something is missing.
pub fn cut(text: &str, width: usize, theme: Theme) -> String {
    let text = clean(text, theme);
    if text.width() <= width {
        return text;
    }
    let mark = theme.mark("…", "~");
    let Some(room) = width.checked_sub(mark.width()) else { return String::new() };
    let mut kept = String::new();
    let mut used = 0;
    for cluster in text.graphemes(true) {
        if used + cluster.width() > room {
            break;
        }
        used += cluster.width();
        kept.push_str(cluster);
    }
    kept.push_str(mark);
    kept
}

/// [`cut`], then filled up to exactly `width` columns on the right.
pub fn left(text: &str, width: usize, theme: Theme) -> String {
    let mut text = cut(text, width, theme);
    text.extend(std::iter::repeat_n(' ', width.saturating_sub(text.width())));
    text
}

/// [`cut`], then filled up to exactly `width` columns on the left.
pub fn right(text: &str, width: usize, theme: Theme) -> String {
    let text = cut(text, width, theme);
    let fill = " ".repeat(width.saturating_sub(text.width()));
    fill + &text
}

/// `text` in lines of at most `width` columns, broken between words.
pub fn wrapped(text: &str, width: usize, theme: Theme) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in clean(text, theme).split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.width() + 1 + word.width() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(cut(word, width, theme)),
        }
    }
    lines
}

/// What went wrong, in as many lines of at most `width` columns as it takes.
pub fn told_wrong(what: &str, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let lines = wrapped(&format!("! {what}"), width, theme).into_iter();
    lines.map(|line| Line::styled(line, theme.style(Tone::Outside))).collect()
}

/// A rule across `width` columns with `title` in it.
pub fn rule(title: &str, width: usize, theme: Theme) -> Line<'static> {
    let dash = theme.mark("─", "-");
    let title = cut(&format!("{title} "), width.saturating_sub(4), theme);
    let fill = dash.repeat(width.saturating_sub(columns(&title) + 3));
    Line::from(vec![
        Span::styled(dash.repeat(2) + " ", theme.style(Tone::Quiet)),
        Span::styled(title, theme.style(Tone::Head)),
        Span::styled(fill, theme.style(Tone::Quiet)),
    ])
}

/// The part of a line being typed that `room` columns show, and the column of the cursor in it.
pub fn scrolled(line: &Input, room: usize) -> (String, usize) {
    let scroll = line.visual_scroll(room);
    let mut skipped = 0;
    let rest = line.value().chars().skip_while(|letter| {
        let skip = skipped < scroll;
        skipped += columns(letter.encode_utf8(&mut [0; 4]));
        skip
    });
    (rest.collect(), line.visual_cursor().saturating_sub(scroll).min(room))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_is_as_wide_as_it_is_seen() {
        let fine = Theme::default();
        let ascii = Theme { ascii: true, ..fine };
        let rows = [
            ("brush", 8, fine, "brush   "),
            ("rectifier", 6, fine, "recti…"),
            ("rectifier", 6, ascii, "recti~"),
            ("整流板AB", 5, fine, "整流…"),
            ("整流板AB", 4, fine, "整… "),
            ("e\u{301}e\u{301}e\u{301}", 2, fine, "e\u{301}…"),
            ("Läufer", 8, ascii, "L?ufer  "),
            ("\u{1b}[2Jx", 8, fine, "␛[2Jx   "),
            ("\u{1b}[2Jx", 8, ascii, "?[2Jx   "),
            ("wide", 0, fine, ""),
        ];
        for (text, width, theme, shown) in rows {
            assert_eq!(left(text, width, theme), shown, "{text:?} in {width}");
        }
    }
}
