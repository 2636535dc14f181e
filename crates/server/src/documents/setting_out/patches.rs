//! Outlines of the patches on which a piece rests, from the points of contact.

use crate::documents::drawing::Ring;
use glam::{DVec2, DVec3};
use solid::outline::convex_ring;

/// Points nearer to each other than this belong to one patch.
const JOIN_MM: f64 = 15.0;
/// A patch reaches this far round its points at least.
const REACH_MM: f64 = 2.5;
/// A patch covers at least 1 cm², as settling counts it.
const LEAST_MM2: f64 = 100.0;
/// Points of the circle round each point of contact.
const CIRCLE: usize = 24;

/// The patches of one support's points of contact: outline and least height.
pub(super) fn patches(points_mm: &[DVec3]) -> Vec<(Ring, f64)> {
    clusters(points_mm)
        .into_iter()
        .map(|cluster| {
            let plan: Vec<DVec2> = cluster.iter().map(|p| p.truncate()).collect();
            let height = cluster.iter().map(|p| p.z).fold(f64::INFINITY, f64::min);
            (grown_to_least(&plan), height)
        })
        .collect()
}

/// Points joined by chains of near neighbours, in the order of their first point.
fn clusters(points: &[DVec3]) -> Vec<Vec<DVec3>> {
    let mut group: Vec<usize> = (0..points.len()).collect();
    for i in 0..points.len() {
        for j in 0..i {
            let (a, b) = (group[i], group[j]);
            if a != b && points[i].distance(points[j]) <= JOIN_MM {
                let (keep, drop) = (a.min(b), a.max(b));
                group
                    .iter_mut()
                    .filter(|g| **g == drop)
                    .for_each(|g| *g = keep);
            }
        }
    }
    let mut out: Vec<(usize, Vec<DVec3>)> = vec![];
    for (g, p) in group.into_iter().zip(points) {
        match out.iter_mut().find(|(name, _)| *name == g) {
            Some((_, cluster)) => cluster.push(*p),
            None => out.push((g, vec![*p])),
        }
    }
    out.into_iter().map(|(_, cluster)| cluster).collect()
}

/// The convex outline of circles round the points, large enough that it covers
/// [`LEAST_MM2`]: area of the points' outline A, its perimeter p, r with
/// A + p r + π r² = least (Steiner's formula for a parallel body).
fn grown_to_least(plan: &[DVec2]) -> Ring {
    let hull = convex_ring(plan.to_vec());
    let area = solid::outline::signed_area_m2(&hull).abs();
    let perimeter: f64 = match hull.len() {
        0 | 1 => 0.0,
        n => (0..n).map(|i| hull[i].distance(hull[(i + 1) % n])).sum(),
    };
    let pi = std::f64::consts::PI;
    let missing = (LEAST_MM2 - area).max(0.0);
    let least = ((perimeter * perimeter + 4.0 * pi * missing).sqrt() - perimeter) / (2.0 * pi);
    let reach = least.max(REACH_MM);
    let circle = |p: &DVec2| -> Vec<DVec2> {
        let turn = std::f64::consts::TAU / CIRCLE as f64;
        (0..CIRCLE)
            .map(|k| *p + DVec2::from_angle(k as f64 * turn) * reach)
            .collect()
    };
    convex_ring(hull.iter().flat_map(circle).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::documents::drawing::area::signed_area_mm2;

    #[test]
    fn a_single_point_becomes_a_square_centimetre() {
        let patches = patches(&[DVec3::new(40.0, 50.0, 12.0)]);
        assert_eq!(patches.len(), 1);
        assert_eq!(patches[0].1, 12.0);
        // A 24-gon covers 0.9886 of its circle (closed form: n/2π sin 2π/n).
        let area = signed_area_mm2(&patches[0].0);
        assert!((area / LEAST_MM2 - 0.9886).abs() < 1e-3, "{area}");
    }

    #[test]
    fn far_points_make_patches_of_their_own() {
        let points = [(0.0, 0.0), (8.0, 0.0), (16.0, 3.0), (80.0, 0.0)];
        let points: Vec<DVec3> = points.iter().map(|&(x, y)| DVec3::new(x, y, 5.0)).collect();
        assert_eq!(patches(&points).len(), 2);
    }
}
