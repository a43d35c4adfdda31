//! How is anything changed? One transaction at a time, in the order of the queue.

use std::fs::{File, OpenOptions};
use std::path::Path;
use std::thread;
use std::time::Duration;

use crate::engine::Session;
use crate::near::Near;
use crate::{Store, StoreError};

/// How often a step is tried that a server took back for no fault of its own.
const TRIES: u32 = 5;
/// The pause before the second time; it doubles.
const PAUSE: Duration = Duration::from_millis(20);

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
    /// back whole otherwise. Programs that write at once queue, on a file lock or on a row of the
    /// server.
    ///
    /// Where a server gives another the way, or its line is lost, nothing of `act` was kept and it runs
    /// again, a few times; so it must do the same each time. What cannot runs through
    /// [`Store::write_once`].
    ///
    /// # Errors
    ///
    /// What `act` returns; [`StoreError`] when the store cannot be locked or written.
    pub fn write<T, E: From<StoreError>>(
        &mut self,
        keep: Keep,
        mut act: impl FnMut(&mut Writer<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut pause = PAUSE;
        for _ in 1..TRIES {
            let done = self.write_once(keep, &mut act);
            if done.is_ok() || !self.session.was_disturbed() {
                return done;
            }
            thread::sleep(pause);
            pause *= 2;
        }
        self.write_once(keep, act)
    }

    /// As [`Store::write`], once: for what reads a file to its end or leaves something outside the
    /// store.
    ///
    /// # Errors
    ///
    /// As [`Store::write`].
    pub fn write_once<T, E: From<StoreError>>(
        &mut self,
        keep: Keep,
        act: impl FnOnce(&mut Writer<'_>) -> Result<T, E>,
    ) -> Result<T, E> {
        if self.read_only {
            return Err(StoreError::ReadOnly.into());
        }
        // On a server the engine has the queue.
        let _turn = match self.session {
            Session::File(_) => Some(wait_for_turn(&self.dir)?),
            Session::Server(_) => None,
        };
        let transaction = self.session.begin().map_err(|error| self.since(error))?;
        let done = act(&mut Writer { session: &self.session })?;
        if keep == Keep::Yes {
            transaction.commit()?;
            self.near.iter().for_each(Near::fall_behind);
        }
        Ok(done)
    }
}

impl Store {
    /// The error with the moment since when a server is out of reach, where it is known.
    fn since(&self, error: StoreError) -> StoreError {
        match error {
            StoreError::OutOfReach { place, source, .. } => {
                let since = self.standing().map(|standing| standing.as_of);
                StoreError::OutOfReach { place, since, source }
            }
            error => error,
        }
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
