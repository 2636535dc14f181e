//! The smallest box that holds a piece.
