//! Pieces at their poses on their ground, in one tank.

use std::sync::Arc;

use solid::Pose;

use crate::{GroundPlan, Piece, Tank};

/// A piece at its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The piece.
    pub piece: Arc<Piece>,
    /// Where its centre of mass is, and its turn, in the tank frame.
    pub pose: Pose,
    /// Whether it is meant to sit in the ground rather than on it.
    pub bedded: bool,
}

/// What a layout assumes of its tank's surfaces and water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surroundings {
    /// Friction of stone and wood on the base.
    pub base_friction: f64,
    /// Friction of stone and wood on the walls.
    pub wall_friction: f64,
    /// Friction of stone and wood on the ground.
    pub ground_friction: f64,
    /// Temperature of the water, °C.
    pub temperature_c: f64,
    /// Salinity of the water, g/kg.
    pub salinity_g_kg: f64,
    /// Cell of the ground's grid, m.
    pub ground_cell_m: f64,
}

impl Default for Surroundings {
    /// The defaults of `scape.settle` and `scape.ground`.
    fn default() -> Self {
        Self {
            base_friction: 0.4,
            wall_friction: 0.2,
            ground_friction: 0.6,
            temperature_c: 20.0,
            salinity_g_kg: 0.0,
            ground_cell_m: 0.005,
        }
    }
}

/// One revision of one layout.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// What it is called.
    pub title: String,
    /// The tank it is made for.
    pub tank: Tank,
    /// Its ground.
    pub ground: GroundPlan,
    /// Its pieces, in the order of placing.
    pub placed: Vec<Placed>,
    /// What is assumed of surfaces and water.
    pub surroundings: Surroundings,
}
