//! How is a copy made that can be trusted? Whole, while others write.

use std::fs;
use std::path::Path;

use jiff::civil::Date;

use crate::engine::{Access, Session, file, values};
use crate::folder::store_file;
use crate::open::new_identity;
use crate::own::{pack, unpack};
use crate::whole::{parent, sync_folder, unborn, write_whole};
use crate::{Store, StoreError, sql};

/// Copies from before migrations that are kept.
const COPIES: usize = 3;

impl Store {
    /// Copies the shop into the file `to`, which must not be there: the store as it is at this
    /// moment, others may go on writing, and what lies beside it that is the shop's own.
    ///
    /// # Errors
    ///
    /// When the file is there or cannot be written; [`StoreError::OnServer`].
    pub fn backup(&self, to: &Path) -> Result<(), StoreError> {
        if let Session::Server(_) = self.session {
            return Err(StoreError::OnServer);
        }
        copy(&self.session, to, |copy| pack(&self.dir, copy).map(drop))
    }
}

impl Store {
    /// Makes a shop in the new folder `to` of the backup file `from`, and opens it. It has an
    /// identity of its own, so that it never shares an index with the shop it was copied from.
    ///
    /// # Errors
    ///
    /// [`StoreError::NotEmpty`]; [`StoreError::Damaged`] names the first thing that is wrong with
    /// the backup, and nothing is made then.
    pub fn restore(from: &Path, to: &Path, today: Date) -> Result<Self, StoreError> {
        let occupied = fs::read_dir(to).is_ok_and(|mut entries| entries.next().is_some());
        if occupied {
            return Err(StoreError::NotEmpty { dir: to.to_owned() });
        }
        let unborn = unborn(to);
        let _ = fs::remove_dir_all(&unborn);
        let made = Self::restore_whole(from, &unborn, today).and_then(|()| {
            let failed = |source| StoreError::File { path: to.to_owned(), source };
            fs::rename(&unborn, to).and_then(|()| sync_folder(parent(to))).map_err(failed)
        });
        if let Err(error) = made {
            let _ = fs::remove_dir_all(&unborn);
            return Err(error);
        }
        Self::open(to)
    }

    fn restore_whole(from: &Path, dir: &Path, today: Date) -> Result<(), StoreError> {
        let failed = |path: &Path| {
            let path = path.to_owned();
            |source| StoreError::File { path, source }
        };
        fs::create_dir_all(dir).map_err(failed(dir))?;
        fs::copy(from, store_file(dir)).map_err(failed(from))?;
        let store = Self::open(dir)?;
        if let Some(trouble) = store.check(today)?.into_iter().next() {
            return Err(StoreError::Damaged { what: trouble.to_string() });
        }
        store.session.run(sql!("identity_renew"), values![new_identity()])?;
        unpack(&store.session, dir)?;
        store.session.close()?;
        let synced = fs::File::open(store_file(dir)).and_then(|file| file.sync_all());
        synced.and_then(|()| sync_folder(dir)).map_err(failed(dir))
    }
}

/// Copies an older store beside itself before it is brought up to date.
pub(crate) fn before_migration(
    session: &Session,
    dir: &Path,
    version: u32,
) -> Result<(), StoreError> {
    let mut to = dir.join(format!("shop-before-{version}.db"));
    let mut copies = 1;
    while to.exists() {
        copies += 1;
        to = dir.join(format!("shop-before-{version}-{copies}.db"));
    }
    copy(session, &to, |_| Ok(()))
}

/// Deletes the oldest of the copies that were made before migrations, but for the newest three.
pub(crate) fn drop_oldest(dir: &Path) -> std::io::Result<()> {
    let mut copies = Vec::new();
    for entry in fs::read_dir(dir)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if name.strip_prefix("shop-before-").and_then(|rest| rest.strip_suffix(".db")).is_some() {
            copies.push((entry.metadata()?.modified()?, name));
        }
    }
    copies.sort_unstable();
    copies.iter().rev().skip(COPIES).try_for_each(|(_, name)| fs::remove_file(dir.join(name)))
}

/// Writes under another name, then renames: a backup is whole or not there.
fn copy(
    session: &Session,
    to: &Path,
    finish: impl FnOnce(&Session) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    let failed = |source| StoreError::File { path: to.to_owned(), source };
    if to.exists() {
        return Err(StoreError::IsThere { path: to.to_owned() });
    }
    write_whole(to, failed, |unborn| {
        session.run("VACUUM INTO ?1", values![unborn.to_string_lossy().as_ref()])?;
        let copy = file::open(unborn, Access::Make)?;
        finish(&copy)?;
        copy.close()
    })
}
