//! What can be asked on the command line? The one declaration that parser, help, manual and
//! completions come from.

pub mod screens;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::parser::ValueSource;
use clap::{Args, CommandFactory, FromArgMatches, Parser, Subcommand, ValueEnum, ValueHint};
use jiff::civil::Date;

pub mod bench;
pub mod branch;
pub mod buy;
pub mod count;
pub mod orders;
pub mod paper;
pub mod quote;
pub mod stock;

const EXAMPLES: &str = "\
Examples:
  binwright                                             the screens: counter, bench, buying
  binwright demo                                        a made-up shop, and the job walked through
  binwright fit rectifier-plate outline_od=112.3 phase_lugs=3 bplus_thread=M8
  binwright bench alternator ripple=high bplus-to-case=one --unit AU-1112
  binwright quote make alternator ripple=high bplus-to-case=one --unit AU-1112 --cover 1
  binwright find 'RP-11O7?'                             a worn number
  binwright show RP-1107C                               one part: crosses, units, bins, prices

Exit codes:
  0  done
  1  could not: nothing found, or an error that the message names
  2  wrong usage
  3  done, but some rows were rejected; the rejects file holds them";

/// Parts cross-reference, stock and measurements for people who rebuild alternators and starters.
#[derive(Debug, Parser)]
#[command(name = "binwright", version = version(), after_help = EXAMPLES)]
#[command(infer_subcommands = false, disable_help_subcommand = true, max_term_width = 100)]
pub struct Line {
    /// The shop to work in: its folder, or postgresql://user@host/database
    #[arg(long, global = true, env = "BINWRIGHT_SHOP", hide_env_values = true, value_name = "PLACE", value_hint = ValueHint::DirPath)]
    pub shop: Option<OsString>,

    /// The branch this is, in a shop with several: its stock is named first, quotes take from it first,
    /// new bins are its. Typed after `buy advise` or `order basket` it is the branch that is bought for
    #[arg(
        long,
        global = true,
        env = "BINWRIGHT_BRANCH",
        hide_env_values = true,
        value_name = "NAME"
    )]
    pub branch: Option<String>,

    /// Whether it was said on this command line.
    #[arg(skip)]
    pub branch_is_typed: bool,

    /// Answer in JSON, errors too
    #[arg(long, global = true, conflicts_with = "plain")]
    pub json: bool,

    /// Answer in lines with tabs between fields, nothing wrapped
    #[arg(long, global = true)]
    pub plain: bool,

    /// When to use colour
    #[arg(long, global = true, value_enum, default_value_t = Colour::Auto, value_name = "WHEN")]
    pub colour: Colour,

    /// How the screens are opened
    #[command(flatten)]
    pub screens: screens::ScreensArgs,

    /// What is to be done; without it the screens open
    #[command(subcommand)]
    pub act: Option<Act>,
}

impl Line {
    /// Reads the command line; ends the program where it is wrong or asks for help.
    pub fn read() -> Self {
        let found = Self::command().get_matches();
        let mut line = Self::from_arg_matches(&found).unwrap_or_else(|error| error.exit());
        let mut at = Some(&found);
        while let Some(within) = at {
            line.branch_is_typed |= within.value_source("branch") == Some(ValueSource::CommandLine);
            at = within.subcommand().map(|(_, within)| within);
        }
        line
    }
}

/// The program's version and that of the JSON answers it gives.
fn version() -> String {
    let answers = binwright_shop::answer::ANSWER_VERSION;
    format!("{}, JSON answers of version {answers}", env!("CARGO_PKG_VERSION"))
}

/// Arguments of `copy`.
#[derive(Debug, Args)]
pub struct CopyArgs {
    /// A new folder, or the address of an empty database: postgresql://user@host/database
    #[arg(value_name = "PLACE", value_hint = ValueHint::DirPath)]
    pub to: OsString,
}

/// Arguments of `share`.
#[derive(Debug, Args)]
pub struct ShareArgs {
    /// The folder they lie in, as beside a shop: settings.toml, kinds/, faults/, labels/, a picture
    #[arg(value_hint = ValueHint::DirPath)]
    pub folder: PathBuf,
}

/// When to use colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Colour {
    /// On a terminal, unless `NO_COLOR` is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// What is to be done.
#[derive(Debug, Subcommand)]
pub enum Act {
    /// Build a made-up shop in a folder and walk the counter's job on it
    Demo(DemoArgs),
    /// Make a new, empty shop in the folder named by --shop
    Create(CreateArgs),
    /// Take in a file of parts, crosses, units, bills, bins, stock, prices, suppliers, offers or
    /// demand
    Import(ImportArgs),
    /// Give back what import takes
    Export(ExportArgs),
    /// Say which part a removed one is, by its measures and layout
    Fit(FitArgs),
    /// Say what is wrong with a unit, what to check next and what it calls for
    Bench(bench::BenchArgs),
    /// Offer a repair and hold its stock; take it through to a closed job
    #[command(subcommand)]
    Quote(quote::QuoteAct),
    /// Say what to order, how many, from whom and why
    #[command(subcommand)]
    Buy(buy::BuyAct),
    /// Find parts by number or words, however worn or mistyped
    Find(FindArgs),
    /// Show everything about one part or unit
    Show(ShowArgs),
    /// List the kinds of part, or how the measures of one are taken
    Kinds(KindsArgs),
    /// Say what a bearing size, a thread, a terminal or a check digit is by the standards
    Standard(StandardArgs),
    /// Bring the search index up to date with the store, or build it anew
    Index(IndexArgs),
    /// Receive, issue, sell, move, transfer, regrade, return, break and build kits; history and value
    #[command(subcommand)]
    Stock(stock::StockAct),
    /// Branches of a shop that is a chain: their names, and how far they are apart
    #[command(subcommand)]
    Branch(branch::BranchAct),
    /// Promise stock, list what is promised, let it go or post it
    #[command(subcommand)]
    Hold(stock::HoldAct),
    /// Draw up count sheets, take counts, correct the book
    #[command(subcommand)]
    Count(count::CountAct),
    /// Old parts owed by customers and to suppliers, and their deposits
    #[command(subcommand)]
    Cores(count::CoresAct),
    /// Weigh a basket, draft, send, receive and settle orders
    #[command(subcommand)]
    Order(orders::OrderAct),
    /// Fast movers, dead stock, turns, service, old parts owed, lead times
    #[command(subcommand)]
    Report(orders::ReportAct),
    /// Copy the store into a file while others go on working
    Backup(stock::BackupArgs),
    /// Make a shop of a backup in a new folder, every movement checked
    Restore(stock::RestoreArgs),
    /// Copy the shop from its folder to a server, or back; cut short, the same command goes on
    Copy(CopyArgs),
    /// Give all desks of a shop on a server the settings, logo, kinds, faults and labels of a folder
    Share(ShareArgs),
    /// Make the roles of a shop on a server, put their grants anew, and say who has which
    Roles,
    /// Put outlines, labels, sheets and orders on paper
    #[command(subcommand)]
    Paper(paper::PaperAct),
    /// Check the store: engine, ledger chain, balances, index
    Check,
    /// Say where things are kept: the shop, its search index, the file of your own keys
    Paths,
    /// Write completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Write the manual page (roff)
    Manual,
}

/// Arguments of `demo`.
#[derive(Debug, Args)]
pub struct DemoArgs {
    /// Where to build it; a new folder under the temporary folder when not given
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub dir: Option<PathBuf>,
}

/// Arguments of `create`.
#[derive(Debug, Args)]
pub struct CreateArgs {
    /// What the shop is called
    #[arg(long, default_value = "Shop")]
    pub name: String,
    /// ISO 4217 code of the money it counts in
    #[arg(long, default_value = "EUR")]
    pub currency: String,
}

/// Arguments of `import`.
#[derive(Debug, Args)]
pub struct ImportArgs {
    /// The files, CSV or XLSX; `-` reads CSV from standard input
    #[arg(required = true, value_hint = ValueHint::FilePath)]
    pub files: Vec<PathBuf>,
    /// What the rows are: parts, crosses, units, bills, bins, stock, prices, suppliers, offers or
    /// demand; told from the headers when not given
    #[arg(long, value_name = "TABLE")]
    pub table: Option<String>,
    /// A column map (TOML) that turns a stranger's headers, units and words into ours, or a Table
    /// Schema (JSON)
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub map: Option<PathBuf>,
    /// Read and judge every row, write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Where rejected rows go; beside the file when not given
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub rejects: Option<PathBuf>,
    /// What stands before decimals: point or comma
    #[arg(long, value_name = "MARK")]
    pub decimal: Option<String>,
    /// The text's encoding, when it cannot be told (`windows-1252` ...)
    #[arg(long)]
    pub encoding: Option<String>,
    /// What stands between fields: `,` `;` `|` or tab
    #[arg(long, value_name = "CHAR")]
    pub separator: Option<String>,
    /// Sheet of an XLSX file; the first when not given
    #[arg(long)]
    pub sheet: Option<String>,
    /// Leave the search index for later
    #[arg(long)]
    pub no_index: bool,
}

/// Arguments of `export`.
#[derive(Debug, Args)]
pub struct ExportArgs {
    /// parts, crosses, units, bills, bins, stock, prices, suppliers, offers or demand
    pub table: String,
    /// Where to; `-` or nothing is standard output; a name ending in .xlsx makes a workbook
    #[arg(default_value = "-", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// Defuse cells that a spreadsheet would run (import undoes it)
    #[arg(long)]
    pub for_spreadsheet: bool,
    /// Overwrite the file when it is there
    #[arg(long)]
    pub force: bool,
}

/// Arguments of `fit`.
#[derive(Debug, Args)]
pub struct FitArgs {
    /// The kind, then what was measured as measure=value; without a kind every kind that has the
    /// measures is weighed
    #[arg(value_name = "KIND | MEASURE=VALUE")]
    pub words: Vec<String>,
    /// The layout: points `role[:designation]@x,y[/size]` separated by `;`, in any frame
    #[arg(long, value_name = "POINTS", allow_hyphen_values = true)]
    pub layout: Option<String>,
    /// Hole-to-hole distances in mm, in any order, separated by commas
    #[arg(long, value_name = "MM,MM...", value_delimiter = ',')]
    pub distances: Vec<f64>,
    /// Standard deviation of every length as taken, in mm, instead of the instruments'
    #[arg(long, value_name = "MM")]
    pub sd_mm: Option<f64>,
    /// How many candidates to show
    #[arg(long, default_value_t = 5, value_name = "N", value_parser = some)]
    pub limit: usize,
    /// Read questions as JSON lines from a file or `-`, answer a line each
    #[arg(long, value_name = "FILE", conflicts_with_all = ["words", "layout", "distances"])]
    pub batch: Option<PathBuf>,
}

/// Arguments of `find`.
#[derive(Debug, Args)]
pub struct FindArgs {
    /// A number or words; `?` stands for one worn character, `*` for some
    #[arg(required = true)]
    pub text: Vec<String>,
    /// How many hits to show
    #[arg(long, default_value_t = 10, value_name = "N", value_parser = some)]
    pub limit: usize,
}

/// A whole number above nothing.
fn some(text: &str) -> Result<usize, String> {
    let wanted = || "write a whole number from 1 on".to_owned();
    text.parse().ok().filter(|many| *many > 0).ok_or_else(wanted)
}

/// A day of the calendar.
fn day(text: &str) -> Result<Date, String> {
    text.parse().map_err(|_| "write a day of the calendar as YYYY-MM-DD".to_owned())
}

/// Arguments of `show`.
#[derive(Debug, Args)]
pub struct ShowArgs {
    /// Any number of the part, or the unit's
    pub number: String,
}

/// Arguments of `kinds`.
#[derive(Debug, Args)]
pub struct KindsArgs {
    /// The kind whose measures are wanted
    pub kind: Option<String>,
}

/// Arguments of `standard`.
#[derive(Debug, Args)]
pub struct StandardArgs {
    /// `17x40x12`, `6203`, `7.85 mm stud`, `8 af` (across flats), `M8`, `DF`, an article number
    #[arg(required = true)]
    pub words: Vec<String>,
}

/// Arguments of `index`.
#[derive(Debug, Args)]
pub struct IndexArgs {
    /// Throw it away and build it from the store
    #[arg(long)]
    pub rebuild: bool,
}
