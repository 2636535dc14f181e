//! A heavy piece is lifted by two, or with gear.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// The mass from which a lift into a tank is cautioned, kg.
///
/// ISO 11228-1, Ergonomics: manual handling: lifting, lowering and carrying,
/// gives 25 kg as reference mass for adult men and 15 kg to 20 kg for wider
/// groups under ideal conditions (typed from memory); a lift over a rim at
/// arm's length is far from ideal, so the lower figure is taken.
pub const HEAVY_KG: f64 = 15.0;

/// A piece too heavy to lift in alone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heavy {
    /// The piece.
    pub tag: Tag,
    /// Its mass, kg.
    pub mass_kg: f64,
}

impl Heavy {
    /// The finding, when the piece is heavy.
    #[must_use]
    pub fn check(tag: Tag, mass_kg: f64) -> Option<Self> {
        (mass_kg > HEAVY_KG).then_some(Self { tag, mass_kg })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "heavy_lift",
            Severity::Danger,
            format!(
                "{} weighs {:.1} kg (over {HEAVY_KG:.0} kg): lift it with two people or with gear, over a padded rim; local rules on lifting apply",
                self.tag, self.mass_kg
            ),
        )
    }
}
