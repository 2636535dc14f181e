//! A piece with a small slide margin is held by little friction.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// The slide margin under which a piece is called unsteady: common practice, no source.
///
/// Friction in water and on algae is less than on dry stone.
pub const LEAST_SLIDE_MARGIN: f64 = 1.5;

/// A piece with a small slide margin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Slides {
    /// The piece.
    pub tag: Tag,
    /// Present friction over the least friction that holds it.
    pub slide_margin: f64,
}

impl Slides {
    /// The finding, when the margin is small.
    #[must_use]
    pub fn check(tag: Tag, slide_margin: f64) -> Option<Self> {
        let firm = slide_margin >= LEAST_SLIDE_MARGIN;
        (!firm).then_some(Self { tag, slide_margin })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "slides_easily",
            Severity::Caution,
            format!(
                "{} is held by {:.2} times the friction it needs (under {LEAST_SLIDE_MARGIN}): algae and vibration may let it slide",
                self.tag, self.slide_margin
            ),
        )
    }
}
