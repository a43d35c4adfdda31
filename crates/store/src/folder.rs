//! How is the folder of a shop made and opened? One SQLite file, its settings, its copies.

use std::fs;
use std::path::{Path, PathBuf};

use binwright_catalog::Currency;

use crate::engine::{Access, Session, file, values};
use crate::migrations::{migrate, newest, refuse_newer, version};
use crate::open::{new_identity, refuse_unfinished};
use crate::whole::sync_folder;
use crate::write::wait_for_turn;
use crate::{Store, StoreError, sql};

/// Makes a new, empty shop in `dir`, which is made when it is not there.
pub(crate) fn create(dir: &Path, name: &str, currency: Currency) -> Result<Store, StoreError> {
    make(dir, &new_identity(), name, currency)?;
    open(dir)
}

/// Makes an empty store in `dir` for the shop with that identity.
pub(crate) fn make(dir: &Path, id: &str, name: &str, currency: Currency) -> Result<(), StoreError> {
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
    let mut session = file::open(&unborn, Access::Make)?;
    file::set(&session, "PRAGMA journal_mode = DELETE")?;
    migrate(&mut session)?;
    session.run(sql!("identity_put"), values![id, name, currency.code()])?;
    session.close()?;
    fs::rename(&unborn, &path).map_err(file)?;
    sync_folder(dir).map_err(file)
}

/// Opens the shop in `dir`; a store of an older version is backed up and brought up to date.
/// In a folder that cannot be written the store opens for reading.
pub(crate) fn open(dir: &Path) -> Result<Store, StoreError> {
    let store = open_any(dir)?;
    refuse_unfinished(&store.session, dir)?;
    Ok(store)
}

/// As [`open`], where a copy may be under way too.
pub(crate) fn open_any(dir: &Path) -> Result<Store, StoreError> {
    let path = store_file(dir);
    if !path.is_file() {
        return Err(StoreError::NotAShop { dir: dir.to_owned() });
    }
    // A first look that leaves no side files behind: what is newer is not touched at all.
    let look = file::open(&path, Access::ReadUnchanging);
    if let Ok(found) = look.and_then(|first_look| version(&first_look)) {
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
    let mut session = file::open(&path, Access::Write)?;
    file::set(&session, "PRAGMA journal_mode = WAL")?;
    if found < newest() {
        let _turn = wait_for_turn(dir)?;
        // Another program may have brought it up to date while this one waited.
        let found = version(&session)?;
        if found < newest() {
            crate::backup::before_migration(&session, dir, found)?;
            migrate(&mut session)?;
            // A copy too many does no harm.
            let _ = crate::backup::drop_oldest(dir);
        }
    }
    settle(session, dir, false)
}

fn settle(session: Session, dir: &Path, read_only: bool) -> Result<Store, StoreError> {
    file::settle(&session)?;
    Ok(Store::of(session, dir, read_only))
}

pub(crate) fn store_file(dir: &Path) -> PathBuf {
    dir.join("shop.db")
}

fn open_for_reading(dir: &Path, path: &Path) -> Result<Session, StoreError> {
    let plain = file::open(path, Access::Read)?;
    if version(&plain).is_ok() {
        return Ok(plain);
    }
    if can_write(dir, path) {
        // A write that was cut short left its journal: only who may write can take it back.
        return file::open(path, Access::Write);
    }
    // In a folder that cannot be written the engine cannot make its side files. Nobody writes
    // there, so the file may be read as one that never changes, unless movements still lie in the
    // log beside it: those must not be passed over in silence.
    let log = fs::metadata(dir.join("shop.db-wal")).map_or(0, |log| log.len());
    if log > 0 {
        Err(StoreError::Unsettled { dir: dir.to_owned() })
    } else {
        file::open(path, Access::ReadUnchanging)
    }
}

fn can_write(dir: &Path, path: &Path) -> bool {
    fs::OpenOptions::new().append(true).open(path).is_ok()
        && fs::OpenOptions::new().append(true).create(true).open(dir.join("shop.lock")).is_ok()
}
