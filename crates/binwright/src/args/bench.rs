//! What can be asked of the bench's desk on the command line?

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueHint};

/// Arguments of `bench`.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
pub struct BenchArgs {
    /// Lists and what was learnt
    #[command(subcommand)]
    pub list: Option<BenchList>,
    /// The unit and what was read on it
    #[command(flatten)]
    pub on_bench: OnBenchArgs,
    /// How many findings and next checks to show
    #[arg(long, default_value_t = 4, value_name = "N")]
    pub limit: usize,
    /// Read questions as JSON lines from a file or `-`, answer a line each
    #[arg(long, value_name = "FILE", conflicts_with = "words", value_hint = ValueHint::FilePath)]
    pub batch: Option<PathBuf>,
}

/// One unit on the bench.
#[derive(Debug, Args)]
pub struct OnBenchArgs {
    /// alternator or starter, then readings: bplus-to-case=one, rotor-resistance=2.6ohm@85C
    #[arg(value_name = "MACHINE | CHECK=READING")]
    pub words: Vec<String>,
    /// The unit's number: its bill says which parts sit in it
    #[arg(long, value_name = "NUMBER")]
    pub unit: Option<String>,
    /// Voltage class
    #[arg(long, value_name = "V")]
    pub volts: Option<u16>,
    /// It came without its vehicle: what is wrong there cannot be told
    #[arg(long)]
    pub loose: bool,
    /// How far it is stripped already (`bench checks` names the levels)
    #[arg(long, value_name = "LEVEL")]
    pub stripped: Option<String>,
    /// Which part sits in a role, when the unit is not known
    #[arg(long, value_name = "ROLE=NUMBER")]
    pub part: Vec<String>,
    /// What was measured on the part in a role: --fit rectifier "rectifier-plate outline_od=112.1"
    #[arg(long, num_args = 2, value_names = ["ROLE", "KIND MEASURE=VALUE ..."])]
    pub fit: Vec<String>,
    /// A role to be filled whatever the readings say
    #[arg(long, value_name = "ROLE")]
    pub with: Vec<String>,
}

/// Lists of the bench.
#[derive(Debug, Subcommand)]
pub enum BenchList {
    /// List the checks of a machine, or how one is made and read
    Checks {
        /// alternator or starter
        machine: String,
        /// Key or code of one check
        check: Option<String>,
    },
    /// Say what closed jobs have taught: each number that moved, before and after
    Learnt,
    /// List the faults of a machine: a job is closed with those truly found
    Faults {
        /// alternator or starter
        machine: String,
    },
}
