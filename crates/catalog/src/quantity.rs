//! How many are there? Counts to three decimals, in the part's unit of issue.

use std::{fmt, str::FromStr};

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// A quantity in thousandths of the unit of issue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Quantity(i64);

impl Quantity {
    /// None.
    pub const ZERO: Self = Self(0);
    /// One whole.
    pub const ONE: Self = Self(1000);

    /// Returns `thousandths` of one.
    pub const fn from_thousandths(thousandths: i64) -> Self {
        Self(thousandths)
    }

    /// Returns `whole` pieces.
    pub fn whole(whole: i32) -> Self {
        Self(i64::from(whole) * 1000)
    }

    /// The thousandths.
    pub fn thousandths(self) -> i64 {
        self.0
    }

    /// The same as a decimal number.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, 3)
    }

    /// Returns the sum, or `None` when it does not fit.
    pub fn checked_add(self, other: Self) -> Option<Self> {
        self.0.checked_add(other.0).map(Self)
    }

    /// Returns the sum, or the nearest there is.
    #[must_use]
    pub fn saturating_add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// Returns the difference, or `None` when it does not fit.
    pub fn checked_sub(self, other: Self) -> Option<Self> {
        self.0.checked_sub(other.0).map(Self)
    }

    /// Returns the same amount the other way.
    #[must_use]
    pub fn negated(self) -> Self {
        Self(-self.0)
    }

    /// Whether something is there.
    pub fn is_positive(self) -> bool {
        self.0 > 0
    }
}

impl From<u32> for Quantity {
    fn from(whole: u32) -> Self {
        Self(i64::from(whole) * 1000)
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, part) = (self.0.unsigned_abs() / 1000, self.0.unsigned_abs() % 1000);
        if part == 0 {
            return f.pad(&format!("{sign}{whole}"));
        }
        let decimals = format!("{part:03}");
        f.pad(&format!("{sign}{whole}.{}", decimals.trim_end_matches('0')))
    }
}

/// The text is not a quantity to three decimals.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{found}` is not a quantity; a number with at most three decimals is")]
pub struct QuantityError {
    /// What was read.
    pub found: String,
}

impl FromStr for Quantity {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let not = || QuantityError { found: text.to_owned() };
        let trimmed = text.trim();
        let (negative, body) = match trimmed.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, trimmed),
        };
        let (whole, part) = body.split_once('.').unwrap_or((body, "0"));
        let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
        let part = part.trim_end_matches('0');
        if !digits(whole) || !(part.is_empty() || digits(part)) || part.len() > 3 {
            return Err(not());
        }
        let whole: i64 = whole.parse().map_err(|_| not())?;
        let part: i64 = format!("{part:0<3}").parse().map_err(|_| not())?;
        let amount = whole
            .checked_mul(1000)
            .and_then(|thousandths| thousandths.checked_add(part))
            .ok_or_else(not)?;
        Ok(Self(if negative { -amount } else { amount }))
    }
}

impl Serialize for Quantity {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(self.0 as f64 / 1000.0)
    }
}

/// What a part is counted in: UN/ECE Recommendation 20 codes (from memory).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub enum IssueUnit {
    /// Pieces.
    #[default]
    #[serde(rename = "C62")]
    Piece,
    /// Metres.
    #[serde(rename = "MTR")]
    Metre,
    /// Grams.
    #[serde(rename = "GRM")]
    Gram,
}

impl IssueUnit {
    /// The code of the recommendation.
    pub fn code(self) -> &'static str {
        match self {
            Self::Piece => "C62",
            Self::Metre => "MTR",
            Self::Gram => "GRM",
        }
    }

    /// The unit a code names, if we keep it.
    pub fn named(code: &str) -> Option<Self> {
        [Self::Piece, Self::Metre, Self::Gram]
            .into_iter()
            .find(|unit| unit.code().eq_ignore_ascii_case(code.trim()))
    }

    /// How it is written after an amount.
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Piece => "pc",
            Self::Metre => "m",
            Self::Gram => "g",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantity_is_read_as_it_is_shown() {
        for text in ["0", "3", "-2", "0.5", "12.125", "-0.001"] {
            assert_eq!(text.parse::<Quantity>().unwrap().to_string(), text);
        }
        assert_eq!("2.500".parse::<Quantity>().unwrap().to_string(), "2.5");
        for text in ["", "-", ".5", "1.2345", "1e2", "two", "1,5", "99999999999999999999"] {
            assert!(text.parse::<Quantity>().is_err(), "{text}");
        }
    }
}
