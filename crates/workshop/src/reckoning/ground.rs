//! What ground does it take, and will it stay?

use std::sync::Arc;

use layout::ground::GroundSurface;
use method::{Caution, Figure};
use serde::Serialize;

use crate::findings::Finding;

/// How much of one material is laid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MaterialLaid {
    /// The material.
    pub name: String,
    /// Volume as laid, without the buried parts of pieces, L.
    pub volume: Figure,
    /// Mass as laid, kg.
    pub mass: Figure,
    /// Whole bags to buy, where it is sold in bags.
    pub bags: Option<Figure>,
}

/// A stretch of ground steeper than its material holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlidingSlope {
    /// The material.
    pub material: String,
    /// Middle of the stretch in plan, mm from the left and front glass.
    pub place_mm: [f64; 2],
    /// Steepest slope in it, deg.
    pub slope: Figure,
    /// Angle of repose of the material, deg.
    pub repose: Figure,
    /// Its area in plan, cm².
    pub area: Figure,
}

/// The group *Ground*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ground {
    /// Every material, in the order of the plan.
    pub materials: Vec<MaterialLaid>,
    /// Parts of pieces below the ground's top, L.
    pub buried: Figure,
    /// Slopes that will slide.
    pub slopes: Vec<SlidingSlope>,
    /// Heights of the top, for drawing.
    #[serde(skip)]
    pub top: Option<Arc<GroundSurface>>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}
