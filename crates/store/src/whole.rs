//! How is a file written so that it is whole or not there?

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// Lets `make` write a file under another name, brings it safely to the disk and gives it the name
/// `to`, in the place of what bore it. When anything fails, what was there stays; `failed` says it.
///
/// # Errors
///
/// What `make` or `failed` says.
pub fn write_whole<T, E>(
    to: &Path,
    failed: impl Fn(io::Error) -> E,
    make: impl FnOnce(&Path) -> Result<T, E>,
) -> Result<T, E> {
    let unborn = unborn(to);
    let _ = fs::remove_file(&unborn);
    let made = make(&unborn).and_then(|made| {
        let settle = || {
            File::open(&unborn)?.sync_all()?;
            fs::rename(&unborn, to)?;
            sync_folder(parent(to))
        };
        settle().map(|()| made).map_err(&failed)
    });
    if made.is_err() {
        let _ = fs::remove_file(&unborn);
    }
    made
}

/// The name that `to` bears while it is not whole.
pub(crate) fn unborn(to: &Path) -> PathBuf {
    let mut name = to.as_os_str().to_owned();
    name.push(".new");
    name.into()
}

/// The folder of `path`; that of a bare name is the one that one stands in.
pub(crate) fn parent(path: &Path) -> &Path {
    path.parent().filter(|dir| !dir.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Brings the names in `dir` safely to the disk.
pub(crate) fn sync_folder(dir: &Path) -> io::Result<()> {
    if cfg!(unix) { File::open(dir)?.sync_all() } else { Ok(()) }
}
