//! Is it worth repairing, set against an exchange unit and a new one?

use binwright_catalog::{Money, money::MoneyError};
use rust_decimal::Decimal;

use crate::{Cover, quote::labour};

/// A whole unit to measure repairs by.
#[derive(Debug, Clone, PartialEq)]
pub struct Yardstick {
    /// Rebuilt or new.
    pub kind: YardstickKind,
    /// Selling price.
    pub price: Money,
    /// Days until it is here.
    pub days: u32,
    /// Bench minutes to change it over.
    pub minutes: u32,
}

/// Rebuilt or new.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum YardstickKind {
    /// Rebuilt, against the old one.
    Exchange,
    /// New.
    New,
}

/// What to tell the customer, with its reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Advice {
    /// The repair costs much of what the unit costs.
    Dear {
        /// Which unit.
        kind: YardstickKind,
        /// The repair, in percent of the unit with its labour.
        percent: Decimal,
        /// From which percentage on that is said.
        limit_percent: Decimal,
    },
    /// The unit is there sooner.
    Sooner {
        /// Which unit.
        kind: YardstickKind,
        /// By how many days.
        days: u32,
    },
    /// The new part would die of the same.
    RootCause(String),
}

impl std::fmt::Display for YardstickKind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Exchange => "an exchange unit",
            Self::New => "a new unit",
        })
    }
}

impl std::fmt::Display for Advice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Dear { kind, percent, limit_percent } => write!(
                f,
                "the repair comes to {percent} % of {kind} (advised against from {limit_percent} %)"
            ),
            Self::Sooner { kind, days } => write!(f, "{kind} is ready {days} days sooner"),
            Self::RootCause(words) => f.write_str(words),
        }
    }
}

/// Says what speaks for a whole unit instead of `cover`, and what would kill the new parts again.
///
/// The core deposit is left out: it comes back. `limit_percent` is a setting of the shop; 60 to 70 is
/// common practice, no source.
///
/// # Errors
///
/// [`MoneyError`] when currencies differ or sums are too large.
pub fn advise(
    cover: &Cover,
    yardsticks: &[Yardstick],
    labour_hour: Money,
    limit_percent: Decimal,
    root_causes: &[String],
) -> Result<Vec<Advice>, MoneyError> {
    let mut advice = Vec::new();
    for unit in yardsticks {
        let whole = unit.price.checked_add(labour(labour_hour, unit.minutes)?)?;
        let _same_currency = whole.checked_add(cover.price)?;
        if whole.minor > 0 {
            let hundredfold = Decimal::from(cover.price.minor) * Decimal::ONE_HUNDRED;
            let percent = (hundredfold / Decimal::from(whole.minor)).round();
            if percent >= limit_percent {
                advice.push(Advice::Dear { kind: unit.kind, percent, limit_percent });
            }
        }
        if unit.days < cover.days {
            advice.push(Advice::Sooner { kind: unit.kind, days: cover.days - unit.days });
        }
    }
    advice.extend(root_causes.iter().cloned().map(Advice::RootCause));
    Ok(advice)
}
