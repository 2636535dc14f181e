//! How much water is left in the tank at its water line?

use method::{Caution, Figure};
use serde::Serialize;

use crate::findings::Finding;

/// The group *Water*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Water {
    /// Water at the water line, L, with what stands in the gaps of the ground where these are known.
    pub water: Figure,
    /// The part of it above the ground, L.
    pub free: Figure,
    /// The part of it in the gaps of the ground, L, where grain densities are known.
    pub pore: Option<Figure>,
    /// Volume of pieces under water and above the ground, L.
    pub displaced_by_pieces: Figure,
    /// What the tank would hold at that line with nothing in it, L.
    pub bare: Figure,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}
