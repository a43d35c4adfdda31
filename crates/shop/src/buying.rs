//! The buying desk: what to order, how many, from whom, and what came of it?

pub mod advise;
pub mod basket;
mod demand;
pub mod forecasts;
mod leads;
pub mod orders;
pub mod reports;
mod supply;
pub mod transfers;

pub use advise::{AdviceAsked, Advised, AdvisedLine, Coming};
pub use basket::BasketTerms;
pub use binwright_buying::advise::{Cut, Trend};
pub use binwright_buying::{Ahead, BuyingError, Method, Target};
pub use binwright_store::{Arrival, Rest};
pub use demand::LostSale;
pub use leads::LeadLine;
pub use orders::Delivery;
pub use reports::{Period, Rank};
pub use transfers::TransferAdvice;
