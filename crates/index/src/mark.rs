//! What does the index hold? The payload of its last commit.

use std::collections::BTreeMap;

use binwright_catalog::Kind;
use binwright_fit::kin::Weights;
use serde::{Deserialize, Serialize};

/// The payload of a commit: written with it or not at all.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct Mark {
    /// Our format and the caller's version; another one means another index.
    pub version: String,
    /// Number of the store's last change that is in.
    pub last_change: u64,
    /// What each kind was when its parts went in.
    pub kinds: BTreeMap<String, KindMark>,
}

/// What one kind was when its parts went in.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(crate) struct KindMark {
    /// Its measures in the order of the columns.
    pub measures: Vec<String>,
    /// What was learnt of how its relatives agree; absent when gaps are lent nothing.
    pub weights: Option<Weights>,
    /// Parts that went in when all of them last did.
    pub rows: u64,
    /// Parts that went in since, each with the relatives it then had.
    pub since: u64,
    /// Whether parts went in without their relatives being sought.
    pub unsought: bool,
}

impl KindMark {
    /// The most parts of a kind whose relatives are sought one by one.
    pub const SOUGHT_MAX: usize = 200;

    /// Whether what is known of relatives is too old to lend by.
    pub fn is_due(&self) -> bool {
        self.unsought || self.since > self.rows / 4 + Self::SOUGHT_MAX as u64
    }
}

/// The measures of `kind` in the order of the columns; a change of them moves the columns.
pub(crate) fn measures_of(kind: &Kind) -> Vec<String> {
    let sort = |number| if number { "number" } else { "word" };
    kind.measures.iter().map(|m| format!("{}:{}", m.key, sort(m.domain.is_number()))).collect()
}
