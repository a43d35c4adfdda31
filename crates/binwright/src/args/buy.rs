//! What can be asked of the buying desk on the command line?

use binwright_shop::buying::{AdviceAsked, Method};
use clap::builder::PossibleValuesParser;
use clap::{Args, Subcommand, ValueEnum};
use jiff::civil::Date;

/// What the buyer asks.
#[derive(Debug, Subcommand)]
pub enum BuyAct {
    /// Say what to order, how many and why, by what most likely runs short
    Advise(AdviseArgs),
    /// Say what should go from one branch to another because moving costs less than buying
    Transfers {
        /// What placing an order for a part costs: it is saved where nothing need be bought
        #[arg(long, value_name = "AMOUNT")]
        order_cost: Option<String>,
    },
}

/// Whom the service is promised to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Allocate {
    /// Every part lasts until the next arrival with this chance
    Cycle,
    /// Every part serves this share of its demand at once
    Fill,
    /// All parts together serve this share of demand, for the least money
    Value,
}

/// Arguments of `buy advise`.
#[derive(Debug, Args)]
pub struct AdviseArgs {
    /// The day; nothing later is seen [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
    pub as_of: Option<Date>,
    /// The service asked for, a share between 0 and 1
    #[arg(long, default_value_t = AdviceAsked::SERVICE, value_name = "SHARE")]
    pub service: f64,
    /// Whom the service is promised to
    #[arg(long, value_enum, default_value_t = Allocate::Cycle, value_name = "HOW")]
    pub allocate: Allocate,
    /// Months from order to shelf, for every part; what offers say, else 1, when not given
    #[arg(long, value_name = "MONTHS")]
    pub lead_months: Option<f64>,
    /// Months from one look at the stock to the next
    #[arg(long, default_value_t = AdviceAsked::REVIEW_MONTHS, value_name = "MONTHS")]
    pub review_months: f64,
    /// What may be spent now, in the shop's currency
    #[arg(long, value_name = "AMOUNT")]
    pub budget: Option<String>,
    /// What placing an order for a part costs; lots are then weighed against holding them
    #[arg(long, value_name = "AMOUNT")]
    pub order_cost: Option<String>,
    /// Cost of holding stock a year, as a share of its value
    #[arg(long, default_value_t = AdviceAsked::HOLDING_A_YEAR, value_name = "SHARE")]
    pub holding: f64,
    /// Forecast every part in this one way, whatever the shop's past says
    #[arg(long, value_name = "NAME", value_parser = PossibleValuesParser::new(Method::ALL.map(Method::word)))]
    pub method: Option<String>,
    /// Write every part as CSV: part, forecast a month, reorder point, order-up-to, class, method
    #[arg(long)]
    pub csv: bool,
    /// Show the parts that need no order too
    #[arg(long)]
    pub all: bool,
    /// Show how each way of forecasting did on the shop's own past
    #[arg(long)]
    pub past: bool,
}
