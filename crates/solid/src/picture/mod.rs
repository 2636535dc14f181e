//! Pictures of solids by their own rays.
