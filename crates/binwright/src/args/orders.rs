//! What can be asked of orders and of the buyer's reports on the command line?

use std::path::PathBuf;

use binwright_shop::buying::{AdviceAsked, BasketTerms};
use clap::{Args, Subcommand, ValueEnum, ValueHint};
use jiff::civil::Date;

use super::stock::Hand;

/// What is done with orders.
#[derive(Debug, Subcommand)]
pub enum OrderAct {
    /// Say from whom to buy what, everything weighed together; all that is due when no part is named
    Basket(BasketArgs),
    /// List the orders, newest first
    List {
        /// How many
        #[arg(long, default_value_t = 20, value_name = "N")]
        last: usize,
    },
    /// Show an order, what has come of it and what has not
    Show {
        /// Its name: O-12
        order: String,
    },
    /// Say that a draft goes to its supplier today, and write its sheet
    Send {
        /// Its name: O-12
        order: String,
        /// The sheet, CSV, or a workbook when the name ends in .xlsx; cells are defused
        #[arg(value_hint = ValueHint::FilePath)]
        file: Option<PathBuf>,
        /// Overwrite the file when it is there
        #[arg(long)]
        force: bool,
        #[command(flatten)]
        hand: Hand,
    },
    /// Say that the supplier has taken the order
    Acknowledge {
        /// Its name: O-12
        order: String,
        /// The supplier's own number of it
        #[arg(long, default_value = "", hide_default_value = true, value_name = "NUMBER")]
        theirs: String,
        #[command(flatten)]
        hand: Hand,
    },
    /// Take in what came of a line, or what a scanner reads
    Receive(ReceiveArgs),
    /// Say what becomes of what has not come of a line
    Settle {
        /// Its name: O-12
        order: String,
        /// The line
        line: u32,
        /// What becomes of it
        #[arg(value_enum)]
        rest: RestArg,
        /// When it is to come
        #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
        due: Option<Date>,
        /// Why
        #[arg(long, default_value = "", hide_default_value = true)]
        note: String,
        #[command(flatten)]
        hand: Hand,
    },
    /// Call an order off of which nothing has come
    Cancel {
        /// Its name: O-12
        order: String,
        #[command(flatten)]
        hand: Hand,
    },
}

/// Arguments of `order basket`.
#[derive(Debug, Args)]
pub struct BasketArgs {
    /// Parts and how many of each are wanted
    #[arg(value_name = "PART=QTY")]
    pub wanted: Vec<String>,
    /// End the search after so many seconds with the best it has
    #[arg(long, default_value_t = BasketTerms::default().seconds, value_name = "S")]
    pub seconds: f64,
    /// Good enough is a basket that none can beat by more than this share of its cost
    #[arg(long, default_value_t = BasketTerms::default().gap_share, value_name = "SHARE")]
    pub gap: f64,
    /// What a day of waiting costs, as a share of the price
    #[arg(long, default_value_t = BasketTerms::default().day_share.to_string(), value_name = "SHARE")]
    pub day_cost: String,
    /// What holding stock for a year costs, as a share of its price
    #[arg(long, default_value_t = BasketTerms::default().holding_a_year.to_string(), value_name = "SHARE")]
    pub holding: String,
    /// Buy fast movers ahead for so many months at most, where that pays
    #[arg(long, default_value_t = BasketTerms::default().ahead_months, value_name = "MONTHS")]
    pub ahead: u32,
    /// Draft an order for each supplier
    #[arg(long)]
    pub draft: bool,
    #[command(flatten)]
    pub hand: Hand,
}

/// Arguments of `order receive`.
#[derive(Debug, Args)]
pub struct ReceiveArgs {
    /// Name of the order: O-12
    pub order: String,
    /// The line
    #[arg(required_unless_present = "scan", requires = "bin")]
    pub line: Option<u32>,
    /// The bin it is put in
    #[arg(requires = "quantity")]
    pub bin: Option<String>,
    /// How many came
    pub quantity: Option<String>,
    /// Read a scanner: a bin's code, then each piece's by any number of it; `=12` says how many
    #[arg(long, conflicts_with_all = ["line", "substitute", "each"])]
    pub scan: bool,
    /// Any number of the part that came in place of the one ordered
    #[arg(long, value_name = "PART")]
    pub substitute: Option<String>,
    /// What one costs, in the order's currency, where it is not as ordered
    #[arg(long, value_name = "MONEY")]
    pub each: Option<String>,
    /// The delivery note, and what else is to be said
    #[arg(long, default_value = "", hide_default_value = true)]
    pub note: String,
    /// More came than was to come, or at a price ten times off, and the delivery note says so
    #[arg(long)]
    pub sure: bool,
    /// A mark of your own: the same delivery under the same mark is taken in once
    #[arg(long, default_value = "", hide_default_value = true)]
    pub key: String,
    #[command(flatten)]
    pub hand: Hand,
}

/// What becomes of what has not come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RestArg {
    /// It will not come
    Short,
    /// The supplier has none now and sends it later
    BackOrdered,
    /// It is on its way
    Due,
}

/// What the buyer wants told.
#[derive(Debug, Subcommand)]
pub enum ReportAct {
    /// What moves fast, by picks or by margin
    Fast {
        #[command(flatten)]
        period: PeriodArgs,
        /// By what it is ranked
        #[arg(long, value_enum, default_value_t = RankArg::Picks)]
        by: RankArg,
        /// How many
        #[arg(long, default_value_t = 20, value_name = "N")]
        limit: usize,
    },
    /// What lies in the bins and nobody wants
    Dead(PeriodArgs),
    /// How often the stock turns over
    Turns(PeriodArgs),
    /// How much of what was wanted was there, against what was asked
    Service {
        #[command(flatten)]
        period: PeriodArgs,
        /// The share asked for
        #[arg(long, default_value_t = AdviceAsked::SERVICE, value_name = "SHARE")]
        asked: f64,
    },
    /// How far forecasts made before the first day were from what came
    Forecast {
        #[command(flatten)]
        period: PeriodArgs,
        /// How many parts, the furthest off first
        #[arg(long, default_value_t = 20, value_name = "N")]
        limit: usize,
    },
    /// Old parts that are owed, the longest owed first
    Cores,
    /// How long suppliers truly take
    Leads {
        /// The last day of what is looked at; today when not given
        #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
        to: Option<Date>,
    },
}

/// The days a report looks at.
#[derive(Debug, Clone, Copy, Args)]
pub struct PeriodArgs {
    /// The first day; a year before the last when not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
    pub from: Option<Date>,
    /// The last day; today when not given
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
    pub to: Option<Date>,
}

/// By what fast movers are ranked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RankArg {
    /// How often somebody went to the bin
    Picks,
    /// What they earned
    Margin,
}
