//! Why a layout is refused.

/// The one error type of this crate. `hint` texts say what the user can do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LayoutError {
    /// A piece's solid can't be settled.
    #[error("piece {piece:?}: {reason}")]
    Solid {
        /// Which piece, by its place in the list of bodies.
        body: usize,
        /// The piece's id.
        piece: String,
        /// What is wrong, in words.
        reason: String,
        /// What to do about it.
        hint: String,
    },
    /// Two things fill the same space by more than is allowed.
    #[error("piece {piece:?} and {other} overlap by {}", depth_words(*depth_m))]
    Overlap {
        /// Which piece, by its place in the list of bodies.
        body: usize,
        /// The piece's id.
        piece: String,
        /// The other piece's id in quotes, or `base`, `ground`.
        other: String,
        /// How deep, m.
        depth_m: f64,
    },
    /// A piece reaches into or through a pane.
    #[error("piece {piece:?} goes {} through the {pane} pane", depth_words(*depth_m))]
    ThroughGlass {
        /// Which piece, by its place in the list of bodies.
        body: usize,
        /// The piece's id.
        piece: String,
        /// `left`, `right`, `front` or `back`.
        pane: &'static str,
        /// How far beyond the inside of the glass, m.
        depth_m: f64,
    },
    /// The ground's heights do not make a surface over the whole base.
    #[error("the ground {reason}")]
    Ground {
        /// What is wrong, in words.
        reason: String,
        /// What to do about it.
        hint: String,
    },
    /// Whoever asked for the settling broke it off.
    #[error("settling was stopped")]
    Stopped,
}

fn depth_words(depth_m: f64) -> String {
    format!("{:.1} mm", depth_m * 1e3)
}

impl LayoutError {
    /// A stable word for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::Solid { .. } => "bad_solid",
            Self::Overlap { .. } => "overlap",
            Self::ThroughGlass { .. } => "through_glass",
            Self::Ground { .. } => "bad_ground",
            Self::Stopped => "stopped",
        }
    }

    /// Which body is at fault, where one is.
    #[must_use]
    pub fn body(&self) -> Option<usize> {
        match self {
            Self::Solid { body, .. }
            | Self::Overlap { body, .. }
            | Self::ThroughGlass { body, .. } => Some(*body),
            Self::Ground { .. } | Self::Stopped => None,
        }
    }

    /// What the user can do about the error.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::Solid { hint, .. } | Self::Ground { hint, .. } => hint.clone(),
            Self::Overlap { other, .. } if other == "the ground" => {
                "lift the piece, or mark it as bedded so that the ground is cut to it".to_owned()
            }
            Self::Overlap { .. } => "move one of the two apart, or lift the upper one".to_owned(),
            Self::ThroughGlass { .. } => {
                "move or turn the piece so that it stays inside the glass".to_owned()
            }
            Self::Stopped => "settle it again".to_owned(),
        }
    }
}
