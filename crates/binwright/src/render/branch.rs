//! How do branches, and what is on its way between them, read?

use binwright_shop::branches::{BranchList, TransitLine};

use crate::say::{Form, Say};

/// Adds the branches and the ways between them.
pub fn branches(say: &mut Say, list: &BranchList) {
    for name in &list.branches {
        let here = list.here.as_ref() == Some(name);
        if say.form == Form::Plain {
            say.fields(&["branch", name, if here { "here" } else { "" }]);
        } else {
            say.line(if here { format!("{name}, here") } else { name.clone() });
        }
    }
    for way in &list.ways {
        let (minutes, cost) = (way.minutes.to_string(), way.cost.to_string());
        if say.form == Form::Plain {
            say.fields(&["way", &way.one, &way.two, &minutes, &cost]);
        } else {
            say.line(format!("{} - {}: {minutes} min, {cost} a trip", way.one, way.two));
        }
    }
}

/// Adds one thing that is on its way.
pub fn in_transit(say: &mut Say, line: &TransitLine) {
    if say.form == Form::Plain {
        say.fields(&[
            line.transfer.to_string(),
            line.day.to_string(),
            line.part.clone(),
            line.condition.to_string(),
            line.quantity.to_string(),
            line.sent.to_string(),
            line.from_branch.clone(),
            line.from.clone(),
            line.to_branch.clone(),
            line.to.clone(),
            line.value.to_string(),
            line.reference.clone(),
            line.who.clone(),
        ]);
        return;
    }
    let of = if line.sent == line.quantity { String::new() } else { format!(" of {}", line.sent) };
    let mut text = format!(
        "{:>6}  {}  {}{of} x {} {}  {} {} > {} {}  {}",
        line.transfer,
        line.day,
        line.quantity,
        line.part,
        line.condition,
        line.from_branch,
        line.from,
        line.to_branch,
        line.to,
        line.value
    );
    for said in [&line.reference, &line.who] {
        if !said.is_empty() {
            text.push_str(&format!("  {said}"));
        }
    }
    say.line(text);
}
