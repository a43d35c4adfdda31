//! Which branches has the shop, and how far are they apart?
//!
//! A shop that never heard of branches has one, which has no name. Every bin belongs to a branch.

use binwright_catalog::{Money, number};

use crate::engine::{Session, values};
use crate::put::{Put, put};
use crate::worth::currency;
use crate::{Store, StoreError, Writer, sql};

/// The way between two branches, the same in both directions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BranchWay {
    /// The name of the one.
    pub one: String,
    /// The name of the other.
    pub two: String,
    /// How long a trip takes.
    pub minutes: u32,
    /// What a trip costs, in the shop's currency.
    pub cost: Money,
}

impl Store {
    /// The names of the branches, in the order they were made; of a shop that is one place, one that
    /// is empty.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn branches(&self) -> Result<Vec<String>, StoreError> {
        branches(self.near())
    }

    /// The ways between branches that are known.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn branch_ways(&self) -> Result<Vec<BranchWay>, StoreError> {
        let currency = currency(self.near())?;
        self.near().all(sql!("branch_ways"), &[], |row| {
            Ok(BranchWay {
                one: row.get(0)?,
                two: row.get(1)?,
                minutes: row.get(2)?,
                cost: Money { minor: row.get(3)?, currency },
            })
        })
    }

    /// The name of the branch that `name` means.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchBranch`], or what the engine says.
    pub fn branch_named(&self, name: &str) -> Result<String, StoreError> {
        Ok(branch(self.near(), name)?.1)
    }
}

impl Writer<'_> {
    /// Puts a branch, known by the folded form of its name.
    ///
    /// # Errors
    ///
    /// [`StoreError::BranchUnnamed`] while the branch that is there has no name; when the name has
    /// neither letter nor digit, or the engine fails.
    pub fn put_branch(&mut self, name: &str) -> Result<Put, StoreError> {
        let folded = folded(name)?;
        if branches(self.session)?.iter().any(String::is_empty) {
            return Err(StoreError::BranchUnnamed);
        }
        if let Some((id, known)) = find(self.session, &folded)? {
            if known == name {
                return Ok(Put::Unchanged);
            }
            self.session.run(sql!("branch_name_set"), values![id, name, folded])?;
            return Ok(Put::Changed);
        }
        self.session.run(sql!("branch_add"), values![name, folded])?;
        Ok(Put::Added)
    }

    /// Names the branch that was `old` (empty: the one without a name) `new`.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchBranch`]; [`StoreError::BranchTaken`] when another bears the name; when it has
    /// neither letter nor digit, or the engine fails.
    pub fn name_branch(&mut self, old: &str, new: &str) -> Result<(), StoreError> {
        let folded = folded(new)?;
        let (id, _) = branch(self.session, old)?;
        if find(self.session, &folded)?.is_some_and(|(other, _)| other != id) {
            return Err(StoreError::BranchTaken { name: new.to_owned() });
        }
        self.session.run(sql!("branch_name_set"), values![id, new, folded])?;
        Ok(())
    }

    /// Puts how far two branches are apart.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchBranch`], [`StoreError::SameBranch`]; when the cost is below nothing or not in
    /// the shop's currency, or the engine fails.
    pub fn put_branch_way(&mut self, way: &BranchWay) -> Result<Put, StoreError> {
        let ((one, name), (two, _)) =
            (branch(self.session, &way.one)?, branch(self.session, &way.two)?);
        if one == two {
            return Err(StoreError::SameBranch { branch: name });
        }
        let shop = currency(self.session)?;
        if way.cost.currency != shop {
            return Err(StoreError::OtherCurrency { found: way.cost.currency, shop });
        }
        if way.cost.minor < 0 {
            return Err(StoreError::NegativeCost);
        }
        let (one, two) = (one.min(two), one.max(two));
        let there: bool =
            self.session.one(sql!("branch_way_is_there"), values![one, two], |row| row.get(0))?;
        let changed = self
            .session
            .run(sql!("branch_way_put"), values![one, two, way.minutes, way.cost.minor])?;
        Ok(put(there, changed))
    }
}

fn folded(name: &str) -> Result<String, StoreError> {
    let folded = number::fold(name);
    let empty = || StoreError::EmptyNumber { number: name.to_owned() };
    if folded.is_empty() { Err(empty()) } else { Ok(folded) }
}

fn branches(session: &Session) -> Result<Vec<String>, StoreError> {
    session.all(sql!("branches_all"), &[], |row| row.get(1))
}

fn find(session: &Session, folded: &str) -> Result<Option<(u64, String)>, StoreError> {
    session.first(sql!("branch_by_folded"), values![folded], |row| Ok((row.get(0)?, row.get(1)?)))
}

/// Id and name of the branch that `name` means.
pub(crate) fn branch(session: &Session, name: &str) -> Result<(u64, String), StoreError> {
    let known = find(session, &number::fold(name))?;
    known.ok_or_else(|| StoreError::NoSuchBranch { name: name.to_owned() })
}

/// Id and name of the branch that the bin with id `bin` belongs to.
pub(crate) fn branch_of(session: &Session, bin: u64) -> Result<(u64, String), StoreError> {
    session.one(sql!("branch_of_bin"), values![bin], |row| Ok((row.get(0)?, row.get(1)?)))
}
