//! How do movements, holds and values read?

use binwright_catalog::Money;
use binwright_shop::answer::InBin;
use binwright_shop::buying::LostSale;
use binwright_shop::stock::reach::Reach;
use binwright_shop::stock::{HoldLine, MovedLine, Posted, Value};

use crate::say::{Form, Say};

/// Adds what came of a posting.
pub fn posted(say: &mut Say, posted: &Posted) {
    if say.form != Form::Plain {
        say.line(match (posted.posting, posted.dry_run) {
            (None, _) => "the book is right: nothing to post".to_owned(),
            (Some(posting), false) => format!("posted as {posting}"),
            (Some(_), true) => "can be posted; nothing was written".to_owned(),
        });
    }
    posted.movements.iter().for_each(|line| moved(say, line));
}

/// Adds one movement.
pub fn moved(say: &mut Say, line: &MovedLine) {
    let number = |seq: Option<i64>| seq.map_or(String::new(), |seq| seq.to_string());
    if say.form == Form::Plain {
        say.fields(&[
            line.seq.to_string(),
            line.day.to_string(),
            line.reason.to_owned(),
            line.part.clone(),
            line.bin.clone(),
            line.condition.to_string(),
            line.quantity.to_string(),
            line.value.to_string(),
            line.reference.clone(),
            line.who.clone(),
            line.note.clone(),
            number(line.undoes),
            number(line.undone_by),
        ]);
        return;
    }
    let mut text = format!(
        "{:>6}  {}  {:<10} {:>8} x {:<14} {:<8} {:<9} {:>12}",
        line.seq,
        line.day,
        line.reason,
        line.quantity,
        line.part,
        line.bin,
        line.condition,
        line.value
    );
    for said in [&line.reference, &line.who, &line.note] {
        if !said.is_empty() {
            text.push_str(&format!("  {said}"));
        }
    }
    if let Some(seq) = line.undoes {
        text.push_str(&format!("  takes back {seq}"));
    }
    if let Some(seq) = line.undone_by {
        text.push_str(&format!("  taken back by {seq}"));
    }
    say.line(text);
}

/// Adds one hold.
pub fn hold(say: &mut Say, line: &HoldLine) {
    if say.form == Form::Plain {
        say.fields(&[
            line.hold.to_string(),
            line.until.to_string(),
            line.part.clone(),
            line.bin.clone(),
            line.condition.to_string(),
            line.quantity.to_string(),
            line.reference.clone(),
        ]);
        return;
    }
    say.line(format!(
        "{:>6}  until {}  {:>8} x {:<14} {:<8} {:<9}  {}",
        line.hold, line.until, line.quantity, line.part, line.bin, line.condition, line.reference
    ));
    if line.dry_run {
        say.line("can be held; nothing was written");
    }
}

/// Adds a sale that was lost, and what is free all the same.
pub fn lost(say: &mut Say, lost: &LostSale) {
    let LostSale { part, quantity, month, lost_in_month, free, dry_run } = lost;
    if say.form == Form::Plain {
        let (quantity, in_month) = (quantity.to_string(), lost_in_month.to_string());
        say.fields(&[part, &quantity, month, &in_month, &free.to_string()]);
        return;
    }
    let noted = if quantity.is_positive() {
        format!("{quantity} x {part} asked for and not in")
    } else {
        format!("{} x {part} taken back", quantity.negated())
    };
    say.done(format!("{noted}: {lost_in_month} lost in {month}"), *dry_run);
    if free.is_positive() {
        say.line(format!("{free} are free: `stock of {part}` says where"));
    }
}

/// What stock is worth; nought is not known, for it came in without a cost.
pub fn known(value: Money) -> String {
    if value.minor == 0 { "cost unknown".to_owned() } else { value.to_string() }
}

/// What lines are worth in `total`, and how many of them nobody knows it of.
pub fn worth(total: Money, lines: impl Iterator<Item = Money>) -> String {
    match lines.filter(|value| value.minor == 0).count() {
        0 => total.to_string(),
        unknown => format!("{total} and {unknown} of unknown cost"),
    }
}

/// Adds what the stock is worth.
pub fn value(say: &mut Say, value: &Value) {
    for line in &value.lines {
        if say.form == Form::Plain {
            say.fields(&[
                line.part.clone(),
                line.condition.to_string(),
                line.quantity.to_string(),
                line.value.to_string(),
            ]);
        } else {
            let value = known(line.value);
            say.line(format!(
                "{:<14} {:<9} {:>10} {value:>16}",
                line.part, line.condition, line.quantity
            ));
        }
    }
    if say.form != Form::Plain {
        let worth = worth(value.total, value.lines.iter().map(|line| line.value));
        say.heading(format!("worth {worth} when {} ended", value.day));
        if let Some(beside) = value.in_transit {
            say.line(format!("and {beside} on its way between branches"));
        }
    }
}

/// Adds how much of a part can be had.
pub fn reach(say: &mut Say, reach: &Reach) {
    let own = reach.own.iter().map(|line| (line.how, &line.part, "", line.free, &line.bins));
    let kits = reach.in_kits.iter().map(|kit| ("in kit", &kit.kit, "", kit.free, &kit.bins));
    let others = reach.stand_ins.iter();
    let others =
        others.map(|part| ("stand-in", &part.part, &part.remark[..], part.free, &part.bins));
    if say.form != Form::Plain {
        say.heading(format!(
            "{}  {} free, and {} in kits ({})",
            reach.part, reach.free, reach.free_in_kits, reach.unit
        ));
    }
    for (how, part, remark, free, bins) in own.chain(kits).chain(others) {
        let bins: Vec<String> = bins.iter().map(InBin::words).collect();
        let bins = if bins.is_empty() { "none in the bins".to_owned() } else { bins.join(", ") };
        if say.form == Form::Plain {
            say.fields(&[how, part, &free.to_string(), &bins, remark]);
        } else {
            let remark = if remark.is_empty() { String::new() } else { format!(" ({remark})") };
            say.line(format!("     {how:<10} {part:<14} {bins}{remark}"));
        }
    }
}
