//! What a builder composes: tank, ground, pieces and plants, before gravity has its say.
//!
//! One value serves the layout file, the bench and the wire: lengths in it are
//! millimetres from the inside left and front glass, as a builder reads them off a
//! tape. [`lay`] makes the layout from it.

mod lay;

pub use lay::{LetDown, colour_of, lay, let_down, reckon_error};

use method::Bound;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Everything that a builder decides about one layout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Composition {
    /// What the layout is called.
    pub title: String,
    /// ISO 4217 code for the ground's prices.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// The tank.
    pub tank: TankMeasures,
    /// Ground materials.
    #[serde(default)]
    pub material: Vec<GroundKind>,
    /// Beds of ground, from below.
    #[serde(default)]
    pub bed: Vec<BedShape>,
    /// Pieces in the order of placing.
    #[serde(default)]
    pub piece: Vec<PieceAt>,
    /// Plants.
    #[serde(default)]
    pub plant: Vec<Plant>,
}

/// The tank by its outside size and glass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TankMeasures {
    /// Length, width (front to back) and height, outside.
    pub outside_mm: [f64; 3],
    /// Thickness of the walls.
    pub glass_mm: f64,
    /// Thickness of the base; that of the walls when absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub base_mm: Option<f64>,
    /// Water line above the base's upper face.
    pub water_line_mm: f64,
    /// Temperature of the water.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_c: Option<f64>,
    /// Mass of the empty tank, when it was weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub empty_mass_kg: Option<f64>,
}

/// A ground material.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroundKind {
    /// What beds call it.
    pub name: String,
    /// Mass of a litre as it is laid, times a thousand.
    pub bulk_density_kg_m3: f64,
    /// Density of the grains themselves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain_density_kg_m3: Option<f64>,
    /// Size of a grain.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grain_mm: Option<f64>,
    /// The steepest slope at which it lies.
    pub repose_deg: f64,
    /// Litres in a bag.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bag_l: Option<f64>,
    /// Price of a bag.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<f64>,
    /// Colour in pictures, `#rrggbb`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<String>,
}

/// How the values of a bed's points are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ValuesAs {
    /// Height above what lies below.
    Thickness,
    /// Height above the base.
    Top,
}

/// One bed of ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BedShape {
    /// A material's name.
    pub material: String,
    /// `"all"`, or corners in order, mm.
    #[serde(default = "everywhere")]
    pub region: BedRegion,
    /// How the values are meant.
    pub by: ValuesAs,
    /// x, y and value, mm.
    pub points: Vec<[f64; 3]>,
}

fn everywhere() -> BedRegion {
    BedRegion::Word("all".to_owned())
}

/// Where a bed lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum BedRegion {
    /// The word `all`.
    Word(String),
    /// Corners in order, mm.
    Corners(Vec<[f64; 2]>),
}

/// A piece and where it goes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PieceAt {
    /// Its tag.
    pub tag: String,
    /// Middle of its plan outline's box, from the left and the front glass.
    pub at_mm: [f64; 2],
    /// Turn about the vertical, anticlockwise seen from above.
    #[serde(default)]
    pub turn_deg: f64,
    /// Resting pose by its number, likeliest first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pose: Option<usize>,
    /// A free turn `[w, x, y, z]` instead of a resting pose.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub quaternion: Option<[f64; 4]>,
    /// How deep its lowest point sits in the ground.
    #[serde(default)]
    pub bury_mm: f64,
    /// How far above what lies below it is let go.
    #[serde(default)]
    pub lift_mm: f64,
    /// Where it came to rest, kept; it is then not let down again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub held: Option<HeldPose>,
}

/// A pose that is kept as it is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeldPose {
    /// Where the centre of mass is, tank frame.
    pub centre_mm: [f64; 3],
    /// The turn `[w, x, y, z]` from piece axes to tank axes.
    pub quaternion: [f64; 4],
}

/// How a plant grows, as far as a drawing needs it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PlantForm {
    /// Leaves from one point at the ground.
    Rosette,
    /// Upright stems with leaves.
    Stem,
    /// Low, covering the ground.
    Carpet,
    /// Fronds, on wood or stone as well.
    Fern,
    /// Cushions on wood or stone.
    Moss,
}

/// A plant at its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plant {
    /// What it is called.
    pub name: String,
    /// How it grows.
    pub form: PlantForm,
    /// Where it stands, from the left and the front glass.
    pub at_mm: [f64; 2],
    /// Height over its foot.
    pub height_mm: f64,
    /// Width of its spread.
    pub spread_mm: f64,
    /// Colour in pictures, `#rrggbb`.
    pub colour: String,
}

/// Ranges of a composition's numbers.
pub const BOUNDS: &[Bound] = &[
    Bound::within("/tank/outside_mm/*", 50.0, 5000.0, "outside size, mm"),
    Bound::within("/tank/glass_mm", 2.0, 40.0, "glass thickness, mm"),
    Bound::within("/tank/base_mm", 2.0, 60.0, "base thickness, mm"),
    Bound::within("/tank/water_line_mm", 0.0, 3000.0, "water line, mm"),
    Bound::within("/tank/water_c", 0.0, 40.0, "water temperature, °C"),
    Bound::above("/tank/empty_mass_kg", 0.0, 5000.0, "empty tank, kg"),
    Bound::within(
        "/material/*/bulk_density_kg_m3",
        50.0,
        5000.0,
        "bulk density, kg/m³",
    ),
    Bound::within(
        "/material/*/grain_density_kg_m3",
        100.0,
        8000.0,
        "grain density, kg/m³",
    ),
    Bound::above("/material/*/grain_mm", 0.0, 100.0, "grain, mm"),
    Bound::within("/material/*/repose_deg", 5.0, 60.0, "angle of repose, °"),
    Bound::above("/material/*/bag_l", 0.0, 2000.0, "litres in a bag"),
    Bound::within("/material/*/price", 0.0, 1e7, "price of a bag"),
    Bound::within("/bed/*/points/*/*", -5000.0, 5000.0, "place or value, mm"),
    Bound::within("/bed/*/region/*/*", -5000.0, 5000.0, "corner, mm"),
    Bound::within("/piece/*/at_mm/*", -5000.0, 5000.0, "place, mm"),
    Bound::within("/piece/*/turn_deg", -360.0, 360.0, "turn, °"),
    Bound::within("/piece/*/pose", 1.0, 24.0, "number of the resting pose"),
    Bound::within("/piece/*/bury_mm", 0.0, 1000.0, "bury, mm"),
    Bound::within("/piece/*/lift_mm", 0.0, 1000.0, "lift, mm"),
    Bound::within("/piece/*/held/centre_mm/*", -5000.0, 5000.0, "place, mm"),
    Bound::within("/plant/*/at_mm/*", -5000.0, 5000.0, "place, mm"),
    Bound::above("/plant/*/height_mm", 0.0, 3000.0, "height, mm"),
    Bound::above("/plant/*/spread_mm", 0.0, 3000.0, "spread, mm"),
];
