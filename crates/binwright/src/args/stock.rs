//! What can be asked of the stock desk? Movements, holds, value, backup.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueHint};
use jiff::civil::Date;

/// Who works, and whether it is only tried.
#[derive(Debug, Args)]
pub struct Hand {
    /// Who does it
    #[arg(long, env = "BINWRIGHT_WHO", value_name = "NAME")]
    pub who: Option<String>,
    /// Judge it, write nothing
    #[arg(long)]
    pub dry_run: bool,
}

impl Hand {
    /// Who does it: as said, else the user of the machine.
    pub fn name(&self) -> String {
        self.who.clone().unwrap_or_else(user)
    }
}

/// The user of the machine, as the environment names them.
pub fn user() -> String {
    let named = std::env::var("USER").or_else(|_| std::env::var("USERNAME"));
    named.unwrap_or_default()
}

/// What is moved, where it lies, and what stands beside it.
#[derive(Debug, Args)]
pub struct Piece {
    /// Any number of the part
    pub part: String,
    /// The bin
    pub bin: String,
    /// How many, in the part's unit of issue, to three decimals
    pub quantity: String,
    /// In what condition: new, used-good or core
    #[arg(long, default_value = "new")]
    pub condition: String,
    #[command(flatten)]
    pub slip: Slip,
}

/// What stands beside a posting.
#[derive(Debug, Args)]
pub struct Slip {
    /// Job, order or quote it belongs to
    #[arg(long, default_value = "", hide_default_value = true)]
    pub reference: String,
    /// What else is to be said
    #[arg(long, visible_alias = "readings", default_value = "", hide_default_value = true)]
    pub note: String,
    /// A mark of your own: the same posting under the same mark is made once
    #[arg(long, default_value = "", hide_default_value = true)]
    pub key: String,
    #[command(flatten)]
    pub hand: Hand,
}

/// What is done with stock.
#[derive(Debug, Subcommand)]
pub enum StockAct {
    /// Say how much of a part can be had: own bins, old numbers, kits, stand-ins
    Of {
        /// Any number of the part
        part: String,
    },
    /// Take in what a supplier sent
    Receive {
        #[command(flatten)]
        piece: Piece,
        /// What one costs; the average when not given
        #[arg(long, value_name = "MONEY")]
        unit_cost: Option<String>,
    },
    /// Give out for a job, which --reference names
    Issue(Piece),
    /// Sell over the counter
    Sell(Piece),
    /// Note a lost sale: how many a customer asked for and were not in. It counts as demand in this
    /// month, in `buy advise` and `report service`
    Asked {
        /// Any number of the part
        part: String,
        /// How many were not in
        quantity: String,
        /// Take so many back that were noted wrongly this month
        #[arg(long)]
        take_back: bool,
        /// Judge it, write nothing
        #[arg(long)]
        dry_run: bool,
    },
    /// Put into another bin
    Move {
        #[command(flatten)]
        piece: Piece,
        /// Where to
        to: String,
    },
    /// Send to a bin of another branch; it is on its way until it arrives there
    Transfer {
        #[command(flatten)]
        piece: Piece,
        /// Where to
        to: String,
    },
    /// Take in what came of a transfer; what is missing stays on its way, or is given up
    Arrive {
        /// The number of the transfer, as `stock transit` shows it
        transfer: i64,
        /// How many came; all that are on their way when not given
        quantity: Option<String>,
        /// How many will never come: their value is scrapped
        #[arg(long, value_name = "N")]
        lost: Option<String>,
        /// The bin they are put in, where it is not the one they were meant for
        #[arg(long)]
        bin: Option<String>,
        #[command(flatten)]
        slip: Slip,
    },
    /// Show what is on its way between branches
    Transit,
    /// Change the condition after a test: --readings are kept with it
    Regrade {
        #[command(flatten)]
        piece: Piece,
        /// What it is now: used-good, core or scrap
        into: String,
    },
    /// Take back from a customer
    ReturnIn(Piece),
    /// Send back to the supplier
    ReturnOut(Piece),
    /// Say how many lie there, whatever the book says
    Correct(Piece),
    /// Break kits into their parts
    Break {
        #[command(flatten)]
        piece: Piece,
        /// The bin the parts go to; the kit's own when not given
        #[arg(long, value_name = "BIN")]
        parts_bin: Option<String>,
    },
    /// Build kits of their parts
    Build {
        #[command(flatten)]
        piece: Piece,
        /// The bin the parts come from; the kit's own when not given
        #[arg(long, value_name = "BIN")]
        parts_bin: Option<String>,
    },
    /// Take back a posting by counter-movements
    Undo {
        /// The number of one of its movements
        movement: i64,
        #[command(flatten)]
        hand: Hand,
    },
    /// Show what has moved, newest first
    History {
        /// Any number of a part
        part: Option<String>,
        /// Into and out of this bin
        #[arg(long)]
        bin: Option<String>,
        /// With this reference
        #[arg(long)]
        reference: Option<String>,
        /// How many
        #[arg(long, default_value_t = 20, value_name = "N")]
        last: usize,
    },
    /// Say what the stock was worth when a day ended
    Value {
        /// The day; today when not given
        #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
        on: Option<Date>,
    },
}

/// What is done with holds.
#[derive(Debug, Subcommand)]
pub enum HoldAct {
    /// Promise stock until a day
    Place {
        /// Any number of the part
        part: String,
        /// The bin
        bin: String,
        /// How many
        quantity: String,
        /// In what condition: new, used-good or core
        #[arg(long, default_value = "new")]
        condition: String,
        /// To what it is promised
        #[arg(long)]
        reference: String,
        /// The last day it is promised
        #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
        until: Date,
        /// Judge it, write nothing
        #[arg(long)]
        dry_run: bool,
    },
    /// List what is promised, the first to lapse first
    List,
    /// Let a hold go
    Release {
        /// Its number
        hold: i64,
        #[command(flatten)]
        hand: Hand,
    },
    /// Issue what was promised to its job
    Post {
        /// Its number
        hold: i64,
        /// It is sold over the counter instead
        #[arg(long)]
        sell: bool,
        #[command(flatten)]
        hand: Hand,
    },
}

/// Arguments of `backup`.
#[derive(Debug, Args)]
pub struct BackupArgs {
    /// The file to write, which must not be there: the store, and the shop's own kinds, faults,
    /// labels, settings and logo
    #[arg(value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
}

/// Arguments of `restore`.
#[derive(Debug, Args)]
pub struct RestoreArgs {
    /// The backup
    #[arg(value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The new folder that becomes the shop
    #[arg(value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}
