//! Is the store sound? Engine, ledger chain, balances, holds.

use jiff::civil::Date;

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

impl Store {
    /// Checks the engine's own structure, the chain of hashes over every movement, each balance
    /// against the sum of its movements, and holds against stock. Empty when all is sound.
    ///
    /// # Errors
    ///
    /// When the store cannot even be read.
    pub fn check(&self, today: Date) -> Result<Vec<Trouble>, StoreError> {
        let mut troubles = Vec::new();
        let mut engine = self.connection.prepare("PRAGMA integrity_check")?;
        for line in engine.query_map([], |row| row.get::<_, String>(0))? {
            let line = line?;
            if line != "ok" {
                troubles.push(Trouble { what: format!("engine: {line}"), since: None });
            }
        }
        troubles.extend(self.check_chain()?);
        let mut unlike = self.connection.prepare(sql!("balances_unlike_ledger"))?;
        for line in unlike.query_map([], |row| {
            Ok(format!(
                "balance of part {} in bin {} ({}) is {} thousandths, its movements make {}",
                row.get::<_, i64>(0)?,
                row.get::<_, i64>(1)?,
                row.get::<_, String>(2)?,
                row.get::<_, i64>(3)?,
                row.get::<_, i64>(4)?
            ))
        })? {
            troubles.push(Trouble { what: line?, since: None });
        }
        let mut over = self.connection.prepare(sql!("holds_over_stock"))?;
        for line in over.query_map([today.to_string()], |row| {
            Ok(format!(
                "of part {} in bin {} ({}) {} thousandths are held, {} are there",
                row.get::<_, i64>(0)?,
                row.get::<_, i64>(1)?,
                row.get::<_, String>(2)?,
                row.get::<_, i64>(3)?,
                row.get::<_, i64>(4)?
            ))
        })? {
            troubles.push(Trouble { what: line?, since: None });
        }
        Ok(troubles)
    }

    /// Walks the ledger; the first break ends it, since every later hash rests on it.
    fn check_chain(&self) -> Result<Option<Trouble>, StoreError> {
        let mut query = self.connection.prepare(sql!("movements_all"))?;
        let mut before = Vec::new();
        for (expected, row) in (1..).zip(query.query_map([], Entry::read)?) {
            let broken = |what: String| Some(Trouble { what, since: Some(expected) });
            let (entry, hash) = match row {
                Ok(read) => read,
                Err(error) => return Ok(broken(format!("movement {expected}: {error}"))),
            };
            if entry.seq != expected {
                return Ok(broken(format!("movement {expected} is missing")));
            }
            if entry.hash(&before) != hash {
                return Ok(broken(format!("movement {expected} is not as it was posted")));
            }
            before = hash;
        }
        Ok(None)
    }
}
