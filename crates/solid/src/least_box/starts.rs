//! Where to look for the least box: rough boxes along many normals.

use glam::{DMat3, DQuat, DVec2, DVec3};
use rayon::prelude::*;

use super::body::{Body, axes};
use crate::hull::cells::{Cells, RoundFrame};
use crate::hull::{Hull, convex_hull_within};

/// The thinned body for the search leaves out corners this near to it, its spread being 1.
const SKIN: f64 = 0.02;
/// Cells of directions from which the thinned body's corners are taken.
const COARSE: Cells = Cells { side: 16 };
/// The same for refining hulls with very many corners.
const FINE: Cells = Cells { side: 40 };
/// Ends of descents closer than this are the same box.
pub(super) const SAME_END_RAD: f64 = 0.02;
/// Starts closer than this are the same start.
const SAME_START_RAD: f64 = 0.07;
/// Starts that are followed down.
const N_STARTS: usize = 30;
/// Normals over the half sphere: about 4° apart.
const N_SPREAD: usize = 1000;
/// Normals of the largest facets.
const N_FACETS: usize = 100;
/// Longest edges whose pairs are tried.
const N_EDGES: usize = 24;

/// A body with fewer corners, and its triangles.
pub(super) struct Thinned {
    pub body: Body,
    hull: Option<Hull>,
}

/// A subset of the corners whose hull leaves none out by more than a little.
pub(super) fn thinned(full: &Body) -> Thinned {
    let corners: Vec<DVec3> = full.corners().collect();
    let hull = RoundFrame::of(&corners).and_then(|frame| {
        let sources = if corners.len() > COARSE.n() {
            COARSE.furthest(&corners, &frame)
        } else {
            (0..corners.len() as u32).collect()
        };
        let placed: Vec<DVec3> = sources
            .iter()
            .map(|source| frame.place(corners[*source as usize]))
            .collect();
        let mut hull = convex_hull_within(&placed, SKIN).ok()?;
        for (vertex, place) in hull.vertices_m.iter_mut().zip(&hull.sources) {
            *vertex = corners[sources[*place as usize] as usize];
        }
        Some(hull)
    });
    let body = match &hull {
        Some(hull) => Body::from_points(hull.vertices_m.iter().copied()),
        None => full.clone(),
    };
    Thinned { body, hull }
}

/// The body to refine on: the full one, or the furthest corners in many directions.
pub(super) fn fine(full: &Body) -> Body {
    if full.len() <= FINE.n() {
        return full.clone();
    }
    let corners: Vec<DVec3> = full.corners().collect();
    let Some(frame) = RoundFrame::of(&corners) else {
        return full.clone();
    };
    let far = FINE.furthest(&corners, &frame);
    Body::from_points(far.iter().map(|far| corners[*far as usize]))
}

/// The best rough boxes that differ from each other.
pub(super) fn starts(thin: &Thinned) -> Vec<DQuat> {
    let Some(hull) = &thin.hull else {
        return vec![DQuat::IDENTITY];
    };
    let shadow = Shadow::of(hull);
    let mut rough: Vec<(f64, DQuat)> = normals(hull)
        .par_iter()
        .map(|normal| shadow.box_about(*normal))
        .collect();
    rough.sort_by(|a, b| a.0.total_cmp(&b.0));
    distinct(&rough, SAME_START_RAD, N_STARTS)
        .into_iter()
        .map(|start| start.1)
        .collect()
}

/// The first `most` of a sorted list that are more than `apart_rad` from all before.
pub(super) fn distinct(sorted: &[(f64, DQuat)], apart_rad: f64, most: usize) -> Vec<(f64, DQuat)> {
    let mut chosen: Vec<(f64, DQuat)> = Vec::new();
    for candidate in sorted {
        if chosen.len() == most {
            break;
        }
        let new = |other: &(f64, DQuat)| !same_box(candidate.1, other.1, apart_rad.cos());
        if chosen.iter().all(new) {
            chosen.push(*candidate);
        }
    }
    chosen
}

/// True when each axis of one lies along some axis of the other.
fn same_box(a: DQuat, b: DQuat, least_cosine: f64) -> bool {
    let others = axes(b);
    axes(a).iter().all(|axis| {
        let along = others.iter().map(|other| axis.dot(*other).abs());
        along.fold(0.0, f64::max) >= least_cosine
    })
}

/// Directions of sides worth trying.
fn normals(hull: &Hull) -> Vec<DVec3> {
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let spread = (0..N_SPREAD).map(|k| {
        let z = (k as f64 + 0.5) / N_SPREAD as f64;
        let (sin, cos) = (golden * k as f64).sin_cos();
        let r = (1.0 - z * z).sqrt();
        DVec3::new(r * cos, r * sin, z)
    });
    let facet = |facet: &crate::hull::Facet| facet.triangles[0] as usize;
    let flush = hull.facets.iter().take(N_FACETS).map(|f| {
        let [a, b, c] = hull.corners(facet(f));
        (b - a).cross(c - a)
    });
    let mut edges: Vec<DVec3> = hull
        .edges()
        .iter()
        .filter(|e| {
            hull.facet_of[e.triangles[0] as usize] != hull.facet_of[e.triangles[1] as usize]
        })
        .map(|e| hull.vertices_m[e.corners[1] as usize] - hull.vertices_m[e.corners[0] as usize])
        .collect();
    edges.sort_by(|a, b| b.length_squared().total_cmp(&a.length_squared()));
    edges.truncate(N_EDGES);
    let pairs = edges
        .iter()
        .enumerate()
        .flat_map(|(i, a)| edges[..i].iter().map(|b| a.cross(*b)));
    spread
        .chain(flush)
        .chain(pairs)
        .filter_map(DVec3::try_normalize)
        .collect()
}

/// What the outline of a body along any direction is found from.
struct Shadow {
    corners: Vec<DVec3>,
    normals: Vec<DVec3>,
    /// Corner, corner, triangle on the left, triangle on the right.
    edges: Vec<[u32; 4]>,
}

impl Shadow {
    fn of(hull: &Hull) -> Self {
        let normals = (0..hull.triangles.len()).map(|t| {
            let [a, b, c] = hull.corners(t);
            (b - a).cross(c - a)
        });
        let edges = hull.edges().into_iter();
        Self {
            corners: hull.vertices_m.clone(),
            normals: normals.collect(),
            edges: edges
                .map(|e| [e.corners[0], e.corners[1], e.triangles[0], e.triangles[1]])
                .collect(),
        }
    }

    /// The least box with a side across `normal`: its log volume, and its turn.
    fn box_about(&self, normal: DVec3) -> (f64, DQuat) {
        let right = normal.any_orthonormal_vector();
        let up = normal.cross(right);
        let faces: Vec<bool> = self.normals.iter().map(|n| n.dot(normal) > 0.0).collect();
        let flat = |v: u32| {
            let p = self.corners[v as usize];
            DVec2::new(right.dot(p), up.dot(p))
        };
        // Each directed with the body on its left: every corner of the rim starts one.
        let rim: Vec<[DVec2; 2]> = self
            .edges
            .iter()
            .filter_map(|e| match (faces[e[2] as usize], faces[e[3] as usize]) {
                (true, false) => Some([flat(e[0]), flat(e[1])]),
                (false, true) => Some([flat(e[1]), flat(e[0])]),
                _ => None,
            })
            .collect();
        let (mut best, mut side) = (f64::INFINITY, DVec2::X);
        for [a, b] in &rim {
            let Some(along) = (*b - *a).try_normalize() else {
                continue;
            };
            let none = (DVec2::INFINITY, DVec2::NEG_INFINITY);
            let (low, high) = rim.iter().fold(none, |(low, high), [p, _]| {
                let q = DVec2::new(along.dot(*p), along.perp_dot(*p));
                (low.min(q), high.max(q))
            });
            let area = (high - low).element_product();
            if area < best {
                (best, side) = (area, along);
            }
        }
        let none = (f64::INFINITY, f64::NEG_INFINITY);
        let (low, high) = self.corners.iter().fold(none, |(low, high), p| {
            let d = normal.dot(*p);
            (low.min(d), high.max(d))
        });
        let along = right * side.x + up * side.y;
        let axes = DMat3::from_cols(along, normal.cross(along), normal);
        (
            (best * (high - low)).ln(),
            DQuat::from_mat3(&axes).normalize(),
        )
    }
}
