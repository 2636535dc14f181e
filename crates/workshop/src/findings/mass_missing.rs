//! A piece that was never weighed weighs what its material's density says.

use method::{Caution, Certainty, Severity};
use serde::Serialize;

use crate::{Piece, Tag};

/// A piece whose mass is estimated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MassMissing {
    /// The piece.
    pub tag: Tag,
    /// Mass by volume and density, kg.
    pub estimated_kg: f64,
    /// Density that it rests on, kg/m³.
    pub density_kg_m3: f64,
}

impl MassMissing {
    /// The finding, when the piece was never on the scale.
    #[must_use]
    pub fn check(piece: &Piece) -> Option<Self> {
        (piece.mass().certainty != Certainty::Measured).then(|| Self {
            tag: piece.tag(),
            estimated_kg: piece.mass().mass_kg,
            density_kg_m3: piece.material().density_kg_m3,
        })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "mass_missing",
            Severity::Note,
            format!(
                "{} was not weighed; ≈ {:.2} kg by its volume at {:.0} kg/m³",
                self.tag, self.estimated_kg, self.density_kg_m3
            ),
        )
    }
}
