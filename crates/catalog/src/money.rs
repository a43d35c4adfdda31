//! How much money is that? Whole minor units of one ISO 4217 currency, never a float.

use std::{fmt, str::FromStr};

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};

/// A currency by its ISO 4217 code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency([u8; 3]);

impl Currency {
    /// The euro, the default of a new shop.
    pub const EUR: Self = Self(*b"EUR");

    /// The three letters.
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or("XXX")
    }

    /// Digits after the decimal point of the major unit. Source: ISO 4217 table of minor units
    /// (from memory: all others have two).
    pub fn exponent(self) -> u32 {
        match &self.0 {
            b"BIF" | b"CLP" | b"DJF" | b"GNF" | b"ISK" | b"JPY" | b"KMF" | b"KRW" | b"PYG"
            | b"RWF" | b"UGX" | b"UYI" | b"VND" | b"VUV" | b"XAF" | b"XOF" | b"XPF" => 0,
            b"BHD" | b"IQD" | b"JOD" | b"KWD" | b"LYD" | b"OMR" | b"TND" => 3,
            _ => 2,
        }
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

impl FromStr for Currency {
    type Err = MoneyError;

    fn from_str(text: &str) -> Result<Self, MoneyError> {
        let code: [u8; 3] = text
            .trim()
            .to_ascii_uppercase()
            .as_bytes()
            .try_into()
            .map_err(|_| MoneyError::NotACurrency { found: text.to_owned() })?;
        if code.iter().all(u8::is_ascii_uppercase) {
            Ok(Self(code))
        } else {
            Err(MoneyError::NotACurrency { found: text.to_owned() })
        }
    }
}

impl Serialize for Currency {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.code())
    }
}

impl<'de> Deserialize<'de> for Currency {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// An amount in whole minor units (cents) of its currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Money {
    /// Minor units, negative for a credit.
    pub minor: i64,
    /// The currency.
    pub currency: Currency,
}

/// What can be wrong with money.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum MoneyError {
    /// The code has not three letters.
    #[error("`{found}` is not an ISO 4217 currency code")]
    NotACurrency {
        /// What was read.
        found: String,
    },
    /// The amount is not a plain decimal.
    #[error("`{found}` is not an amount of money")]
    NotAnAmount {
        /// What was read.
        found: String,
    },
    /// More decimals than the currency has.
    #[error("`{found}` has more decimals than {currency} has ({exponent})")]
    TooFine {
        /// What was read.
        found: String,
        /// The currency.
        currency: Currency,
        /// Its decimals.
        exponent: u32,
    },
    /// Two currencies in one sum.
    #[error("{left} and {right} cannot be added: no rate was given")]
    TwoCurrencies {
        /// The first.
        left: Currency,
        /// The second.
        right: Currency,
    },
    /// The result does not fit.
    #[error("the amount is too large")]
    TooLarge,
}

impl MoneyError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NotACurrency { .. } => Some("Write three letters, such as EUR."),
            Self::NotAnAmount { .. } => Some("Write digits, with a point before the cents: 24.50."),
            _ => None,
        }
    }
}

impl Money {
    /// Nothing, in `currency`.
    pub fn zero(currency: Currency) -> Self {
        Self { minor: 0, currency }
    }

    /// Returns the amount of `text`, a plain decimal with a point.
    ///
    /// # Errors
    ///
    /// [`MoneyError`] when the text is no plain decimal, is finer than the currency, or too large.
    pub fn parse(text: &str, currency: Currency) -> Result<Self, MoneyError> {
        let not = || MoneyError::NotAnAmount { found: text.to_owned() };
        let trimmed = text.trim();
        let body = trimmed.strip_prefix('-').unwrap_or(trimmed);
        let plain = !body.is_empty()
            && body.len() <= 28
            && body.bytes().all(|b| b.is_ascii_digit() || b == b'.')
            && body.as_bytes()[0] != b'.';
        if !plain {
            return Err(not());
        }
        let amount = Decimal::from_str_exact(trimmed).map_err(|_| not())?;
        let exponent = currency.exponent();
        if amount.normalize().scale() > exponent {
            return Err(MoneyError::TooFine { found: text.to_owned(), currency, exponent });
        }
        Self::rounded(amount, currency)
    }

    /// Returns `amount` rounded half away from zero to the currency's minor unit.
    ///
    /// # Errors
    ///
    /// [`MoneyError::TooLarge`] beyond the range of a 64-bit count of minor units.
    pub fn rounded(amount: Decimal, currency: Currency) -> Result<Self, MoneyError> {
        let scale = Decimal::from(10u32.pow(currency.exponent()));
        let minor = amount
            .checked_mul(scale)
            .ok_or(MoneyError::TooLarge)?
            .round_dp_with_strategy(0, rust_decimal::RoundingStrategy::MidpointAwayFromZero)
            .to_i64()
            .ok_or(MoneyError::TooLarge)?;
        Ok(Self { minor, currency })
    }

    /// The amount in major units.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.minor, self.currency.exponent())
    }

    /// Returns the sum.
    ///
    /// # Errors
    ///
    /// [`MoneyError`] when the currencies differ or the sum is too large.
    pub fn checked_add(self, other: Self) -> Result<Self, MoneyError> {
        if self.currency != other.currency {
            return Err(MoneyError::TwoCurrencies { left: self.currency, right: other.currency });
        }
        let minor = self.minor.checked_add(other.minor).ok_or(MoneyError::TooLarge)?;
        Ok(Self { minor, ..self })
    }

    /// Returns the amount times `factor`, rounded half away from zero.
    ///
    /// # Errors
    ///
    /// [`MoneyError::TooLarge`] when the product is.
    pub fn checked_mul(self, factor: Decimal) -> Result<Self, MoneyError> {
        let product = self.decimal().checked_mul(factor).ok_or(MoneyError::TooLarge)?;
        Self::rounded(product, self.currency)
    }

    /// Returns the amount in `currency`, of which one of this currency buys `rate`; rounded half away from
    /// zero.
    ///
    /// # Errors
    ///
    /// [`MoneyError::TooLarge`] when the result is.
    pub fn converted(self, rate: Decimal, currency: Currency) -> Result<Self, MoneyError> {
        let amount = self.decimal().checked_mul(rate).ok_or(MoneyError::TooLarge)?;
        Self::rounded(amount, currency)
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} {}", self.decimal(), self.currency))
    }
}

impl Serialize for Money {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct;
        let mut money = serializer.serialize_struct("Money", 2)?;
        money.serialize_field("amount", &self.decimal().to_string())?;
        money.serialize_field("currency", &self.currency)?;
        money.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_turns_one_currency_into_another_and_never_overflows_in_silence() {
        let yen: Currency = "JPY".parse().unwrap();
        let dear = Money { minor: 1250, currency: Currency::EUR };
        let rate = Decimal::new(1_612_345, 4); // 161.2345: 12.50 EUR are 2,015.43 yen, which have no cents
        assert_eq!(dear.converted(rate, yen), Ok(Money { minor: 2015, currency: yen }));
        let most = Money { minor: i64::MAX, currency: yen };
        assert_eq!(most.converted(Decimal::MAX, yen), Err(MoneyError::TooLarge));
    }

    #[test]
    fn amounts_keep_their_cents_and_refuse_what_is_finer() {
        let eur = Currency::EUR;
        assert_eq!(Money::parse("12.50", eur).unwrap().minor, 1250);
        assert_eq!(Money::parse("-3", eur).unwrap().to_string(), "-3.00 EUR");
        assert!(matches!(Money::parse("1.005", eur), Err(MoneyError::TooFine { .. })));
        for text in ["", "1e3", "1,5", "12.5x", ".5", "1.2.3", "99999999999999999999"] {
            assert!(Money::parse(text, eur).is_err(), "{text}");
        }
        let yen: Currency = "jpy".parse().unwrap();
        assert_eq!(Money::parse("120", yen).unwrap().to_string(), "120 JPY");
    }

    #[test]
    fn a_sum_is_refused_before_it_is_wrong() {
        let most = Money { minor: i64::MAX, currency: Currency::EUR };
        let cent = Money { minor: 1, currency: Currency::EUR };
        assert_eq!(most.checked_add(cent), Err(MoneyError::TooLarge));
        let dollar = Money { minor: 1, currency: "USD".parse().unwrap() };
        assert!(matches!(cent.checked_add(dollar), Err(MoneyError::TwoCurrencies { .. })));
    }
}
