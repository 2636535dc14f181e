//! Where a piece's surface is asked whether it touches uneven ground.

use glam::DVec3;
use solid::Mesh;

/// Spacing of the samples as a share of the square root of the area: about 2800
/// samples. On a ball of 60 mm they are 4 mm apart, and what is missed between
/// them 0.04 mm.
const SPACING_PER_ROOT_AREA: f64 = 0.019;

/// The hull's corners, then points of the surface about evenly spread.
///
/// Points come from a fixed pattern on each triangle and are thinned to one for
/// each cube of a grid, in the order of the triangles, so that the same mesh
/// always gives the same points.
pub(crate) fn surface_samples(mesh: &Mesh, hull_m: &[DVec3]) -> Vec<DVec3> {
    let spacing = SPACING_PER_ROOT_AREA * mesh.area_m2().sqrt();
    let mut taken = std::collections::BTreeSet::new();
    if spacing <= 0.0 {
        return hull_m.to_vec();
    }
    let mut samples = Vec::new();
    let cube = |p: DVec3| {
        let c = (p / spacing).round();
        (c.x as i64, c.y as i64, c.z as i64)
    };
    for p in hull_m {
        if taken.insert(cube(*p)) {
            samples.push(*p);
        }
    }
    for t in 0..mesh.triangles.len() {
        for p in pattern(mesh.corners(t), spacing) {
            if taken.insert(cube(p)) {
                samples.push(p);
            }
        }
    }
    samples
}

/// Points of one triangle, at most about `spacing` apart, corners included.
fn pattern([a, b, c]: [DVec3; 3], spacing: f64) -> impl Iterator<Item = DVec3> {
    let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
    let n = ((longest / spacing).ceil() as usize).clamp(1, 400);
    (0..=n).flat_map(move |i| {
        (0..=n - i).map(move |j| {
            let (u, v) = (i as f64 / n as f64, j as f64 / n as f64);
            a + u * (b - a) + v * (c - a)
        })
    })
}
