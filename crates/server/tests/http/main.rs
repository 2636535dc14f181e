//! The server as a client meets it.
//!
//! Needs `pdftoppm` (Debian package poppler-utils).

#![expect(
    clippy::unwrap_used,
    reason = "a test stops at the first thing that fails"
)]

mod bench;
mod business;
mod live;
mod rubbish;
mod session;
mod shop;
mod tags;
mod taking_in;
mod yard;
