//! How does a layout look, drawn to scale? Braille dots, or letters where only ASCII is drawn.

use binwright_shop::catalog::Role as PointRole;
use binwright_shop::sheet::{Drawing, Drawn};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::style::Style;
use ratatui::symbols::Marker;
use ratatui::text::Line;
use ratatui::widgets::canvas::{Canvas, Circle, Context, Line as Stroke, Points};

use crate::text::cut;
use crate::theme::{Role, Theme};

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
            if drawing.mirrored {
                mirror_line(ctx, x, y, half_y, theme);
            }
            for point in &drawing.points {
                part_point(ctx, point, mm_per_column, theme);
            }
            ctx.layer();
            for point in &drawing.points {
                letter(ctx, point, mm_per_column, theme);
            }
            laid_points(ctx, drawing, mm_per_column, theme);
            let across = format!("{:.0} mm across", half_x * 2.0);
            let text = cut(&across, area.width.into(), theme);
            ctx.print(x - half_x, y - half_y, Line::styled(text, theme.style(Role::Quiet)));
        });
    frame.render_widget(canvas, area);
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
    let color = colour(theme.style(Role::Plain));
    if theme.ascii {
        return;
    }
    // At least a dot's ring, so that a hole is told from a stud at any scale.
    let radius = point.diameter_mm.map_or(0.0, |mm| mm / 2.0).max(mm_per_column * 0.75);
    match point.role {
        PointRole::Hole => {
            ctx.draw(&Circle { x: point.x_mm, y: point.y_mm, radius, color });
        }
        PointRole::Stud => {
            ctx.draw(&Circle { x: point.x_mm, y: point.y_mm, radius, color });
            ctx.draw(&Circle { x: point.x_mm, y: point.y_mm, radius: radius / 2.0, color });
        }
        _ => ctx.draw(&Points { coords: &[(point.x_mm, point.y_mm)], color }),
    }
}

/// The point's designation, or the letter of its role, beside it.
fn letter(ctx: &mut Context<'_>, point: &Drawn, mm_per_column: f64, theme: Theme) {
    let fallback = match point.role {
        PointRole::Hole => theme.mark("", "o"),
        PointRole::Stud => "S",
        PointRole::Lead => "L",
        PointRole::Plug => "P",
        PointRole::Diode => "d",
    };
    let text = point.designation.as_deref().unwrap_or(fallback);
    if text.is_empty() {
        return;
    }
    let aside = if theme.ascii { 0.0 } else { 1.6 * mm_per_column };
    let text = cut(text, 8, theme);
    ctx.print(point.x_mm + aside, point.y_mm, Line::styled(text, theme.style(Role::Head)));
}

/// Crosses where the measured points lie, and how far off they are.
fn laid_points(ctx: &mut Context<'_>, drawing: &Drawing, mm_per_column: f64, theme: Theme) {
    for laid in &drawing.laid {
        let off = laid.on.map_or(f64::INFINITY, |(_, off)| off);
        let role = if laid.on.is_some() { Role::Taken } else { Role::Outside };
        let style = theme.style(role);
        if laid.on.is_none() {
            // Nothing of the part lies there.
            ctx.print(laid.x_mm, laid.y_mm, Line::styled("?", style));
        } else if off >= WORTH_MM {
            let below = laid.y_mm - 2.0 * mm_per_column;
            ctx.print(laid.x_mm - mm_per_column, below, Line::styled(format!("{off:.2}"), style));
            ctx.print(laid.x_mm, laid.y_mm, Line::styled("+", style));
        } else {
            ctx.print(laid.x_mm, laid.y_mm, Line::styled("+", style));
        }
    }
}

/// The line the part would have to be turned over at.
fn mirror_line(ctx: &mut Context<'_>, x: f64, y: f64, half_y: f64, theme: Theme) {
    let style = theme.style(Role::Outside);
    if !theme.ascii {
        ctx.draw(&Stroke { x1: x, y1: y - half_y, x2: x, y2: y + half_y, color: colour(style) });
    }
    ctx.print(x, y + half_y, Line::styled("| mirror", style));
}
