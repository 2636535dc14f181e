//! Long work: put in, watched, cancelled; it survives a restart.

pub mod desk;
pub mod progress;
pub mod routes;

pub use desk::Desk;
pub use progress::{Ended, Progress};
