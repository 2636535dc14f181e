//! What writes that never ended left behind.

use std::{
    io,
    path::Path,
    time::{Duration, UNIX_EPOCH},
};

/// Removes a folder's files that were last touched before a time.
pub(super) fn sweep(folder: &Path, before_ms: i64) -> io::Result<usize> {
    let entries = match std::fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(0),
        Err(error) => return Err(error),
    };
    let before = UNIX_EPOCH + Duration::from_millis(u64::try_from(before_ms).unwrap_or(0));
    let mut n_swept = 0;
    for entry in entries {
        let entry = entry?;
        if entry.metadata()?.modified()? < before {
            std::fs::remove_file(entry.path())?;
            n_swept += 1;
        }
    }
    Ok(n_swept)
}
