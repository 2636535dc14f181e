//! Cutting a polygon into triangles.
