//! How is a copy made that can be trusted? Whole, while others write.

use std::fs;
use std::path::{Path, PathBuf};

use rusqlite::Connection;

use crate::open::sync_folder;
use crate::{Store, StoreError};

impl Store {
    /// Copies the store into the file `to`, which must not be there, as it is at this moment;
    /// others may go on writing.
    ///
    /// # Errors
    ///
    /// When the file is there or cannot be written.
    pub fn backup(&self, to: &Path) -> Result<(), StoreError> {
        copy(&self.connection, to)
    }
}

/// Copies an older store beside itself before it is brought up to date.
pub(crate) fn before_migration(
    connection: &Connection,
    dir: &Path,
    version: u32,
) -> Result<(), StoreError> {
    let mut to = dir.join(format!("shop-before-{version}.db"));
    let mut copies = 1;
    while to.exists() {
        copies += 1;
        to = dir.join(format!("shop-before-{version}-{copies}.db"));
    }
    copy(connection, &to)
}

/// Writes under another name, then renames: a backup is whole or not there.
fn copy(connection: &Connection, to: &Path) -> Result<(), StoreError> {
    let failed = |source| StoreError::File { path: to.to_owned(), source };
    if to.exists() {
        return Err(failed(std::io::ErrorKind::AlreadyExists.into()));
    }
    let mut unborn = to.as_os_str().to_owned();
    unborn.push(".new");
    let unborn = PathBuf::from(unborn);
    let _ = fs::remove_file(&unborn);
    connection.execute("VACUUM INTO ?1", [unborn.to_string_lossy()])?;
    fs::File::open(&unborn).and_then(|file| file.sync_all()).map_err(failed)?;
    fs::rename(&unborn, to).map_err(failed)?;
    // The parent of a bare file name is the empty path, not the folder one stands in.
    let folder = to.parent().filter(|folder| !folder.as_os_str().is_empty());
    sync_folder(folder.unwrap_or(Path::new(".")))
}
