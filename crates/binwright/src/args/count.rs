//! What can be asked of the counting desk and the desk of old parts?

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum, ValueHint};
use jiff::civil::Date;

use super::stock::Hand;

/// What is done with count sheets.
#[derive(Debug, Subcommand)]
pub enum CountAct {
    /// Draw up a sheet; it does not say what the book says
    Open {
        #[command(flatten)]
        scope: Scope,
        #[command(flatten)]
        hand: Hand,
    },
    /// List the sheets that are not posted yet
    List,
    /// Write a sheet to be filled in, as CSV
    Sheet {
        /// Its number
        sheet: i64,
    },
    /// Take in counts: a filled-in sheet, or one place
    Enter {
        /// The sheet's number
        sheet: i64,
        /// The filled-in sheet, CSV; `-` reads standard input
        #[arg(value_hint = ValueHint::FilePath, required_unless_present_any = ["part", "scan"])]
        file: Option<PathBuf>,
        /// Any number of the part that was counted
        #[arg(long, requires_all = ["bin", "counted"], conflicts_with = "file")]
        part: Option<String>,
        /// The bin it lies in
        #[arg(long)]
        bin: Option<String>,
        /// How many
        #[arg(long, value_name = "QTY")]
        counted: Option<String>,
        /// In what condition
        #[arg(long, default_value = "new")]
        condition: String,
        /// Read a scanner from standard input, a code a line: a bin, then every piece in it; `=12`
        /// after a part says twelve in all
        #[arg(long, conflicts_with_all = ["file", "part"])]
        scan: bool,
        #[command(flatten)]
        hand: Hand,
    },
    /// Set what was counted against the book
    Review {
        /// The sheet's number
        sheet: i64,
    },
    /// Correct the book by what was counted, and close the sheet
    Post {
        /// The sheet's number
        sheet: i64,
        /// Who else has looked, where the corrections are worth much
        #[arg(long, default_value = "", hide_default_value = true, value_name = "NAME")]
        second: String,
        /// Post what was counted though lines are left: there the book stays as it is
        #[arg(long)]
        partly: bool,
        #[command(flatten)]
        hand: Hand,
    },
    /// Throw a sheet away
    Drop {
        /// Its number
        sheet: i64,
        #[command(flatten)]
        hand: Hand,
    },
}

/// What is to be counted.
#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
pub struct Scope {
    /// One bin
    #[arg(long)]
    pub bin: Option<String>,
    /// All bins of an aisle
    #[arg(long)]
    pub aisle: Option<String>,
    /// All parts of a class of the settings: fast, middle, slow
    #[arg(long)]
    pub class: Option<String>,
    /// Whatever was not counted within the days of its class
    #[arg(long)]
    pub due: bool,
}

/// What is done with cores.
#[derive(Debug, Subcommand)]
pub enum CoresAct {
    /// Write down old parts that are owed against a deposit
    Owe {
        /// With whom the deposit was made
        side: SideArg,
        /// Who it is
        party: String,
        /// Number of the unit or part
        item: String,
        /// How many
        #[arg(default_value = "1")]
        quantity: String,
        /// The deposit for all of them
        #[arg(long, value_name = "MONEY")]
        deposit: String,
        /// The last day the old part is taken back
        #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
        until: Option<Date>,
        /// Order, sale or job it belongs to
        #[arg(long, default_value = "", hide_default_value = true)]
        reference: String,
        #[command(flatten)]
        hand: Hand,
    },
    /// The old parts came back: say what of the deposit goes back
    Returned {
        #[command(flatten)]
        settle: SettleArgs,
        /// The bin a customer's old part goes into, or a supplier's comes out of, as a core;
        /// without it no stock moves
        #[arg(long)]
        bin: Option<String>,
    },
    /// No old parts came: the deposit is kept
    Kept(SettleArgs),
    /// List what is owed, and whose the deposits are
    List {
        /// One side only
        side: Option<SideArg>,
    },
}

/// Arguments of `cores returned` and `cores kept`.
#[derive(Debug, Args)]
pub struct SettleArgs {
    /// The debt's number
    pub debt: i64,
    /// How many
    #[arg(default_value = "1")]
    pub quantity: String,
    /// What it belongs to
    #[arg(long, default_value = "", hide_default_value = true)]
    pub reference: String,
    #[command(flatten)]
    pub hand: Hand,
}

/// With whom a deposit was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SideArg {
    /// A customer owes an old part; the shop holds the deposit
    Customer,
    /// The shop owes a supplier an old part; the supplier holds the deposit
    Supplier,
}
