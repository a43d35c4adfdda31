//! What does the rest of the store ask of an engine? A handful of calls that read and write rows.
//!
//! A query is a text of `schema/store/queries` with numbered parameters (`?1`). Whatever the engine,
//! a statement is prepared once a session and kept.

pub(crate) mod file;
mod value;

use rusqlite::Connection;

pub(crate) use file::{Access, Row};
pub(crate) use value::{Bind, Field, Value};

use crate::StoreError;

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
        let mut all = Vec::new();
        self.each(query, values, read, |one| {
            all.push(one);
            Ok::<_, StoreError>(())
        })?;
        Ok(all)
    }

    /// Hands what `read` makes of each row of `query` to `take`, and ends with the first error. Rows
    /// are not gathered first: there may be a million.
    pub fn each<T, E: From<StoreError>>(
        &self,
        query: &str,
        values: &[Value<'_>],
        read: impl Fn(&Row<'_>) -> Result<T, StoreError>,
        take: impl FnMut(T) -> Result<(), E>,
    ) -> Result<(), E> {
        match self {
            Self::File(file) => file::each(file, query, values, read, take),
        }
    }

    /// Runs a statement that has no rows to read; how many it wrote.
    pub fn run(&self, statement: &str, values: &[Value<'_>]) -> Result<usize, StoreError> {
        match self {
            Self::File(file) => file::run(file, statement, values),
        }
    }

    /// Ends the session and says when not all could be brought to the disk.
    pub fn close(self) -> Result<(), StoreError> {
        match self {
            Self::File(file) => Ok(file.close().map_err(|(_, error)| error)?),
        }
    }

    /// Begins a transaction that writes. It is taken back unless it is committed.
    pub fn begin(&self) -> Result<Transaction<'_>, StoreError> {
        // At once: a lock that comes with the first write could be refused half-way.
        self.run("BEGIN IMMEDIATE", &[])?;
        Ok(Transaction { session: self, open: true })
    }
}

/// A transaction that is taken back when it is dropped.
#[derive(Debug)]
pub(crate) struct Transaction<'a> {
    session: &'a Session,
    open: bool,
}

impl Transaction<'_> {
    /// Keeps what was written.
    pub fn commit(mut self) -> Result<(), StoreError> {
        self.session.run("COMMIT", &[])?;
        self.open = false;
        Ok(())
    }
}

impl Drop for Transaction<'_> {
    fn drop(&mut self) {
        if self.open {
            // An engine that cannot even do this has taken it back by itself.
            let _ = self.session.run("ROLLBACK", &[]);
        }
    }
}
