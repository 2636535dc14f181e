//! What ground is to be laid: materials, and beds of them in order from below.

use glam::DVec2;
use solid::{Mesh, Pose};

/// A loose material that beds are laid of.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Its name, unique among the materials of a ground.
    pub name: String,
    /// Mass by volume as laid, grains and gaps together, kg/m³.
    pub bulk_density_kg_m3: f64,
    /// Mass of the grains by their own volume, kg/m³, where known; it gives the gaps.
    pub grain_density_kg_m3: Option<f64>,
    /// Typical size of a grain, m, where known.
    pub grain_m: Option<f64>,
    /// Steepest slope that stays, rad.
    pub angle_of_repose_rad: f64,
    /// Volume of a bag, m³, where it is sold in bags.
    pub bag_m3: Option<f64>,
}

/// What a bed's values stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Thickness above whatever lies beneath.
    Thickness,
    /// Height of the bed's top above the base.
    Top,
}

/// Where in the plan a bed lies.
#[derive(Debug, Clone, PartialEq)]
pub enum Region {
    /// The whole inside.
    All,
    /// The inside of a simple polygon, m; either way round, not closed.
    Polygon(Vec<DVec2>),
}

/// A value at a place of the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedPoint {
    /// The place, m.
    pub place_m: DVec2,
    /// Thickness or height there, m.
    pub value_m: f64,
}

/// One bed of one material.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// Which material, by its place in the list.
    pub material: usize,
    /// Where it lies.
    pub region: Region,
    /// What the values stand for.
    pub by: By,
    /// Values that the bed's surface passes through; at least one.
    pub points: Vec<BedPoint>,
}

/// All that is needed to lay the ground of a tank.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct GroundPlan {
    /// The materials.
    pub materials: Vec<Material>,
    /// The beds, in order from below.
    pub beds: Vec<Bed>,
}

/// A closed solid at its pose in the tank.
#[derive(Debug, Clone, Copy)]
pub struct PlacedSolid<'a> {
    /// The closed mesh in the piece frame.
    pub mesh: &'a Mesh,
    /// Centre of mass in the piece frame, m.
    pub centre_in_piece_m: glam::DVec3,
    /// Pose in the tank.
    pub pose: Pose,
    /// Whether the piece is meant to sit in the ground.
    pub bedded: bool,
}
