//! How do baskets, orders and the buyer's reports read?

use binwright_catalog::{Money, shown::percent};
use binwright_shop::bench::quotes::Lacking;
use binwright_shop::buying::LeadLine;
use binwright_shop::buying::basket::{Drafted, Weighed};
use binwright_shop::buying::forecasts::ForecastReport;
use binwright_shop::buying::orders::{JobLine, OrderCard, OrderDone, OrderedLine, Received};
use binwright_shop::buying::reports::{
    AgedCore, DeadReport, FastReport, ServiceReport, Turns, TurnsReport,
};
use jiff::civil::Date;

use super::stock::{known, posted, worth};
use crate::say::{Form, Say};

/// Adds from whom to buy what.
pub fn weighed(say: &mut Say, weighed: &Weighed) {
    if say.form == Form::Plain {
        for order in &weighed.orders {
            for line in &order.lines {
                say.fields(&[
                    &order.supplier,
                    &line.part,
                    &line.number,
                    &line.wanted.to_string(),
                    &line.quantity.to_string(),
                    &line.each.to_string(),
                    &line.amount.to_string(),
                    &line.due.to_string(),
                    &line.why,
                ]);
            }
        }
        for line in &weighed.left {
            say.fields(&["", &line.part, "", &line.wanted.to_string(), "0", "", "", "", &line.why]);
        }
        return;
    }
    for order in &weighed.orders {
        let free =
            order.freight_free_from.map_or_else(String::new, |from| format!(", free from {from}"));
        let (goods, freight) = (order.goods, order.freight);
        say.heading(format!("{}: goods {goods}, freight {freight}{free}", order.supplier));
        for line in &order.lines {
            let (quantity, part, number) = (line.quantity, &line.part, &line.number);
            say.line(format!("{quantity:>8} x {part:<14} {number:<14} {:>14}", line.amount));
            say.line(format!("           {}", line.why));
        }
    }
    for line in &weighed.left {
        say.line(format!("left: {} x {}: {}", line.wanted, line.part, line.why));
    }
    let proof = match weighed.gap {
        Some(gap) if gap.minor == 0 => "no basket costs less".to_owned(),
        Some(gap) => format!("no basket costs less by more than {gap}"),
        None => {
            format!("found by {}: the search ended before it knew the least", weighed.proof)
        }
    };
    say.heading(format!("{} with freight; {proof}", weighed.paid));
}

/// Adds a basket and the orders drafted of it.
pub fn drafted(say: &mut Say, drafted: &Drafted) {
    if say.form != Form::Plain {
        weighed(say, &drafted.weighed);
        say.line(if drafted.dry_run { "can be drafted; nothing was written" } else { "drafted" });
    }
    drafted.drafts.iter().for_each(|card| head(say, card));
}

fn day(day: Option<Date>) -> String {
    day.map_or_else(String::new, |day| day.to_string())
}

/// Adds one line that stands for an order.
pub fn head(say: &mut Say, card: &OrderCard) {
    let lines = card.lines.len().to_string();
    if say.form == Form::Plain {
        say.fields::<&str>(&[
            &card.order,
            card.state,
            &card.supplier,
            &card.drafted.to_string(),
            &day(card.sent),
            &card.theirs,
            &lines,
            &card.total.to_string(),
            if card.late { "late" } else { "" },
        ]);
        return;
    }
    let late = if card.late { "  late" } else { "" };
    let (order, state, total, supplier) = (&card.order, card.state, card.total, &card.supplier);
    let branch = card.branch.as_ref().map_or_else(String::new, |branch| format!(", for {branch}"));
    say.line(format!(
        "{order:<8} {state:<14} {total:>14}  {lines:>3} lines  {supplier}{branch}{late}"
    ));
}

/// Adds an order, line by line.
pub fn card(say: &mut Say, card: &OrderCard) {
    if say.form == Form::Plain {
        card.lines.iter().for_each(|line| fields(say, card, line));
        return;
    }
    say.heading(format!("{}  {}  {}", card.order, card.state, card.supplier));
    let sent = card.sent.map_or_else(String::new, |sent| format!(", sent {sent}"));
    let theirs =
        if card.theirs.is_empty() { String::new() } else { format!(", theirs {}", card.theirs) };
    say.line(format!("     drafted {} by {}{sent}{theirs}", card.drafted, card.who));
    for line in &card.lines {
        ordered(say, line);
    }
    say.line(format!("     goods {}, freight {}, in all {}", card.goods, card.freight, card.total));
}

fn ordered(say: &mut Say, line: &OrderedLine) {
    let (at, quantity, part) = (line.line, line.quantity, &line.part);
    let (number, amount) = (&line.number, line.amount);
    say.line(format!(
        "{at:>4} {quantity:>8} x {part:<14} {number:<14} {amount:>14}  {}",
        line.description
    ));
    let mut said = Vec::new();
    if line.received.thousandths() != 0 {
        said.push(format!("{} came", line.received));
    }
    if line.over.is_positive() {
        said.push(format!("{} over", line.over));
    }
    if line.outstanding.is_positive() {
        said.push(format!("{} {}", line.outstanding, line.rest));
    } else if line.rest == "short" {
        said.push("the rest will not come".to_owned());
    }
    if let Some(due) = line.due.filter(|_| line.outstanding.is_positive()) {
        said.push(format!("{} {due}", if line.late { "late since" } else { "by" }));
    }
    if !line.note.is_empty() {
        said.push(line.note.clone());
    }
    say.line(format!("              {}", said.join(", ")));
    for came in &line.arrivals {
        let (day, quantity, posting) = (came.day, came.quantity, came.posting);
        let instead =
            if came.substitute { format!(" {} in its place", came.part) } else { String::new() };
        let freight = match came.freight {
            none if none.minor == 0 => String::new(),
            some => format!(", {some} freight in its cost"),
        };
        say.line(format!("              {day} {quantity}{instead}, posted as {posting}{freight}"));
    }
}

fn fields(say: &mut Say, card: &OrderCard, line: &OrderedLine) {
    say.fields(&[
        &card.order,
        card.state,
        &line.line.to_string(),
        &line.part,
        &line.number,
        &line.quantity.to_string(),
        &line.each.to_string(),
        &line.received.to_string(),
        &line.outstanding.to_string(),
        &line.over.to_string(),
        line.rest,
        &day(line.due),
        &line.note,
    ]);
}

/// Adds what was done to an order.
pub fn done(say: &mut Say, done: &OrderDone) {
    head(say, &done.order);
    if say.form == Form::Plain {
        return;
    }
    match &done.sheet {
        _ if done.dry_run => say.line("can be done; nothing was written"),
        Some(file) => say.line(format!("its sheet is {file}")),
        None => (),
    }
}

/// Adds what came in and how the order stands.
pub fn received(say: &mut Say, received: &Received) {
    posted(say, &received.posted);
    if say.form == Form::Plain {
        return;
    }
    card(say, &received.order);
    for JobLine { job, customer, lacks } in &received.jobs {
        let lacking = |one: &Lacking| format!("{} x {} {}", one.quantity, one.part, one.condition);
        let lacks: Vec<String> = lacks.iter().map(lacking).collect();
        let stands = if lacks.is_empty() {
            "has all its parts now and can be issued".to_owned()
        } else {
            format!("was given some; it still waits for {}", lacks.join(", "))
        };
        say.line(format!("{job} for {customer} {stands}"));
    }
}

fn money(money: Option<Money>) -> String {
    money.map_or_else(String::new, |money| money.to_string())
}

/// Adds what moves fast.
pub fn fast(say: &mut Say, report: &FastReport) {
    if say.form != Form::Plain {
        say.heading(format!(
            "wanted {} to {}, margin at list price over cost of today",
            report.period.from, report.period.to
        ));
    }
    for line in &report.lines {
        let (picks, units, margin) = (line.picks, line.units, money(line.margin));
        if say.form == Form::Plain {
            let (picks, units) = (picks.to_string(), units.to_string());
            say.fields(&[&line.part, &picks, &units, &margin, &line.description]);
        } else {
            let (part, what) = (&line.part, &line.description);
            say.line(format!("{part:<14} {picks:>5} picks {units:>8} units {margin:>16}  {what}"));
        }
    }
}

/// Adds what nobody wants.
pub fn dead(say: &mut Say, report: &DeadReport) {
    for line in &report.lines {
        let last = line.last_wanted.map_or_else(|| "never".to_owned(), |day| day.to_string());
        let (part, condition) = (&line.part, line.condition.to_string());
        let (quantity, value) = (line.quantity.to_string(), line.value.to_string());
        if say.form == Form::Plain {
            say.fields(&[part, &condition, &quantity, &value, &last]);
        } else {
            let value = known(line.value);
            say.line(format!(
                "{part:<14} {condition:<9} {quantity:>8} {value:>14}  last wanted {last}"
            ));
        }
    }
    if say.form != Form::Plain {
        let (from, to) = (report.period.from, report.period.to);
        let known = report.known_since.map_or_else(|| "never".to_owned(), |day| day.to_string());
        let parts = report.lines.len();
        let worth = worth(report.total, report.lines.iter().map(|line| line.value));
        say.heading(format!(
            "{parts} lines, worth {worth}, not wanted {from} to {to}; what was wanted is known \
             since {known}"
        ));
    }
}

/// Adds how often the stock turned over.
pub fn turns(say: &mut Say, report: &TurnsReport) {
    let mut add = |turns: &Turns, name: &str| {
        let a_year = turns.a_year.map_or_else(|| "-".to_owned(), |times| format!("{times:.2}"));
        let (cost, value) = (turns.cost.to_string(), turns.mean_value.to_string());
        if say.form == Form::Plain {
            say.fields(&[name, &cost, &value, &a_year]);
        } else {
            say.line(format!("{name:<24} {cost:>14} out of {value:>14}  {a_year:>7} times a year"));
        }
    };
    report.kinds.iter().for_each(|kind| add(kind, &kind.kind));
    add(&report.all, "all");
}

/// Adds how much of what was wanted was there.
pub fn service(say: &mut Say, report: &ServiceReport) {
    let reached = report.reached.map_or_else(|| "nothing was wanted".to_owned(), percent);
    let (served, lost) = (report.served.to_string(), report.lost.to_string());
    if say.form == Form::Plain {
        say.fields(&[&served, &lost, &reached, &percent(report.asked)]);
    } else {
        let asked = percent(report.asked);
        say.heading(format!("{served} served, {lost} not there: {reached}, {asked} asked"));
        let (from, to) = (report.period.from, report.period.to);
        say.line(format!(
            "{from} to {to}; served: jobs, sales, imported months; not there: what `stock asked` \
             noted and imports mark as lost"
        ));
    }
    for line in &report.short {
        let lost = line.lost.to_string();
        if say.form == Form::Plain {
            say.fields(&[&line.part, &lost]);
        } else {
            say.line(format!("{:<14} {lost:>8} not there", line.part));
        }
    }
}

/// Adds how far forecasts were from what came.
pub fn forecast(say: &mut Say, report: &ForecastReport) {
    if say.form != Form::Plain {
        let ForecastReport { period, months, forecast, came, off, off_as_before, .. } = report;
        say.heading(format!(
            "{} to {}, {months} months: {forecast:.0} units forecast the day before, {came:.0} came",
            period.from, period.to
        ));
        let share = |off: f64| 100.0 * off / came.max(f64::MIN_POSITIVE);
        let told = if *came > 0.0 {
            format!(
                "part by part off by {:.0} % of that; what sold before, taken again, by {:.0} %",
                share(*off),
                share(*off_as_before)
            )
        } else {
            "nothing came".to_owned()
        };
        say.line(told);
    }
    for line in &report.lines {
        let (forecast, came) = (format!("{:.1}", line.forecast), format!("{:.1}", line.came));
        if say.form == Form::Plain {
            say.fields(&[&line.part, line.method, &forecast, &came]);
        } else {
            let (part, method) = (&line.part, line.method);
            say.line(format!("{part:<14} {forecast:>8} forecast {came:>8} came  {method}"));
        }
    }
}

/// Adds an old part that is owed.
pub fn core(say: &mut Say, core: &AgedCore) {
    let (debt, days) = (core.core.debt.to_string(), core.age_days.to_string());
    let (owed, deposit) = (core.core.owed.to_string(), core.core.deposit.to_string());
    let (side, party, item) = (core.core.side, &core.core.party, &core.core.item);
    let late = if core.core.late { "late" } else { "" };
    if say.form == Form::Plain {
        say.fields(&[&debt, &days, side, party, item, &owed, &deposit, late]);
    } else {
        say.line(format!(
            "{debt:>6}  {days:>4} days  {side:<8} {party:<20} {owed:>6} x {item:<14} {deposit:>12}  {late}"
        ));
    }
}

/// Adds how long a supplier takes.
pub fn lead(say: &mut Say, line: &LeadLine) {
    let part = line.part.as_deref().unwrap_or("all");
    let used = if line.used { "seen" } else { "stated" };
    let (half, most, stated) = (line.median_days, line.days_90, line.stated_days);
    let (supplier, receipts) = (&line.supplier, line.receipts);
    if say.form == Form::Plain {
        let numbers =
            [receipts.to_string(), half.to_string(), most.to_string(), stated.to_string()];
        let [receipts, half, most, stated] = &numbers;
        say.fields(&[supplier, part, receipts, half, most, stated, used]);
    } else {
        say.line(format!(
            "{supplier:<22} {part:<14} {receipts:>4} receipts  half within {half} days, nine in ten \
             within {most}; stated {stated}; {used} is used"
        ));
    }
}
