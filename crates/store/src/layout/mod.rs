//! Layouts: what a builder composes, with every step of it.

mod list;
mod read;
mod revision;
mod stands;
mod step;

pub use list::LayoutCard;
pub use read::{Layout, NewLayout};
pub use revision::{Revision, RevisionCard};
