//! How far a hull stands proud of the solid inside it, and where.

use glam::DVec3;
use solid::{bvh::Bvh, hull::Hull};

use super::PROUD_M;

/// Most samples along a hull triangle's side.
const MOST_ALONG: usize = 24;
/// How many of the proudest places are kept to choose cuts from.
const PLACES: usize = 4;

/// Where a hull stands proud.
#[derive(Debug, Clone)]
pub(super) struct Proud {
    /// The greatest distance from the hull to the solid, m.
    pub depth_m: f64,
    /// The proudest places, each as the nearest point of the solid and its triangle.
    pub places: Vec<(DVec3, u32)>,
    /// Points half-way between the hull and the solid where it stands too proud,
    /// each with how far.
    pub voids: Vec<(DVec3, f64)>,
}

/// Samples a hull's faces and asks each sample how far the solid is.
///
/// A sample inside the solid (on a cut through it) stands proud by nothing.
/// A face between its samples, up to their spacing apart, is not looked at.
pub(super) fn proud(hull: &Hull, bvh: &Bvh, spacing_m: f64) -> Proud {
    let mut found: Vec<(f64, DVec3, u32)> = Vec::new();
    let mut voids = Vec::new();
    for t in 0..hull.triangles.len() {
        for sample in samples(hull.corners(t), spacing_m) {
            let Some(near) = bvh.closest(sample, f64::INFINITY) else {
                continue;
            };
            if near.distance_m > 0.5 * PROUD_M && !bvh.contains(sample) {
                found.push((near.distance_m, near.point_m, near.triangle));
                if near.distance_m > PROUD_M {
                    voids.push((0.5 * (sample + near.point_m), near.distance_m));
                }
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.2.cmp(&b.2)));
    let mut places: Vec<(DVec3, u32)> = Vec::new();
    for (_, point, triangle) in &found {
        let apart = places.iter().all(|(p, _)| p.distance(*point) > spacing_m);
        if apart && places.len() < PLACES {
            places.push((*point, *triangle));
        }
    }
    Proud {
        depth_m: found.first().map_or(0.0, |f| f.0),
        places,
        voids: thinned(voids),
    }
}

/// Most points that a cut is judged by.
const MOST_VOIDS: usize = 160;

fn thinned(voids: Vec<(DVec3, f64)>) -> Vec<(DVec3, f64)> {
    let step = voids.len().div_ceil(MOST_VOIDS).max(1);
    voids.into_iter().step_by(step).collect()
}

/// Inner points of a triangle and of its sides, about `spacing` apart.
fn samples([a, b, c]: [DVec3; 3], spacing: f64) -> impl Iterator<Item = DVec3> {
    let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
    let n = ((longest / spacing).ceil() as usize).clamp(2, MOST_ALONG);
    (0..=n).flat_map(move |i| {
        (0..=n - i).filter_map(move |j| {
            let corner = (i == 0 && (j == 0 || j == n)) || i == n;
            let (u, v) = (i as f64 / n as f64, j as f64 / n as f64);
            (!corner).then(|| a + u * (b - a) + v * (c - a))
        })
    })
}
