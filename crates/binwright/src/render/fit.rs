//! How does "which part is this?" read?

use binwright_catalog::shown::percent;
use binwright_shop::answer::{Candidate, Compared, FitAnswer};

use super::{stock_field, supply};
use crate::say::{Form, Say};

/// Adds the answer for reading or as tab-separated lines.
pub fn fit_answer(say: &mut Say, answer: &FitAnswer) {
    if say.form == Form::Plain {
        for candidate in &answer.candidates {
            say.fields(&[
                &candidate.number,
                &format!("{:.4}", candidate.probability),
                &candidate.kind,
                &candidate.maker,
                &candidate.description,
                &stock_field(&candidate.supply),
            ]);
        }
        say.fields(&["none", &format!("{:.4}", answer.none)]);
        return;
    }
    let (kinds, many) = (answer.kinds.join(", "), answer.candidates.len());
    say.heading(if answer.far.is_empty() {
        format!("{kinds}: {many} likely, none of ours {}", percent(answer.none))
    } else {
        format!("{kinds}: nothing is likely before this is read again")
    });
    for far in &answer.far {
        say.line(far.in_full());
    }
    for (at, candidate) in answer.candidates.iter().enumerate() {
        candidate_lines(say, at + 1, candidate);
    }
    if answer.candidates.is_empty() {
        say.line("No part of the shop comes near these measures.");
    }
    for (at, next) in answer.next.iter().take(3).enumerate() {
        let lead = if at == 0 { "next" } else { "or  " };
        say.line(format!(
            "{lead}  {} ({}): {:.2} bit in {} min. {}",
            next.label, next.measure, next.gain_bits, next.minutes, next.how
        ));
    }
}

fn candidate_lines(say: &mut Say, place: usize, candidate: &Candidate) {
    say.heading(format!(
        "{place:>2} {:>7}  {}  {}, {}",
        percent(candidate.probability),
        candidate.number,
        candidate.description,
        candidate.maker
    ));
    if !candidate.also.is_empty() {
        say.line(format!("     the same as far as is known: {}", candidate.also.join(", ")));
    }
    if candidate.wrong_hand {
        say.line(
            "     WRONG HAND: only its mirror image fits; it looks the same and will not go in",
        );
    }
    for compared in &candidate.measures {
        say.line(format!("     {}", compared_line(compared)));
    }
    if let Some(points) = candidate.points_in_words() {
        say.line(format!("     {:<26} {points}", "layout"));
    }
    supply(say, "     ", &candidate.supply);
}

fn compared_line(compared: &Compared) -> String {
    let nominal = match (&compared.nominal, &compared.lent_by) {
        (Some(nominal), None) => format!("card {nominal}"),
        (Some(nominal), Some(by)) => format!("not on the card; {by} has {nominal}"),
        (None, _) => "not on the card".to_owned(),
    };
    let deviation = match compared.deviation {
        Some(deviation) if compared.unit == "1" && deviation == 0.0 => String::new(),
        Some(deviation) if compared.unit == "1" => format!("{deviation:+}  "),
        Some(deviation) => format!("{deviation:+.2} {}  ", compared.unit),
        None => String::new(),
    };
    format!(
        "{:<26} taken {:<8} {nominal:<14} {deviation}{}",
        compared.label,
        compared.taken,
        compared.verdict.word()
    )
}
