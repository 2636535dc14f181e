//! Every figure that follows from a layout, in groups.

pub mod ground;
pub mod key;
pub mod memo;
pub mod price;
pub mod reckon;
pub mod stands;
pub mod water;
pub mod weight;

use method::Caution;
use serde::Serialize;

pub use ground::{Ground, MaterialLaid, SlidingSlope};
pub use memo::{Counts, Memo};
pub use price::{Price, Priced};
pub use reckon::{AsPut, ReckonError, reckon, reckon_as_put, reckon_stands};
pub use stands::{PieceStands, Stands};
pub use water::Water;
pub use weight::Weight;

use crate::findings::Finding;

/// Every figure that follows from a layout.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reckoning {
    /// Whether the pieces stay where they were put.
    pub stands: Stands,
    /// What ground it takes.
    pub ground: Ground,
    /// How much water is left.
    pub water: Water,
    /// What the stand and the floor carry.
    pub weight: Weight,
    /// What it costs.
    pub price: Price,
}

impl Reckoning {
    /// All findings of all groups, in the order of the groups.
    pub fn findings(&self) -> impl Iterator<Item = &Finding> {
        [
            &self.stands.findings,
            &self.ground.findings,
            &self.water.findings,
            &self.weight.findings,
            &self.price.findings,
        ]
        .into_iter()
        .flatten()
    }

    /// All cautions of all groups, in the order of the groups.
    pub fn cautions(&self) -> impl Iterator<Item = &Caution> {
        [
            &self.stands.cautions,
            &self.ground.cautions,
            &self.water.cautions,
            &self.weight.cautions,
            &self.price.cautions,
        ]
        .into_iter()
        .flatten()
    }

    /// Whether every piece stands where it was put.
    #[must_use]
    pub fn does_stand(&self) -> bool {
        !self.findings().any(Finding::spoils_standing)
    }
}
