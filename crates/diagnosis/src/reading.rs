//! What did the meter or the eye say, and which outcomes of the check can that be?

use std::fmt::Write as _;

use statrs::function::erf::erf;

use serde::Serialize;

use crate::{
    DiagnosisError, Table,
    electrical::{Phases, copper_ohms, phases},
    hypotheses::Observed,
    table::{Check, Form, Scale},
};

/// One value taken in one check.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Key of the check.
    pub check: String,
    /// What came of it.
    pub value: Value,
    /// The value as it was typed.
    pub typed: String,
}

/// What came of a check.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Key of an outcome.
    Outcome(String),
    /// Numbers, in the unit of the check's limits; `f64::INFINITY` for an open reading.
    Numbers {
        /// In the order of the check's form.
        values: Vec<f64>,
        /// Temperature of the copper, in °C.
        celsius: Option<f64>,
        /// What the card of the unit says it should be.
        card: Option<f64>,
    },
}

/// A reading as it is understood.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Explained {
    /// Key of the check.
    pub check: String,
    /// Its code on paper.
    pub code: String,
    /// Its name.
    pub name: String,
    /// The value as typed.
    pub typed: String,
    /// Key of the outcome it most likely is.
    pub outcome: String,
    /// How likely it is that outcome and not a neighbour, 0 to 1.
    pub share: f64,
    /// The outcome in words, with what was worked out of the numbers.
    pub words: String,
    /// What it says, when the words do not.
    pub means: Option<String>,
}

/// What a unit is called, in which unit of the limits, and how many of those it is.
const UNITS: [(&str, &str, f64); 14] = [
    ("V", "V", 1.0),
    ("mV", "V", 1e-3),
    ("A", "A", 1.0),
    ("mA", "A", 1e-3),
    ("ohm", "ohm", 1.0),
    ("Ω", "ohm", 1.0),
    ("mohm", "ohm", 1e-3),
    ("mΩ", "ohm", 1e-3),
    ("kohm", "ohm", 1e3),
    ("kΩ", "ohm", 1e3),
    ("Mohm", "ohm", 1e6),
    ("MΩ", "ohm", 1e6),
    ("mm", "mm", 1.0),
    ("%", "%", 1.0),
];

impl Table {
    /// Reads `check=value`: an outcome, or numbers with their unit.
    ///
    /// The check goes by key or code. Several numbers stand between slashes, `OL` is an open reading,
    /// `@85C` (or `@185F`) the temperature of the copper, `of 2.1ohm` the value on the card.
    ///
    /// # Errors
    ///
    /// [`DiagnosisError`] names what is not known and what would be right.
    ///
    /// ```
    /// # use binwright_diagnosis::{Faults, Value};
    /// let table = Faults::builtin()?.alternator;
    /// let warm = table.reading("rotor-resistance=2.6ohm@85C of 2.1ohm")?;
    /// assert!(matches!(warm.value, Value::Numbers { celsius: Some(85.0), card: Some(2.1), .. }));
    /// assert_eq!(table.reading("B-09=one")?.check, "bplus-to-case");
    /// assert!(table.reading("bplus-to-case=0.47V/OL").is_ok());
    /// # Ok::<(), binwright_diagnosis::DiagnosisError>(())
    /// ```
    pub fn reading(&self, text: &str) -> Result<Reading, DiagnosisError> {
        let (word, typed) = text
            .split_once('=')
            .map(|(word, value)| (word.trim(), value.trim()))
            .filter(|(_, value)| !value.is_empty())
            .ok_or_else(|| DiagnosisError::NotAReading { found: text.to_owned() })?;
        let check = &self.checks[self.check(word)?];
        let value = match check.outcome(&typed.replace('_', "-")) {
            Some(outcome) => Value::Outcome(check.outcomes[outcome].key.clone()),
            None => numbers(check, typed)?,
        };
        Ok(Reading { check: check.key.clone(), value, typed: typed.to_owned() })
    }

    /// Weighs the outcomes a reading can be and says so in words.
    pub(crate) fn observe(
        &self,
        reading: &Reading,
        volts: u16,
    ) -> Result<(Observed, Explained), DiagnosisError> {
        let at = self.check(&reading.check)?;
        let check = &self.checks[at];
        let mut weights = vec![0.0; check.outcomes.len()];
        let mut note = String::new();
        match &reading.value {
            Value::Outcome(key) => {
                let outcome = check.known_outcome(key)?;
                weights[outcome] = 1.0;
            }
            Value::Numbers { values, celsius, card } => {
                let Some(scale) = &check.reading else {
                    return Err(not_a_number(check, &reading.typed));
                };
                let given = Given { values, celsius: *celsius, card: *card, volts };
                note = weigh(check, scale, &given, &mut weights)?;
            }
        }
        let (best, share) = weights
            .iter()
            .copied()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 1.0));
        let outcome = &check.outcomes[best];
        let explained = Explained {
            check: check.key.clone(),
            code: check.code.clone(),
            name: check.name.clone(),
            typed: reading.typed.clone(),
            outcome: outcome.key.clone(),
            share,
            words: format!("{}{note}", outcome.words),
            means: outcome.means.clone(),
        };
        Ok((Observed { check: at, weights }, explained))
    }
}

fn not_a_number(check: &Check, found: &str) -> DiagnosisError {
    let unit = check.reading.as_ref().map_or(String::new(), |scale| scale.unit.clone());
    DiagnosisError::NotANumber { check: check.key.clone(), found: found.to_owned(), unit }
}

fn numbers(check: &Check, typed: &str) -> Result<Value, DiagnosisError> {
    let looks_like_a_word = typed.chars().all(|c| c.is_alphabetic() || "-_ ".contains(c));
    if check.reading.is_none() || looks_like_a_word && !typed.eq_ignore_ascii_case("OL") {
        return Err(check.unknown_outcome(typed));
    }
    let (measured, card) = match typed.split_once(" of ") {
        Some((measured, card)) => (measured, Some(number(check, card)?)),
        None => (typed, None),
    };
    let (measured, celsius) = match measured.split_once('@') {
        Some((measured, warmth)) => (measured, Some(temperature(check, warmth)?)),
        None => (measured, None),
    };
    let values = measured.split('/').map(|one| number(check, one)).collect::<Result<_, _>>()?;
    Ok(Value::Numbers { values, celsius, card })
}

fn number(check: &Check, text: &str) -> Result<f64, DiagnosisError> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("OL") {
        return Ok(f64::INFINITY);
    }
    let wrong = || not_a_number(check, text);
    let wanted = check.reading.as_ref().map_or("", |scale| scale.unit.as_str());
    let digits = text.trim_end_matches(|c: char| !c.is_ascii_digit() && c != '.');
    let unit = text[digits.len()..].trim();
    let (_, _, times) =
        UNITS.iter().find(|(name, of, _)| *name == unit && *of == wanted).ok_or_else(wrong)?;
    let value: f64 = digits.parse().map_err(|_| wrong())?;
    if value < 0.0 || !value.is_finite() { Err(wrong()) } else { Ok(value * times) }
}

fn temperature(check: &Check, text: &str) -> Result<f64, DiagnosisError> {
    let text = text.trim().replace('°', "");
    let wrong = || not_a_number(check, &text);
    let degrees = |digits: &str| digits.trim().parse::<f64>().map_err(|_| wrong());
    match (text.strip_suffix(['C', 'c']), text.strip_suffix(['F', 'f'])) {
        (Some(digits), _) => degrees(digits),
        (_, Some(digits)) => Ok((degrees(digits)? - 32.0) / 1.8),
        _ => Err(wrong()),
    }
}

struct Given<'a> {
    values: &'a [f64],
    celsius: Option<f64>,
    card: Option<f64>,
    volts: u16,
}

/// Spreads one over the outcomes the numbers can be; returns what was worked out, in words.
fn weigh(
    check: &Check,
    scale: &Scale,
    given: &Given<'_>,
    weights: &mut [f64],
) -> Result<String, DiagnosisError> {
    let count = |wanted| {
        let (check, found) = (check.key.clone(), given.values.len());
        Err(DiagnosisError::Numbers { check, found, wanted })
    };
    let mut note = String::new();
    let (value, spread) = match (scale.form, given.values) {
        (Form::Single, &[value]) => {
            let value = match given.celsius {
                Some(celsius) if scale.copper && value.is_finite() => {
                    let at_20 = copper_ohms(value, celsius, 20.0)?;
                    write!(note, ", {at_20:.2} ohm at 20 °C").ok();
                    at_20
                }
                _ => value,
            };
            (value, instrument(scale, value))
        }
        (Form::TwoWay, &[forward, ref reverse @ ..]) if reverse.len() <= 1 => {
            let reverse = reverse.first().copied().unwrap_or(f64::INFINITY);
            let open_from = limits(check, scale, given)?.last().copied().unwrap_or(f64::INFINITY);
            if let (Some(both), true) = (&scale.both_ways, forward.max(reverse) < open_from) {
                let outcome = check.known_outcome(both)?;
                weights[outcome] = 1.0;
                return Ok(", it conducts both ways".to_owned());
            }
            let value = forward.min(reverse); // whichever way the leads were held
            (value, instrument(scale, value))
        }
        (Form::ThreeLead, &[uv, vw, wu]) => balance(scale, [uv, vw, wu], &mut note),
        (Form::Single, _) => return count("one"),
        (Form::TwoWay, _) => return count("one or two"),
        (Form::ThreeLead, _) => return count("three"),
    };
    let sd = scale.border.hypot(spread);
    let below = |cut: f64| {
        if value.is_infinite() || sd <= 0.0 {
            return f64::from(u8::from(value < cut));
        }
        0.5 * (1.0 + erf((cut - value) / (sd * std::f64::consts::SQRT_2)))
    };
    let mut reached = 0.0;
    let cuts = limits(check, scale, given)?;
    if is_far_outside(scale, value, &cuts, given.volts) {
        note.push_str(", far outside what this check reads: read it again");
    }
    for (key, up_to) in scale.order.iter().zip(cuts.into_iter().map(below).chain([1.0])) {
        let outcome = check.known_outcome(key)?;
        weights[outcome] += up_to - reached;
        reached = up_to;
    }
    Ok(note)
}

/// Whether so many volts are a slip of the hand: beyond ten times the widest limit, but never less
/// than what a bad cable drops (the voltage class and half of it) nor more than three times the class.
/// Ohms and amperes run over many decades on sound and on bad units, so nothing is said of them.
/// Common practice, no source.
fn is_far_outside(scale: &Scale, value: f64, cuts: &[f64], volts: u16) -> bool {
    let (widest, class) = (cuts.last().copied().unwrap_or(f64::INFINITY), f64::from(volts));
    let far = (10.0 * widest).clamp(1.5 * class, 3.0 * class);
    scale.unit == "V" && value.is_finite() && value > far
}

fn instrument(scale: &Scale, value: f64) -> f64 {
    scale.spread.hypot(scale.spread_percent / 100.0 * value)
}

fn limits(check: &Check, scale: &Scale, given: &Given<'_>) -> Result<Vec<f64>, DiagnosisError> {
    if let (Some(card), false) = (given.card, scale.relative.is_empty()) {
        return Ok(scale.relative.iter().map(|times| times * card).collect());
    }
    scale.cuts.get(&given.volts.to_string()).cloned().ok_or_else(|| DiagnosisError::NoLimits {
        check: check.key.clone(),
        volts: given.volts,
        outcomes: check.outcome_keys(),
    })
}

/// The spread of three lead-to-lead values in percent, infinite where a phase is open.
fn balance(scale: &Scale, pairs: [f64; 3], note: &mut String) -> (f64, f64) {
    match phases(pairs) {
        Phases::StarOpen => {
            note.push_str(", nothing passes between two leads");
            (f64::INFINITY, 0.0)
        }
        Phases::DeltaOpen => {
            note.push_str(", one pair reads the other two together: an open phase in a delta");
            (f64::INFINITY, 0.0)
        }
        Phases::Whole { star: [u, v, w], spread_percent } => {
            let [u, v, w] = [u, v, w].map(|ohms| ohms * 1000.0);
            write!(note, ", spread {spread_percent:.1} %, as a star {u:.1}, {v:.1}, {w:.1} mohm")
                .ok();
            let mean = pairs.iter().sum::<f64>() / 3.0;
            (spread_percent, 100.0 * std::f64::consts::SQRT_2 * instrument(scale, mean) / mean)
        }
    }
}
