//! How does a slip read? Its lines with what is missing, and what came of it.

use binwright_shop::catalog::number::fold;
use binwright_shop::counts::Sheet;
use binwright_shop::stock::by_hand::Deed;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use super::{Field, Outcome, Slip, fields, is_counted};
use crate::actions::{Act, Context};
use crate::keys::Keys;
use crate::text::{cut, left, wrapped};
use crate::theme::{Theme, Tone};

/// Columns of a line's name.
const NAME: usize = 12;

impl Slip {
    /// Draws the slip.
    pub fn view(&self, frame: &mut Frame<'_>, area: Rect, keys: &Keys, theme: Theme) {
        let says = self.says(usize::from(area.width), keys, theme);
        // All lines are seen, whatever is said of them.
        let room = area.height.saturating_sub(self.fields().len() as u16).max(2);
        let [deeds, slip, below] = Layout::vertical([
            Constraint::Length(1),
            Constraint::Min(1),
            Constraint::Length((says.len() as u16).min(room)),
        ])
        .areas(area);
        frame.render_widget(Paragraph::new(self.deeds_line(theme)), deeds);
        frame.render_widget(Paragraph::new(says), below);
        let [slip, sheet] = Layout::horizontal([
            Constraint::Percentage(if self.sheet.is_some() { 55 } else { 100 }),
            Constraint::Min(0),
        ])
        .areas(slip);
        self.lines(frame, slip, keys, theme);
        if let Some(drawn) = &self.sheet {
            frame.render_widget(Paragraph::new(self.counted(drawn, sheet, theme)), sheet);
        }
    }

    /// All deeds, the one that is done in brackets.
    fn deeds_line(&self, theme: Theme) -> Line<'static> {
        let mut spans = vec![Span::raw(self.mark(0, theme))];
        for deed in self.deeds() {
            let on = deed == self.typed.deed;
            let text = if on { format!("[{}]", deed.word()) } else { format!(" {} ", deed.word()) };
            spans.push(Span::styled(text, theme.style(if on { Tone::Head } else { Tone::Quiet })));
        }
        Line::from(spans)
    }

    fn mark(&self, at: usize, theme: Theme) -> &'static str {
        theme.pointer(at == self.at)
    }

    fn lines(&self, frame: &mut Frame<'_>, area: Rect, keys: &Keys, theme: Theme) {
        let width = usize::from(area.width);
        let room = usize::from(area.height).max(1);
        let first = self.at.saturating_sub(room);
        let mut lines = Vec::new();
        for (at, field) in self.fields().into_iter().enumerate().skip(1 + first).take(room) {
            let mut spans = vec![
                Span::raw(self.mark(at, theme)),
                Span::styled(left(self.name(field), NAME, theme), theme.style(Tone::Quiet)),
            ];
            let room = width.saturating_sub(NAME + 3);
            if self.is_open(field) {
                let hint = cut(&self.hint(field, keys), room, theme);
                spans.push(Span::styled(hint, theme.style(Tone::Quiet)));
            } else {
                let text = cut(self.text(field), room, theme);
                spans.push(Span::styled(text, theme.style(Tone::Head)));
            }
            if field == Field::Part && !self.is_open(field) {
                let used: usize = spans.iter().map(Span::width).sum();
                let text = format!("  {}", self.description);
                spans.push(Span::raw(cut(&text, width.saturating_sub(used), theme)));
            }
            if at == self.at {
                let into = if field == Field::Condition { 0 } else { self.line.visual_cursor() };
                let x = (2 + NAME + into).min(width.saturating_sub(1)) as u16;
                let y = lines.len() as u16;
                frame.set_cursor_position(Position::new(area.x + x, area.y + y));
            }
            lines.push(Line::from(spans));
        }
        frame.render_widget(Paragraph::new(lines), area);
    }

    pub(super) fn name(&self, field: Field) -> &'static str {
        match (field, self.typed.deed) {
            (Field::Deed, _) => "",
            (Field::Bin, Deed::Move) => "from bin",
            (Field::Bin, _) => "bin",
            (Field::Part, _) => "part",
            (Field::To, _) => "to bin",
            (Field::Quantity, Deed::Count) => "lie there",
            (Field::Quantity, _) => "how many",
            (Field::Condition, _) => "condition",
            (Field::Reference, Deed::Issue) => "for job",
            (Field::Reference, Deed::Hold) => "for",
            (Field::Reference, Deed::Sell) => "sold to",
            (Field::Reference, _) => "belongs to",
            (Field::Until, _) => "until",
            (Field::Each, _) => "cost each",
            (Field::Second, _) => "seen by",
        }
    }

    /// What stands in a line that nothing was typed into.
    fn hint(&self, field: Field, keys: &Keys) -> String {
        let fixed = match field {
            Field::Bin | Field::To => "scan or type the bin",
            Field::Part if self.closes_count() => {
                return format!(
                    "all is counted: {} posts the sheet",
                    keys.of(Context::Line, Act::Accept)
                );
            }
            Field::Part => "scan or type the part",
            Field::Until => "as long as a quote holds its stock; or a day: 2026-12-01",
            Field::Each => "as so far",
            Field::Second => "whoever also looked, where much is missing",
            _ => "",
        };
        fixed.to_owned()
    }

    /// What came of it, and what can be done.
    fn says(&self, width: usize, keys: &Keys, theme: Theme) -> Vec<Line<'static>> {
        let came = match &self.outcome {
            _ if self.waits.is_some() => Some(("asking".to_owned(), Tone::Quiet)),
            Some(Outcome::Trouble(what)) => Some((format!("! {what}"), Tone::Outside)),
            Some(Outcome::Said(what)) => Some((what.clone(), Tone::Head)),
            Some(Outcome::Done(handled)) if handled.back.is_some() => {
                let back = keys.of(Context::Line, Act::TakeBack);
                Some((format!("= {}. {back} takes it back", handled.says), Tone::Inside))
            }
            Some(Outcome::Done(handled)) => Some((format!("= {}", handled.says), Tone::Inside)),
            None => None,
        };
        let can =
            (self.next_open().is_none() || came.is_none()).then(|| (self.can(keys), Tone::Quiet));
        let said = came.into_iter().chain(can);
        said.flat_map(|(text, tone)| {
            let style = theme.style(tone);
            wrapped(&text, width, theme).into_iter().map(move |line| Line::styled(line, style))
        })
        .collect()
    }

    /// What the keys would do now.
    fn can(&self, keys: &Keys) -> String {
        let [enter, down, up, left, right, esc] =
            [Act::Accept, Act::Newer, Act::Older, Act::Left, Act::Right, Act::Back]
                .map(|act| keys.of(Context::Line, act));
        if self.next_open().is_some() {
            return format!(
                "Scan bin and part, or type them; {enter} goes on. {up} and {down} choose a line, \
                 {left} and {right} what is done. {esc} ends."
            );
        }
        let (must, may) = fields(self.typed.deed);
        let below: Vec<&str> = may.iter().map(|field| self.name(*field)).collect();
        let way = if self.at > must.len() { format!("{up} and {down}") } else { down };
        format!("{enter} does it; {way} for {}. {esc} ends.", below.join(", "))
    }

    /// The count sheet, the bin's lines first; what the book says is no business of who counts.
    fn counted(&self, sheet: &Sheet, area: Rect, theme: Theme) -> Vec<Line<'static>> {
        let width = usize::from(area.width);
        let here = fold(&self.typed.bin);
        let mut lines: Vec<_> = sheet.lines.iter().collect();
        // What is still to be done stands above what is done.
        lines.sort_by_key(|line| (fold(&line.bin) != here, line.counted.is_some() && !line.again));
        let done = if is_counted(sheet) { "all counted" } else { "still to count" };
        let head = format!("sheet {}, {}: {done}", sheet.sheet, sheet.what);
        let head = Line::styled(cut(&head, width, theme), theme.style(Tone::Quiet));
        let row = |line: &&binwright_shop::counts::SheetLine| {
            let counted = match line.counted {
                _ if line.again => "again".to_owned(),
                Some(counted) => counted.to_string(),
                None => theme.mark("·", ".").to_owned(),
            };
            let text = format!("{} {} {}", line.bin, line.part, line.condition);
            let text = left(&text, width.saturating_sub(8), theme);
            Line::raw(cut(&format!("{text} {counted:>6}"), width, theme))
        };
        std::iter::once(head).chain(lines.iter().map(row)).collect()
    }
}
