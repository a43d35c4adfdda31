//! What is done with a shop's server? Who may what there, and how the shop moves there and back.

use binwright_store::{Place, RoleHeld, Store};
use jiff::civil::Date;
use serde::Serialize;

use crate::{Shop, ShopError};

/// A role of the shop on its server.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoleLine {
    /// `counter`, `bench`, `buyer` or `owner`.
    pub role: &'static str,
    /// Its name on the server, to be given there.
    pub name: String,
    /// The users of the server who have it.
    pub held_by: Vec<String>,
}

impl Shop {
    /// Makes the roles of the shop's server where they are not there, puts their grants anew, and tells
    /// who has which.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the shop lies in a folder, or who asks is not its owner.
    pub fn put_roles(&mut self) -> Result<Vec<RoleLine>, ShopError> {
        let line = |held: RoleHeld| RoleLine {
            role: held.role.word(),
            name: held.name,
            held_by: held.held_by,
        };
        Ok(self.store.put_roles()?.into_iter().map(line).collect())
    }
}

/// What was copied.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CopiedShop {
    /// Where the copy is.
    pub place: String,
    /// Rows of all tables, every one compared.
    pub rows: u64,
    /// How the ledger of each branch ends, here and there.
    pub ledgers: Vec<LedgerEnd>,
}

/// How the ledger of a branch ends.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LedgerEnd {
    /// The branch's name; empty in a shop that is one place.
    pub branch: String,
    /// The hash of its last movement, in hexadecimal digits; empty when nothing ever moved there.
    pub hash: String,
}

/// Copies the shop at `from` to the empty place `to`, or goes on where that was cut short; proves that
/// every row and the ledger of every branch are the same. `told` hears the table that is being copied
/// and how many of its rows are there.
///
/// # Errors
///
/// [`ShopError`] when there is another shop, when either is not sound, or they are not the same.
pub fn copy(
    from: &Place,
    to: &Place,
    today: Date,
    told: impl Fn(&str, u64),
) -> Result<CopiedShop, ShopError> {
    let copied = Store::open_at(from)?.copy_to(to, today, |step| {
        told(step.table, step.rows);
        Ok(())
    })?;
    let ledgers = copied.ends.into_iter().map(|(branch, hash)| LedgerEnd {
        branch,
        hash: hash.iter().fold(String::new(), |digits, byte| format!("{digits}{byte:02x}")),
    });
    Ok(CopiedShop { place: to.to_string(), rows: copied.rows, ledgers: ledgers.collect() })
}
