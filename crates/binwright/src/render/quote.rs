//! How does a quote or a job read?

use binwright_shop::bench::QuoteCard;

use crate::say::{Form, Say};
use binwright_catalog::shown::percent;

/// Adds one quote.
pub fn quote_card(say: &mut Say, card: &QuoteCard) {
    if say.form == Form::Plain {
        return plain(say, card);
    }
    let unit = if card.unit.is_empty() { "unit not known" } else { &card.unit };
    say.heading(format!(
        "{} revision {}  {}  {} {unit}  for {}",
        card.number, card.revision, card.state, card.machine, card.customer
    ));
    if card.dry_run {
        say.line("dry run: nothing was written; so it would stand");
    }
    let by = if card.who.is_empty() { String::new() } else { format!(" by {}", card.who) };
    say.line(format!("made {}{by}, valid until {}", card.issued, card.valid_until));
    for (name, probability) in &card.beside.findings {
        say.line(format!("likely     {:>8}  {name}", percent(*probability)));
    }
    for line in &card.lines {
        let part = line.part.as_ref().map_or(String::new(), |part| format!("{part} "));
        let condition = line.condition.map_or(String::new(), |c| format!("{c} "));
        let each = line.each.map_or("min".to_owned(), |each| format!("x {each}"));
        let net = line.net.to_string();
        let (class, quantity, words) = (&line.class, line.quantity, &line.words);
        say.line(format!("{class:<13} {net:>13}  {part}{condition}{quantity} {each}  {words}"));
    }
    for tax in &card.taxes {
        let amount = tax.tax.to_string();
        say.line(format!(
            "tax           {amount:>13}  {} % on {} of {}",
            tax.percent, tax.net, tax.class
        ));
    }
    if card.rounding.minor != 0 {
        say.line(format!("rounding      {:>13}", card.rounding.to_string()));
    }
    say.heading(format!("total         {:>13}", card.total.to_string()));
    for hold in &card.holds {
        let until = hold.until.map_or("it is issued".to_owned(), |day| day.to_string());
        say.line(format!(
            "held       {} x {} {} in {} until {until}",
            hold.quantity, hold.part, hold.condition, hold.bin
        ));
    }
    for lack in &card.to_order {
        say.line(format!("to order   {} x {} {}", lack.quantity, lack.part, lack.condition));
    }
    issued_lines(say, card);
    card.beside.left_out.iter().for_each(|why| say.line(format!("left out   {why}")));
    card.beside.advice.iter().for_each(|advice| say.line(format!("mind       {advice}")));
    card.beside.look_at.iter().for_each(|look| say.line(format!("look at    {look}")));
    for (word, readings) in [("read", &card.before), ("closing", &card.closing)] {
        for [check, outcome, typed] in readings {
            say.line(format!("{word:<10} {check} {typed}: {outcome}"));
        }
    }
    if !card.faults.is_empty() {
        say.line(format!("truly found {}", card.faults.join(", ")));
    }
    if card.state == "closed" && card.faults.is_empty() {
        say.line("truly found nothing for sure: this job teaches nothing");
    }
    if !card.note.is_empty() {
        say.line(format!("note       {}", card.note));
    }
    card.beside.cautions.iter().for_each(|caution| say.line(format!("CAUTION    {caution}")));
    say.line(&card.beside.deference);
    say.line(card.tax_note);
    card.next_step().iter().for_each(|step| say.line(format!("next       {step}")));
}

/// What left which bin, and how it is taken back while the job is open.
fn issued_lines(say: &mut Say, card: &QuoteCard) {
    for out in &card.issues {
        say.line(format!(
            "issued     {} x {} {} out of {}, movement {}",
            out.quantity, out.part, out.condition, out.bin, out.movement
        ));
    }
    if let (Some(out), "issued") = (card.issues.first(), card.state) {
        say.line(format!(
            "back       `binwright stock undo {}` puts that back in its bin; the job stays issued",
            out.movement
        ));
    }
}

fn plain(say: &mut Say, card: &QuoteCard) {
    let total = card.total.to_string();
    let (issued, valid) = (card.issued.to_string(), card.valid_until.to_string());
    let revision = card.revision.to_string();
    say.fields(&[
        "quote",
        &card.number,
        &revision,
        card.state,
        &card.customer,
        &card.unit,
        &issued,
        &valid,
        &total,
    ]);
    for line in &card.lines {
        let part = line.part.as_deref().unwrap_or_default();
        let (quantity, net, tax) =
            (line.quantity.to_string(), line.net.to_string(), line.tax.to_string());
        say.fields(&["line", &line.class, part, &quantity, &net, &tax, &line.words]);
    }
    for hold in &card.holds {
        let until = hold.until.map_or(String::new(), |day| day.to_string());
        say.fields(&[
            "held",
            &hold.part,
            &hold.bin,
            &hold.condition.to_string(),
            &hold.quantity.to_string(),
            &until,
        ]);
    }
    for out in &card.issues {
        let (condition, quantity) = (out.condition.to_string(), out.quantity.to_string());
        say.fields(&[
            "issued",
            &out.part,
            &out.bin,
            &condition,
            &quantity,
            &out.movement.to_string(),
        ]);
    }
    for lack in &card.to_order {
        say.fields(&["order", &lack.part, &lack.condition.to_string(), &lack.quantity.to_string()]);
    }
    card.beside.cautions.iter().for_each(|caution| say.fields(&["caution", caution]));
    say.fields(&["deference", &card.beside.deference]);
}

/// Adds quotes, one a line.
pub fn quote_list(say: &mut Say, cards: &[QuoteCard]) {
    for card in cards {
        let total = card.total.to_string();
        let valid = card.valid_until.to_string();
        if say.form == Form::Plain {
            say.fields(&[&card.number, card.state, &card.customer, &card.unit, &valid, &total]);
        } else {
            let waits = if card.to_order.is_empty() { "" } else { "  parts to order" };
            say.line(format!(
                "{} {:<9} {total:>13}  until {valid}  {} {}{waits}",
                card.number, card.state, card.unit, card.customer
            ));
        }
    }
}
