//! What can be put on paper from the command line?

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum, ValueHint};
use jiff::civil::Date;

/// What is to be printed.
#[derive(Debug, Subcommand)]
pub enum PaperAct {
    /// Layouts at true scale, one upon the other, to lay the removed part on
    Outline {
        /// House numbers of the parts
        #[arg(required = true)]
        parts: Vec<String>,
        #[command(flatten)]
        sheet: SheetArgs,
    },
    /// Labels for parts and bins
    Labels {
        /// Numbers of parts or names of bins
        #[arg(required = true)]
        names: Vec<String>,
        /// Key of the label sheet; `paper sheets` lists them
        #[arg(long, default_value = "a4-3x8", value_name = "KEY")]
        on: String,
        /// What the label carries to be scanned
        #[arg(long, value_enum, default_value_t = Scan::Square, value_name = "WHAT")]
        code: Scan,
        /// First label to use on a sheet begun before, counted from 1
        #[arg(long, default_value_t = 1, value_name = "N")]
        first: usize,
        #[command(flatten)]
        sheet: SheetArgs,
    },
    /// List the label sheets
    Sheets,
    /// A count sheet, blind
    Count {
        /// Its number
        sheet_number: i64,
        #[command(flatten)]
        sheet: SheetArgs,
    },
    /// What is promised to a quote or job, along the aisles
    Pick {
        /// The quote's or job's reference
        reference: String,
        #[command(flatten)]
        sheet: SheetArgs,
    },
    /// An order as it goes to its supplier
    Order {
        /// Its number, such as O-12
        order: String,
        #[command(flatten)]
        sheet: SheetArgs,
    },
    /// Quotes, side by side as the options of one job
    Quote {
        /// Their numbers
        #[arg(required = true)]
        quotes: Vec<String>,
        #[command(flatten)]
        sheet: SheetArgs,
    },
    /// The bench's ticket of a quote or job: findings, cautions, what to take from which bin
    Ticket {
        /// The quote's number
        quote: String,
        #[command(flatten)]
        sheet: SheetArgs,
    },
    /// A receipt for old parts owed under a reference and their deposit
    Cores {
        /// The reference
        reference: String,
        #[command(flatten)]
        sheet: SheetArgs,
    },
}

/// What the label carries to be scanned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Scan {
    /// Code 128
    Bars,
    /// QR
    Square,
    /// Nothing
    None,
}

/// The paper in the printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Page {
    /// 210 by 297 mm
    A4,
    /// 8 1/2 by 11 in
    Letter,
}

/// Where a document goes, and on what.
#[derive(Debug, Args)]
pub struct SheetArgs {
    /// Where to; `-` is standard output (PDF); a name ending in .svg makes a file a page
    #[arg(long, short, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub out: PathBuf,
    /// The paper in the printer
    #[arg(long, value_enum, default_value_t = Page::A4)]
    pub page: Page,
    /// Correction of the printer across and up, as worked out on the sheet's own rulers: length
    /// asked for over length measured; that of the settings when not given
    #[arg(long, value_name = "X,Y")]
    pub printer_scale: Option<String>,
    /// The day the document carries [default: today]
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
    pub day: Option<Date>,
    /// Overwrite the file when it is there
    #[arg(long)]
    pub force: bool,
}
