//! Pieces: one thing of wood or stone with its own tag.

mod card;
mod change;
mod filter;
mod fit;
mod hold;
mod list;
mod measured;
mod photograph;
mod read;
mod take_in;

pub use card::PieceCard;
pub use change::PieceChange;
pub use filter::{PieceFilter, PieceSort};
pub use fit::FitPiece;
pub use hold::Hold;
pub use list::{Facet, Facets, MaterialFacet, PieceList};
pub use measured::Measured;
pub use photograph::Photograph;
pub use read::Piece;
pub use take_in::TakeIn;

use crate::word::words;

words! {
    /// Whether a piece can be had.
    PieceState in "pieces" {
        /// Washing, soaking, weathering, curing.
        InPreparation = "in_preparation",
        /// Fit to sell.
        Ready = "ready",
        /// Set aside.
        Held = "held",
        /// Gone.
        Sold = "sold",
        /// Shown, and to be had.
        OnDisplay = "on_display",
    }
}

words! {
    /// How a mass is known.
    MassCertainty in "pieces" {
        /// On the scale.
        Measured = "measured",
        /// From volume and density.
        Estimated = "estimated",
        /// Taken to be so.
        Assumed = "assumed",
    }
}
