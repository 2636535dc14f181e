//! From a file that a builder wrote to a layout, its figures and its documents.

pub mod text;
