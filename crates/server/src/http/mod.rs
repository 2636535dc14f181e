//! What every route shares: how values come in, go out, are refused and described.

pub mod api;
pub mod body;
pub mod describe;
pub mod error;
pub mod guard;
pub mod metrics;
pub mod reply;

pub use api::Api;
pub use body::{At, Body, Params};
pub use error::ApiError;
pub use reply::{Accepted, Created, Nothing, Reply};
