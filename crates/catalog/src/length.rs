//! How long is that in millimetres? Reads mm, inch decimals, inch fractions and mils.

/// Millimetres in an inch, exactly (international inch, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// The unit a length is in when its text names none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
    /// Thousandths of an inch.
    Mil,
}

impl LengthUnit {
    /// Millimetres in one of this unit.
    pub fn mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Inch => MM_PER_INCH,
            Self::Mil => MM_PER_INCH / 1000.0,
        }
    }

    /// The unit a suffix names, if it names one.
    fn named(suffix: &str) -> Option<Self> {
        match suffix.trim().to_lowercase().as_str() {
            "mm" => Some(Self::Mm),
            "in" | "inch" | "inches" | "\"" | "″" | "''" => Some(Self::Inch),
            "mil" | "mils" | "thou" => Some(Self::Mil),
            _ => None,
        }
    }
}

/// What stands between whole and fraction in decimal text. A comma only where it is declared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DecimalMark {
    /// `112.3`
    #[default]
    Point,
    /// `112,3`
    Comma,
}

/// What can be wrong with a length in text.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum LengthError {
    /// Nothing but space.
    #[error("a length is missing")]
    Empty,
    /// The number before the unit cannot be read.
    #[error("`{found}` is not a length")]
    NotALength {
        /// What was read.
        found: String,
    },
    /// A comma where the decimal mark was declared to be a point.
    #[error("`{found}` has a comma; decimals are written with a point here")]
    Comma {
        /// What was read.
        found: String,
    },
    /// The unit is not one we know.
    #[error("`{unit}` in `{found}` is not a unit of length; mm, in and mil are")]
    UnknownUnit {
        /// What was read.
        found: String,
        /// The part taken for a unit.
        unit: String,
    },
    /// A fraction with nothing below the line.
    #[error("`{found}` divides by zero")]
    ZeroDenominator {
        /// What was read.
        found: String,
    },
}

/// Returns the length that `text` names, in millimetres.
///
/// `text` is a decimal (`112.3`, `0.250 in`, `30 mil`) or an inch fraction (`7/16 in`,
/// `4 7/16 in`, `4-7/16"`); without a unit it is in `unit`.
///
/// # Errors
///
/// [`LengthError`] says what could not be read and what would be right.
///
/// ```
/// # use binwright_catalog::{parse_length_mm, DecimalMark, LengthUnit};
/// let mm = parse_length_mm("4 7/16 in", LengthUnit::Mm, DecimalMark::Point)?;
/// assert!((mm - 112.7125).abs() < 1e-9);
/// # Ok::<(), binwright_catalog::length::LengthError>(())
/// ```
pub fn parse_length_mm(
    text: &str,
    unit: LengthUnit,
    mark: DecimalMark,
) -> Result<f64, LengthError> {
    let trimmed = text.trim();
    if trimmed.is_empty() {
        return Err(LengthError::Empty);
    }
    let split = trimmed
        .char_indices()
        .find(|(_, c)| c.is_alphabetic() || matches!(c, '"' | '″' | '\''))
        .map_or(trimmed.len(), |(at, _)| at);
    let (digits, suffix) = trimmed.split_at(split);
    if digits.trim().is_empty() {
        return Err(LengthError::NotALength { found: text.to_owned() });
    }
    let unit = if suffix.trim().is_empty() {
        unit
    } else {
        LengthUnit::named(suffix).ok_or_else(|| LengthError::UnknownUnit {
            found: text.to_owned(),
            unit: suffix.trim().to_owned(),
        })?
    };
    Ok(parse_amount(digits.trim(), mark, text)? * unit.mm())
}

/// Reads a decimal, a fraction, or a whole and a fraction.
fn parse_amount(digits: &str, mark: DecimalMark, text: &str) -> Result<f64, LengthError> {
    let Some((upper, lower)) = digits.split_once('/') else {
        return parse_decimal(digits, mark).ok_or_else(|| unreadable(digits, mark, text));
    };
    let (whole, upper) = match upper.trim().rsplit_once([' ', '-']) {
        Some((whole, upper)) => (whole.trim(), upper),
        None => ("0", upper.trim()),
    };
    let read = |part: &str| part.trim().parse::<u32>().ok();
    match (read(whole), read(upper), read(lower)) {
        (_, _, Some(0)) => Err(LengthError::ZeroDenominator { found: text.to_owned() }),
        (Some(whole), Some(upper), Some(lower)) => {
            Ok(f64::from(whole) + f64::from(upper) / f64::from(lower))
        }
        _ => Err(LengthError::NotALength { found: text.to_owned() }),
    }
}

fn unreadable(digits: &str, mark: DecimalMark, text: &str) -> LengthError {
    if mark == DecimalMark::Point && parse_decimal(digits, DecimalMark::Comma).is_some() {
        LengthError::Comma { found: text.to_owned() }
    } else {
        LengthError::NotALength { found: text.to_owned() }
    }
}

/// Returns the plain decimal number in `text`: digits, one decimal mark, a sign; no exponent, no
/// grouping, nothing beyond what a person writes.
pub fn parse_decimal(text: &str, mark: DecimalMark) -> Option<f64> {
    let text = text.trim();
    let body = text.strip_prefix(['-', '+']).unwrap_or(text);
    let separator = if mark == DecimalMark::Comma { ',' } else { '.' };
    let mut marks = 0;
    let plain = body.len() <= 32
        && body.chars().any(|c| c.is_ascii_digit())
        && body.chars().all(|c| {
            marks += u32::from(c == separator);
            c.is_ascii_digit() || c == separator
        });
    if !plain || marks > 1 {
        return None;
    }
    text.replace(',', ".").parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
    #[test]
    fn lengths_are_read_in_every_way_the_trade_writes_them() {
        let rows = [
            ("112.3", 112.3),
            ("112.3 mm", 112.3),
            ("1in", 25.4),
            ("0.250 in", 6.35),
            ("7/16 in", 11.1125),
            ("4 7/16 in", 112.7125),
            ("4-7/16\"", 112.7125),
            ("30 mil", 0.762),
        ];
        for (text, mm) in rows {
            let read = parse_length_mm(text, LengthUnit::Mm, DecimalMark::Point).unwrap();
            assert!((read - mm).abs() < 1e-9, "{text}: {read}");
        }
    }

    #[test]
    fn what_is_no_length_is_refused_with_what_was_read() {
        let rows = [
            ("", "missing"),
            ("12,5", "comma"),
            ("1.2.3", "`1.2.3`"),
            ("5 furlongs", "`furlongs`"),
            ("3/0 in", "zero"),
            ("1e5", "`e5`"),
            ("n/a", "`n/a` is not a length"),
        ];
        for (text, says) in rows {
            let error = parse_length_mm(text, LengthUnit::Mm, DecimalMark::Point).unwrap_err();
            assert!(error.to_string().contains(says), "{text}: {error}");
        }
    }
}
