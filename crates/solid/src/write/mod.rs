//! How a mesh or a scene of meshes leaves as bytes of an open format.

mod glb;
mod ply;

pub use glb::{MaterialLook, Node, glb};
pub use ply::ply;
