//! What do the published standards say? Bearings, threads, terminals, check digits.

pub mod bearing;
pub mod gs1;
pub mod terminal;
pub mod thread;

use crate::{DecimalMark, LengthUnit, parse_length_mm};

/// Returns what the standards say of `text` as typed at the counter, a sentence each; nothing
/// when they know it not.
///
/// `17x40x12` and `6203-2RS` are bearings, `7.85 mm stud` and `8 af` threads taken by caliper,
/// `M8` a thread, `B+` a terminal, a run of 8, 12, 13 or 14 digits perhaps an article number.
///
/// ```
/// # use binwright_catalog::standard::explain;
/// assert!(explain("17x40x12")[0].starts_with("6203"));
/// assert!(explain("7.85 mm stud")[0].starts_with("M8"));
/// ```
pub fn explain(text: &str) -> Vec<String> {
    let text = text.trim();
    let lower = text.to_lowercase();
    if let Some(sizes) = bearing::parse_sizes_mm(&lower) {
        return bearing::explain_sizes(sizes);
    }
    if let Some(stud) = taken(&lower, &["mm stud", "stud", "mm thread"]) {
        return thread::read_stud_mm(stud).into_iter().map(|read| read.to_string()).collect();
    }
    if let Some(flats) = taken(&lower, &["mm af", "af", "mm across flats", "across flats", "a/f"]) {
        return thread::read_across_flats(flats).into_iter().map(|read| read.to_string()).collect();
    }
    let mut said = Vec::new();
    if let Some(bearing) = bearing::dimensions(text) {
        said.push(bearing.to_string());
    }
    if let Some(says) = thread::designation(text).and_then(|name| thread::describe(&name)) {
        said.push(says);
    }
    if let Some(meaning) = terminal::meaning(text) {
        said.push(format!("{}: {meaning} (DIN 72552)", text.to_uppercase()));
    }
    said.extend(gs1::describe(text));
    said
}

/// The length before one of `endings`, in mm.
fn taken(text: &str, endings: &[&str]) -> Option<f64> {
    endings
        .iter()
        .filter_map(|ending| text.strip_suffix(ending))
        .find_map(|rest| parse_length_mm(rest, LengthUnit::Mm, DecimalMark::Point).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_at_the_counter_is_explained() {
        let rows = [
            ("17x40x12", "6203: 17 x 40 x 12 mm"),
            ("17 × 40 × 12 mm", "6203: 17 x 40 x 12 mm"),
            ("6203-2RS C3", "6203: 17 x 40 x 12 mm"),
            ("7.85 mm stud", "M8:"),
            ("8 af", "M5:"),
            ("M8", "M8:"),
            ("b+", "B+: battery plus"),
            ("6291041500213", "6291041500213: "),
        ];
        for (text, begins) in rows {
            let said = explain(text);
            assert!(said.first().is_some_and(|line| line.starts_with(begins)), "{text}: {said:?}");
        }
        for text in ["", "burnt plate", "RK-4471", "x", "0x0x0", "1e9x2x3", "stud", "-5 af"] {
            assert!(explain(text).is_empty(), "{text}: {:?}", explain(text));
        }
    }
}
