//! The convex hull.
