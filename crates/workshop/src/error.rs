//! Why a noun of the workshop can't be made.

/// The one error type of this crate.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WorkshopError {
    /// A tag is not written as tags are.
    #[error("{text:?} is no tag")]
    Tag {
        /// What was given.
        text: String,
    },
    /// A sum of money is not written as money is, or is too large.
    #[error("{reason}")]
    Money {
        /// What is wrong, in words.
        reason: String,
    },
    /// Two currencies in one sum.
    #[error("{one} and {other} can't be added")]
    Currencies {
        /// The one currency.
        one: String,
        /// The other.
        other: String,
    },
    /// A tank's measures don't make a tank.
    #[error("tank: {measure}: {reason}")]
    Tank {
        /// Which measure, by its field name.
        measure: &'static str,
        /// What is wrong, in words.
        reason: String,
    },
    /// A piece's figures don't make a piece.
    #[error("{tag}: {figure}: {reason}")]
    Piece {
        /// The piece.
        tag: crate::Tag,
        /// Which figure, by its field name.
        figure: &'static str,
        /// What is wrong, in words.
        reason: String,
    },
}

impl WorkshopError {
    /// What the user can do about the error.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Tag { .. } => {
                "write S- for stone or W- for wood and at least four digits: S-0148, W-0207"
            }
            Self::Money { .. } => {
                "write an amount of whole minor units and a currency of three letters: 34.50 EUR"
            }
            Self::Currencies { .. } => "price the whole layout in one currency",
            Self::Tank { .. } => {
                "give outside length, width and height, and the thickness of walls and base"
            }
            Self::Piece { .. } => "check the value and its unit",
        }
    }
}
