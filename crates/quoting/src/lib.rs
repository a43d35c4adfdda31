//! What are the repair options of one job, and what does each cost?
//!
//! Start at [`covers`]: roles that must be filled and the parts (or the rework) that can fill them go
//! in, every set that is not beaten in price, days and parts kept comes out. [`Quote::priced`] turns
//! the one that was chosen into lines, tax and a total. Pure: stock, prices and days are arguments.

mod advice;
mod cover;
mod pareto;
mod quote;
mod split;

pub use advice::{Advice, Yardstick, YardstickKind, advise};
pub use cover::{Candidate, Cover, Covers, Grade, Need, Reason, Take, covers, extras};
pub use quote::{Line, LineClass, Quote, TaxLine, Terms, Wanted, last_day};

use binwright_catalog::money::MoneyError;

/// What can be wrong with a job to be quoted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum QuotingError {
    #[error("more than {most} roles are in play, which is the most that can be weighed")]
    TooManyRoles { most: usize },
    #[error("the price of `{part}` is below nought")]
    BelowNought { part: String },
    #[error("`{found}` is not a number of days a quote can hold")]
    Days { found: i64 },
    #[error("the quote cannot be added up")]
    Money(#[from] MoneyError),
}

impl QuotingError {
    /// What to do about it; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::TooManyRoles { .. } => Some("Quote part of the work, or an exchange unit."),
            Self::Money(MoneyError::TwoCurrencies { .. }) => {
                Some("Give every price in the shop's own currency.")
            }
            Self::BelowNought { .. } | Self::Days { .. } | Self::Money(_) => None,
        }
    }
}
