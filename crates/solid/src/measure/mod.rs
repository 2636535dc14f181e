//! The measures of a piece.
