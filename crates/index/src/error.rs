//! What can go wrong with the index?

use std::io;
use std::sync::Arc;

use tantivy::TantivyError;
use tantivy::directory::error::{LockError, OpenDirectoryError, OpenReadError, OpenWriteError};

/// What can go wrong with the index. The store is never touched by any of it.
#[derive(Debug, Clone, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum IndexError {
    #[error("the index folder `{folder}` cannot be used")]
    Folder { folder: String, source: Arc<io::Error> },
    #[error("the index is being written by another program")]
    Busy,
    #[error("the index cannot be read or written")]
    Io(#[source] Arc<io::Error>),
    #[error("the index is damaged: {0}")]
    Damaged(String),
}

impl IndexError {
    /// What to do about it, to stand under the message.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Folder { .. } => "Check that the folder exists and may be written.",
            Self::Busy => "Wait a moment and try again.",
            Self::Io(_) => "Check the disk's free space and the folder's permissions.",
            Self::Damaged(_) => "Delete the index folder: it is rebuilt from the store.",
        }
    }
}

impl From<io::Error> for IndexError {
    fn from(error: io::Error) -> Self {
        Self::of_io(Arc::new(error))
    }
}

impl IndexError {
    /// Bytes that are there but make no sense are damage; everything else is the disk's or the
    /// system's affair and must never lead to deleting anything.
    fn of_io(error: Arc<io::Error>) -> Self {
        use io::ErrorKind::{InvalidData, InvalidInput, NotFound, UnexpectedEof};
        match error.kind() {
            InvalidData | InvalidInput | NotFound | UnexpectedEof => {
                Self::Damaged(error.to_string())
            }
            _ => Self::Io(error),
        }
    }
}

impl From<TantivyError> for IndexError {
    fn from(error: TantivyError) -> Self {
        match error {
            TantivyError::LockFailure(LockError::LockBusy, _) => Self::Busy,
            TantivyError::LockFailure(LockError::IoError(error), _)
            | TantivyError::OpenDirectoryError(
                OpenDirectoryError::IoError { io_error: error, .. }
                | OpenDirectoryError::FailedToCreateTempDir(error),
            )
            | TantivyError::OpenWriteError(OpenWriteError::IoError { io_error: error, .. }) => {
                Self::Io(error)
            }
            TantivyError::IoError(error)
            | TantivyError::OpenReadError(OpenReadError::IoError { io_error: error, .. }) => {
                Self::of_io(error)
            }
            other => Self::Damaged(other.to_string()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_disk_or_a_closed_folder_is_not_damage() {
        for kind in [io::ErrorKind::StorageFull, io::ErrorKind::PermissionDenied] {
            let error = TantivyError::IoError(Arc::new(kind.into()));
            assert!(matches!(IndexError::from(error), IndexError::Io(_)), "{kind}");
        }
        let cut = TantivyError::IoError(Arc::new(io::ErrorKind::UnexpectedEof.into()));
        assert!(matches!(IndexError::from(cut), IndexError::Damaged(_)));
    }
}
