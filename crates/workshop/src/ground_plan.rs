//! The ground of a layout, with what its materials cost.

use layout::ground::{self, Bed};
use method::Certainty;

use crate::Money;

/// A loose material as the workshop knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundMaterial {
    /// What it is physically.
    pub material: ground::Material,
    /// How its bulk density is known.
    pub certainty: Certainty,
    /// Price of a bag, where known.
    pub bag_price: Option<Money>,
}

/// The ground to be laid: materials, and beds in order from below.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct GroundPlan {
    /// The materials that the beds name by their place in this list.
    pub materials: Vec<GroundMaterial>,
    /// The beds, in order from below.
    pub beds: Vec<Bed>,
}

impl GroundPlan {
    /// The same without prices, as the computation wants it.
    #[must_use]
    pub fn plan(&self) -> ground::GroundPlan {
        ground::GroundPlan {
            materials: self.materials.iter().map(|m| m.material.clone()).collect(),
            beds: self.beds.clone(),
        }
    }
}
