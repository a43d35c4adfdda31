//! Who may what in a shop on a server? Its roles, and the grants they have.
//!
//! Roles are the whole server's, so a shop's are named after its database: `binwright_chain_buyer`. What
//! each may write stands in `schema/store/postgresql/grants.sql`, a line a table, and nowhere else: the
//! sentence a refused one reads is made of the same line. The tables belong to a role that nobody logs
//! in as: it is taken for migrations and grants alone.

use std::fmt;

use crate::engine::{Session, values};
use crate::migrations::newest;
use crate::{Keep, Store, StoreError, sql};

const GRANTS: &str = include_str!("../../../schema/store/postgresql/grants.sql");
/// The most bytes of a name that the server keeps whole.
const NAME_MAX: usize = 63;

/// What somebody is to the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Sells, moves, holds and counts stock.
    Counter,
    /// Makes quotes, holds and issues parts for them.
    Bench,
    /// Writes orders, receipts, offers and prices.
    Buyer,
    /// Does all of it, takes in files, brings the store up to date, puts the roles.
    Owner,
}

/// A role of the shop on its server.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoleHeld {
    /// Which.
    pub role: Role,
    /// Its name on the server.
    pub name: String,
    /// Who has it.
    pub held_by: Vec<String>,
}

impl Role {
    /// Each of them.
    pub const ALL: [Self; 4] = [Self::Counter, Self::Bench, Self::Buyer, Self::Owner];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Counter => "counter",
            Self::Bench => "bench",
            Self::Buyer => "buyer",
            Self::Owner => "owner",
        }
    }
}

impl Store {
    /// Makes the shop's roles where they are not there, and puts all grants anew. Who does it has the
    /// owner's from then on. Returns the roles and who has them.
    ///
    /// # Errors
    ///
    /// [`StoreError::InFolder`]; [`StoreError::NotAllowed`] to one who may not make roles on the server,
    /// or is not the shop's owner; [`StoreError::Address`] when the database's name is too long.
    pub fn put_roles(&mut self) -> Result<Vec<RoleHeld>, StoreError> {
        if let Session::File(_) = self.session {
            return Err(StoreError::InFolder);
        }
        self.write_once(Keep::Yes, |w| {
            if !tables_owner(w.session)?.mine {
                return Err(w.session.refused("put the roles", &[Role::Owner]));
            }
            Names::read(w.session)?.put(w.session)
        })
    }
}

/// Brings the store of a shop that has roles up to date, as the role its tables belong to.
pub(crate) fn as_tables_owner<T>(
    session: &mut Session,
    act: impl FnOnce(&mut Session) -> Result<T, StoreError>,
) -> Result<T, StoreError> {
    let owner = tables_owner(session)?;
    session.say(&format!("SET ROLE {}", quoted(&owner.name)))?;
    let done = act(session);
    session.say("RESET ROLE")?;
    done
}

/// Puts the grants anew when the store is of a newer version than they were put for; one who may not
/// leaves them as they are.
pub(crate) fn renew_grants(session: &Session) -> Result<(), StoreError> {
    let granted: u32 = session.one(sql!("granted"), &[], |row| row.get(0))?;
    if granted == 0 || granted == newest() || !tables_owner(session)?.mine {
        return Ok(());
    }
    let turn = session.begin()?;
    Names::read(session)?.put(session)?;
    turn.commit()
}

/// The role the shop's tables belong to.
pub(crate) struct TablesOwner {
    name: String,
    /// Whether who is at this session may act as it.
    pub mine: bool,
}

pub(crate) fn tables_owner(session: &Session) -> Result<TablesOwner, StoreError> {
    session.one(sql!("tables_owner"), &[], |row| {
        Ok(TablesOwner { mine: row.get(0)?, name: row.get(1)? })
    })
}

/// What the shop's roles are called, and where they count.
struct Names {
    database: String,
    schema: String,
    /// Whether who is at this session may say who comes in.
    is_mine: bool,
}

impl Names {
    fn read(session: &Session) -> Result<Self, StoreError> {
        let names = session.one(sql!("database_is_mine"), &[], |row| {
            Ok(Self { database: row.get(0)?, schema: row.get(1)?, is_mine: row.get(2)? })
        })?;
        if names.of("counter").len() > NAME_MAX {
            return Err(StoreError::Address { what: "no roles can be named after so long a name" });
        }
        Ok(names)
    }

    fn of(&self, word: &str) -> String {
        format!("binwright_{}_{word}", self.database)
    }

    /// As it stands in a statement.
    fn quoted(&self, word: &str) -> String {
        quoted(&self.of(word))
    }

    fn put(&self, session: &Session) -> Result<Vec<RoleHeld>, StoreError> {
        let tables = self.quoted("tables");
        let all = session.all(sql!("tables_all"), &[], |row| row.get::<String>(0))?;
        self.make(session)?;
        if tables_owner(session)?.name != self.of("tables") {
            self.hand_over(session, &all)?;
        }
        let desks = Role::ALL.map(|role| self.quoted(role.word())).join(", ");
        if self.is_mine {
            let database = quoted(&self.database);
            session.say(&format!(
                "REVOKE ALL ON DATABASE {database} FROM PUBLIC, {desks};
                 GRANT CONNECT ON DATABASE {database} TO {desks}"
            ))?;
        }
        session.say(&format!("SET LOCAL ROLE {tables}"))?;
        for table in &all {
            session.say(&format!(
                "REVOKE ALL ON {table} FROM PUBLIC, {desks}; GRANT SELECT ON {table} TO {desks}"
            ))?;
        }
        let grants = Role::ALL.into_iter().fold(GRANTS.to_owned(), |grants, role| {
            grants.replace(&format!("{{{}}}", role.word()), &self.quoted(role.word()))
        });
        session.say(&grants)?;
        session.run(sql!("granted_set"), values![newest()])?;
        session.say("RESET ROLE")?;
        Role::ALL.into_iter().map(|role| self.held(session, role)).collect()
    }

    /// Makes the roles that are not there; on a server where there was a shop of that name they are.
    fn make(&self, session: &Session) -> Result<(), StoreError> {
        for word in Role::ALL.map(Role::word).into_iter().chain(["tables"]) {
            let there = session
                .one(sql!("role_is_there"), values![self.of(word)], |row| row.get::<bool>(0))?;
            if !there {
                session.say(&format!("CREATE ROLE {} NOINHERIT", self.quoted(word)))?;
            }
        }
        Ok(())
    }

    /// Gives the tables to the role for them. The owner's has what that one may do at hand, but not in
    /// its own name: who works as the owner changes nothing that is only added to.
    fn hand_over(&self, session: &Session, all: &[String]) -> Result<(), StoreError> {
        let (tables, owner) = (self.quoted("tables"), self.quoted("owner"));
        session.say(&format!(
            "GRANT {tables} TO {owner};
             GRANT {owner} TO CURRENT_USER WITH ADMIN OPTION;
             GRANT USAGE, CREATE ON SCHEMA {} TO {tables};
             ALTER FUNCTION refuse() OWNER TO {tables}",
            quoted(&self.schema)
        ))?;
        all.iter()
            .try_for_each(|table| session.say(&format!("ALTER TABLE {table} OWNER TO {tables}")))
    }

    fn held(&self, session: &Session, role: Role) -> Result<RoleHeld, StoreError> {
        let name = self.of(role.word());
        let held_by = session.all(sql!("role_members"), values![&name], |row| row.get(0))?;
        Ok(RoleHeld { role, name, held_by })
    }
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// What a statement of ours would have done, in words, and whose it is; `None` when it only reads.
pub(crate) fn needed_by(statement: &str) -> Option<(&'static str, Vec<Role>)> {
    // What runs together with others stands in a `WITH`; the first of them tells.
    let first = statement.strip_prefix("WITH s0 AS (").unwrap_or(statement);
    ["INSERT INTO ", "UPDATE ", "DELETE FROM "].into_iter().find_map(|verb| {
        let table = first.strip_prefix(verb)?.split_whitespace().next()?;
        GRANTS.lines().find_map(|line| {
            let (grant, words) = line.split_once("; -- ")?;
            let (_, whose) = grant.split_once(&format!(" ON {table} TO "))?;
            let has = |role: &Role| whose.contains(&format!("{{{}}}", role.word()));
            Some((words, Role::ALL.into_iter().filter(has).collect()))
        })
    })
}

/// Whose something is, as it ends the sentence that refuses it.
#[derive(Debug)]
pub struct Whose(pub(crate) Vec<Role>);

impl fmt::Display for Whose {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, role) in self.0.iter().enumerate() {
            let between = match at {
                0 => "",
                _ if at + 1 == self.0.len() => " and ",
                _ => ", ",
            };
            write!(f, "{between}{}", role.word())?;
        }
        f.write_str(" may")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_refusal_says_what_the_statement_would_have_done_and_whose_it_is() {
        let rows = [
            (sql!("price_put"), Some(("change prices", "buyer and owner may"))),
            (sql!("order_state_set"), Some(("write orders", "buyer and owner may"))),
            (sql!("offers_drop"), Some(("change offers", "buyer and owner may"))),
            (sql!("part_add"), Some(("change parts", "owner may"))),
            (
                sql!("transfer_add"),
                Some(("send stock to another branch", "counter, buyer and owner may")),
            ),
            (
                "WITH s0 AS (INSERT INTO worth VALUES ($1)) DELETE FROM x",
                Some(("move stock", "counter, bench, buyer and owner may")),
            ),
            (sql!("prices_all"), None),
        ];
        for (statement, says) in rows {
            let found = needed_by(statement).map(|(what, may)| (what, Whose(may).to_string()));
            assert_eq!(found, says.map(|(what, may)| (what, may.to_owned())), "{statement}");
        }
    }
}
