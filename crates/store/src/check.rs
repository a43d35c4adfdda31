//! Is the store sound? Engine, ledger chain, balances, holds.

use std::collections::BTreeMap;
use std::fmt;

use jiff::civil::Date;

use crate::engine::{Row, Session, Value, values};
use crate::ledger::Entry;
use crate::{Store, StoreError, sql};

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trouble {
    /// What is wrong, and where.
    pub what: String,
    /// The first movement that is concerned, when one is.
    pub since: Option<i64>,
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        self.since.map_or(Ok(()), |seq| write!(f, ", since movement {seq}"))
    }
}

impl Store {
    /// Checks the structure of a file, each branch's chain of hashes over its movements, each
    /// balance against the sum of its movements, holds against stock, and what left branches against
    /// what arrived. Empty when all is sound.
    ///
    /// # Errors
    ///
    /// When the store cannot even be read.
    pub fn check(&self, today: Date) -> Result<Vec<Trouble>, StoreError> {
        let mut troubles = Vec::new();
        if let Session::File(_) = self.session {
            troubles.extend(self.said("PRAGMA integrity_check", &[], |row| {
                let line: String = row.get(0)?;
                Ok(Trouble { what: format!("engine: {line}"), since: None })
            })?);
            troubles.retain(|trouble| trouble.what != "engine: ok");
        }
        troubles.extend(self.check_chain()?);
        troubles.extend(self.said(sql!("balances_unlike_ledger"), &[], |row| {
            Ok(Trouble {
                what: format!(
                    "balance of {} is {} thousandths, its movements make {}",
                    place(row)?,
                    row.get::<i64>(3)?,
                    row.get::<i64>(4)?
                ),
                since: row.get(5)?,
            })
        })?);
        troubles.extend(self.said(sql!("worth_unlike_ledger"), &[], |row| {
            let thing = format!("{} ({})", row.text_lossy(0)?, row.text_lossy(1)?);
            let kept: (i64, i64) = (row.get(2)?, row.get(3)?);
            let made: (i64, i64) = (row.get(4)?, row.get(5)?);
            Ok(Trouble {
                what: format!(
                    "{} thousandths of {thing} are kept as worth {} minor units, its movements \
                     make {} and {}",
                    kept.0, kept.1, made.0, made.1
                ),
                since: row.get(6)?,
            })
        })?);
        troubles.extend(self.said(
            sql!("holds_over_stock"),
            values![today.to_string()],
            |row| {
                Ok(Trouble {
                    what: format!(
                        "of {} {} thousandths are held, {} are there",
                        place(row)?,
                        row.get::<i64>(3)?,
                        row.get::<i64>(4)?
                    ),
                    since: None,
                })
            },
        )?);
        troubles.extend(self.said(sql!("transfers_unlike_ledger"), &[], |row| {
            let (seq, what): (i64, String) = (row.get(0)?, row.get(1)?);
            Ok(Trouble { what: format!("a transfer: {what}"), since: Some(seq) })
        })?);
        troubles.extend(self.said(sql!("cores_over"), &[], |row| {
            let (debt, owed, settled): (i64, i64, i64) = (row.get(0)?, row.get(1)?, row.get(3)?);
            let what = format!("of {owed} thousandths of core debt {debt} {settled} are settled");
            Ok(Trouble { what, since: None })
        })?);
        Ok(troubles)
    }

    /// The troubles a query tells of. That a row cannot be read is one, not the end of the check.
    fn said(
        &self,
        query: &str,
        values: &[Value<'_>],
        read: impl Fn(&Row<'_>) -> Result<Trouble, StoreError>,
    ) -> Result<Vec<Trouble>, StoreError> {
        let unreadable = |error| Trouble::of("engine", error, None);
        let mut troubles = Vec::new();
        let end = self.session.each(
            query,
            values,
            |row| read(row).or_else(unreadable),
            |trouble| {
                troubles.push(trouble);
                Ok(())
            },
        );
        if let Err(error) = end {
            troubles.push(unreadable(error)?);
        }
        Ok(troubles)
    }

    /// Walks the ledger; the first break ends it, since every later hash rests on it.
    fn check_chain(&self) -> Result<Option<Trouble>, StoreError> {
        let mut expected = 1;
        let mut last: BTreeMap<u64, Vec<u8>> = BTreeMap::new();
        let end = self.session.each(sql!("movements_all"), &[], Entry::read, |(entry, hash)| {
            if entry.seq != expected {
                return Err(Break::Found("a movement of the ledger is missing"));
            }
            let before = last.entry(entry.branch).or_default();
            if entry.hash(before) != hash {
                return Err(Break::Found("the ledger is not as it was posted"));
            }
            expected += 1;
            *before = hash;
            Ok(())
        });
        match end {
            Ok(()) => Ok(None),
            Err(Break::Found(what)) => {
                Ok(Some(Trouble { what: what.into(), since: Some(expected) }))
            }
            Err(Break::Unread(error)) => Trouble::of("the ledger", error, Some(expected)).map(Some),
        }
    }
}

/// How the walk along the ledger ends early.
enum Break {
    Found(&'static str),
    Unread(StoreError),
}

impl From<StoreError> for Break {
    fn from(error: StoreError) -> Self {
        Self::Unread(error)
    }
}

impl Trouble {
    /// The trouble behind an error, unless it is one of the way to the store.
    fn of(at: &str, error: StoreError, since: Option<i64>) -> Result<Self, StoreError> {
        let what = match &error {
            StoreError::Engine(cause) => format!("{at}: {cause}"),
            StoreError::Damaged { what } => format!("{at}: {what}"),
            _ => return Err(error),
        };
        Ok(Self { what, since })
    }
}

/// Where stock lies, from the first three columns of a row.
fn place(row: &Row<'_>) -> Result<String, StoreError> {
    Ok(format!("{} in {} ({})", row.text_lossy(0)?, row.text_lossy(1)?, row.text_lossy(2)?))
}
