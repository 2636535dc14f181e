//! How a piece lies by itself.
