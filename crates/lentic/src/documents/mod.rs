//! Documents to build on, as bytes.
