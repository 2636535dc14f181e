//! Backups: everything that is kept, in one file that restores to either database.
//!
//! The file is a tar. First comes `lentic-backup.json`, the manifest with the sum of
//! every table; then the tables as JSON lines; then the objects, whose names are their
//! sums; last `sum`, the SHA-256 of all bytes before it. The bytes from there to the
//! end follow from that sum, so that no single bit of the file can change unseen.

mod check;
mod manifest;
mod read;
mod restore;
mod rows;
mod tail;
mod write;

pub use manifest::{Manifest, TableSum};
pub use restore::Restored;
pub use write::BackedUp;
