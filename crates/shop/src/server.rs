//! What is done with a shop's server: who may what there?

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
        let line = |held: binwright_store::RoleHeld| RoleLine {
            role: held.role.word(),
            name: held.name,
            held_by: held.held_by,
        };
        Ok(self.store.put_roles()?.into_iter().map(line).collect())
    }
}
