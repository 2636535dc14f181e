//! What a builder writes in a layout file.

use method::Bound;
use serde::Deserialize;
use workshop::{
    Composition, Tag,
    composition::{self, BedShape, GroundKind, PieceAt, TankMeasures},
};

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
    pub tank: TankMeasures,
    /// Ground materials.
    #[serde(default)]
    pub material: Vec<GroundKind>,
    /// Beds of ground, from below.
    #[serde(default)]
    pub bed: Vec<BedShape>,
    /// Pieces in the order of placing.
    #[serde(default)]
    pub piece: Vec<PieceText>,
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

impl LayoutFile {
    /// What the file composes; `tags` are its pieces' tags in order.
    #[must_use]
    pub fn composition(
        &self,
        tags: impl Iterator<Item = Tag>,
        currency: Option<&str>,
    ) -> Composition {
        Composition {
            title: self.title.clone(),
            currency: currency.map(str::to_owned),
            tank: self.tank.clone(),
            material: self.material.clone(),
            bed: self.bed.clone(),
            piece: self
                .piece
                .iter()
                .zip(tags)
                .map(|(p, tag)| p.at(tag))
                .collect(),
            plant: Vec::new(),
        }
    }
}

impl PieceText {
    fn at(&self, tag: Tag) -> PieceAt {
        PieceAt {
            tag: tag.to_string(),
            at_mm: self.at_mm,
            turn_deg: self.turn_deg,
            pose: self.pose,
            quaternion: self.quaternion,
            bury_mm: self.bury_mm,
            lift_mm: self.lift_mm,
            held: None,
        }
    }
}

/// Ranges of the numbers that only a file has: those of its pieces.
const PIECE_BOUNDS: &[Bound] = &[
    Bound::within("/piece/*/density_kg_m3", 50.0, 20000.0, "density, kg/m³"),
    Bound::above("/piece/*/mass_kg", 0.0, 2000.0, "mass, kg"),
    Bound::within("/piece/*/friction", 0.0, 3.0, "friction coefficient"),
    Bound::within("/piece/*/price", 0.0, 1e7, "price"),
];

/// Ranges of a layout file's numbers.
#[must_use]
pub fn bounds() -> Vec<Bound> {
    [composition::BOUNDS, PIECE_BOUNDS].concat()
}
