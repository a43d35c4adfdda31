//! What does the rest of the store ask of an engine? A handful of calls that read and write rows.
//!
//! A query is a text of `schema/store/queries` with numbered parameters (`?1`), in words that SQLite
//! and PostgreSQL both speak. Whatever the engine, a statement is prepared once a session and kept.

pub(crate) mod file;
pub(crate) mod server;
mod tls;
mod value;

use rusqlite::Connection;

pub(crate) use file::Access;
pub(crate) use server::{Line, Turn};
pub(crate) use tls::{Trust, connector};
pub(crate) use value::{Bind, Kept, Row, Value};

use crate::{Role, StoreError, sql};

/// The parameters of a query, in the order of their numbers.
macro_rules! values {
    ($($value:expr),* $(,)?) => { &[$($crate::engine::Bind::value(&$value)),*] };
}
pub(crate) use values;

/// A line to the engine that keeps the shop.
#[derive(Debug)]
pub(crate) enum Session {
    /// A file of SQLite.
    File(Connection),
    /// A PostgreSQL server.
    Server(Box<Line>),
}

impl Session {
    /// What `read` makes of the first row of `query`; `None` when there is no row.
    pub fn first<T>(
        &self,
        query: &str,
        values: &[Value<'_>],
        read: impl FnOnce(&Row<'_>) -> Result<T, StoreError>,
    ) -> Result<Option<T>, StoreError> {
        match self {
            Self::File(file) => file::first(file, query, values, read),
            Self::Server(line) => {
                line.rows(query, values)?.first().map(|row| read(&row.into())).transpose()
            }
        }
    }

    /// As [`Self::first`], of a query that always has a row.
    pub fn one<T>(
        &self,
        query: &str,
        values: &[Value<'_>],
        read: impl FnOnce(&Row<'_>) -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        let gone = || StoreError::Damaged { what: "a row that must be there is not".to_owned() };
        self.first(query, values, read)?.ok_or_else(gone)
    }

    /// What `read` makes of every row of `query`.
    pub fn all<T>(
        &self,
        query: &str,
        values: &[Value<'_>],
        read: impl Fn(&Row<'_>) -> Result<T, StoreError>,
    ) -> Result<Vec<T>, StoreError> {
        match self {
            Self::File(file) => {
                let mut all = Vec::new();
                file::each(file, query, values, read, |one| {
                    all.push(one);
                    Ok::<_, StoreError>(())
                })?;
                Ok(all)
            }
            Self::Server(line) => {
                line.rows(query, values)?.iter().map(|row| read(&row.into())).collect()
            }
        }
    }

    /// Hands what `read` makes of each row of `query` to `take`, and ends with the first error. Rows
    /// are not gathered first: there may be a million.
    pub fn each<T, E: From<StoreError>>(
        &self,
        query: &str,
        values: &[Value<'_>],
        read: impl Fn(&Row<'_>) -> Result<T, StoreError>,
        mut take: impl FnMut(T) -> Result<(), E>,
    ) -> Result<(), E> {
        match self {
            Self::File(file) => file::each(file, query, values, read, take),
            Self::Server(line) => line.each(query, values, |row| take(read(&row.into())?)),
        }
    }

    /// Runs a statement that has no rows to read; how many it wrote.
    pub fn run(&self, statement: &str, values: &[Value<'_>]) -> Result<usize, StoreError> {
        match self {
            Self::File(file) => file::run(file, statement, values),
            Self::Server(line) => line.run(statement, values),
        }
    }

    /// Runs an `INSERT` that ends with `RETURNING` the new row's key; `None` when it was passed over.
    pub fn add(&self, insert: &str, values: &[Value<'_>]) -> Result<Option<u64>, StoreError> {
        match self {
            Self::File(file) => file::add(file, insert, values),
            Self::Server(_) => self.first(insert, values, |row| row.get(0)),
        }
    }

    /// Runs statements that have no rows to read, all or none; in one message to a server. None of them
    /// rests on what another writes.
    pub fn run_together(&self, statements: &[(&str, &[Value<'_>])]) -> Result<(), StoreError> {
        match self {
            Self::File(file) => self.whole(|| {
                statements
                    .iter()
                    .try_for_each(|(one, values)| file::run(file, one, values).map(drop))
            }),
            Self::Server(line) => line.run_together(statements),
        }
    }

    /// Keeps all that `act` writes in the transaction that is open, or nothing of it when it fails.
    pub fn whole<T>(&self, act: impl FnOnce() -> Result<T, StoreError>) -> Result<T, StoreError> {
        self.say("SAVEPOINT whole")?;
        let done = act();
        if done.is_err() {
            self.say("ROLLBACK TO SAVEPOINT whole")?;
        }
        self.say("RELEASE SAVEPOINT whole")?;
        done
    }

    /// Reads all that `read` reads of a server as it is at one moment.
    pub fn at_one_moment<T>(
        &self,
        read: impl FnOnce() -> Result<T, StoreError>,
    ) -> Result<T, StoreError> {
        match self {
            Self::File(_) => read(),
            Self::Server(line) => line.at_one_moment(read),
        }
    }

    /// Begins a transaction that writes, when it is this session's turn. It is taken back unless it is
    /// committed.
    pub fn begin(&self) -> Result<Transaction<'_>, StoreError> {
        let turn = match self {
            Self::File(file) => {
                // At once: a lock that comes with the first write could be refused half-way.
                file::run(file, "BEGIN IMMEDIATE", &[])?;
                None
            }
            Self::Server(line) => Some(line.begin()?),
        };
        Ok(Transaction { session: self, turn, open: true })
    }

    /// Whether the last transaction ended for no fault of its own: the server gave another the way, or
    /// the line was lost. Nothing of it was kept.
    pub fn was_disturbed(&self) -> bool {
        match self {
            Self::File(_) => false,
            Self::Server(line) => line.was_disturbed(),
        }
    }

    /// A number that is another once somebody else has changed anything; what is changed through this
    /// session leaves it as it is.
    pub fn seen_from_outside(&self) -> Result<i64, StoreError> {
        match self {
            // SQLite, PRAGMA data_version: asked of the file's head alone, so it can be asked often.
            Self::File(_) => self.one("PRAGMA data_version", &[], |row| row.get(0)),
            Self::Server(line) => {
                let turns: i64 = self.one(sql!("turns"), &[], |row| row.get(0))?;
                Ok(turns - line.own_turns())
            }
        }
    }

    /// What one reads who is not of those who may do `what`.
    pub fn refused(&self, what: &'static str, may: &[Role]) -> StoreError {
        match self {
            Self::File(_) => StoreError::ReadOnly,
            Self::Server(line) => line.refused(what, may.to_vec()),
        }
    }

    /// Ends the session and says when not all could be brought to the disk.
    pub fn close(self) -> Result<(), StoreError> {
        match self {
            Self::File(file) => Ok(file.close().map_err(|(_, error)| error)?),
            Self::Server(_) => Ok(()),
        }
    }

    /// Says something that has neither parameters nor rows.
    pub fn say(&self, words: &str) -> Result<(), StoreError> {
        match self {
            Self::File(file) => file::run(file, words, &[]).map(drop),
            Self::Server(line) => line.say(words),
        }
    }
}

/// A transaction that is taken back when it is dropped.
#[derive(Debug)]
pub(crate) struct Transaction<'a> {
    session: &'a Session,
    turn: Option<Turn>,
    open: bool,
}

impl Transaction<'_> {
    /// Keeps what was written.
    pub fn commit(mut self) -> Result<(), StoreError> {
        match (self.session, &self.turn) {
            (Session::Server(line), Some(turn)) => {
                // Whatever comes of it, it is no longer open.
                self.open = false;
                line.commit(turn)
            }
            (session, _) => {
                session.say("COMMIT")?;
                self.open = false;
                Ok(())
            }
        }
    }
}

impl Drop for Transaction<'_> {
    fn drop(&mut self) {
        if self.open {
            // An engine that cannot even do this takes it back by itself.
            let _ = match self.session {
                Session::File(_) => self.session.say("ROLLBACK"),
                Session::Server(line) => line.roll_back(),
            };
        }
    }
}
