//! What a piece stands on when it lies on one facet of its hull.

use glam::{DQuat, DVec2};

use crate::hull::Hull;
use crate::outline::convex_ring;

/// The support polygon: the convex hull of the facet's corners in plan, anticlockwise, metres.
pub(super) fn polygon(hull: &Hull, facet: usize, turn: DQuat) -> Vec<DVec2> {
    let rim = &hull.facets[facet].rim;
    convex_ring(
        rim.iter()
            .map(|edge| (turn * hull.vertices_m[edge.from as usize]).truncate())
            .collect(),
    )
}

/// Distance of a point from the nearest edge of an anticlockwise convex polygon;
/// negative when it lies outside.
pub(super) fn least_distance_inside(polygon: &[DVec2], point: DVec2) -> f64 {
    let n = polygon.len();
    (0..n)
        .filter_map(|i| {
            let along = (polygon[(i + 1) % n] - polygon[i]).try_normalize()?;
            Some(along.perp_dot(point - polygon[i]))
        })
        .fold(f64::INFINITY, f64::min)
}
