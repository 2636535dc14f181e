//! What a piece of wood or stone is as a solid: its scan, its measures, how it
//! lies, what it looks like from above, and where rays meet it.
//!
//! Lengths are metres, masses kilograms, angles radians. This crate never opens
//! a file, reads a clock or logs: a scan arrives as bytes.

pub mod bvh;
pub mod error;
pub mod grow;
pub mod height_map;
pub mod hull;
pub mod least_box;
pub mod measure;
pub mod mesh;
pub mod methods;
pub mod moments;
pub mod outline;
pub mod picture;
pub mod polygon;
pub mod pose;
pub mod read;
pub mod repair;
pub mod resting;
pub mod winding;
pub mod write;

pub use error::SolidError;
pub use mesh::Mesh;
pub use moments::Moments;
pub use pose::Pose;
