//! Beds and banks of ground, their volume and their slopes.

pub mod error;
pub mod grid;
pub mod plan;
pub mod surface;

pub use error::{GroundError, MaterialFigure};
pub use plan::{Bed, BedPoint, By, GroundPlan, Material, PlacedSolid, Region};
pub use surface::GroundSurface;
