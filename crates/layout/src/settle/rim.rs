//! What holds a piece that leans over the top edge of the glass.

use glam::DVec3;
use solid::hull::convex_hull;

use super::{parts::Part, scene::Scene};

/// Thickness and height of the strip of glass that is felt at the rim, m.
const STRIP_M: f64 = 8e-3;

/// The top strip of each pane as a solid bar, where some piece could reach it.
///
/// Below, panes are planes that a piece's points meet; only at the rim can the
/// glass meet the middle of an edge or face.
pub(crate) fn strips(scene: &Scene) -> Vec<Part> {
    let tank = &scene.tank;
    let reaches = scene
        .bodies
        .iter()
        .any(|b| b.pose.centre_m.z + 2.0 * b.solid.radius_m() > tank.height_m);
    if !reaches {
        return Vec::new();
    }
    let (l, w, t) = (tank.length_m, tank.width_m, STRIP_M);
    let (low, high) = (tank.height_m - t, tank.height_m);
    let bars = [
        ([-t, -t, low], [0.0, w + t, high]),
        ([l, -t, low], [l + t, w + t, high]),
        ([-t, -t, low], [l + t, 0.0, high]),
        ([-t, w, low], [l + t, w + t, high]),
    ];
    bars.iter()
        .filter_map(|(a, b)| bar(DVec3::from_array(*a), DVec3::from_array(*b)))
        .collect()
}

fn bar(low: DVec3, high: DVec3) -> Option<Part> {
    let corners: Vec<DVec3> = (0..8)
        .map(|i| {
            let pick = |bit: i32, axis: usize| if i & bit == 0 { low[axis] } else { high[axis] };
            DVec3::new(pick(1, 0), pick(2, 1), pick(4, 2))
        })
        .collect();
    Part::of(&convex_hull(&corners).ok()?)
}
