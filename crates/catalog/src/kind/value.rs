//! What value of a measure does a text stand for?

use super::{Domain, Measure};
use crate::length::{LengthError, parse_decimal};
use crate::number::{self, NUMBER_CHARS_MAX};
use crate::standard::thread;
use crate::{DecimalMark, LengthUnit, Value, parse_length_mm};

/// What can be wrong with the text of a value.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum ValueError {
    #[error("{measure}: {source}")]
    Length { measure: String, source: LengthError },
    #[error("{measure}: `{found}` is not a number in {unit}")]
    NotANumber { measure: String, found: String, unit: String },
    #[error("{measure}: `{found}` is not a whole number from 0 to 10000")]
    NotACount { measure: String, found: String },
    #[error("{measure}: `{found}` is not an angle from 0 to 360 degrees")]
    NotAnAngle { measure: String, found: String },
    #[error("{measure}: `{found}` is none of {choices}")]
    NotAChoice { measure: String, found: String, choices: String },
    #[error("{measure}: `{found}` is not a thread")]
    NotAThread { measure: String, found: String },
    #[error("{measure}: `{found}` has no letter or digit, or is too long")]
    NotACode { measure: String, found: String },
}

impl ValueError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::Length { source: LengthError::Comma { .. }, .. } => {
                Some("Declare the decimal comma, or write 12.5.")
            }
            Self::Length { .. } => {
                Some("Write 112.3, 0.25 in, 4 7/16 in or 30 mil; leave out what was not measured.")
            }
            Self::NotAThread { .. } => Some("Write M8, M8x1, 1/4-28 or #10-32."),
            Self::NotACode { .. } => Some("A code has at most 64 characters."),
            _ => None,
        }
    }
}

impl Measure {
    /// Returns the value `text` stands for. A length without a unit is in `unit`; other numbers
    /// may carry the measure's own unit (`14.2 V`). A choice may be cut short as long as it is
    /// clear. A thread comes out in its usual form, a code as written.
    ///
    /// # Errors
    ///
    /// [`ValueError`] says what was read and what would be right.
    ///
    /// ```
    /// # use binwright_catalog::{DecimalMark, Kinds, LengthUnit, Value};
    /// let kinds = Kinds::builtin()?;
    /// let (_, hand) = kinds.get("rectifier-plate").and_then(|kind| kind.measure("handed")).unwrap();
    /// let left = hand.parse("L", LengthUnit::Mm, DecimalMark::Point)?;
    /// assert_eq!(left, Value::Word("left".to_owned()));
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn parse(
        &self,
        text: &str,
        unit: LengthUnit,
        mark: DecimalMark,
    ) -> Result<Value, ValueError> {
        let measure = || self.key.clone();
        let found = || text.trim().to_owned();
        match self.domain {
            Domain::Length => parse_length_mm(text, unit, mark)
                .map(Value::Number)
                .map_err(|source| ValueError::Length { measure: measure(), source }),
            Domain::Number => self.parse_number(text, mark).map(Value::Number).ok_or_else(|| {
                ValueError::NotANumber {
                    measure: measure(),
                    found: found(),
                    unit: self.unit.clone(),
                }
            }),
            Domain::Count => parse_decimal(text, mark)
                .filter(|count| count.fract() == 0.0 && (0.0..=10_000.0).contains(count))
                .map(Value::Number)
                .ok_or_else(|| ValueError::NotACount { measure: measure(), found: found() }),
            Domain::Angle => self
                .parse_number(text, mark)
                .filter(|degrees| (0.0..=360.0).contains(degrees))
                .map(|degrees| Value::Number(degrees % 360.0))
                .ok_or_else(|| ValueError::NotAnAngle { measure: measure(), found: found() }),
            Domain::Choice => self.parse_choice(text),
            Domain::Thread => thread::designation(text)
                .map(Value::Word)
                .ok_or_else(|| ValueError::NotAThread { measure: measure(), found: found() }),
            Domain::Code => {
                let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
                let right = !number::fold(&plain).is_empty()
                    && plain.chars().count() <= NUMBER_CHARS_MAX
                    && !plain.contains(crate::shown::is_hidden);
                right
                    .then_some(Value::Word(plain))
                    .ok_or_else(|| ValueError::NotACode { measure: measure(), found: found() })
            }
        }
    }

    /// Whether `value` lies where parts of the kind lie, half the range's width given on either
    /// side: a reason to ask again, never to refuse. Words are always plausible.
    pub fn plausible(&self, value: &Value) -> bool {
        match (self.range, value.number()) {
            (Some([low, high]), Some(number)) => {
                let slack = (high - low) / 2.0;
                (low - slack..=high + slack).contains(&number)
            }
            _ => true,
        }
    }

    fn parse_number(&self, text: &str, mark: DecimalMark) -> Option<f64> {
        let text = text.trim();
        let split = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+')))
            .unwrap_or(text.len());
        let (digits, suffix) = text.split_at(split);
        let suffix = suffix.trim().to_lowercase();
        let spoken: &[&str] = match self.unit.as_str() {
            "Ohm" => &["ohms", "ω"],
            "deg" => &["°"],
            "uF" => &["µf", "μf"],
            _ => &[],
        };
        let ours = suffix.is_empty()
            || suffix == self.unit.to_lowercase()
            || spoken.contains(&suffix.as_str());
        parse_decimal(digits, mark).filter(|_| ours)
    }

    fn parse_choice(&self, text: &str) -> Result<Value, ValueError> {
        let typed = number::fold(text);
        let unit = number::fold(&self.unit);
        let exact = |choice: &&String| {
            let choice = number::fold(choice);
            choice == typed || typed.strip_suffix(&unit).is_some_and(|bare| bare == choice)
        };
        let begins = |choice: &&String| number::fold(choice).starts_with(&typed);
        let mut near = self.choices.iter().filter(begins);
        let short = near.next().filter(|_| !typed.is_empty() && near.next().is_none());
        match self.choices.iter().find(exact).or(short) {
            Some(choice) => Ok(Value::Word(choice.clone())),
            None => Err(ValueError::NotAChoice {
                measure: self.key.clone(),
                found: text.trim().to_owned(),
                choices: self.choices.join(", "),
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Kinds;

    fn read(key: &str, text: &str) -> Result<String, String> {
        let kinds = Kinds::builtin().unwrap();
        let find = |kind: &str| kinds.get(kind).unwrap().measure(key).map(|(_, m)| m.clone());
        let measure = ["rectifier-plate", "regulator", "rotor"].into_iter().find_map(find).unwrap();
        measure
            .parse(text, LengthUnit::Mm, DecimalMark::Point)
            .map(|value| value.to_string())
            .map_err(|error| error.to_string())
    }

    #[test]
    fn values_are_read_as_people_write_them() {
        let rows = [
            ("outline_od", "4 7/16 in", "112.7125"),
            ("phase_lugs", "6", "6"),
            ("bplus_angle", "118°", "118"),
            ("bplus_angle", "360", "0"),
            ("bplus_thread", "m8 x 1.25", "M8"),
            ("volt_class", "12 V", "12"),
            ("handed", "l", "left"),
            ("set_point", "14.2v", "14.2"),
            ("field_r", "2.6 Ω", "2.6"),
            ("terminals", " L-S-F ", "L-S-F"),
            ("trio", "Y", "yes"),
        ];
        for (key, text, value) in rows {
            assert_eq!(read(key, text).as_deref(), Ok(value), "{key} {text}");
        }
    }

    #[test]
    fn what_is_no_value_is_refused_with_what_was_read() {
        let rows = [
            ("outline_od", "wide", "`wide`"),
            ("phase_lugs", "6.5", "`6.5` is not a whole number"),
            ("phase_lugs", "-3", "whole number"),
            ("bplus_angle", "361", "`361` is not an angle"),
            ("bplus_thread", "Z9", "`Z9` is not a thread"),
            ("handed", "up", "`up` is none of left, right, symmetric"),
            ("handed", "", "none of"),
            ("interface", "p", "`p` is none of"),
            ("set_point", "14.2 A", "`14.2 A` is not a number in V"),
            ("terminals", "--", "`--`"),
        ];
        for (key, text, says) in rows {
            let error = read(key, text).unwrap_err();
            assert!(error.contains(says) && error.starts_with(key), "{key} {text}: {error}");
        }
    }

    #[test]
    fn only_what_is_wildly_out_of_range_is_implausible() {
        let kinds = Kinds::builtin().unwrap();
        let (_, outline) = kinds.get("rectifier-plate").unwrap().measure("outline_od").unwrap();
        assert!(
            outline.plausible(&Value::Number(112.0)) && outline.plausible(&Value::Number(70.0))
        );
        assert!(!outline.plausible(&Value::Number(4.44)), "inches read as mm");
    }
}
