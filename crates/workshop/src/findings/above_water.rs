//! A piece that breaks the surface should do so because the builder wants it.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// A piece that stands above the water line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AboveWater {
    /// The piece.
    pub tag: Tag,
    /// How far its highest point is above the water line, mm.
    pub above_mm: f64,
}

impl AboveWater {
    /// The finding, when the top lies above the water line.
    #[must_use]
    pub fn check(tag: Tag, top_m: f64, water_line_m: f64) -> Option<Self> {
        (top_m > water_line_m).then_some(Self {
            tag,
            above_mm: (top_m - water_line_m) * 1e3,
        })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "above_water",
            Severity::Note,
            format!("{} breaks the surface by {:.0} mm", self.tag, self.above_mm),
        )
    }
}
