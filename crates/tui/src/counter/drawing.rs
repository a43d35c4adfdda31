//! How does a layout look, drawn to scale? Braille dots, or letters where only ASCII is drawn.

use binwright_shop::catalog::Role;
use binwright_shop::sheet::{Drawing, Drawn};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::symbols::Marker;
use ratatui::text::Span;
use ratatui::widgets::canvas::{Canvas, Circle, Context, Line as Stroke, Points};

use crate::text::{columns, cut};
use crate::theme::{Theme, Tone};

/// The smallest half width drawn, in mm.
const HALF_MIN_MM: f64 = 5.0;
/// Room around the outermost points, as a share.
const MARGIN: f64 = 1.18;
/// A deviation below this is not written beside its point.
const WORTH_MM: f64 = 0.05;

/// Draws the part's points, what was measured over them, and the scale.
pub fn draw(drawing: &Drawing, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    let xs = drawing.points.iter().map(|p| p.x_mm).chain(drawing.laid.iter().map(|p| p.x_mm));
    let ys = drawing.points.iter().map(|p| p.y_mm).chain(drawing.laid.iter().map(|p| p.y_mm));
    let Some((x, half_x)) = span(xs) else { return };
    let Some((y, half_y)) = span(ys) else { return };
    let (wide, high) = (f64::from(area.width), f64::from(area.height));
    if wide < 2.0 || high < 2.0 {
        return;
    }
    // A cell is taken for twice as high as wide: one millimetre is as long across as up.
    let mm_per_column = (half_x * 2.0 / wide).max(half_y * 2.0 / (2.0 * high)) * MARGIN;
    let (half_x, half_y) = (mm_per_column * wide / 2.0, mm_per_column * high);
    let canvas = Canvas::default()
        .marker(if theme.ascii { Marker::Dot } else { Marker::Braille })
        .x_bounds([x - half_x, x + half_x])
        .y_bounds([y - half_y, y + half_y])
        .paint(|ctx| {
            if drawing.mirrored && !theme.ascii {
                let color = colour(theme.style(Tone::Outside));
                ctx.draw(&Stroke { x1: x, y1: y - half_y, x2: x, y2: y + half_y, color });
            }
            for point in &drawing.points {
                part_point(ctx, point, mm_per_column, theme);
            }
        });
    frame.render_widget(canvas, area);
    let left_top = (x - half_x, y + half_y);
    let mut writing = Writing { area, left_top, mm_per_column, written: Vec::new(), theme };
    writing.write(drawing, half_x * 2.0);
    for (at, text, style) in &writing.written {
        frame.render_widget(Span::styled(text.as_str(), *style), *at);
    }
}

/// What is written into the drawing, piece by piece; none lies on another.
struct Writing {
    area: Rect,
    left_top: (f64, f64),
    mm_per_column: f64,
    written: Vec<(Rect, String, Style)>,
    theme: Theme,
}

impl Writing {
    /// What must stand where it is first, then what may stand beside it, then what may be left out.
    fn write(&mut self, drawing: &Drawing, wide_mm: f64) {
        let outside = self.theme.style(Tone::Outside);
        let quiet = self.theme.style(Tone::Quiet);
        if self.theme.ascii {
            drawing.points.iter().for_each(|point| self.letter(point));
        }
        for laid in &drawing.laid {
            let taken = self.theme.style(Tone::Taken);
            let (text, style) = if laid.on.is_some() { ("+", taken) } else { ("?", outside) };
            let at = self.cell(laid.x_mm, laid.y_mm);
            let _ = self.put(at, text, style, 0) || self.put((at.0 - 1, at.1), text, style, 0);
        }
        let bottom = i32::from(self.area.height) - 1;
        self.put((0, bottom), &format!("{wide_mm:.0} mm across"), quiet, 0);
        if drawing.mirrored {
            self.put((i32::from(self.area.width) / 2, 0), "| mirror", outside, 0);
        }
        if !self.theme.ascii {
            drawing.points.iter().for_each(|point| self.letter(point));
        }
        for laid in &drawing.laid {
            if let Some((_, off)) = laid.on.filter(|(_, off)| *off >= WORTH_MM) {
                let at = self.cell(laid.x_mm, laid.y_mm);
                self.beside(at, &format!("{off:.2}"), self.theme.style(Tone::Taken));
            }
        }
    }

    /// The point's designation, or the letter of its role; in ASCII it is the point itself.
    fn letter(&mut self, point: &Drawn) {
        let fallback = match point.role {
            Role::Hole => self.theme.mark("", "o"),
            Role::Stud => "S",
            Role::Lead => "L",
            Role::Plug => "P",
            Role::Diode => "d",
        };
        let text = cut(point.designation.as_deref().unwrap_or(fallback), 8, self.theme);
        let (at, style) = (self.cell(point.x_mm, point.y_mm), self.theme.style(Tone::Head));
        if self.theme.ascii {
            self.put(at, &text, style, 0);
        } else if !text.is_empty() {
            self.beside(at, &text, style);
        }
    }

    /// The cell that a point's dot lies in: braille has two dots across a cell and four down it.
    fn cell(&self, x_mm: f64, y_mm: f64) -> (i32, i32) {
        let (left_mm, top_mm) = self.left_top;
        let dots = |mm: f64, cells: u16, per_cell: f64, mm_per_cell: f64| {
            let all = f64::from(cells) * per_cell;
            let dot = mm / (f64::from(cells) * mm_per_cell) * (all - 1.0);
            (dot.round() / per_cell).floor() as i32
        };
        let column = dots(x_mm - left_mm, self.area.width, 2.0, self.mm_per_column);
        let row = dots(top_mm - y_mm, self.area.height, 4.0, 2.0 * self.mm_per_column);
        (column, row)
    }

    /// Writes `text` as near to the cell as there is room: right, left, below, above.
    fn beside(&mut self, (column, row): (i32, i32), text: &str, style: Style) {
        let wide = columns(text) as i32;
        let (right, left, middle) = (column + 2, column - 1 - wide, column - wide / 2);
        let near = [(right, 0), (left, 0), (middle, 1), (middle, -1)];
        let far = [(right, 1), (left, 1), (right, -1), (left, -1), (middle, 2), (middle, -2)];
        for (at, down) in near.into_iter().chain(far) {
            if self.put((at, row + down), text, style, 1) {
                return;
            }
        }
    }

    /// Writes `text` there, when it lies inside and `gap` columns at least from any other.
    fn put(&mut self, (column, row): (i32, i32), text: &str, style: Style, gap: i32) -> bool {
        let wide = columns(text) as i32;
        let inside = column >= 0
            && row >= 0
            && column + wide <= i32::from(self.area.width)
            && row < i32::from(self.area.height);
        if !inside {
            return false;
        }
        let (x, y) = (self.area.x + column as u16, self.area.y + row as u16);
        let clear = |(at, ..): &(Rect, String, Style)| {
            let (from, to) = (i32::from(at.x), i32::from(at.right()));
            at.y != y || i32::from(x) + wide + gap <= from || to + gap <= i32::from(x)
        };
        let clear = self.written.iter().all(clear);
        if clear {
            self.written.push((Rect::new(x, y, wide as u16, 1), text.to_owned(), style));
        }
        clear
    }
}

/// The middle of `values` and half their width; `None` for none.
fn span(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (low, high) =
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    (low <= high).then(|| (f64::midpoint(low, high), ((high - low) / 2.0).max(HALF_MIN_MM)))
}

fn colour(style: Style) -> ratatui::style::Color {
    style.fg.unwrap_or_default()
}

fn part_point(ctx: &mut Context<'_>, point: &Drawn, mm_per_column: f64, theme: Theme) {
    let color = colour(theme.style(Tone::Plain));
    if theme.ascii {
        return;
    }
    // At least a dot's ring, so that a hole is told from a stud at any scale.
    let radius = point.diameter_mm.map_or(0.0, |mm| mm / 2.0).max(mm_per_column * 0.75);
    match point.role {
        Role::Hole => {
            ctx.draw(&Circle { x: point.x_mm, y: point.y_mm, radius, color });
        }
        Role::Stud => {
            ctx.draw(&Circle { x: point.x_mm, y: point.y_mm, radius, color });
            ctx.draw(&Circle { x: point.x_mm, y: point.y_mm, radius: radius / 2.0, color });
        }
        _ => ctx.draw(&Points { coords: &[(point.x_mm, point.y_mm)], color }),
    }
}

#[cfg(test)]
mod tests {
    use binwright_shop::catalog::Layout;
    use ratatui::Terminal;
    use ratatui::backend::TestBackend;

    use super::*;

    /// Sixty millimetres across and sixty up: twice as many columns as rows, whatever the place, but
    /// for the halves of a cell that are rounded away.
    #[test]
    fn a_square_is_drawn_square() {
        let layout: Layout = "stud:A@0,0; stud:B@60,0; stud:C@0,60".parse().expect("a layout");
        for (width, height) in [(30, 12), (60, 24), (24, 30), (120, 40)] {
            let mut terminal = Terminal::new(TestBackend::new(width, height)).expect("in memory");
            let paint = |frame: &mut Frame<'_>| {
                let ascii = Theme { ascii: true, ..Theme::default() };
                draw(&Drawing::of(&layout), frame, frame.area(), ascii);
            };
            terminal.draw(paint).expect("in memory");
            let buffer = terminal.backend().buffer();
            let at = |name: &str| {
                let at = buffer.content.iter().position(|cell| cell.symbol() == name);
                let at = at.expect("it is drawn") as i32;
                (at % i32::from(width), at / i32::from(width))
            };
            let (a, b, c) = (at("A"), at("B"), at("C"));
            assert_eq!((a.1, a.0), (b.1, c.0), "level and upright");
            let (across, up) = (b.0 - a.0, a.1 - c.1);
            assert!(
                (across - 2 * up).abs() <= 3,
                "{across} columns, {up} rows in {width}x{height}"
            );
        }
    }
}
