//! How is a shop made and opened? Folder, engine settings, migrations, identity.

use std::fs;
use std::path::{Path, PathBuf};

use binwright_catalog::Currency;
use rusqlite::{Connection, OpenFlags, OptionalExtension};

use crate::whole::sync_folder;
use crate::write::wait_for_turn;
use crate::{StoreError, sql};

mod migrations {
    refinery::embed_migrations!("../../schema/store/migrations");
}

/// Pages of the engine's cache, in KiB: a million parts' indexes are written without thrashing,
/// and an import stays far below its memory limit.
const CACHE_KIB: i64 = 96 * 1024;
/// Prepared statements that are kept.
const STATEMENTS: usize = 96;

/// One shop's store.
#[derive(Debug)]
pub struct Store {
    pub(crate) connection: Connection,
    pub(crate) dir: PathBuf,
    pub(crate) read_only: bool,
}

/// Who the shop is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity {
    /// Drawn at random when the shop was made: names its index.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// What it counts money in.
    pub currency: Currency,
}

impl Store {
    /// Makes a new, empty shop in `dir`, which is made when it is not there.
    ///
    /// # Errors
    ///
    /// [`StoreError::IsAShop`] when there is one; else what the folder or the engine says.
    pub fn create(dir: &Path, name: &str, currency: Currency) -> Result<Self, StoreError> {
        let file = |source| StoreError::File { path: dir.to_owned(), source };
        fs::create_dir_all(dir).map_err(file)?;
        let path = store_file(dir);
        if path.exists() {
            return Err(StoreError::IsAShop { dir: dir.to_owned() });
        }
        // Made whole under another name first: a folder never holds half a shop.
        let unborn = dir.join("shop.db.new");
        for leftover in ["", "-wal", "-shm"] {
            let _ = fs::remove_file(dir.join(format!("shop.db.new{leftover}")));
        }
        let mut connection = Connection::open(&unborn)?;
        connection.pragma_update(None, "journal_mode", "DELETE")?;
        migrate(&mut connection)?;
        connection.execute(sql!("identity_put"), (new_identity(), name, currency.code()))?;
        connection.close().map_err(|(_, error)| StoreError::from(error))?;
        fs::rename(&unborn, &path).map_err(file)?;
        sync_folder(dir).map_err(file)?;
        Self::open(dir)
    }

    /// Opens the shop in `dir`; a store of an older version is backed up and brought up to date.
    /// In a folder that cannot be written the store opens for reading.
    ///
    /// # Errors
    ///
    /// [`StoreError::NotAShop`], [`StoreError::TooNew`] (nothing is touched), or what the engine
    /// says.
    pub fn open(dir: &Path) -> Result<Self, StoreError> {
        let path = store_file(dir);
        if !path.is_file() {
            return Err(StoreError::NotAShop { dir: dir.to_owned() });
        }
        // A first look that leaves no side files behind: what is newer is not touched at all.
        if let Ok(found) = open_unchanging(&path).and_then(|first_look| version(&first_look)) {
            refuse_newer(found)?;
        }
        let reader = open_for_reading(dir, &path)?;
        let found = version(&reader).map_err(|error| match error {
            StoreError::Engine(_) => StoreError::NotAShop { dir: dir.to_owned() },
            other => other,
        })?;
        refuse_newer(found)?;
        if !can_write(dir, &path) {
            return settle(reader, dir, true);
        }
        drop(reader);
        let mut connection = Connection::open_with_flags(
            &path,
            // The borrow checker sees to it that one thread at a time is inside.
            OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX,
        )?;
        connection.pragma_update(None, "journal_mode", "WAL")?;
        if found < newest() {
            let _turn = wait_for_turn(dir)?;
            // Another program may have brought it up to date while this one waited.
            let found = version(&connection)?;
            if found < newest() {
                crate::backup::before_migration(&connection, dir, found)?;
                migrate(&mut connection)?;
                // A copy too many does no harm.
                let _ = crate::backup::drop_oldest(dir);
            }
        }
        settle(connection, dir, false)
    }

    /// Who the shop is.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn identity(&self) -> Result<Identity, StoreError> {
        identity(&self.connection)
    }

    /// Whether the store can only be read.
    pub fn is_read_only(&self) -> bool {
        self.read_only
    }

    /// The shop's folder.
    pub fn dir(&self) -> &Path {
        &self.dir
    }
}

pub(crate) fn identity(connection: &Connection) -> Result<Identity, StoreError> {
    let mut query = connection.prepare_cached(sql!("identity"))?;
    let (id, name, code): (_, _, String) =
        query.query_row([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))?;
    let damaged = |_| StoreError::Damaged { what: format!("currency `{code}`") };
    Ok(Identity { id, name, currency: code.parse().map_err(damaged)? })
}

fn settle(connection: Connection, dir: &Path, read_only: bool) -> Result<Store, StoreError> {
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    connection.pragma_update(None, "cache_size", -CACHE_KIB)?;
    connection.busy_timeout(std::time::Duration::from_secs(30))?;
    connection.set_prepared_statement_cache_capacity(STATEMENTS);
    Ok(Store { connection, dir: dir.to_owned(), read_only })
}

pub(crate) fn new_identity() -> String {
    format!("{:032x}", rand::random::<u128>())
}

pub(crate) fn store_file(dir: &Path) -> PathBuf {
    dir.join("shop.db")
}

fn refuse_newer(found: u32) -> Result<(), StoreError> {
    let known = newest();
    if found > known { Err(StoreError::TooNew { found, known }) } else { Ok(()) }
}

fn open_for_reading(dir: &Path, path: &Path) -> Result<Connection, StoreError> {
    let plain = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    if version(&plain).is_ok() {
        return Ok(plain);
    }
    if can_write(dir, path) {
        // A write that was cut short left its journal: only who may write can take it back.
        return Ok(Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?);
    }
    // In a folder that cannot be written the engine cannot make its side files. Nobody writes
    // there, so the file may be read as one that never changes, unless movements still lie in the
    // log beside it: those must not be passed over in silence.
    let log = fs::metadata(dir.join("shop.db-wal")).map_or(0, |log| log.len());
    if log > 0 { Err(StoreError::Unsettled { dir: dir.to_owned() }) } else { open_unchanging(path) }
}

/// Reads the file alone: neither log nor lock is looked at, no side file is made.
fn open_unchanging(path: &Path) -> Result<Connection, StoreError> {
    let text = path.to_string_lossy().replace('%', "%25").replace('?', "%3f").replace('#', "%23");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    Ok(Connection::open_with_flags(format!("file:{text}?immutable=1"), flags)?)
}

fn can_write(dir: &Path, path: &Path) -> bool {
    fs::OpenOptions::new().append(true).open(path).is_ok()
        && fs::OpenOptions::new().append(true).create(true).open(dir.join("shop.lock")).is_ok()
}

fn version(connection: &Connection) -> Result<u32, StoreError> {
    let version: Option<Option<u32>> =
        connection.query_row(sql!("schema_version"), [], |row| row.get(0)).optional()?;
    Ok(version.flatten().unwrap_or(0))
}

/// The newest version of the store this program knows.
pub(crate) fn newest() -> u32 {
    let runner = migrations::migrations::runner();
    runner.get_migrations().iter().map(|step| step.version() as u32).max().unwrap_or(0)
}

fn migrate(connection: &mut Connection) -> Result<(), StoreError> {
    migrations::migrations::runner()
        .set_grouped(true)
        .run(connection)
        .map_err(|error| StoreError::Engine(error.into()))?;
    Ok(())
}
