//! How is a person led who does not know the short words? Kind, then its measures one by one, the
//! way each is taken beside it. Everything ends up in the counter's line, so that nothing is lost.

use std::sync::Arc;

use binwright_shop::catalog::{DecimalMark, Kind, Kinds, LengthUnit};
use binwright_shop::entry::{Entry, Term};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use tui_input::{Input, InputRequest};

use super::Wish;
use crate::actions::{Act, Context};
use crate::keys::Keys;
use crate::text::{cut, left, told_wrong, wrapped};
use crate::theme::{Theme, Tone};

/// The guide: first the kind is chosen, then its measures are walked.
#[derive(Debug)]
pub(super) struct Guide {
    kinds: Arc<Kinds>,
    /// Key of the kind, once chosen.
    kind: Option<String>,
    line: Input,
    at: usize,
    /// Value by place of the measure.
    values: Vec<Option<String>>,
    /// Points and distances of the counter's line, kept as they were.
    rest: String,
    trouble: Option<String>,
}

impl Guide {
    /// A guide that goes on from what the counter's line says already.
    pub fn new(kinds: &Arc<Kinds>, read: Option<&Entry>) -> Self {
        let mut guide = Self {
            kinds: Arc::clone(kinds),
            kind: None,
            line: Input::default(),
            at: 0,
            values: Vec::new(),
            rest: String::new(),
            trouble: None,
        };
        let Some(Entry::Fit(reading)) = read else { return guide };
        let Some(kind) = reading.asked.kind.as_deref().and_then(|key| kinds.get(key)) else {
            return guide;
        };
        guide.choose(kind);
        for term in &reading.terms {
            if let Term::Measure { measure, value, .. } = term
                && let Some((place, _)) = kind.measure(measure)
            {
                guide.values[place] = Some(value.clone());
            }
        }
        if let Some(layout) = &reading.asked.layout {
            guide.rest.push_str(&format!(" {layout}"));
        }
        if !reading.asked.distances.is_empty() {
            let apart: Vec<String> = reading.asked.distances.iter().map(f64::to_string).collect();
            guide.rest.push_str(&format!(" apart {}", apart.join(" ")));
        }
        guide.go_to(guide.values.iter().position(Option::is_none).unwrap_or(0));
        guide
    }

    fn chosen(&self) -> Option<&Kind> {
        self.kind.as_deref().and_then(|key| self.kinds.get(key))
    }

    fn choose(&mut self, kind: &Kind) {
        self.kind = Some(kind.key.clone());
        self.values = vec![None; kind.measures.len()];
        (self.at, self.line) = (0, Input::default());
    }

    /// The kinds whose label, key or word holds what was typed.
    fn offered(&self) -> Vec<&Kind> {
        let typed = self.line.value().trim().to_lowercase();
        let names = |kind: &Kind| {
            kind.label.to_lowercase().contains(&typed)
                || kind.words.iter().any(|word| word.starts_with(&typed))
        };
        self.kinds.iter().filter(|kind| names(kind)).collect()
    }

    fn go_to(&mut self, at: usize) {
        let last = match self.chosen() {
            Some(kind) => kind.measures.len(),
            None => self.offered().len(),
        };
        self.at = at.min(last.saturating_sub(1));
        self.trouble = None;
        if self.kind.is_some() {
            let value = self.values.get(self.at).cloned().flatten().unwrap_or_default();
            self.line = Input::new(value);
        }
    }

    /// Takes in a change of the guide's own line.
    pub fn typed(&mut self, request: InputRequest) -> Wish {
        self.line.handle(request);
        self.trouble = None;
        if self.kind.is_none() {
            self.at = 0;
        }
        Wish::Stay
    }

    /// Takes in an act.
    pub fn act(&mut self, act: Act) -> Wish {
        match act {
            Act::Older | Act::PreviousPane => self.go_to(self.at.saturating_sub(1)),
            Act::Newer | Act::NextPane => self.go_to(self.at + 1),
            Act::Back | Act::Guide => return Wish::Close,
            Act::Accept => return self.accept(),
            _ => {}
        }
        Wish::Stay
    }

    fn accept(&mut self) -> Wish {
        let Some(kind) = self.chosen().cloned() else {
            if let Some(kind) = self.offered().get(self.at).copied().cloned() {
                self.choose(&kind);
            }
            return Wish::Line(self.composed());
        };
        let Some(measure) = kind.measures.get(self.at) else { return Wish::Close };
        let text = self.line.value().trim();
        if text.is_empty() {
            self.values[self.at] = None;
        } else {
            match measure.parse(text, LengthUnit::Mm, DecimalMark::Point) {
                Ok(value) => self.values[self.at] = Some(value.to_string()),
                Err(error) => {
                    let hint = error.hint().unwrap_or_default();
                    self.trouble = Some(format!("{error}. {hint}"));
                    return Wish::Stay;
                }
            }
        }
        if self.at + 1 == kind.measures.len() {
            return Wish::Line(self.composed());
        }
        self.go_to(self.at + 1);
        Wish::Line(self.composed())
    }

    /// The counter's line that says what was gone through.
    fn composed(&self) -> String {
        let Some(kind) = self.chosen() else { return String::new() };
        let mut line = kind.words.first().unwrap_or(&kind.key).clone();
        for (measure, value) in kind.measures.iter().zip(&self.values) {
            if let Some(value) = value {
                let word = measure.words.first().unwrap_or(&measure.key);
                line.push_str(&format!(" {word} {value}"));
            }
        }
        line + &self.rest
    }

    /// Draws the guide.
    pub fn view(&self, frame: &mut Frame<'_>, area: Rect, keys: &Keys, theme: Theme) {
        let [list, how] =
            Layout::horizontal([Constraint::Percentage(52), Constraint::Min(20)]).areas(area);
        let width = usize::from(list.width).saturating_sub(1);
        let (items, title): (Vec<(String, String)>, &str) = if let Some(kind) = self.chosen() {
            let item = |(measure, value): (&binwright_shop::catalog::Measure, &Option<String>)| {
                (measure.label.clone(), value.clone().unwrap_or_default())
            };
            (kind.measures.iter().zip(&self.values).map(item).collect(), "measure")
        } else {
            let item = |kind: &&Kind| (kind.label.clone(), kind.words.join(" "));
            (self.offered().iter().map(item).collect(), "kind of part")
        };
        let room = usize::from(list.height).saturating_sub(1).max(1);
        let first = (self.at + 1).saturating_sub(room);
        let mut lines = vec![Line::styled(format!("  {title}"), theme.style(Tone::Quiet))];
        for (at, (label, value)) in items.iter().enumerate().skip(first).take(room) {
            let on = at == self.at;
            let mark = theme.pointer(on);
            let wide = (width / 2).clamp(12, 26);
            lines.push(Line::from(vec![
                Span::raw(mark),
                Span::styled(
                    left(label, wide, theme),
                    theme.style(if on { Tone::Head } else { Tone::Plain }),
                ),
                Span::raw(" "),
                Span::styled(
                    cut(value, width.saturating_sub(wide + 3), theme),
                    theme.style(Tone::Taken),
                ),
            ]));
        }
        frame.render_widget(Paragraph::new(lines), list);
        self.how(frame, how, keys, theme);
    }

    /// The line to type in and how the measure is taken.
    fn how(&self, frame: &mut Frame<'_>, area: Rect, keys: &Keys, theme: Theme) {
        let [enter, esc, up, down] =
            [Act::Accept, Act::Back, Act::Older, Act::Newer].map(|act| keys.of(Context::Line, act));
        let width = usize::from(area.width);
        let quiet = theme.style(Tone::Quiet);
        let lead = theme.mark("▏ ", "| ");
        let mut lines = vec![
            Line::default(),
            Line::from(vec![
                Span::raw(lead),
                Span::styled(cut(self.line.value(), width - 3, theme), theme.style(Tone::Head)),
            ]),
        ];
        if let Some(trouble) = &self.trouble {
            lines.extend(told_wrong(trouble, width, theme));
        }
        if let Some(measure) = self.chosen().and_then(|kind| kind.measures.get(self.at)) {
            let unit =
                if measure.unit == "1" { String::new() } else { format!(", in {}", measure.unit) };
            lines.extend(
                wrapped(&format!("{}{unit}", measure.instrument), width, theme)
                    .into_iter()
                    .map(Line::raw),
            );
            lines.extend(wrapped(&measure.how, width, theme).into_iter().map(Line::raw));
            if !measure.choices.is_empty() {
                let choices = format!("one of: {}", measure.choices.join(", "));
                lines.extend(wrapped(&choices, width, theme).into_iter().map(Line::raw));
            }
            lines.push(Line::styled(format!("{enter} alone skips it, {esc} ends"), quiet));
        } else {
            let says =
                format!("Type a piece of its name, choose with {up} and {down}, {enter} takes it.");
            lines.extend(wrapped(&says, width, theme).into_iter().map(|l| Line::styled(l, quiet)));
        }
        frame.render_widget(Paragraph::new(lines), area);
        let at = self.line.visual_cursor().min(width.saturating_sub(3));
        frame.set_cursor_position(Position::new(area.x + 2 + at as u16, area.y + 1));
    }
}
