//! Beds and banks of ground: their volume and their slopes, what is buried in
//! them, and the water that is left.

pub mod bed_surface;
pub mod build;
pub mod cautions;
pub mod check;
pub mod clip;
pub mod delaunay;
pub mod error;
pub mod facet;
pub mod grid;
pub mod laid;
pub mod plan;
pub mod region;
pub mod share;
pub mod slopes;
pub mod surface;

pub use build::{GroundResult, MaterialVolume, WaterVolume, build};
pub use error::{GroundError, MaterialFigure};
pub use laid::{BedVolume, Laid};
pub use plan::{Bed, BedPoint, By, GroundPlan, Material, PlacedSolid, Region};
pub use share::Share;
pub use slopes::SteepStretch;
pub use surface::GroundSurface;
