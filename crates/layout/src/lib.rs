//! Pieces and ground in one tank: what the ground is, where pieces come to rest.
//!
//! SI inside; the tank frame everywhere: origin at the inside left-front-bottom
//! corner, x right, y back, z up. This crate never opens a file or reads a clock.

pub mod drop;
pub mod error;
pub mod ground;
pub mod methods;
pub mod settle;
pub mod support;

pub use error::LayoutError;
