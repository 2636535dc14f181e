//! The nouns of the workshop, and the reckoning: every figure that follows from a layout.
//!
//! SI inside; the tank frame as in `layout`. This crate never opens a file, reads
//! a clock, or draws: a layout comes in as a value and the figures go out as one.

pub mod composition;
pub mod error;
pub mod findings;
pub mod fit;
pub mod ground_plan;
pub mod layout;
pub mod money;
pub mod piece;
pub mod reckoning;
pub mod tag;
pub mod tank;

pub use composition::Composition;
pub use error::WorkshopError;
pub use ground_plan::{GroundMaterial, GroundPlan};
pub use layout::{Layout, Placed, Surroundings};
pub use money::{Currency, Money};
pub use piece::{Mass, Piece, PieceMaterial, Shape};
pub use reckoning::{Memo, ReckonError, Reckoning, reckon, reckon_as_put, reckon_stands};
pub use tag::{PieceKind, Tag};
pub use tank::Tank;
