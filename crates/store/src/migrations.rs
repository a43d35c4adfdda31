//! Which version is a store of, and how is it brought up to date? Numbered steps, by one library.

use crate::engine::Session;
use crate::{StoreError, sql};

mod of_file {
    refinery::embed_migrations!("../../schema/store/migrations");
}

mod of_server {
    refinery::embed_migrations!("../../schema/store/postgresql");
}

/// The version of a store; nought where there is none.
pub(crate) fn version(session: &Session) -> Result<u32, StoreError> {
    let version = session.first(sql!("schema_version"), &[], |row| row.get::<Option<u32>>(0))?;
    Ok(version.flatten().unwrap_or(0))
}

pub(crate) fn refuse_newer(found: u32) -> Result<(), StoreError> {
    let known = newest();
    if found > known { Err(StoreError::TooNew { found, known }) } else { Ok(()) }
}

/// The newest version of the store this program knows.
pub(crate) fn newest() -> u32 {
    let runner = of_file::migrations::runner();
    runner.get_migrations().iter().map(|step| step.version() as u32).max().unwrap_or(0)
}

/// Brings a store up to date, in one transaction.
pub(crate) fn migrate(session: &mut Session) -> Result<(), StoreError> {
    match session {
        Session::File(file) => {
            let runner = of_file::migrations::runner().set_grouped(true);
            runner.run(file).map(drop).map_err(|error| StoreError::Engine(error.into()))
        }
        Session::Server(line) => line.migrate(&of_server::migrations::runner().set_grouped(true)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Else a program would take a store of one engine for older or newer than it is.
    #[test]
    fn both_engines_end_at_the_same_version() {
        let of_server = of_server::migrations::runner();
        let last = of_server.get_migrations().iter().map(|step| step.version() as u32).max();
        assert_eq!(last, Some(newest()));
    }
}
