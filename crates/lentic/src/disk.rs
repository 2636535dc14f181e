//! Scans read from the disk, for a person at the command line.

use std::{
    fs::File,
    io::Read,
    path::{Path, PathBuf},
    sync::Arc,
};

use method::{FileRefused, Files};

/// The largest scan that is taken, bytes.
pub const MOST_BYTES: u64 = 512 * 1024 * 1024;

/// Files below a folder that relative names start from.
#[derive(Debug, Clone)]
pub struct Disk {
    /// Where relative names start.
    pub base: PathBuf,
}

impl Files for Disk {
    fn bytes(&self, name: &str) -> Result<Arc<[u8]>, FileRefused> {
        read(&self.base.join(name)).map_err(|reason| FileRefused {
            message: format!("{name}: {reason}"),
            hint: "check the path; a scan is an ordinary file of at most 512 MB".to_owned(),
        })
    }
}

/// Reads an ordinary file of at most [`MOST_BYTES`].
///
/// # Errors
/// In words, when the file is absent, not ordinary, too large or unreadable.
pub fn read(path: &Path) -> Result<Arc<[u8]>, String> {
    let metadata = std::fs::metadata(path).map_err(|error| error.to_string())?;
    if !metadata.is_file() {
        return Err("not an ordinary file".to_owned());
    }
    if metadata.len() > MOST_BYTES {
        return Err(format!(
            "{} MB, over the limit of 512 MB",
            metadata.len() / 1_000_000
        ));
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(MOST_BYTES).read_to_end(&mut bytes))
        .map_err(|error| error.to_string())?;
    Ok(bytes.into())
}
