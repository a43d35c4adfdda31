//! How do findings, the next check and what is called for read?

use binwright_shop::bench::{
    BenchAnswer, CheckCard, FaultCard, LearntCard, Repair, RepairOption, Taken,
};
use binwright_shop::diagnosis::{Call, Calls, Finding, NextCheck};

use crate::say::{Form, Say};
use binwright_catalog::shown::percent;

/// Findings less likely than this are left out of reading, never out of JSON or plain lines.
const WORTH_A_LINE: f64 = 0.01;
/// So many pairs of faults that cannot be told apart are read; before any reading nearly all are.
const PAIRS: usize = 3;

/// Adds what the readings say, at most `limit` findings and next checks.
pub fn bench_answer(say: &mut Say, answer: &BenchAnswer, limit: usize) {
    let diagnosis = &answer.diagnosis;
    if say.form == Form::Plain {
        return plain(say, answer);
    }
    let unit = answer.unit.as_ref().map_or(String::new(), |unit| format!(" {unit}"));
    let loose = if answer.loose { ", carried in loose" } else { "" };
    say.heading(format!("{}{unit}, {} V{loose}", answer.machine, answer.volts));
    for reading in &diagnosis.readings {
        let sure = if reading.share > 0.995 {
            String::new()
        } else {
            format!(" (as likely as {})", percent(reading.share))
        };
        say.line(format!(
            "read   {} {} {}: {}{sure}",
            reading.code, reading.check, reading.typed, reading.words
        ));
        if let Some(means) = &reading.means {
            say.line(format!("       {means}"));
        }
    }
    let likely = diagnosis.findings.iter().filter(|finding| finding.probability >= WORTH_A_LINE);
    likely.take(limit).for_each(|finding| finding_lines(say, finding));
    for pair in diagnosis.indistinct.iter().take(PAIRS) {
        let apart = match &pair.told_apart_by {
            Some(check) => format!("{check} tells them apart"),
            None => "no check that is left tells them apart".to_owned(),
        };
        say.line(format!("open   {} or {}: {apart}", pair.faults[0], pair.faults[1]));
    }
    if let Some(more @ 1..) = diagnosis.indistinct.len().checked_sub(PAIRS) {
        say.line(format!("open   and {more} more pairs that nothing read so far tells apart"));
    }
    let stop = &diagnosis.stop;
    if stop.stop {
        say.heading("stop here: more checks cannot change what you would order");
        say.line(format!("       {}", stop.reason));
    } else {
        for (at, next) in diagnosis.next_checks.iter().take(limit.max(1)).enumerate() {
            next_lines(say, at, next);
        }
    }
    calls_lines(say, &diagnosis.calls);
    repair_lines(say, &answer.repair);
    say.line(&answer.deference);
}

fn finding_lines(say: &mut Say, finding: &Finding) {
    say.heading(format!(
        "{:>8}  {} {}  ({}; {} before any reading)",
        percent(finding.probability),
        finding.code,
        finding.name,
        finding.key,
        percent(finding.prior)
    ));
    for (word, reasons) in [("for    ", &finding.speaks_for), ("against", &finding.speaks_against)]
    {
        for reason in reasons {
            say.line(format!(
                "          {word} x {:<7} {}",
                reason.factor_in_words(),
                reason.words
            ));
        }
    }
}

fn next_lines(say: &mut Say, place: usize, next: &NextCheck) {
    let strip = match next.strip_minutes {
        minutes if minutes > 0.0 => format!(" + {minutes:.0} to strip to {}", next.level),
        _ => String::new(),
    };
    let lead = if place == 0 { "next" } else { "or  " };
    let line = format!(
        "{lead}   {} {} ({}): {:.0} min{strip}, {:.2} bit, {:.3} a minute; changes the order or the leading finding in {}",
        next.code,
        next.name,
        next.check,
        next.minutes,
        next.gain_bits,
        next.bits_per_minute,
        percent(next.change_chance)
    );
    if place > 0 {
        return say.line(line);
    }
    say.heading(line);
    say.line(format!("       {}", next.how));
    cautions(say, &next.cautions);
}

fn cautions(say: &mut Say, cautions: &[String]) {
    cautions.iter().for_each(|caution| say.line(format!("       CAUTION {caution}")));
}

fn calls_lines(say: &mut Say, calls: &Calls) {
    for call in &calls.must {
        let what = if call.ordered { "order" } else { "maybe" };
        call_line(say, what, call);
    }
    for call in &calls.while_in_there {
        call_line(say, "too  ", call);
    }
    for work in &calls.work {
        say.line(format!("do     {} ({}; {})", work.words, percent(work.probability), work.fault));
    }
    calls.look_at.iter().for_each(|look| say.line(format!("look   {look}")));
    for used in &calls.consumables {
        say.line(format!("uses   {} {} {}", used.quantity, used.unit, used.name));
    }
    calls.root_causes.iter().for_each(|cause| say.line(format!("cause  {cause}")));
    if calls.minutes > 0.0 {
        say.line(format!("bench  {:.0} min beyond testing", calls.minutes));
    }
    cautions(say, &calls.cautions);
}

fn call_line(say: &mut Say, what: &str, call: &Call) {
    let when = match &call.when[..] {
        [] => String::new(),
        when => format!(": {}", when.join("; ")),
    };
    say.line(format!(
        "{what}  {} x {} ({}; {}){when}",
        call.role,
        call.pieces,
        percent(call.probability),
        call.faults.join(", ")
    ));
    if let Some((work, enough)) = &call.rework {
        say.line(format!("       or {work}, enough with {}", percent(*enough)));
    }
}

fn repair_lines(say: &mut Say, repair: &Repair) {
    repair.options.iter().for_each(|option| option_lines(say, option));
    if !repair.missing.is_empty() {
        say.line(format!("none   nothing to be had for {}", repair.missing.join(", ")));
    }
    repair.without_price().iter().for_each(|why| say.line(format!("none   {why}")));
}

fn option_lines(say: &mut Say, option: &RepairOption) {
    let ready = match option.days {
        0 => "ready today".to_owned(),
        days => format!("parts here in {days} days"),
    };
    say.heading(format!(
        "cover {}  {} in all, parts {}, {} min, {ready}: {}",
        option.name,
        option.total,
        option.parts,
        option.minutes,
        option.reasons.join(", ")
    ));
    option.takes.iter().for_each(|taken| say.line(format!("       {}", taken_line(taken))));
    if !option.fills_as_well.is_empty() {
        say.line(format!("       fills as well: {}", option.fills_as_well.join(", ")));
    }
    for extra in &option.extras {
        say.line(format!("       while in there: {}", taken_line(extra)));
    }
    option.advice.iter().for_each(|advice| say.line(format!("       mind: {advice}")));
}

/// `1 x RP-1131C new, 46.90 EUR, from A2-04: plate 120 A (same holes and stud)`
pub fn taken_line(taken: &Taken) -> String {
    let Some(condition) = taken.condition else { return taken.words.clone() };
    let mut from: Vec<String> =
        taken.from.iter().map(|from| format!("{} from {}", from.quantity, from.bin)).collect();
    if taken.to_order.is_positive() {
        from.push(format!("{} to order", taken.to_order));
    }
    let remark = taken.remark.as_ref().map_or(String::new(), |remark| format!(" ({remark})"));
    let (part, words, from) = (&taken.part, &taken.words, from.join(", "));
    format!("{} x {part} {condition}, {}, {from}: {words}{remark}", taken.pieces, taken.each)
}

fn plain(say: &mut Say, answer: &BenchAnswer) {
    let diagnosis = &answer.diagnosis;
    for reading in &diagnosis.readings {
        say.fields(&["reading", &reading.check, &reading.typed, &reading.outcome, &reading.words]);
    }
    for finding in &diagnosis.findings {
        let number = |p: f64| format!("{p:.4}");
        let (now, before) = (number(finding.probability), number(finding.prior));
        say.fields(&["finding", &finding.key, &now, &before, &finding.name]);
    }
    for next in &diagnosis.next_checks {
        let minutes = format!("{:.0}", next.minutes + next.strip_minutes);
        let worth = format!("{:.4}", next.bits_per_minute);
        say.fields(&["next", &next.check, &minutes, &worth, &next.cautions.join(" ")]);
    }
    let stop = if diagnosis.stop.stop { "yes" } else { "no" };
    say.fields(&["stop", stop, &diagnosis.stop.reason]);
    let all = [("must", &diagnosis.calls.must), ("while", &diagnosis.calls.while_in_there)];
    for (word, calls) in all {
        for call in calls {
            let pieces = call.pieces.to_string();
            let chance = format!("{:.4}", call.probability);
            let ordered = if call.ordered { "order" } else { "maybe" };
            say.fields(&[word, &call.role, &pieces, &chance, ordered, &call.when.join("; ")]);
        }
    }
    for option in &answer.repair.options {
        let (days, minutes) = (option.days.to_string(), option.minutes.to_string());
        let takes: Vec<String> = option.takes.iter().map(taken_line).collect();
        let total = option.total.to_string();
        say.fields(&["cover", &option.name, &total, &days, &minutes, &takes.join("; ")]);
    }
    diagnosis.calls.cautions.iter().for_each(|caution| say.fields(&["caution", caution]));
    say.fields(&["deference", &answer.deference]);
}

/// Adds the checks of a machine, one a line.
pub fn check_list(say: &mut Say, cards: &[CheckCard]) {
    for card in cards {
        let outcomes: Vec<&str> = card.outcomes.iter().map(|(key, ..)| key.as_str()).collect();
        let outcomes = outcomes.join(", ");
        if say.form == Form::Plain {
            let (minutes, number) = (format!("{:.0}", card.minutes), card.number.as_deref());
            let number = number.unwrap_or_default();
            say.fields(&[
                &card.key,
                &card.code,
                &card.level.0,
                &minutes,
                &card.name,
                &outcomes,
                number,
            ]);
        } else {
            let level = &card.level.0;
            say.line(format!(
                "{:<5} {level} {:<22} {:<34} {outcomes}",
                card.code, card.key, card.name
            ));
        }
    }
}

/// Adds how one check is made and read.
pub fn check_card(say: &mut Say, card: &CheckCard, deference: &str) {
    say.heading(format!("{} {}  ({})", card.code, card.name, card.key));
    say.line(format!("level     {}, {}; {:.0} min", card.level.0, card.level.1, card.minutes));
    say.line(format!("how       {}", card.how));
    for (code, meaning) in &card.terminals {
        say.line(format!("terminal  {code}: {meaning}"));
    }
    for (key, words, means) in &card.outcomes {
        let means = means.as_ref().map_or(String::new(), |means| format!(". {means}"));
        say.line(format!("outcome   {}={key}: {words}{means}", card.key));
    }
    if let Some(number) = &card.number {
        say.line(format!("number    type it like {}={number}", card.key));
    }
    card.theory.iter().for_each(|theory| say.line(format!("theory    {theory}")));
    card.cautions.iter().for_each(|caution| say.line(format!("CAUTION   {caution}")));
    say.line(deference);
}

/// Adds the faults of a machine, one a line.
pub fn fault_list(say: &mut Say, cards: &[FaultCard]) {
    for card in cards {
        if say.form == Form::Plain {
            say.fields(&[&card.key, &card.code, &format!("{:.4}", card.prior), &card.name]);
        } else {
            let share = percent(card.prior);
            say.line(format!("{:<4} {:<20} {share:>8}  {}", card.code, card.key, card.name));
        }
    }
}

/// Adds what closed jobs have taught.
pub fn learnt(say: &mut Say, card: &LearntCard) {
    if say.form != Form::Plain {
        let off = if card.on { "" } else { "; learning is off in the settings" };
        let (jobs, pseudo) = (card.jobs, card.pseudo_jobs);
        say.heading(format!(
            "{jobs} closed jobs beside {pseudo} the built-in numbers count as{off}"
        ));
    }
    for (machine, moved) in &card.moved {
        for one in moved {
            let (before, after) = (format!("{:.4}", one.before), format!("{:.4}", one.after));
            let of = one
                .outcome
                .as_ref()
                .map_or("prior".to_owned(), |(check, key)| format!("{check}={key}"));
            if say.form == Form::Plain {
                say.fields(&[machine.word(), &one.fault, &of, &before, &after]);
            } else {
                say.line(format!("{machine} {:<18} {of:<28} {before} -> {after}", one.fault));
            }
        }
    }
}
