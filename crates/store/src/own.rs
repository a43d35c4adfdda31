//! What belongs to a shop beside its store? Its settings, its logo, what it laid over the built-in
//! data. A backup carries them in a table of its own, so that it is one file.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use crate::engine::{Row, Session, values};
use crate::{StoreError, Writer, sql};

/// The file of its settings.
const SETTINGS: &str = "settings.toml";
/// How the name of a picture ends that its settings may name as its logo.
const PICTURES: [&str; 3] = [".png", ".jpg", ".jpeg"];
/// Folders of TOML files.
const FOLDERS: [&str; 3] = ["kinds", "faults", "labels"];

/// Puts the shop's own files in `dir` into the copy.
pub(crate) fn pack(dir: &Path, copy: &Session) -> Result<usize, StoreError> {
    copy.run(sql!("own_files_make"), &[])?;
    put_all(dir, copy)
}

impl Writer<'_> {
    /// Puts the own files in the folder `from` in the place of those a shop on a server keeps for all
    /// desks; returns how many there are. Each desk has them when it opens the shop next.
    ///
    /// # Errors
    ///
    /// [`StoreError::InFolder`] when it lies in a folder: they are kept beside it there. When one
    /// cannot be read.
    pub fn share_own_files(&mut self, from: &Path) -> Result<usize, StoreError> {
        if let Session::File(_) = self.session {
            return Err(StoreError::InFolder);
        }
        self.session.run(sql!("own_files_clear"), &[])?;
        put_all(from, self.session)
    }
}

/// Puts the own files in `dir` into the table for them; how many there are.
pub(crate) fn put_all(dir: &Path, session: &Session) -> Result<usize, StoreError> {
    let mut count = 0;
    for folder in [""].into_iter().chain(FOLDERS) {
        let entries = match fs::read_dir(dir.join(folder)) {
            Err(error) if error.kind() == ErrorKind::NotFound => continue,
            entries => entries.map_err(|source| failed(&dir.join(folder), source))?,
        };
        for entry in entries {
            let name = entry.map_err(|source| failed(&dir.join(folder), source))?.file_name();
            let name = Path::new(folder).join(name);
            if let Some(name) = name.to_str().filter(|name| is_own(name)) {
                let bytes = fs::read(dir.join(name)).map_err(|e| failed(&dir.join(name), e))?;
                count += session.run(sql!("own_file_add"), values![name, bytes])?;
            }
        }
    }
    Ok(count)
}

/// Takes the shop's own files out of a copy and writes them to `dir`.
pub(crate) fn unpack(copy: &Session, dir: &Path) -> Result<(), StoreError> {
    if !copy.one(sql!("own_files_are_there"), &[], |row| row.get::<bool>(0))? {
        return Ok(());
    }
    lay_out(copy, dir)?;
    copy.run(sql!("own_files_drop"), &[])?;
    Ok(())
}

/// Writes the own files that are kept in the store to `dir`, where they are not there just so.
pub(crate) fn lay_out(session: &Session, dir: &Path) -> Result<(), StoreError> {
    let read = |row: &Row<'_>| Ok((row.get::<String>(0)?, row.get::<Vec<u8>>(1)?));
    session.each(sql!("own_files"), &[], read, |(name, bytes)| {
        // A name in a file from elsewhere leads nowhere but to the places that are known.
        if !is_own(&name) {
            return Err(StoreError::Damaged { what: format!("no shop has a file `{name}`") });
        }
        let path = dir.join(&name);
        if fs::read(&path).is_ok_and(|known| known == bytes) {
            return Ok(());
        }
        let folder = path.parent().unwrap_or(dir);
        let written = fs::create_dir_all(folder)
            .and_then(|()| fs::write(&path, bytes))
            .and_then(|()| fs::File::open(&path)?.sync_all())
            .and_then(|()| crate::whole::sync_folder(folder));
        written.map_err(|source| failed(&path, source))
    })
}

/// Whether `name` is that of a shop's own file: its settings, a picture, or TOML in a folder that
/// is known.
fn is_own(name: &str) -> bool {
    let ends = |file: &str, ending: &str| {
        let plain = |letter: char| letter.is_alphanumeric() || "-_. ".contains(letter);
        let stem = file.strip_suffix(ending).unwrap_or_default();
        !stem.is_empty() && stem.chars().all(plain)
    };
    match name.split_once('/') {
        None => name == SETTINGS || PICTURES.iter().any(|ending| ends(name, ending)),
        Some((folder, file)) => FOLDERS.contains(&folder) && ends(file, ".toml"),
    }
}

fn failed(path: &Path, source: std::io::Error) -> StoreError {
    StoreError::File { path: path.to_owned(), source }
}
