//! Tags to print.

use crate::http::Api;

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api
}
