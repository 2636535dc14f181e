//! Jobs: long work that is claimed from the database and survives a restart.

mod claim;
mod end;
mod read;

pub use read::{Job, NewJob};

use crate::word::words;

words! {
    /// How far a job is.
    JobState in "jobs" {
        /// Nobody has claimed it yet.
        Waiting = "waiting",
        /// A worker is at it.
        Running = "running",
        /// It has its result.
        Done = "done",
        /// It has its error.
        Failed = "failed",
        /// A person wished so.
        Cancelled = "cancelled",
    }
}
