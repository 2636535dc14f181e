//! What does the layout cost?

use method::{Caution, Figure};
use serde::Serialize;

use crate::{Money, findings::Finding};

/// One line of the price.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Priced {
    /// The tag of a piece, or the name of a material.
    pub what: String,
    /// How many: 1 for a piece, bags for a material.
    pub count: u64,
    /// Price of one, where known.
    pub each: Option<Money>,
    /// Price of all, where known.
    pub sum: Option<Money>,
}

/// The group *Price*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Price {
    /// Pieces in the order of placing, then materials.
    pub lines: Vec<Priced>,
    /// Sum of the lines whose price is known, exact; none when there is no price or no one currency.
    pub sum: Option<Money>,
    /// The same as a figure; estimated where a price is missing.
    pub total: Option<Figure>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words.
    pub cautions: Vec<Caution>,
}
