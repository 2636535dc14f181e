//! How often a mesh winds round a point.
