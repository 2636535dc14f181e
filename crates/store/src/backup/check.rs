//! Whether a file is a backup, and whole.

use std::{
    fs::File,
    io::{self, BufReader, Read, Seek, SeekFrom},
    path::Path,
};

use super::{
    manifest::{MANIFEST, Manifest},
    tail::{Summing, tail, tail_len},
};
use crate::{Store, StoreError};

/// A manifest longer than this is none.
const MOST_MANIFEST_BYTES: u64 = 1 << 20;

impl Store {
    /// Reads all of a backup and what it says of itself; touches nothing.
    ///
    /// # Errors
    /// `Damaged` when it is no backup or not whole, or when it can't be read.
    pub fn check_backup(file: &Path) -> Result<Manifest, StoreError> {
        check(file)
    }
}

pub(super) fn check(path: &Path) -> Result<Manifest, StoreError> {
    let damaged = |reason: String| StoreError::Damaged {
        file: path.to_owned(),
        reason,
    };
    let mut file = File::open(path).map_err(StoreError::file(path))?;
    let text = manifest_text(&mut file)
        .ok_or_else(|| damaged("it is no backup of this program".to_owned()))?;
    if !is_whole(&mut file).map_err(StoreError::file(path))? {
        return Err(damaged(
            "it is damaged or not whole: its bytes don't add up to its sum".to_owned(),
        ));
    }
    Manifest::read(&text).map_err(damaged)
}

/// The bytes of the first entry, when it is a manifest.
fn manifest_text(file: &mut File) -> Option<Vec<u8>> {
    let mut archive = tar::Archive::new(file);
    let mut entry = archive.entries().ok()?.next()?.ok()?;
    let is_manifest = entry.path().ok()?.to_str() == Some(MANIFEST);
    if !is_manifest || entry.size() > MOST_MANIFEST_BYTES {
        return None;
    }
    let mut text = Vec::new();
    entry.read_to_end(&mut text).ok()?;
    Some(text)
}

/// Whether the bytes up to the tail have the sum that the tail was made of.
fn is_whole(file: &mut File) -> io::Result<bool> {
    let Some(body) = file.metadata()?.len().checked_sub(tail_len()?) else {
        return Ok(false);
    };
    file.seek(SeekFrom::Start(0))?;
    let mut reader = BufReader::with_capacity(1 << 20, file);
    let mut out = Summing::new(io::sink());
    let n = io::copy(&mut (&mut reader).take(body), &mut out)?;
    let (_, sum, _) = out.end();
    let mut end = Vec::new();
    reader.read_to_end(&mut end)?;
    Ok(n == body && end == tail(&sum)?)
}
