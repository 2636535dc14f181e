//! A piece that stands above the rim is in the way of a cover and of hands.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// A piece that stands above the rim.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AboveRim {
    /// The piece.
    pub tag: Tag,
    /// How far its highest point is above the rim, mm.
    pub above_mm: f64,
}

impl AboveRim {
    /// The finding, when the top lies above the rim.
    #[must_use]
    pub fn check(tag: Tag, top_m: f64, rim_m: f64) -> Option<Self> {
        (top_m > rim_m).then_some(Self {
            tag,
            above_mm: (top_m - rim_m) * 1e3,
        })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "above_rim",
            Severity::Note,
            format!(
                "{} stands {:.0} mm above the rim: no cover fits over it",
                self.tag, self.above_mm
            ),
        )
    }
}
