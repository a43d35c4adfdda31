//! How is anything changed? One transaction at a time, in the order of the queue.

use std::fs::{File, OpenOptions};
use std::path::Path;

use crate::engine::Session;
use crate::{Store, StoreError};

/// Whether what was written is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keep {
    /// It is.
    Yes,
    /// Everything is judged as if it were, then taken back.
    DryRun,
}

/// The hand that writes, inside one transaction.
#[derive(Debug)]
pub struct Writer<'a> {
    pub(crate) session: &'a Session,
}

impl Store {
    /// Runs `act` in one transaction: kept whole when it returns `Ok` (and `keep` says so), taken
    /// back whole otherwise. Programs that write at once queue fairly on a file lock.
    ///
    /// # Errors
    ///
    /// What `act` returns; [`StoreError`] when the store cannot be locked or written.
    pub fn write<T, E: From<StoreError>>(
        &mut self,
        keep: Keep,
        act: impl FnOnce(&mut Writer<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        if self.read_only {
            return Err(StoreError::ReadOnly.into());
        }
        let _turn = wait_for_turn(&self.dir)?;
        let transaction = self.session.begin()?;
        let done = act(&mut Writer { session: &self.session })?;
        if keep == Keep::Yes {
            transaction.commit()?;
        }
        Ok(done)
    }
}

/// Waits until no other program writes in `dir`; the turn ends when the file is dropped.
pub(crate) fn wait_for_turn(dir: &Path) -> Result<File, StoreError> {
    let path = dir.join("shop.lock");
    let failed = |source| StoreError::File { path: path.clone(), source };
    let queue = OpenOptions::new().append(true).create(true).open(&path).map_err(failed)?;
    queue.lock().map_err(failed)?;
    Ok(queue)
}
