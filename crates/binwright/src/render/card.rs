//! How does one part, one unit or one kind read?

use binwright_catalog::Kind;
use binwright_shop::answer::{PartCard, UnitCard};

use super::supply;
use crate::say::{Form, Say};

/// Adds everything about a part.
pub fn part_card(say: &mut Say, card: &PartCard) {
    if say.form == Form::Plain {
        say.fields(&["number", &card.number]);
        say.fields(&["kind", &card.kind]);
        for (label, value) in &card.measures {
            say.fields(&[label, value]);
        }
        return;
    }
    say.heading(format!("{}  {}, {}  ({})", card.number, card.description, card.maker, card.kind));
    for (number, user) in &card.numbers {
        let by = if user.is_empty() { String::new() } else { format!(", used by {user}") };
        say.line(format!("     number   {number}{by}"));
    }
    for (label, value) in &card.measures {
        say.line(format!("     {label:<34} {value}"));
    }
    if let Some(layout) = &card.layout {
        say.line(format!("     layout   {layout}"));
    }
    supply(say, "     ", &card.supply);
}

/// Adds everything about a unit.
pub fn unit_card(say: &mut Say, card: &UnitCard) {
    let rating =
        |value: Option<u16>, unit| value.map_or(String::new(), |v| format!(", {v} {unit}"));
    say.heading(format!(
        "{}  {}, {}: {}{}{}",
        card.number,
        card.description,
        card.maker,
        card.machine,
        rating(card.volts, "V"),
        rating(card.amps, "A")
    ));
    for line in &card.bill {
        if say.form == Form::Plain {
            say.fields(&[
                &line.role,
                &line.part,
                &line.quantity.to_string(),
                &line.free.to_string(),
            ]);
            continue;
        }
        let remark =
            if line.remark.is_empty() { String::new() } else { format!(" ({})", line.remark) };
        say.line(format!(
            "     {:<22} {:>3} x {:<14} {}{remark}; {} free",
            line.role, line.quantity, line.part, line.description, line.free
        ));
    }
}

/// Adds how the measures of a kind are taken.
pub fn kind_card(say: &mut Say, kind: &Kind) {
    say.heading(format!("{}  {}", kind.key, kind.label));
    for measure in &kind.measures {
        if say.form == Form::Plain {
            say.fields(&[&measure.key, &measure.label, &measure.unit, &measure.how]);
            continue;
        }
        let words = if measure.words.is_empty() {
            String::new()
        } else {
            format!(" [{}]", measure.words.join(", "))
        };
        let unit = if measure.unit == "1" { String::new() } else { format!(" {}", measure.unit) };
        say.line(format!("  {:<20}{words} {}{unit}", measure.key, measure.label));
        say.line(format!("       {}: {}", measure.instrument, measure.how));
    }
    if let Some(layout) = &kind.layout {
        say.line("  layout               points of the part, by --layout or --distances");
        say.line(format!("       {}", layout.how));
    }
}
