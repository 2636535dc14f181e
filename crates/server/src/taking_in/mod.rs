//! Taking in: files that came, measured and tagged.

pub mod job;
pub mod look;
pub mod measures;
pub mod take;
pub mod upload;

/// The kind of a job that takes a piece in.
pub const JOB: &str = "take_in";

use crate::http::Api;

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("taking in")
        .with(upload::routes)
        .with(job::routes)
}
