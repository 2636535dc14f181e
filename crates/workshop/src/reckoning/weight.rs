//! What do the stand and the floor carry, and where does it bear?

use method::{Caution, Figure};
use serde::Serialize;

use crate::findings::Finding;

/// The group *Weight*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weight {
    /// The empty tank, kg.
    pub empty_tank: Figure,
    /// The water, kg.
    pub water: Figure,
    /// The ground as laid, without its water, kg.
    pub ground: Figure,
    /// The stone, kg.
    pub stone: Figure,
    /// The wood, kg, as it was taken in.
    pub wood: Figure,
    /// All of it, kg.
    pub total: Figure,
    /// Centre of mass in plan from the left glass's inner face, mm.
    pub centre_x: Figure,
    /// Centre of mass in plan from the front glass's inner face, mm.
    pub centre_y: Figure,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}
