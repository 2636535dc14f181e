//! How likely a dropped piece comes to rest on each facet of its hull.

use glam::DVec3;

use crate::hull::{Facet, Hull};

/// A foot less than this share of the diagonal beyond an edge still stands on it.
const EDGE: f64 = 1e-9;

/// The probability of coming to rest on each facet; 0 for those that don't hold. They sum to 1.
///
/// A roll over an edge lowers the centre of mass: with r the distance of the
/// centre from the edge and α < 90° the angle of that arm over the floor on
/// the far side, its height falls from r sin α to r sin(α − δ), δ being the
/// angle between the two facets. So facets are taken once, in order of falling
/// height, and a chance is only ever handed on to a lower one: every chance
/// comes to rest, whatever rounding does.
pub(super) fn chances(hull: &Hull, centre_m: DVec3) -> Vec<f64> {
    let mut chances = first_contacts(hull, centre_m);
    let height = |facet: usize| {
        let facet = &hull.facets[facet];
        facet.offset_m - facet.normal.dot(centre_m)
    };
    let heights: Vec<f64> = (0..hull.facets.len()).map(height).collect();
    let mut order: Vec<usize> = (0..hull.facets.len()).collect();
    order.sort_by(|a, b| heights[*b].total_cmp(&heights[*a]).then(a.cmp(b)));
    let mut rank = vec![0; order.len()];
    for (place, facet) in order.iter().enumerate() {
        rank[*facet] = place;
    }
    for &facet in &order {
        let lower = |across: u32| rank[across as usize] > rank[facet];
        let slack = EDGE * hull.diagonal_m;
        if let Some(to) = rolls_to(hull, &hull.facets[facet], centre_m, slack, lower) {
            chances[to as usize] += chances[facet];
            chances[facet] = 0.0;
        }
    }
    chances
}

/// The share of all directions in which each facet is seen from the centre.
fn first_contacts(hull: &Hull, centre_m: DVec3) -> Vec<f64> {
    let angle = |facet: &Facet| -> f64 {
        let angles = facet.triangles.iter().map(|t| {
            let corners = hull.corners(*t as usize);
            solid_angle(corners.map(|v| v - centre_m))
        });
        angles.sum::<f64>().max(0.0)
    };
    let angles: Vec<f64> = hull.facets.iter().map(angle).collect();
    let total: f64 = angles.iter().sum();
    angles
        .iter()
        .map(|a| a / total.max(f64::MIN_POSITIVE))
        .collect()
}

/// The solid angle of a triangle seen from the origin, steradians.
///
/// # Equation
/// tan(Ω/2) = a·(b×c) / (abc + (a·b)c + (b·c)a + (c·a)b)
///
/// # Source
/// A. van Oosterom, J. Strackee, The solid angle of a plane triangle, IEEE
/// Transactions on Biomedical Engineering 30 (1983).
fn solid_angle([a, b, c]: [DVec3; 3]) -> f64 {
    let (la, lb, lc) = (a.length(), b.length(), c.length());
    let over = a.dot(b.cross(c));
    let under = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
    2.0 * over.atan2(under)
}

/// The facet that the piece rolls onto from this one, if it doesn't hold.
///
/// Among the edges that the foot of the centre lies beyond, the furthest
/// beyond whose far facet is `lower`.
fn rolls_to(
    hull: &Hull,
    facet: &Facet,
    centre_m: DVec3,
    slack_m: f64,
    lower: impl Fn(u32) -> bool,
) -> Option<u32> {
    let mut best: Option<(f64, u32)> = None;
    for edge in &facet.rim {
        let from = hull.vertices_m[edge.from as usize];
        let along = hull.vertices_m[edge.to as usize] - from;
        let Some(outward) = along.cross(facet.normal).try_normalize() else {
            continue;
        };
        let beyond = outward.dot(centre_m - from);
        if beyond > slack_m && best.is_none_or(|b| beyond > b.0) && lower(edge.across) {
            best = Some((beyond, edge.across));
        }
    }
    best.map(|b| b.1)
}
