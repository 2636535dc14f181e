//! A piece with a small tip angle falls at a small push.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// The tip angle under which a piece is called unsteady, deg: common practice, no source.
pub const LEAST_TIP_ANGLE_DEG: f64 = 10.0;

/// A piece with a small tip angle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tips {
    /// The piece.
    pub tag: Tag,
    /// Least angle through which it can be tipped before it falls, deg.
    pub tip_angle_deg: f64,
}

impl Tips {
    /// The finding, when the angle is small.
    #[must_use]
    pub fn check(tag: Tag, tip_angle_deg: f64) -> Option<Self> {
        let firm = tip_angle_deg >= LEAST_TIP_ANGLE_DEG;
        (!firm).then_some(Self { tag, tip_angle_deg })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "tips_easily",
            Severity::Caution,
            format!(
                "{} falls when it is tipped by {:.1}° (under {LEAST_TIP_ANGLE_DEG:.0}°): bed it deeper, wedge it or fix it",
                self.tag, self.tip_angle_deg
            ),
        )
    }
}
