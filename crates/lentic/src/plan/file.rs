//! What a builder writes in a layout file.

use method::Bound;
use serde::Deserialize;

/// A layout file. Lengths are millimetres, from the inside left and front glass.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayoutFile {
    /// What the layout is called.
    pub title: String,
    /// The file that lists the pieces by tag, beside this one.
    #[serde(default)]
    pub yard: Option<String>,
    /// ISO 4217 code for the prices in this file.
    #[serde(default)]
    pub currency: Option<String>,
    /// The tank.
    pub tank: TankText,
    /// Ground materials.
    #[serde(default)]
    pub material: Vec<MaterialText>,
    /// Beds of ground, from below.
    #[serde(default)]
    pub bed: Vec<BedText>,
    /// Pieces in the order of placing.
    #[serde(default)]
    pub piece: Vec<PieceText>,
}

/// The tank by its outside size and glass.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TankText {
    /// Length, width (front to back) and height, outside.
    pub outside_mm: [f64; 3],
    /// Thickness of the walls.
    pub glass_mm: f64,
    /// Thickness of the base; that of the walls when absent.
    #[serde(default)]
    pub base_mm: Option<f64>,
    /// Water line above the base's upper face.
    pub water_line_mm: f64,
    /// Temperature of the water.
    #[serde(default)]
    pub water_c: Option<f64>,
    /// Mass of the empty tank, when it was weighed.
    #[serde(default)]
    pub empty_mass_kg: Option<f64>,
}

/// A ground material.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MaterialText {
    /// What beds call it.
    pub name: String,
    /// Mass of a litre as it is laid, times a thousand.
    pub bulk_density_kg_m3: f64,
    /// Density of the grains themselves.
    #[serde(default)]
    pub grain_density_kg_m3: Option<f64>,
    /// Size of a grain.
    #[serde(default)]
    pub grain_mm: Option<f64>,
    /// The steepest slope at which it lies.
    pub repose_deg: f64,
    /// Litres in a bag.
    #[serde(default)]
    pub bag_l: Option<f64>,
    /// Price of a bag.
    #[serde(default)]
    pub price: Option<f64>,
    /// Colour in pictures, `#rrggbb`.
    #[serde(default)]
    pub colour: Option<String>,
}

/// How the values of a bed's points are meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ByText {
    /// Height above what lies below.
    Thickness,
    /// Height above the base.
    Top,
}

/// One bed of ground.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BedText {
    /// A material's name.
    pub material: String,
    /// `"all"`, or corners in order, mm.
    #[serde(default = "everywhere")]
    pub region: RegionText,
    /// How the values are meant.
    pub by: ByText,
    /// x, y and value, mm.
    pub points: Vec<[f64; 3]>,
}

fn everywhere() -> RegionText {
    RegionText::Word("all".to_owned())
}

/// Where a bed lies.
#[derive(Debug, Clone, Deserialize)]
#[serde(untagged)]
pub enum RegionText {
    /// The word `all`.
    Word(String),
    /// Corners in order, mm.
    Corners(Vec<[f64; 2]>),
}

/// One piece at its place.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PieceText {
    /// Its tag; looked up in the yard unless the scan is named here.
    #[serde(default)]
    pub tag: Option<String>,
    /// A scan beside this file, for a piece that is in no yard.
    #[serde(default)]
    pub scan: Option<String>,
    /// Unit of the scan's coordinates.
    #[serde(default)]
    pub unit: Option<String>,
    /// The scan's upward axis, `z` or `y`.
    #[serde(default)]
    pub up: Option<String>,
    /// `stone` or `wood`.
    #[serde(default)]
    pub kind: Option<String>,
    /// What it is made of, in words.
    #[serde(default)]
    pub material: Option<String>,
    /// Density of the material.
    #[serde(default)]
    pub density_kg_m3: Option<f64>,
    /// Mass on the scale.
    #[serde(default)]
    pub mass_kg: Option<f64>,
    /// Friction coefficient.
    #[serde(default)]
    pub friction: Option<f64>,
    /// Price.
    #[serde(default)]
    pub price: Option<f64>,
    /// Middle of its plan outline's box, from the left and the front glass.
    pub at_mm: [f64; 2],
    /// Turn about the vertical, anticlockwise seen from above.
    #[serde(default)]
    pub turn_deg: f64,
    /// Resting pose by its number, likeliest first.
    #[serde(default)]
    pub pose: Option<usize>,
    /// A free turn `[w, x, y, z]` instead of a resting pose.
    #[serde(default)]
    pub quaternion: Option<[f64; 4]>,
    /// How deep its lowest point sits in the ground.
    #[serde(default)]
    pub bury_mm: f64,
    /// How far above what lies below it is let go.
    #[serde(default)]
    pub lift_mm: f64,
}

/// Ranges of a layout file's numbers.
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
    Bound::within("/piece/*/density_kg_m3", 50.0, 20000.0, "density, kg/m³"),
    Bound::above("/piece/*/mass_kg", 0.0, 2000.0, "mass, kg"),
    Bound::within("/piece/*/friction", 0.0, 3.0, "friction coefficient"),
    Bound::within("/piece/*/price", 0.0, 1e7, "price"),
    Bound::within("/piece/*/at_mm/*", -5000.0, 5000.0, "place, mm"),
    Bound::within("/piece/*/turn_deg", -360.0, 360.0, "turn, °"),
    Bound::within("/piece/*/pose", 1.0, 24.0, "number of the resting pose"),
    Bound::within("/piece/*/bury_mm", 0.0, 1000.0, "bury, mm"),
    Bound::within("/piece/*/lift_mm", 0.0, 1000.0, "lift, mm"),
];
