//! How does the buyer's list read?

use binwright_shop::buying::{Advised, AdvisedLine, TransferAdvice};

use crate::say::{Form, Say};

/// Adds what should go from one branch to another, and why.
pub fn transfer(say: &mut Say, line: &TransferAdvice) {
    let TransferAdvice { part, quantity, from, to, trip, minutes, buying, why } = line;
    if say.form == Form::Plain {
        let figures = [quantity.to_string(), trip.to_string(), minutes.to_string()];
        say.fields(&[
            part,
            &figures[0],
            from,
            to,
            &figures[1],
            &figures[2],
            &buying.to_string(),
            why,
        ]);
        return;
    }
    say.line(format!("{quantity} x {part}  {from} > {to}"));
    say.line(format!("     {why}"));
}

/// Adds what to order and why; `all` shows the parts that need none too, `past` how each way of
/// forecasting did.
pub fn advised(say: &mut Say, advised: &Advised, all: bool, past: bool) {
    let due = advised.lines.iter().filter(|line| line.order > 0).count();
    if say.form == Form::Plain {
        advised
            .lines
            .iter()
            .filter(|line| all || line.order > 0)
            .for_each(|line| fields(say, line));
    } else {
        let branch = advised.branch.as_ref();
        say.heading(format!(
            "as of {}{}: {due} of {} parts are due",
            advised.as_of,
            branch.map_or_else(String::new, |branch| format!(", for {branch} alone")),
            advised.lines.len()
        ));
        for line in advised.lines.iter().filter(|line| all || line.order > 0) {
            lines(say, line);
        }
        let unpriced: Vec<&str> = advised.unpriced().map(|line| line.part.as_str()).collect();
        if !unpriced.is_empty() {
            say.line(format!("without a price, outside any budget: {}", unpriced.join(", ")));
        }
    }
    if past {
        say.heading("loss of each way of forecasting on this shop's past, least first");
        for lost in &advised.past {
            say.line(format!("  {:<26} {:.4}  ({} looks)", lost.method, lost.loss, lost.looks));
        }
        if let Some(verdict) = advised.verdict() {
            say.line(format!("  {verdict}"));
        }
    }
}

fn lines(say: &mut Say, line: &AdvisedLine) {
    let what = if line.order > 0 { format!("order {}", line.order) } else { "no order".to_owned() };
    let from = match &line.supplier {
        Some(by) => format!(" from {by}"),
        None if line.order > 0 && line.card.is_some() => ", nobody offers it".to_owned(),
        None if line.order > 0 => ", no card bears that number".to_owned(),
        None => String::new(),
    };
    let cost = line.cost.map_or_else(String::new, |cost| format!(", {cost}"));
    say.heading(format!("{:<12} {what}{from}{cost}  {}", line.part, line.description));
    say.line(format!("     {}", line.why));
    if line.order > 0 {
        say.line(format!("     if not: {}", line.if_not));
    }
    say.line(format!(
        "     {}, {:.2} a month {}; order at {}, up to {}",
        sells(line.class),
        line.forecast_per_month,
        told_by(line.method),
        line.reorder_point,
        line.order_up_to
    ));
}

/// How a part of that class sells, as one says it at the counter.
fn sells(class: &str) -> &str {
    match class {
        "smooth" => "sells most months",
        "erratic" => "sells most months, now few, now many",
        "intermittent" => "sells now and then",
        "lumpy" => "sells now and then, now few, now many",
        _ => "never sold",
    }
}

/// What the forecast of that method was made from.
fn told_by(method: &str) -> String {
    match method.strip_prefix("pooled-") {
        Some(_) => "judged with all parts together".to_owned(),
        None => format!("by its own months alone ({method})"),
    }
}

fn fields(say: &mut Say, line: &AdvisedLine) {
    say.fields(&[
        &line.part,
        &line.order.to_string(),
        &format!("{:.4}", line.forecast_per_month),
        &line.reorder_point.to_string(),
        &line.order_up_to.to_string(),
        line.class,
        line.method,
        line.supplier.as_deref().unwrap_or_default(),
        &line.cost.map_or_else(String::new, |cost| cost.to_string()),
        &line.why,
        &line.if_not,
    ]);
}
