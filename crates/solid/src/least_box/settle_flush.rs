//! Whether a box can lie flush with a facet at no cost.

use glam::{DQuat, DVec3};

use super::body::{Body, axes};
use crate::hull::Hull;
use crate::outline::{least_rectangle, plan_hull};

/// Facets turned further than this from a side are left alone: 0.25°.
const NEARLY_RAD: f64 = 0.25 * std::f64::consts::PI / 180.0;
/// Facets smaller than this share of the surface are left alone.
const LARGE: f64 = 0.01;
/// What lying flush may cost, as a share of the volume.
const FREE: f64 = 1e-6;

/// The same box turned onto the largest facet that nearly lies in one of its
/// sides, where this is not larger: so a sawn block measures what it was sawn to.
pub(super) fn flush(hull: &Hull, full: &Body, turn: DQuat) -> DQuat {
    let sides = axes(turn);
    let least = NEARLY_RAD.cos();
    let large_m2 = LARGE * hull.area_m2();
    let facet = hull.facets.iter().filter(|facet| {
        let along = |side: &DVec3| side.dot(facet.normal).abs() >= least;
        facet.area_m2 >= large_m2 && sides.iter().any(along)
    });
    let largest = facet.reduce(|a, b| if b.area_m2 > a.area_m2 { b } else { a });
    let Some(facet) = largest else {
        return turn;
    };
    let upright = DQuat::from_rotation_arc(facet.normal, DVec3::NEG_Z);
    let rectangle = least_rectangle(&plan_hull(&hull.vertices_m, upright));
    let lying = DQuat::from_rotation_z(-rectangle.angle_rad) * upright;
    let flush = lying.conjugate().normalize();
    if full.log_volume(flush) <= full.log_volume(turn) + FREE {
        flush
    } else {
        turn
    }
}
