//! What must be ordered, how many, from whom, and why?
//!
//! Pure functions over plain values: the as-of day is an argument, nothing reads a file, asks the
//! clock or rolls a die. Start at [`advise`]; [`demand`] turns what left the bins into months,
//! [`pooled`] forecasts them, [`levels`] turns a forecast into stock, [`economic`] and
//! [`replenish`] into quantities. Time is counted in months, demand in the part's unit of issue.

pub mod advise;
pub mod basket;
mod budget;
pub mod class;
pub mod classical;
pub mod demand;
pub mod economic;
pub mod levels;
pub mod outlook;
pub mod past;
pub mod policy;
pub mod pooled;
pub mod replenish;
pub mod transfers;
mod why;

pub use advise::{Advice, Ahead, Input, Item, Plan, Stock, Supply, advise};
pub use class::DemandClass;
pub use demand::{History, Line, Reason};
pub use levels::LeadDemand;
pub use outlook::Outlook;
pub use past::{CLEARLY, Method, PastLoss};
pub use policy::{Need, Target};

/// Days in a month, on average over the Gregorian calendar.
pub const MONTH_DAYS: f64 = 30.436_875;

/// What can be wrong with a question about buying. Items count from 0, as in the input.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum BuyingError {
    #[error("`{found}` as {what} is not a number above zero")]
    NotPositive { what: &'static str, found: f64 },
    #[error("`{found}` as {what} is not a share between 0 and 1")]
    NotAShare { what: &'static str, found: f64 },
    #[error("item {item} is replaced, in the end, by itself")]
    ReplacedByItself { item: usize },
    #[error("item {item} is replaced by item {by}, which is not there")]
    NoSuchItem { item: usize, by: usize },
    #[error("item {item} costs `{found}` where the others cost `{wanted}`")]
    Currencies { item: usize, found: String, wanted: String },
}

impl BuyingError {
    /// What to do about it; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NotAShare { .. } => Some("95 % is written 0.95; 0 and 1 cannot be promised."),
            Self::ReplacedByItself { .. } => {
                Some("Take out one of the replacements in the circle.")
            }
            Self::Currencies { .. } => Some("Turn all costs into the currency the shop pays in."),
            Self::NotPositive { .. } | Self::NoSuchItem { .. } => None,
        }
    }
}
