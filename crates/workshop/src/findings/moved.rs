//! A piece that moves over 10 mm or turns over 5° on settling doesn't stand where it was put.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// The furthest that a piece may move on settling and still stand as composed, mm.
///
/// The contract of `scape.compose` uses the same limit.
pub const MOST_MOVED_MM: f64 = 10.0;
/// The furthest that a piece may turn on settling and still stand as composed, deg.
pub const MOST_TURNED_DEG: f64 = 5.0;

/// A piece that moved or fell on settling.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Moved {
    /// The piece.
    pub tag: Tag,
    /// How far its centre moved, mm.
    pub moved_mm: f64,
    /// How far its centre sank, mm; negative when it rose.
    pub fell_mm: f64,
    /// How far it turned, deg.
    pub turned_deg: f64,
}

impl Moved {
    /// The finding, when the piece moved or turned too far.
    #[must_use]
    pub fn check(tag: Tag, moved_mm: f64, fell_mm: f64, turned_deg: f64) -> Option<Self> {
        // Written so that a figure that is no number is found too.
        let stays = moved_mm <= MOST_MOVED_MM && turned_deg <= MOST_TURNED_DEG;
        (!stays).then_some(Self {
            tag,
            moved_mm,
            fell_mm,
            turned_deg,
        })
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        let how = if self.fell_mm > MOST_MOVED_MM {
            format!("falls {:.0} mm", self.fell_mm)
        } else if self.fell_mm < -MOST_MOVED_MM {
            format!("rises {:.0} mm", -self.fell_mm)
        } else {
            format!("moves {:.0} mm", self.moved_mm)
        };
        Caution::new(
            "does_not_stand",
            Severity::Danger,
            format!(
                "{} {how} and turns {:.0}° when it is let go (limits {MOST_MOVED_MM:.0} mm and {MOST_TURNED_DEG:.0}°): it doesn't stand where it was put",
                self.tag, self.turned_deg
            ),
        )
    }
}
