//! How a method reaches the scans that its input names.

use std::sync::Arc;

/// Why a named file could not be had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRefused {
    /// What is wrong.
    pub message: String,
    /// What to do about it.
    pub hint: String,
}

/// Gives the bytes behind a name. The command line reads paths, the server its
/// object store, a test a folder; a method never knows which.
pub trait Files: Sync {
    /// The bytes that `name` stands for.
    ///
    /// # Errors
    /// When there is no such thing, or it may not be read, or it is too large.
    fn bytes(&self, name: &str) -> Result<Arc<[u8]>, FileRefused>;
}

/// No files at all: for methods whose input is numbers only.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoFiles;

impl Files for NoFiles {
    fn bytes(&self, name: &str) -> Result<Arc<[u8]>, FileRefused> {
        Err(FileRefused {
            message: format!("no file can be read here, but the input names {name:?}"),
            hint: "give the shape by its size instead".to_owned(),
        })
    }
}
