//! How does SQLite answer the calls of the engine?

use std::path::Path;

use rusqlite::{Connection, ErrorCode, OpenFlags, params_from_iter};

use super::{Row, Session, Value};
use crate::StoreError;

/// Pages of the engine's cache, in KiB: a million parts' indexes are written without thrashing,
/// and an import stays far below its memory limit.
const CACHE_KIB: i64 = 16 * 1024;
/// Prepared statements that are kept.
const STATEMENTS: usize = 96;

/// What a file is opened for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Access {
    /// To write; it is made when it is not there.
    Make,
    /// To write.
    Write,
    /// To read.
    Read,
    /// To read the file alone: neither log nor lock is looked at, no side file is made.
    ReadUnchanging,
}

/// Opens the file at `path`.
pub(crate) fn open(path: &Path, access: Access) -> Result<Session, StoreError> {
    // The borrow checker sees to it that one thread at a time is inside.
    let alone = OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let write = OpenFlags::SQLITE_OPEN_READ_WRITE | alone;
    let read = OpenFlags::SQLITE_OPEN_READ_ONLY | alone;
    let file = match access {
        Access::Make => Connection::open_with_flags(path, write | OpenFlags::SQLITE_OPEN_CREATE)?,
        Access::Write => Connection::open_with_flags(path, write)?,
        Access::Read => Connection::open_with_flags(path, read)?,
        Access::ReadUnchanging => {
            let text = path.to_string_lossy();
            let text = text.replace('%', "%25").replace('?', "%3f").replace('#', "%23");
            let uri = format!("file:{text}?immutable=1");
            Connection::open_with_flags(uri, read | OpenFlags::SQLITE_OPEN_URI)?
        }
    };
    file.set_prepared_statement_cache_capacity(STATEMENTS);
    Ok(Session::File(file))
}

/// Runs a setting of the engine, which may or may not answer with what it is now.
pub(crate) fn set(session: &Session, pragma: &str) -> Result<(), StoreError> {
    session.each(pragma, &[], |_| Ok(()), |()| Ok(()))
}

/// Settles a session for the work of a shop.
pub(crate) fn settle(session: &Session) -> Result<(), StoreError> {
    set(session, "PRAGMA foreign_keys = ON")?;
    set(session, "PRAGMA synchronous = FULL")?;
    set(session, &format!("PRAGMA cache_size = -{CACHE_KIB}"))?;
    set(session, "PRAGMA busy_timeout = 30000")
}

pub(super) fn first<T>(
    file: &Connection,
    query: &str,
    values: &[Value<'_>],
    read: impl FnOnce(&Row<'_>) -> Result<T, StoreError>,
) -> Result<Option<T>, StoreError> {
    let mut query = file.prepare_cached(query)?;
    let mut rows = query.query(params_from_iter(values))?;
    rows.next()?.map(|row| read(&Row::File(row))).transpose()
}

pub(super) fn each<T, E: From<StoreError>>(
    file: &Connection,
    query: &str,
    values: &[Value<'_>],
    read: impl Fn(&Row<'_>) -> Result<T, StoreError>,
    mut take: impl FnMut(T) -> Result<(), E>,
) -> Result<(), E> {
    let mut query = file.prepare_cached(query).map_err(StoreError::from)?;
    let mut rows = query.query(params_from_iter(values)).map_err(StoreError::from)?;
    while let Some(row) = rows.next().map_err(StoreError::from)? {
        take(read(&Row::File(row))?)?;
    }
    Ok(())
}

pub(super) fn run(
    file: &Connection,
    statement: &str,
    values: &[Value<'_>],
) -> Result<usize, StoreError> {
    Ok(file.prepare_cached(statement)?.execute(params_from_iter(values))?)
}

pub(super) fn add(
    file: &Connection,
    insert: &str,
    values: &[Value<'_>],
) -> Result<Option<u64>, StoreError> {
    // The engine knows its last key; told to return it, it makes a table to return it in each time.
    let insert = insert.split("RETURNING").next().unwrap_or(insert);
    let added = run(file, insert, values)? > 0;
    Ok(added.then(|| file.last_insert_rowid().unsigned_abs()))
}

impl From<rusqlite::Error> for StoreError {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Locked,
            Some(ErrorCode::DiskFull) => Self::Full,
            Some(ErrorCode::ReadOnly) => Self::ReadOnly,
            Some(ErrorCode::NotADatabase | ErrorCode::DatabaseCorrupt) => {
                Self::Damaged { what: error.to_string() }
            }
            _ => Self::Engine(error.into()),
        }
    }
}
