//! Which hull triangles are one flat facet.

use glam::DVec3;

use super::{Facet, Hull, RimEdge};

/// Greatest angle between a triangle and its facet's plane: 0.02°.
const ANGLE_RAD: f64 = 0.02 * std::f64::consts::PI / 180.0;
/// Greatest distance of a corner from its facet's plane, as a share of the diagonal.
const DISTANCE: f64 = 2e-6;

/// Fills in the facets: from the largest free triangle outwards over the edges,
/// all that lies within both limits of that triangle's plane.
///
/// A triangle so narrow that its own height is within the distance has no
/// direction that could be measured; it is judged by the distance alone.
pub(super) fn merge(hull: &mut Hull) {
    let n_triangles = hull.triangles.len();
    let (normals, areas, heights) = shapes(hull);
    let mut order: Vec<u32> = (0..n_triangles as u32).collect();
    order.sort_by(|a, b| {
        areas[*b as usize]
            .total_cmp(&areas[*a as usize])
            .then(a.cmp(b))
    });
    let distance_m = DISTANCE * hull.diagonal_m;
    let free = u32::MAX;
    let mut facet_of = vec![free; n_triangles];
    let mut groups: Vec<(u32, Vec<u32>)> = Vec::new();
    for seed in order {
        if facet_of[seed as usize] != free {
            continue;
        }
        let facet = groups.len() as u32;
        let normal = normals[seed as usize];
        let plane = normal.dot(hull.corners(seed as usize)[0]);
        let belongs = |t: u32| {
            let near = |v: DVec3| (normal.dot(v) - plane).abs() <= distance_m;
            let turned = normal.cross(normals[t as usize]).length();
            let ahead = normal.dot(normals[t as usize]) > 0.0;
            let aligned = ahead && turned <= ANGLE_RAD.sin();
            (aligned || heights[t as usize] <= distance_m)
                && hull.corners(t as usize).into_iter().all(near)
        };
        let mut members = vec![seed];
        facet_of[seed as usize] = facet;
        let mut next = 0;
        while next < members.len() {
            for across in hull.neighbours[members[next] as usize] {
                if facet_of[across as usize] == free && belongs(across) {
                    facet_of[across as usize] = facet;
                    members.push(across);
                }
            }
            next += 1;
        }
        members.sort_unstable();
        groups.push((seed, members));
    }
    hull.facets = groups
        .into_iter()
        .map(|(seed, members)| facet(hull, &facet_of, &areas, normals[seed as usize], members))
        .collect();
    hull.facet_of = facet_of;
}

/// Unit normal, area and least height of each triangle.
fn shapes(hull: &Hull) -> (Vec<DVec3>, Vec<f64>, Vec<f64>) {
    let n_triangles = hull.triangles.len();
    let mut normals = Vec::with_capacity(n_triangles);
    let mut areas = Vec::with_capacity(n_triangles);
    let mut heights = Vec::with_capacity(n_triangles);
    for t in 0..n_triangles {
        let [a, b, c] = hull.corners(t);
        let cross = (b - a).cross(c - a);
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        normals.push(cross.normalize_or_zero());
        areas.push(0.5 * cross.length());
        heights.push(cross.length() / longest.max(f64::MIN_POSITIVE));
    }
    (normals, areas, heights)
}

fn facet(hull: &Hull, facet_of: &[u32], areas: &[f64], seed: DVec3, members: Vec<u32>) -> Facet {
    let own = facet_of[members[0] as usize];
    let sum: DVec3 = members
        .iter()
        .map(|t| {
            let [a, b, c] = hull.corners(*t as usize);
            (b - a).cross(c - a)
        })
        .sum();
    let normal = if sum.dot(seed) > 0.0 {
        sum.normalize_or(seed)
    } else {
        seed
    };
    let mut rim = Vec::new();
    let mut offset_m = f64::NEG_INFINITY;
    for &t in &members {
        for side in 0..3 {
            let from = hull.triangles[t as usize][side];
            offset_m = offset_m.max(normal.dot(hull.vertices_m[from as usize]));
            let across = facet_of[hull.neighbours[t as usize][side] as usize];
            if across != own {
                rim.push(RimEdge {
                    from,
                    to: hull.triangles[t as usize][(side + 1) % 3],
                    across,
                });
            }
        }
    }
    Facet {
        normal,
        offset_m,
        area_m2: members.iter().map(|t| areas[*t as usize]).sum(),
        triangles: members,
        rim,
    }
}
