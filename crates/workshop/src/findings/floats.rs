//! A piece lighter than water rises unless it is held down.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// A piece that floats.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Floats {
    /// The piece.
    pub tag: Tag,
    /// Upward force when it is held under water, N.
    pub lift_when_held_under_n: f64,
    /// Stone that must be tied to it so that it sinks, kg.
    pub ballast_stone_kg: f64,
}

impl Floats {
    /// The finding, when the piece would rise.
    #[must_use]
    pub fn check(tag: Tag, lift_when_held_under_n: f64, ballast_stone_kg: f64) -> Option<Self> {
        (lift_when_held_under_n > 0.0).then_some(Self {
            tag,
            lift_when_held_under_n,
            ballast_stone_kg,
        })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "floats",
            Severity::Caution,
            format!(
                "{} floats: held under water it lifts with {:.1} N; tie at least {:.2} kg of stone to it or fix it, and weigh it again once it is soaked",
                self.tag, self.lift_when_held_under_n, self.ballast_stone_kg
            ),
        )
    }
}
