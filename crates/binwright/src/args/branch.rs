//! What can be asked of a shop's branches?

use clap::Subcommand;

/// What is done with branches.
#[derive(Debug, Subcommand)]
pub enum BranchAct {
    /// Name the branch that is there; the one called --old where there are several
    Name {
        /// What it is called from now on
        name: String,
        /// What it was called
        #[arg(long, default_value = "", hide_default_value = true, value_name = "NAME")]
        old: String,
    },
    /// Add a branch; its bins come by `import`, with a column `branch`
    Add {
        /// What it is called
        name: String,
    },
    /// List the branches and how far they are apart
    List,
    /// Say how far two branches are apart, in both directions
    Way {
        /// The one
        one: String,
        /// The other
        two: String,
        /// How long a trip takes
        #[arg(long, value_name = "N")]
        minutes: u32,
        /// What a trip costs
        #[arg(long, value_name = "MONEY")]
        cost: String,
    },
}
