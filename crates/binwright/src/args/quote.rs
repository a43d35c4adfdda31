//! What can be asked of quotes and jobs on the command line?

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueHint};

use super::bench::OnBenchArgs;
use super::stock::Hand;

/// What is done with quotes and the jobs they become.
#[derive(Debug, Subcommand)]
pub enum QuoteAct {
    /// Make a quote of one repair option and hold its stock
    Make(MakeArgs),
    /// Make another revision of an open quote; what is not said stands as it was
    Revise {
        /// The quote's number
        number: String,
        #[command(flatten)]
        what: What,
    },
    /// Show a quote or job
    Show {
        /// Its number
        number: String,
    },
    /// List quotes and jobs
    List {
        /// Only those that are open, accepted, issued, closed or dropped
        state: Option<String>,
    },
    /// The customer takes it: it becomes a job and holds its stock until it is issued
    Accept {
        /// Its number
        number: String,
        #[command(flatten)]
        hand: Hand,
    },
    /// Take the parts out of the bins
    Issue {
        /// Its number
        number: String,
        #[command(flatten)]
        hand: Hand,
    },
    /// Close a job by its closing test, with the faults truly found
    Close(CloseArgs),
    /// Give it up and let its stock go
    Drop {
        /// Its number
        number: String,
        /// Why
        #[arg(long, default_value = "")]
        why: String,
        #[command(flatten)]
        hand: Hand,
    },
}

/// Arguments of `quote make`.
#[derive(Debug, Args)]
pub struct MakeArgs {
    #[command(flatten)]
    pub what: What,
    /// For whom
    #[arg(long, default_value = "", value_name = "REF")]
    pub customer: String,
    /// Read quotes to be made as JSON lines from a file or `-`, answer a line each
    #[arg(long, value_name = "FILE", conflicts_with = "words", value_hint = ValueHint::FilePath)]
    pub batch: Option<PathBuf>,
}

/// The unit, its readings and the repair option.
#[derive(Debug, Args)]
pub struct What {
    #[command(flatten)]
    pub on_bench: OnBenchArgs,
    /// The repair option, as `bench` names it: 1, 2 ..., exchange, new
    #[arg(long, value_name = "N")]
    pub cover: Option<String>,
    /// Change too what is worth changing while the unit is open
    #[arg(long)]
    pub while_in_there: bool,
    #[command(flatten)]
    pub hand: Hand,
}

/// Arguments of `quote close`.
#[derive(Debug, Args)]
pub struct CloseArgs {
    /// Its number
    pub number: String,
    /// The closing test: charge-voltage=in-range, ripple=0.05V ...
    #[arg(value_name = "CHECK=READING")]
    pub readings: Vec<String>,
    /// A fault truly found (`bench faults` names them), the next job learns from it; or unknown
    #[arg(long, value_name = "FAULT")]
    pub fault: Vec<String>,
    /// Why it is closed though the closing test is not good or not whole
    #[arg(long, value_name = "WHY")]
    pub anyway: Option<String>,
    #[command(flatten)]
    pub hand: Hand,
}
