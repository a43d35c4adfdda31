//! What is a movement? Why stock moves, what is told of it, and the row of the ledger with its hash.

use binwright_catalog::{Condition, Money, Quantity};
use jiff::Timestamp;
use jiff::civil::Date;
use sha2::{Digest, Sha256};

use crate::StoreError;
use crate::engine::Row;

/// Why stock moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Reason {
    /// It lay there when the shop was opened.
    Opening,
    /// It came from a supplier.
    Receive,
    /// It went into a job.
    Issue,
    /// It was sold over the counter.
    Sale,
    /// It went to or came from another bin.
    Move,
    /// It was tested and lies in another condition now.
    Condition,
    /// It was given up.
    Scrap,
    /// It was counted and the book was wrong.
    Count,
    /// A customer brought it back.
    ReturnIn,
    /// It went back to the supplier.
    ReturnOut,
    /// It left for another branch.
    TransferOut,
    /// It came from another branch.
    TransferIn,
    /// A kit was broken into its parts.
    Break,
    /// A kit was built of its parts.
    Build,
    /// It takes back an earlier movement.
    Undo,
}

impl Reason {
    const ALL: [Self; 15] = [
        Self::Opening,
        Self::Receive,
        Self::Issue,
        Self::Sale,
        Self::Move,
        Self::Condition,
        Self::Scrap,
        Self::Count,
        Self::ReturnIn,
        Self::ReturnOut,
        Self::TransferOut,
        Self::TransferIn,
        Self::Break,
        Self::Build,
        Self::Undo,
    ];

    /// The word in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::Opening => "opening",
            Self::Receive => "receive",
            Self::Issue => "issue",
            Self::Sale => "sale",
            Self::Move => "move",
            Self::Condition => "condition",
            Self::Scrap => "scrap",
            Self::Count => "count",
            Self::ReturnIn => "return-in",
            Self::ReturnOut => "return-out",
            Self::TransferOut => "transfer-out",
            Self::TransferIn => "transfer-in",
            Self::Break => "break",
            Self::Build => "build",
            Self::Undo => "undo",
        }
    }

    /// Whether stock comes in (`true`) or goes out by it; `None` when it may do either.
    pub(crate) fn comes_in(self) -> Option<bool> {
        match self {
            Self::Receive | Self::ReturnIn => Some(true),
            Self::Issue | Self::Sale | Self::ReturnOut | Self::Scrap => Some(false),
            _ => None,
        }
    }

    /// Whether it is posted by a call of its own, which knows what belongs together.
    pub(crate) fn is_of_its_own(self) -> bool {
        matches!(
            self,
            Self::Break | Self::Build | Self::TransferOut | Self::TransferIn | Self::Undo
        )
    }

    pub(crate) fn named(word: &str) -> Result<Self, StoreError> {
        Self::ALL
            .into_iter()
            .find(|reason| reason.word() == word)
            .ok_or_else(|| StoreError::Damaged { what: format!("reason `{word}`") })
    }
}

/// One movement to be posted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Movement {
    /// Any number of the part.
    pub part: String,
    /// The bin.
    pub bin: String,
    /// In what condition.
    pub condition: Condition,
    /// In is positive, out negative.
    pub quantity: Quantity,
    /// What one costs, of what comes in; `None` takes it in at the average. What goes out goes at
    /// the average.
    pub unit_cost: Option<Money>,
    /// Why.
    pub reason: Reason,
    /// Job, order or quote it belongs to.
    pub reference: String,
    /// What else is to be said: the readings of a test, why a piece came back.
    pub note: String,
    /// Who posts it.
    pub who: String,
    /// When.
    pub at: Timestamp,
    /// The shop's day: its value counts from it, and the holds that last until it are kept.
    pub day: Date,
}

/// The branch of a shop that is one place, and the first of a chain.
pub(crate) const FIRST_BRANCH: u64 = 1;

/// A movement as a row of the ledger, what its hash covers.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Entry {
    pub seq: i64,
    pub part: u64,
    pub bin: u64,
    pub condition: String,
    pub quantity: i64,
    pub reason: String,
    pub reference: String,
    pub who: String,
    pub at: String,
    pub posting: i64,
    pub undoes: Option<i64>,
    pub value: i64,
    pub day: String,
    pub note: String,
    pub key: String,
    pub branch: u64,
}

impl Entry {
    /// Reads the columns of the movement queries; the hash is the last.
    pub fn read(row: &Row<'_>) -> Result<(Self, Vec<u8>), StoreError> {
        let entry = Self {
            seq: row.get(0)?,
            part: row.get(1)?,
            bin: row.get(2)?,
            condition: row.get(3)?,
            quantity: row.get(4)?,
            reason: row.get(5)?,
            reference: row.get(6)?,
            who: row.get(7)?,
            at: row.get(8)?,
            posting: row.get(9)?,
            undoes: row.get(10)?,
            value: row.get(11)?,
            day: row.get(12)?,
            note: row.get(13)?,
            key: row.get(14)?,
            branch: row.get(15)?,
        };
        Ok((entry, row.get(16)?))
    }

    /// SHA-256 over the hash before it in its branch and every field, each with its length so that no two
    /// movements spell alike.
    pub fn hash(&self, before: &[u8]) -> Vec<u8> {
        let mut hasher = Sha256::new();
        hasher.update(before);
        let numbers = format!(
            "{} {} {} {} {} {}",
            self.seq,
            self.part,
            self.bin,
            self.quantity,
            self.posting,
            self.undoes.map_or_else(|| "-".to_owned(), |seq| seq.to_string())
        );
        for text in [&numbers, &self.condition, &self.reason, &self.reference, &self.who, &self.at]
        {
            spell(&mut hasher, text);
        }
        // Rows of before store version 3 say none of these and keep the hashes they have.
        if self.value != 0 || [&self.day, &self.note, &self.key].iter().any(|t| !t.is_empty()) {
            for text in [&self.value.to_string(), &self.day, &self.note, &self.key] {
                spell(&mut hasher, text);
            }
        }
        // Nor do those of the first branch say where they are.
        if self.branch != FIRST_BRANCH {
            spell(&mut hasher, &self.branch.to_string());
        }
        hasher.finalize().to_vec()
    }
}

fn spell(hasher: &mut Sha256, text: &str) {
    hasher.update((text.len() as u64).to_le_bytes());
    hasher.update(text.as_bytes());
}
