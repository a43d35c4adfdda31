//! How are the points of a layout entered? One line a point, drawn as they come.

use binwright_shop::catalog::Layout as PartLayout;
use binwright_shop::catalog::Point;
use binwright_shop::points;
use binwright_shop::sheet::Drawing;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use tui_input::{Input, InputRequest};

use super::{Wish, drawing};
use crate::actions::{Act, Context};
use crate::keys::Keys;
use crate::text::{cut, told_wrong, wrapped};
use crate::theme::{Theme, Tone};

/// The points entered so far.
#[derive(Debug, Default)]
pub(super) struct Points {
    taken: Vec<Point>,
    /// What each was typed as.
    typed: Vec<String>,
    line: Input,
    /// The counter's line without its points.
    rest: String,
    trouble: Option<String>,
}

impl Points {
    /// An editor that goes on from the points in the counter's line, if it has any.
    pub fn new(line: &str) -> Self {
        let separate = |c: char| c.is_whitespace() || c == ';';
        let words: Vec<&str> = line.split(separate).filter(|word| !word.is_empty()).collect();
        let (points, rest): (Vec<&str>, Vec<&str>) =
            words.iter().partition(|word| word.contains('@'));
        let layout: PartLayout = points.join("; ").parse().unwrap_or_default();
        // What cannot be read stays in the line as it was typed.
        let rest = if layout.is_empty() { words } else { rest };
        let typed = layout.points().iter().map(as_typed).collect();
        Self { typed, taken: layout.points().to_vec(), rest: rest.join(" "), ..Self::default() }
    }

    /// Takes in a change of the editor's own line.
    pub fn typed(&mut self, request: InputRequest) -> Wish {
        self.line.handle(request);
        self.trouble = None;
        Wish::Stay
    }

    /// Takes in an act.
    pub fn act(&mut self, act: Act) -> Wish {
        match act {
            Act::Accept if self.line.value().trim().is_empty() => Wish::Close,
            Act::Accept => match points::read(self.line.value(), &self.taken) {
                Ok(point) => {
                    self.taken.push(point);
                    self.typed.push(self.line.value().trim().to_owned());
                    self.line = Input::default();
                    Wish::Line(self.composed())
                }
                Err(error) => {
                    self.trouble = Some(format!("{error}. {}", error.hint().unwrap_or_default()));
                    Wish::Stay
                }
            },
            // The last point comes back into the line to be mended.
            Act::Older => match (self.taken.pop(), self.typed.pop()) {
                (Some(_), Some(typed)) => {
                    self.line = Input::new(typed);
                    Wish::Line(self.composed())
                }
                _ => Wish::Stay,
            },
            Act::Back | Act::Points => Wish::Close,
            _ => Wish::Stay,
        }
    }

    /// The counter's line with the points at its end.
    fn composed(&self) -> String {
        let layout = PartLayout::new(self.taken.clone()).to_string();
        format!("{} {layout}", self.rest).trim().to_owned()
    }

    /// Draws the editor.
    pub fn view(&self, frame: &mut Frame<'_>, area: Rect, keys: &Keys, theme: Theme) {
        let [text, plan] =
            Layout::horizontal([Constraint::Min(30), Constraint::Percentage(45)]).areas(area);
        let width = usize::from(text.width).saturating_sub(1);
        let quiet = theme.style(Tone::Quiet);
        let mut lines = Vec::new();
        let room = usize::from(text.height).saturating_sub(6).max(1);
        let first = self.taken.len().saturating_sub(room);
        for (at, (point, typed)) in self.taken.iter().zip(&self.typed).enumerate().skip(first) {
            let place = format!("{},{}", point.x_mm, point.y_mm);
            let text = format!("{:>2}  {:<24} {place}", at + 1, cut(typed, 24, theme));
            lines.push(Line::raw(cut(&text, width, theme)));
        }
        let row = lines.len() as u16;
        let lead = format!("{:>2}{}", self.taken.len() + 1, theme.mark("▏ ", "| "));
        lines.push(Line::from(vec![
            Span::raw(lead),
            Span::styled(
                cut(self.line.value(), width.saturating_sub(5), theme),
                theme.style(Tone::Head),
            ),
        ]));
        if let Some(trouble) = &self.trouble {
            lines.extend(told_wrong(trouble, width, theme));
        } else {
            let [enter, up] = [Act::Accept, Act::Older].map(|act| keys.of(Context::Line, act));
            let ends = format!("{enter} adds or ends, {up} mends the last");
            let says = [
                "hole 92.1 0 /6.2     x and y",
                "stud:B+ 31.5<120 /M8 radius, angle",
                "lead:U 1=54.2 2=55.1 from points 1, 2",
            ];
            let says = says.map(str::to_owned).into_iter();
            for says in says.chain(wrapped(&ends, width.saturating_sub(4), theme)) {
                lines.push(Line::styled(cut(&format!("    {says}"), width, theme), quiet));
            }
        }
        frame.render_widget(Paragraph::new(lines), text);
        let at = self.line.visual_cursor().min(width.saturating_sub(5));
        frame.set_cursor_position(Position::new(text.x + 4 + at as u16, text.y + row));
        // What is being typed is drawn as soon as it can be.
        let coming = points::read(self.line.value(), &self.taken).ok();
        let points = self.taken.iter().cloned().chain(coming).collect();
        drawing::draw(&Drawing::of(&PartLayout::new(points)), frame, plan, theme);
    }
}

/// A point as it would be typed here.
fn as_typed(point: &Point) -> String {
    let name = point.designation.as_ref().map_or_else(String::new, |name| format!(":{name}"));
    let size = point.size.as_ref().map_or_else(String::new, |size| format!(" /{size}"));
    format!("{}{name} {} {}{size}", point.role, point.x_mm, point.y_mm)
}
