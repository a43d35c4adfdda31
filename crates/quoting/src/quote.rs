//! What does the customer pay: lines, labour, tax, total, and until when does it hold?

use std::collections::BTreeMap;

use binwright_catalog::{Condition, Currency, Money, Quantity, money::MoneyError};
use jiff::{ToSpan, civil::Date};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::{QuotingError, split::by_largest_remainder};

/// What a line is for; tax goes by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LineClass {
    /// A part.
    Part,
    /// Work.
    Labour,
    /// What the work uses up.
    Consumable,
    /// Money that comes back with the old unit or part.
    CoreDeposit,
}

impl LineClass {
    /// The word in files, in the store and on paper.
    pub fn word(self) -> &'static str {
        match self {
            Self::Part => "part",
            Self::Labour => "labour",
            Self::Consumable => "consumable",
            Self::CoreDeposit => "core-deposit",
        }
    }
}

/// A line as it is wanted.
#[derive(Debug, Clone, PartialEq)]
pub enum Wanted {
    /// Something that is counted.
    Goods {
        /// Part, consumable or core deposit.
        class: LineClass,
        /// What a person reads.
        words: String,
        /// House number and condition, for what lies in a bin.
        part: Option<(String, Condition)>,
        /// How many.
        quantity: Quantity,
        /// What one costs, before tax.
        each: Money,
    },
    /// Work, at the hourly rate.
    Labour {
        /// What a person reads.
        words: String,
        /// Bench minutes.
        minutes: u32,
    },
}

/// The shop's terms.
#[derive(Debug, Clone, PartialEq)]
pub struct Terms {
    /// What an hour of labour costs, before tax.
    pub labour_hour: Money,
    /// The least that is charged for labour when there is any.
    pub labour_minimum: Money,
    /// Tax in percent by class of line; a class not named is not taxed. Rules vary: local law decides.
    pub tax_percent: BTreeMap<LineClass, Decimal>,
    /// The total is rounded to a multiple of this many minor units; 1 for none.
    pub round_to_minor: i64,
}

/// The last of so many `days` after `from`.
///
/// # Errors
///
/// [`QuotingError::Days`] when they lead out of the calendar or back.
pub fn last_day(from: Date, days: i64) -> Result<Date, QuotingError> {
    let wrong = || QuotingError::Days { found: days };
    let held = (0..=36_500).contains(&days).then(|| days.days()).ok_or_else(wrong)?;
    from.checked_add(held).map_err(|_| wrong())
}

/// A priced line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// What it is for.
    pub class: LineClass,
    /// What a person reads.
    pub words: String,
    /// House number and condition, for what lies in a bin.
    pub part: Option<(String, Condition)>,
    /// How many; of labour, how many minutes.
    pub quantity: Quantity,
    /// What one costs; `None` for labour, which shares the hourly rate or the minimum.
    pub each: Option<Money>,
    /// The line before tax.
    pub net: Money,
    /// Its share of the tax.
    pub tax: Money,
}

/// The tax on one class of lines.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TaxLine {
    /// The class.
    pub class: LineClass,
    /// The rate.
    pub percent: Decimal,
    /// What it is taken of.
    pub net: Money,
    /// The tax, rounded half away from zero once for the class.
    pub tax: Money,
}

/// A priced quote.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quote {
    /// Its lines, as wanted.
    pub lines: Vec<Line>,
    /// Tax by class.
    pub taxes: Vec<TaxLine>,
    /// Sum before tax.
    pub net: Money,
    /// Sum of taxes.
    pub tax: Money,
    /// What rounding the total adds or takes.
    pub rounding: Money,
    /// What is paid.
    pub total: Money,
}

impl Quote {
    /// Prices `wanted` by `terms`.
    ///
    /// Every line is rounded to the minor unit, half away from zero. Labour is charged once, at the
    /// rate or the minimum, and tax once per class; both are split over their lines by largest
    /// remainder, so that lines add up to what is charged.
    ///
    /// # Errors
    ///
    /// [`QuotingError`] when currencies differ or a sum is too large.
    pub fn priced(wanted: &[Wanted], terms: &Terms) -> Result<Self, QuotingError> {
        let currency = terms.labour_hour.currency;
        let mut lines = labour_and_goods(wanted, terms)?;
        let mut taxes = Vec::new();
        for (&class, &percent) in &terms.tax_percent {
            let of_class: Vec<usize> =
                (0..lines.len()).filter(|at| lines[*at].class == class).collect();
            if of_class.is_empty() {
                continue;
            }
            let net = sum(currency, of_class.iter().map(|at| lines[*at].net))?;
            let tax = net.checked_mul(percent / Decimal::ONE_HUNDRED)?;
            let weights: Vec<i64> = of_class.iter().map(|at| lines[*at].net.minor).collect();
            for (at, minor) in of_class.iter().zip(by_largest_remainder(tax.minor, &weights)) {
                lines[*at].tax.minor = minor;
            }
            taxes.push(TaxLine { class, percent, net, tax });
        }
        let net = sum(currency, lines.iter().map(|line| line.net))?;
        let tax = sum(currency, taxes.iter().map(|line| line.tax))?;
        let exact = net.checked_add(tax)?;
        let step = Decimal::from(terms.round_to_minor.max(1));
        let steps = (Decimal::from(exact.minor) / step)
            .round_dp_with_strategy(0, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
        let total = Money::rounded(steps * step / minor_per_major(exact), currency)?;
        let rounding = Money { minor: total.minor - exact.minor, currency };
        Ok(Self { lines, taxes, net, tax, rounding, total })
    }
}

/// What so many `minutes` of work come to at `hour` an hour, to the minor unit.
pub(crate) fn labour(hour: Money, minutes: impl Into<Decimal>) -> Result<Money, MoneyError> {
    hour.checked_mul(minutes.into() / Decimal::from(60))
}

fn minor_per_major(money: Money) -> Decimal {
    Decimal::from(10_u32.pow(money.currency.exponent()))
}

fn labour_and_goods(wanted: &[Wanted], terms: &Terms) -> Result<Vec<Line>, QuotingError> {
    let minutes: Vec<i64> = wanted
        .iter()
        .map(|line| match line {
            Wanted::Labour { minutes, .. } => i64::from(*minutes),
            Wanted::Goods { .. } => 0,
        })
        .collect();
    let worked = minutes.iter().sum::<i64>();
    let mut charged = labour(terms.labour_hour, worked)?;
    let _same_currency = charged.checked_add(terms.labour_minimum)?;
    if worked > 0 {
        charged.minor = charged.minor.max(terms.labour_minimum.minor);
    }
    let shares = by_largest_remainder(charged.minor, &minutes);
    let line = |(line, share): (&Wanted, i64)| match line {
        Wanted::Labour { words, minutes } => Ok(Line {
            class: LineClass::Labour,
            words: words.clone(),
            part: None,
            quantity: Quantity::from(*minutes),
            each: None,
            net: Money { minor: share, ..charged },
            tax: Money::zero(charged.currency),
        }),
        Wanted::Goods { class, words, part, quantity, each } => Ok(Line {
            class: *class,
            words: words.clone(),
            part: part.clone(),
            quantity: *quantity,
            each: Some(*each),
            net: each.checked_mul(quantity.decimal())?,
            tax: Money::zero(each.currency),
        }),
    };
    wanted.iter().zip(shares).map(line).collect()
}

fn sum(currency: Currency, amounts: impl Iterator<Item = Money>) -> Result<Money, MoneyError> {
    let mut amounts = amounts;
    amounts.try_fold(Money::zero(currency), Money::checked_add)
}
