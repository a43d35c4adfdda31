//! How is the buying desk laid out? Terms, what is due, why the chosen line is, its months as bars.

use binwright_shop::buying::{Advised, AdvisedLine, Cut, Trend};
use jiff::civil::Date;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use super::chart::{self, Forecast};
use super::{Basket, Buying, Pane, ahead, basket};
use crate::text::{columns, cut, left, right, rule, wrapped};
use crate::theme::{Theme, Tone};
use binwright_shop::catalog::shown::percent;

/// Rows of a chart beyond which it says no more.
const CHART_MOST: u16 = 14;

pub(super) fn draw(desk: &Buying, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
    let width = usize::from(area.width);
    if desk.pane == Pane::Basket {
        let [terms, all] =
            Layout::vertical([Constraint::Length(1), Constraint::Min(1)]).areas(area);
        frame.render_widget(Paragraph::new(terms_line(desk, width, theme)), terms);
        frame.render_widget(Paragraph::new(basket_lines(desk, all, theme)), all);
        return;
    }
    let told = desk.chosen().map_or_else(Vec::new, |line| told(line, width, theme));
    let rows = desk.due().count() as u16 + 1;
    let left = area.height.saturating_sub(1 + told.len() as u16);
    let list = rows.clamp(2, (left / 2).max(4));
    let [terms, due, chosen, months] = Layout::vertical([
        Constraint::Length(1),
        Constraint::Length(list),
        Constraint::Length(told.len() as u16),
        Constraint::Max(CHART_MOST),
    ])
    .areas(area);
    frame.render_widget(Paragraph::new(terms_line(desk, width, theme)), terms);
    frame.render_widget(Paragraph::new(due_lines(desk, due, theme)), due);
    frame.render_widget(Paragraph::new(told), chosen);
    if let Some(line) = desk.chosen() {
        let below = match (desk.pane, &desk.advised) {
            (Pane::Stock, Some(advised)) => stock_lines(line, advised.as_of, months, theme),
            _ => month_lines(line, months, theme),
        };
        frame.render_widget(Paragraph::new(below), months);
    }
}

/// What was asked, and what it comes to.
fn terms_line(desk: &Buying, width: usize, theme: Theme) -> Line<'static> {
    if let Some(trouble) = &desk.trouble {
        let text = cut(&format!("! {trouble}"), width, theme);
        return Line::styled(text, theme.style(Tone::Outside));
    }
    let budget = desk.terms.budget.map_or_else(|| "none".to_owned(), |most| most.to_string());
    let asked = format!("service {}   budget {budget}", percent(desk.terms.service));
    let comes_to = match &desk.advised {
        _ if desk.waiting => "asking".to_owned(),
        None => String::new(),
        Some(_) => {
            let to_order = desk.due().filter(|line| line.order > 0).count();
            let cut_short = desk.due().filter(|line| line.cut.is_some()).count();
            let unpriced = desk.advised.iter().flat_map(Advised::unpriced).count();
            let mut text = format!("{to_order} to order");
            if cut_short > 0 {
                text += &format!(", {cut_short} cut");
            }
            if let Some(spent) = desk.spent() {
                text += &format!(", {spent}");
            }
            if unpriced > 0 {
                let outside = desk.terms.budget.map_or("", |_| " outside it");
                text += &format!(", {unpriced} unpriced{outside}");
            }
            text
        }
    };
    let rest = width.saturating_sub(columns(&asked) + 3);
    Line::from(vec![
        Span::styled(cut(&asked, width, theme), theme.style(Tone::Head)),
        Span::raw("   "),
        Span::raw(cut(&comes_to, rest, theme)),
    ])
}

/// The widths of the columns that vary.
struct Columns {
    part: usize,
    order: usize,
    supplier: usize,
    cost: usize,
    rest: usize,
}

/// Columns of the chance to be short.
const SHORT: usize = 7;

impl Columns {
    fn of(desk: &Buying, width: usize) -> Self {
        let widest = |head: &str, most: usize, text: &dyn Fn(&AdvisedLine) -> String| {
            let widest = desk.due().map(|line| columns(&text(line))).max().unwrap_or(0);
            widest.clamp(columns(head), most)
        };
        let part = widest("part", 16, &|line| line.part.clone());
        let order = widest("order", 10, &order);
        let supplier = widest("supplier", 16, &|line| supplier(line).to_owned());
        let cost = widest("cost", 14, &cost);
        let rest = width.saturating_sub(2 + part + order + supplier + cost + SHORT + 5);
        Self { part, order, supplier, cost, rest }
    }

    /// One row; the chance stands before the words, which are cut first.
    fn row(&self, cells: [&str; 6], theme: Theme) -> String {
        let [part, order, supplier, cost, short, words] = cells;
        [
            left(part, self.part, theme),
            right(order, self.order, theme),
            left(supplier, self.supplier, theme),
            right(cost, self.cost, theme),
            right(short, SHORT, theme),
            left(words, self.rest, theme),
        ]
        .join(" ")
    }
}

/// How many to order, and that it is less than wanted where it is.
fn order(line: &AdvisedLine) -> String {
    if line.cut.is_some() { format!("cut {}", line.order) } else { line.order.to_string() }
}

fn supplier(line: &AdvisedLine) -> &str {
    line.supplier.as_deref().unwrap_or("")
}

fn cost(line: &AdvisedLine) -> String {
    line.cost.map_or_else(String::new, |cost| cost.to_string())
}

fn due_lines(desk: &Buying, area: Rect, theme: Theme) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let fit = Columns::of(desk, width);
    let head = fit.row(["part", "order", "supplier", "cost", "short", ""], theme);
    let head = cut(&format!("  {head}"), width, theme);
    let mut lines = vec![Line::styled(head, theme.style(Tone::Quiet))];
    let room = usize::from(area.height).saturating_sub(1);
    // The cursor's row is always among those shown.
    let first = (desk.cursor + 1).saturating_sub(room);
    for (at, line) in desk.due().enumerate().skip(first).take(room) {
        let on = at == desk.cursor;
        let mark = theme.pointer(on);
        let short = percent(line.chance_short);
        let cells =
            [&*line.part, &order(line), supplier(line), &cost(line), &short, &line.description];
        let text = cut(&format!("{mark}{}", fit.row(cells, theme)), width, theme);
        let tone = if on { Tone::Cursor } else { Tone::Plain };
        lines.push(Line::styled(text, theme.style(tone)));
    }
    if lines.len() == 1 {
        let says = match &desk.advised {
            None => "asking what is due",
            Some(advised) if advised.lines.is_empty() => {
                "nothing was ever wanted; import demand first"
            }
            Some(_) => "nothing is due on these terms",
        };
        lines.push(Line::styled(cut(&format!("  {says}"), width, theme), theme.style(Tone::Quiet)));
    }
    lines
}

/// The chosen line in words: what it is, why, what if not, and the stock that was reckoned with.
fn told(line: &AdvisedLine, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let cut_by = match line.cut {
        Some(Cut::Budget) => ", cut: the money saves more elsewhere",
        Some(Cut::Shelf) => ", cut: the shelf takes no more",
        None => "",
    };
    let title = format!("{} {}: order {}{cut_by}", line.part, line.description, line.order);
    let mut lines = vec![rule(&title, width, theme)];
    let stock = format!(
        "free {}, promised {}, on order {}; order at {}, up to {}",
        line.free, line.held, line.on_order, line.reorder_point, line.order_up_to
    );
    for (lead, text) in [("why", &line.why), ("if not", &line.if_not), ("stock", &stock)] {
        for (at, text) in wrapped(text, width.saturating_sub(8), theme).into_iter().enumerate() {
            let lead = left(if at == 0 { lead } else { "" }, 8, theme);
            lines.push(Line::from(vec![
                Span::styled(lead, theme.style(Tone::Quiet)),
                Span::raw(text),
            ]));
        }
    }
    lines
}

/// The basket, from the line scrolled to; the first line and what can be done always stand.
fn basket_lines(desk: &Buying, area: Rect, theme: Theme) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let says = |text: &str| vec![Line::styled(cut(text, width, theme), theme.style(Tone::Quiet))];
    let weighed = match &desk.basket {
        Basket::Weighed(weighed) | Basket::Sure(weighed) | Basket::Drafted(weighed) => weighed,
        _ if desk.due().all(|line| line.order == 0) => {
            return says("  nothing is due on these terms");
        }
        Basket::Unasked | Basket::Asked => return says("  weighing offers, freight and minimums"),
    };
    let mut lines = basket::lines(weighed, width, theme);
    let room = usize::from(area.height).saturating_sub(1);
    let last = lines.len().saturating_sub(room);
    lines.drain(1..=desk.scroll.min(last));
    lines
}

fn stock_lines(line: &AdvisedLine, as_of: Date, area: Rect, theme: Theme) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    let head = Line::styled(ahead::told(line, as_of, width, theme), theme.style(Tone::Quiet));
    let size = (width, usize::from(area.height).saturating_sub(1));
    let drawn = ahead::drawn(line, as_of, size, theme);
    std::iter::once(head).chain(drawn.into_iter().map(Line::raw)).collect()
}

fn month_lines(line: &AdvisedLine, area: Rect, theme: Theme) -> Vec<Line<'static>> {
    let width = usize::from(area.width);
    // The band is that of all the months until the next order could be here, a month of them.
    let months = line.ahead.mean / line.forecast_per_month.max(f64::MIN_POSITIVE);
    let a_month = |end: f64| if months > 0.0 { end / months } else { 0.0 };
    let (least, most) = (a_month(line.ahead.least), a_month(line.ahead.most));
    let forecast = Forecast { least, mean: line.forecast_per_month, most };
    let head = format!(
        "wanted by month, {}; {} forecast {:.2} a month, 8 in 10 {least:.1} to {most:.1}, {}",
        line.class,
        chart::line_mark(theme).repeat(2),
        line.forecast_per_month,
        match line.trend {
            Trend::Rising => "rising",
            Trend::Steady => "steady",
            Trend::Falling => "falling",
        }
    );
    let size = (width, usize::from(area.height).saturating_sub(1));
    let bars = chart::bars(&line.months, forecast, size, theme);
    let head = Line::styled(cut(&head, width, theme), theme.style(Tone::Quiet));
    std::iter::once(head).chain(bars.into_iter().map(Line::raw)).collect()
}
