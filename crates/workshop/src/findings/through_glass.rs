//! A piece that reaches through a pane or the base can't be built.

use glam::DVec3;
use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// How far a piece may reach past a pane or the base before it is found, mm.
///
/// The same as the overlap that settling lets pass.
pub const MOST_THROUGH_MM: f64 = 1.0;

/// A pane or the base.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Pane {
    /// The pane at x = 0.
    Left,
    /// The pane at the greatest x.
    Right,
    /// The pane at y = 0.
    Front,
    /// The pane at the greatest y.
    Back,
    /// The base plate.
    Base,
}

impl Pane {
    fn words(self) -> &'static str {
        match self {
            Self::Left => "the left glass",
            Self::Right => "the right glass",
            Self::Front => "the front glass",
            Self::Back => "the back glass",
            Self::Base => "the base",
        }
    }
}

/// A piece that reaches through a pane or the base.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThroughGlass {
    /// The piece.
    pub tag: Tag,
    /// Which pane.
    pub pane: Pane,
    /// How far past its inner face, mm.
    pub through_mm: f64,
}

impl ThroughGlass {
    /// All panes that a box from `low_m` to `high_m` in the tank frame reaches through.
    #[must_use]
    pub fn check(tag: Tag, low_m: DVec3, high_m: DVec3, inside_m: DVec3) -> Vec<Self> {
        [
            (Pane::Left, -low_m.x),
            (Pane::Right, high_m.x - inside_m.x),
            (Pane::Front, -low_m.y),
            (Pane::Back, high_m.y - inside_m.y),
            (Pane::Base, -low_m.z),
        ]
        .into_iter()
        .map(|(pane, through_m)| Self {
            tag,
            pane,
            through_mm: through_m * 1e3,
        })
        .filter(|finding| finding.through_mm > MOST_THROUGH_MM)
        .collect()
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        Caution::new(
            "through_glass",
            Severity::Danger,
            format!(
                "{} reaches {:.0} mm through {}: move it, turn it or leave it out",
                self.tag,
                self.through_mm,
                self.pane.words()
            ),
        )
    }
}
