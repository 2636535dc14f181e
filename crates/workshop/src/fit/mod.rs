//! Which pieces of the yard can fill a gap, in some resting pose?
//!
//! A gap is a box, or an outline drawn over the tank's front with the depth behind
//! it. Every piece is known by the boxes of its likelier resting poses and by its
//! front outlines at eight turns, in less than a kilobyte, so that tens of
//! thousands answer at once.

mod columns;
mod form;
mod gap;
mod index;

pub use form::FitForm;
pub use gap::{Gap, GapError};
pub use index::{FitIndex, Match};
