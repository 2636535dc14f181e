//! What can be wrong with a layout: one rule a file, each with the numbers that it rests on.

pub mod above_rim;
pub mod above_water;
pub mod floats;
pub mod floor_load;
pub mod heavy;
pub mod mass_missing;
pub mod moved;
pub mod price_missing;
pub mod slides;
pub mod sliding_slope;
pub mod through_glass;
pub mod tips;
pub mod unsettled;

use method::Caution;
use serde::Serialize;

use crate::Tag;

pub use above_rim::AboveRim;
pub use above_water::AboveWater;
pub use floats::Floats;
pub use floor_load::FloorLoad;
pub use heavy::Heavy;
pub use mass_missing::MassMissing;
pub use moved::Moved;
pub use price_missing::PriceMissing;
pub use slides::Slides;
pub use sliding_slope::SlidingSlope;
pub use through_glass::ThroughGlass;
pub use tips::Tips;
pub use unsettled::Unsettled;

/// One thing that was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "rule", rename_all = "snake_case")]
pub enum Finding {
    /// A piece moved or fell on settling.
    Moved(Moved),
    /// A piece, or the layout, could not be settled.
    Unsettled(Unsettled),
    /// A piece falls at a small push.
    Tips(Tips),
    /// A piece is held by little friction.
    Slides(Slides),
    /// A piece floats up unless it is held down.
    Floats(Floats),
    /// A piece reaches through a pane or the base.
    ThroughGlass(ThroughGlass),
    /// A piece stands above the rim.
    AboveRim(AboveRim),
    /// A piece stands above the water line.
    AboveWater(AboveWater),
    /// Ground is steeper than its material holds.
    SlidingSlope(SlidingSlope),
    /// A price is missing.
    PriceMissing(PriceMissing),
    /// A piece was never weighed.
    MassMissing(MassMissing),
    /// The full tank presses more than a dwelling's floor is made for.
    FloorLoad(FloorLoad),
    /// A piece is too heavy for one person to lift in.
    Heavy(Heavy),
}

impl Finding {
    /// Whether a layout with this finding is not proved to stand.
    #[must_use]
    pub fn spoils_standing(&self) -> bool {
        matches!(
            self,
            Self::Moved(_) | Self::Unsettled(_) | Self::ThroughGlass(_)
        )
    }

    /// The piece that it is about, where it is about one.
    #[must_use]
    pub fn tag(&self) -> Option<Tag> {
        match self {
            Self::Moved(finding) => Some(finding.tag),
            Self::Unsettled(finding) => finding.tag,
            Self::Tips(finding) => Some(finding.tag),
            Self::Slides(finding) => Some(finding.tag),
            Self::Floats(finding) => Some(finding.tag),
            Self::ThroughGlass(finding) => Some(finding.tag),
            Self::AboveRim(finding) => Some(finding.tag),
            Self::AboveWater(finding) => Some(finding.tag),
            Self::MassMissing(finding) => Some(finding.tag),
            Self::Heavy(finding) => Some(finding.tag),
            Self::SlidingSlope(_) | Self::PriceMissing(_) | Self::FloorLoad(_) => None,
        }
    }

    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        match self {
            Self::Moved(finding) => finding.caution(),
            Self::Unsettled(finding) => finding.caution(),
            Self::Tips(finding) => finding.caution(),
            Self::Slides(finding) => finding.caution(),
            Self::Floats(finding) => finding.caution(),
            Self::ThroughGlass(finding) => finding.caution(),
            Self::AboveRim(finding) => finding.caution(),
            Self::AboveWater(finding) => finding.caution(),
            Self::SlidingSlope(finding) => finding.caution(),
            Self::PriceMissing(finding) => finding.caution(),
            Self::MassMissing(finding) => finding.caution(),
            Self::FloorLoad(finding) => finding.caution(),
            Self::Heavy(finding) => finding.caution(),
        }
    }
}
