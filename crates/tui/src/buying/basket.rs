//! How does a basket read? One order a supplier, every line with why it is bought there.

use binwright_shop::buying::basket::{Weighed, WeighedLine, WeighedOrder};
use ratatui::text::Line;

use crate::text::{columns, cut, left, right};
use crate::theme::{Theme, Tone};

/// The basket as lines of at most `width` columns, the first of them what it comes to.
pub(super) fn lines(weighed: &Weighed, width: usize, theme: Theme) -> Vec<Line<'static>> {
    let orders = weighed.orders.len();
    let comes_to = format!("{orders} orders, {} with freight; {}", weighed.paid, proof(weighed));
    let mut lines = vec![Line::raw(cut(&comes_to, width, theme))];
    let part = widest(weighed, 16, |line| line.part.clone());
    let amount = widest(weighed, 14, |line| line.amount.to_string());
    for order in &weighed.orders {
        lines.push(Line::styled(cut(&head(order), width, theme), theme.style(Tone::Head)));
        for line in &order.lines {
            let text = [
                right(&line.quantity.to_string(), 7, theme),
                left(&line.part, part, theme),
                right(&line.amount.to_string(), amount, theme),
                line.why.clone(),
            ];
            lines.push(Line::raw(cut(&text.join(" "), width, theme)));
        }
    }
    for line in &weighed.left {
        let text = format!("left: {} x {}, {}", line.wanted, line.part, line.why);
        lines.push(Line::styled(cut(&text, width, theme), theme.style(Tone::Outside)));
    }
    lines
}

/// How many lines [`lines`] has.
pub(super) fn rows(weighed: &Weighed) -> usize {
    let ordered: usize = weighed.orders.iter().map(|order| 1 + order.lines.len()).sum();
    1 + ordered + weighed.left.len()
}

/// How sure it is that no other basket costs less.
fn proof(weighed: &Weighed) -> String {
    match weighed.gap {
        Some(gap) if gap.minor == 0 => "none costs less".to_owned(),
        Some(gap) => format!("none costs less by more than {gap}"),
        None => format!("by {}", weighed.proof),
    }
}

/// "Tarnbrook Supply  310.00 EUR, freight 8.50 EUR (none from 400.00 EUR), takes 50.00 EUR or more".
fn head(order: &WeighedOrder) -> String {
    let free =
        order.freight_free_from.map_or_else(String::new, |from| format!(" (none from {from})"));
    let least = match order.minimum {
        least if least.minor > 0 => format!(", takes {least} or more"),
        _ => String::new(),
    };
    format!("{}  {}, freight {}{free}{least}", order.supplier, order.goods, order.freight)
}

fn widest(weighed: &Weighed, most: usize, text: impl Fn(&WeighedLine) -> String) -> usize {
    let lines = weighed.orders.iter().flat_map(|order| &order.lines);
    lines.map(|line| columns(&text(line))).max().unwrap_or(0).min(most)
}
