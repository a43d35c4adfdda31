//! Is the store sound? Engine, ledger chain, balances, holds.

use std::fmt;

use jiff::civil::Date;
use rusqlite::{Params, Row};

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
    /// Checks the engine's own structure, the chain of hashes over every movement, each balance
    /// against the sum of its movements, and holds against stock. Empty when all is sound.
    ///
    /// # Errors
    ///
    /// When the store cannot even be read.
    pub fn check(&self, today: Date) -> Result<Vec<Trouble>, StoreError> {
        let mut troubles = self.said("PRAGMA integrity_check", [], |row| {
            let line: String = row.get(0)?;
            Ok(Trouble { what: format!("engine: {line}"), since: None })
        })?;
        troubles.retain(|trouble| trouble.what != "engine: ok");
        troubles.extend(self.check_chain()?);
        troubles.extend(self.said(sql!("balances_unlike_ledger"), [], |row| {
            Ok(Trouble {
                what: format!(
                    "balance of {} is {} thousandths, its movements make {}",
                    place(row)?,
                    row.get::<_, i64>(3)?,
                    row.get::<_, i64>(4)?
                ),
                since: row.get(5)?,
            })
        })?);
        troubles.extend(self.said(sql!("worth_unlike_ledger"), [], |row| {
            let thing = format!("{} ({})", text(row, 0)?, text(row, 1)?);
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
        troubles.extend(self.said(sql!("holds_over_stock"), [today.to_string()], |row| {
            Ok(Trouble {
                what: format!(
                    "of {} {} thousandths are held, {} are there",
                    place(row)?,
                    row.get::<_, i64>(3)?,
                    row.get::<_, i64>(4)?
                ),
                since: None,
            })
        })?);
        troubles.extend(self.said(sql!("cores_over"), [], |row| {
            let (debt, owed, settled): (i64, i64, i64) = (row.get(0)?, row.get(1)?, row.get(3)?);
            let what = format!("of {owed} thousandths of core debt {debt} {settled} are settled");
            Ok(Trouble { what, since: None })
        })?);
        Ok(troubles)
    }

    /// The troubles a query tells of. That it cannot be answered is one, not the end of the check.
    fn said(
        &self,
        query: &str,
        params: impl Params,
        read: impl Fn(&Row<'_>) -> rusqlite::Result<Trouble>,
    ) -> Result<Vec<Trouble>, StoreError> {
        let mut query = self.connection.prepare(query)?;
        let unreadable = |error| Trouble { what: format!("engine: {error}"), since: None };
        let rows = query.query_map(params, read)?;
        Ok(rows.map(|row| row.unwrap_or_else(unreadable)).collect())
    }

    /// Walks the ledger; the first break ends it, since every later hash rests on it.
    fn check_chain(&self) -> Result<Option<Trouble>, StoreError> {
        let mut query = self.connection.prepare(sql!("movements_all"))?;
        let mut before = Vec::new();
        for (expected, row) in (1..).zip(query.query_map([], Entry::read)?) {
            let broken = |what: String| Some(Trouble { what, since: Some(expected) });
            let (entry, hash) = match row {
                Ok(read) => read,
                Err(error) => return Ok(broken(format!("the ledger: {error}"))),
            };
            if entry.seq != expected {
                return Ok(broken("a movement of the ledger is missing".to_owned()));
            }
            if entry.hash(&before) != hash {
                return Ok(broken("the ledger is not as it was posted".to_owned()));
            }
            before = hash;
        }
        Ok(None)
    }
}

/// Where stock lies, from the first three columns of a row.
fn place(row: &Row<'_>) -> rusqlite::Result<String> {
    Ok(format!("{} in {} ({})", text(row, 0)?, text(row, 1)?, text(row, 2)?))
}

/// Text of a row, readable however damaged.
fn text(row: &Row<'_>, at: usize) -> rusqlite::Result<String> {
    Ok(String::from_utf8_lossy(row.get_ref(at)?.as_bytes()?).into_owned())
}
