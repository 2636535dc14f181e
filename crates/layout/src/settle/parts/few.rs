//! Which corners of a hull are enough to collide with.

use glam::DVec3;
use parry3d_f64::shape::ConvexPolyhedron;
use solid::hull::{Hull, convex_hull};

/// A hull of at most so many corners is kept whole.
const KEPT_WHOLE: usize = 40;
/// Most corners of a thinned hull.
const MOST: usize = 72;
/// A thinned hull may lack this much, m.
const LACKING_M: f64 = 2.5e-4;
/// Corners added in one round.
const ROUND: usize = 8;

/// The polyhedron of a hull, or of those of its corners that leave out less than
/// [`LACKING_M`], where [`MOST`] are enough for that.
pub(super) fn polyhedron(hull: &Hull) -> Option<ConvexPolyhedron> {
    if hull.vertices_m.len() <= KEPT_WHOLE {
        return of(hull);
    }
    let all = &hull.vertices_m;
    let mut chosen: Vec<usize> = Vec::new();
    for direction in directions() {
        let far = (0..all.len()).fold(0, |f, i| {
            if all[i].dot(direction) > all[f].dot(direction) {
                i
            } else {
                f
            }
        });
        if !chosen.contains(&far) {
            chosen.push(far);
        }
    }
    let mut inner: Option<Hull> = None;
    while chosen.len() < MOST {
        let points: Vec<DVec3> = chosen.iter().map(|i| all[*i]).collect();
        let Ok(hull) = convex_hull(&points) else {
            break;
        };
        let lacking = lacking(&hull, all);
        inner = Some(hull);
        let before = chosen.len();
        for (_, i) in lacking.into_iter().take(ROUND) {
            if !chosen.contains(&i) {
                chosen.push(i);
            }
        }
        if chosen.len() == before {
            break;
        }
    }
    let points: Vec<DVec3> = chosen.iter().map(|i| all[*i]).collect();
    let hull_of_chosen = convex_hull(&points).ok().or(inner);
    hull_of_chosen.as_ref().and_then(of).or_else(|| of(hull))
}

fn of(hull: &Hull) -> Option<ConvexPolyhedron> {
    ConvexPolyhedron::from_convex_mesh(hull.vertices_m.clone(), &hull.triangles)
        .or_else(|| ConvexPolyhedron::from_convex_hull(&hull.vertices_m))
}

/// The corners that stand out of a hull by more than [`LACKING_M`], of each of
/// its triangles only the farthest, farthest first.
fn lacking(hull: &Hull, all: &[DVec3]) -> Vec<(f64, usize)> {
    let planes: Vec<(DVec3, f64)> = (0..hull.triangles.len())
        .map(|t| {
            let [a, b, c] = hull.corners(t);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            (normal, normal.dot(a))
        })
        .collect();
    let mut farthest: Vec<Option<(f64, usize)>> = vec![None; planes.len()];
    for (i, p) in all.iter().enumerate() {
        let (mut out, mut at) = (f64::MIN, 0);
        for (t, (normal, offset)) in planes.iter().enumerate() {
            let above = normal.dot(*p) - offset;
            if above > out {
                (out, at) = (above, t);
            }
        }
        if out > LACKING_M && farthest[at].is_none_or(|(far, _)| out > far) {
            farthest[at] = Some((out, i));
        }
    }
    let mut lacking: Vec<(f64, usize)> = farthest.into_iter().flatten().collect();
    lacking.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    lacking
}

/// The 26 directions to the sides, edges and corners of a cube.
fn directions() -> impl Iterator<Item = DVec3> {
    (0..27)
        .map(|i| {
            DVec3::new(
                f64::from(i % 3 - 1),
                f64::from(i / 3 % 3 - 1),
                f64::from(i / 9 - 1),
            )
        })
        .filter(|d| *d != DVec3::ZERO)
}
