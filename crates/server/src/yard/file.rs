//! What a yard file says of the pieces on the shelf.

use method::Bound;
use serde::Deserialize;

/// A yard file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct YardFile {
    /// Whose yard it is.
    #[serde(default)]
    pub shop: Option<String>,
    /// ISO 4217 code for the prices in this file.
    #[serde(default)]
    pub currency: Option<String>,
    /// The pieces.
    #[serde(default)]
    pub piece: Vec<YardPiece>,
}

/// One piece on the shelf.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct YardPiece {
    /// Its tag, such as `S-0148`.
    pub tag: String,
    /// `stone` or `wood`.
    pub kind: String,
    /// What it is made of, in words.
    pub material: String,
    /// Density of the material.
    #[serde(default)]
    pub density_kg_m3: Option<f64>,
    /// Friction coefficient.
    #[serde(default)]
    pub friction: Option<f64>,
    /// Its scan, beside the yard file.
    pub scan: String,
    /// Unit of the scan's coordinates.
    #[serde(default)]
    pub unit: Option<String>,
    /// The scan's upward axis, `z` or `y`.
    #[serde(default)]
    pub up: Option<String>,
    /// How to grow the scan when there is none: for pieces that were invented.
    #[serde(default)]
    pub grown: Option<GrownText>,
    /// Mass on the scale.
    #[serde(default)]
    pub mass_kg: Option<f64>,
    /// Price.
    #[serde(default)]
    pub price: Option<f64>,
    /// Where it lies.
    #[serde(default)]
    pub place: Option<String>,
}

/// A seed for an invented piece.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GrownText {
    /// Kind of form.
    pub form: String,
    /// Seed.
    pub seed: u64,
    /// Longest side.
    pub long_mm: f64,
}

/// Ranges of a yard file's numbers.
pub const BOUNDS: &[Bound] = &[
    Bound::within("/piece/*/density_kg_m3", 50.0, 20000.0, "density, kg/m³"),
    Bound::within("/piece/*/friction", 0.0, 3.0, "friction coefficient"),
    Bound::above("/piece/*/mass_kg", 0.0, 2000.0, "mass, kg"),
    Bound::within("/piece/*/price", 0.0, 1e7, "price"),
    Bound::within("/piece/*/grown/long_mm", 20.0, 1500.0, "longest side, mm"),
];
