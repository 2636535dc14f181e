//! Who works here: signing in, sessions, preferences.

pub mod attempts;
pub mod password;
pub mod routes;
pub mod session;
pub mod who;

pub use who::Who;
