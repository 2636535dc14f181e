//! The point of a convex set that is nearest to the origin.

use glam::DVec3;

/// The nearest point to the origin of a convex set that is known by its
/// support: `furthest(d)` is a point of the set with the greatest `d · p`.
///
/// Keeps the up to four points whose hull is nearest so far, and adds the one
/// that is furthest towards the origin, until none gets nearer by 1 %.
///
/// # Source
/// P. Wolfe, Finding the nearest point in a polytope, Mathematical Programming 11 (1976).
pub(super) fn nearest(furthest: impl Fn(DVec3) -> DVec3) -> DVec3 {
    let mut simplex = vec![furthest(DVec3::X)];
    let mut best = simplex[0];
    for _ in 0..40 {
        let added = furthest(-best);
        let square = best.length_squared();
        if square <= f64::MIN_POSITIVE || square - best.dot(added) <= 0.01 * square {
            break;
        }
        simplex.push(added);
        let (point, kept) = nearest_of_simplex(&simplex);
        if point.length_squared() >= square * (1.0 - 1e-12) {
            break;
        }
        best = point;
        simplex = kept;
    }
    best
}

/// The nearest point of the hull of up to four points, and those of them that hold it.
fn nearest_of_simplex(points: &[DVec3]) -> (DVec3, Vec<DVec3>) {
    let n = points.len();
    let mut best = (points[0], vec![points[0]]);
    for set in 1_u32..1 << n {
        let chosen: Vec<DVec3> = (0..n)
            .filter(|k| set & (1 << k) != 0)
            .map(|k| points[k])
            .collect();
        let found = match chosen.as_slice() {
            [a] => Some(*a),
            [a, b] => on_line(*a, *b),
            [a, b, c] => on_plane(*a, *b, *c),
            [a, b, c, d] => holds_origin(*a, *b, *c, *d).then_some(DVec3::ZERO),
            _ => None,
        };
        if let Some(point) = found
            && point.length_squared() < best.0.length_squared()
        {
            best = (point, chosen);
        }
    }
    best
}

/// The foot of the origin on the line a–b, if it lies between them.
fn on_line(a: DVec3, b: DVec3) -> Option<DVec3> {
    let along = b - a;
    let share = -a.dot(along) / along.length_squared();
    (share > 0.0 && share < 1.0).then(|| a + along * share)
}

/// The foot of the origin on the plane of a, b, c, if it lies in the triangle.
fn on_plane(a: DVec3, b: DVec3, c: DVec3) -> Option<DVec3> {
    let normal = (b - a).cross(c - a);
    let square = normal.length_squared();
    let foot = normal * (a.dot(normal) / square);
    let inside = |p: DVec3, q: DVec3| (q - p).cross(foot - p).dot(normal) > 0.0;
    (square > 0.0 && inside(a, b) && inside(b, c) && inside(c, a)).then_some(foot)
}

/// True when the tetrahedron holds the origin.
fn holds_origin(a: DVec3, b: DVec3, c: DVec3, d: DVec3) -> bool {
    let side = |p: DVec3, q: DVec3, r: DVec3, inner: DVec3| {
        let normal = (q - p).cross(r - p);
        normal.dot(-p) * normal.dot(inner - p) > 0.0
    };
    side(a, b, c, d) && side(b, c, d, a) && side(c, d, a, b) && side(d, a, b, c)
}
