//! Over which area a piece presses, and how hard.

use glam::DVec3;

use super::{contacts::hull_order, scene::Support};

/// A contact patch counts as at least this large, m²: 1 cm².
pub const LEAST_AREA_M2: f64 = 1e-4;

/// Where and how hard a piece presses on one support.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// What it presses on.
    pub with: Support,
    /// Area of the outline of the contact points, at least [`LEAST_AREA_M2`], m².
    pub area_m2: f64,
    /// Mean pressure, Pa.
    pub pressure_pa: f64,
}

/// The patch of contact points with the forces on the piece at each.
///
/// Area: of the convex outline of the points, seen along the force's direction
/// (the mean normal where there is no force). Pressure: pushing force over area.
pub(crate) fn patch(with: Support, touches: &[(DVec3, DVec3, DVec3)]) -> Patch {
    let normal = touches
        .iter()
        .map(|(_, normal, _)| *normal)
        .sum::<DVec3>()
        .normalize_or(DVec3::Z);
    let points: Vec<DVec3> = touches.iter().map(|(point, _, _)| *point).collect();
    let corners = hull_order(&points, normal);
    let mut twice = DVec3::ZERO;
    for k in 1..corners.len().saturating_sub(1) {
        let [a, b, c] = [corners[0], corners[k], corners[k + 1]].map(|i| points[i]);
        twice += (b - a).cross(c - a);
    }
    let area_m2 = (0.5 * twice.dot(normal)).abs().max(LEAST_AREA_M2);
    let push: f64 = touches
        .iter()
        .map(|(_, normal, force)| force.dot(*normal).max(0.0))
        .sum();
    Patch {
        with,
        area_m2,
        pressure_pa: push / area_m2,
    }
}
