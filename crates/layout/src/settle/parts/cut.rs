//! Along which plane a part is cut in two.

use glam::{DMat3, DVec3};
use parry3d_f64::math::MatExt;
use rayon::prelude::*;
use solid::{
    Mesh,
    bvh::Bvh,
    hull::{Hull, convex_hull},
};

use super::concavity::{Proud, proud};

/// Points this near to a plane belong to both sides, m.
const ON_PLANE_M: f64 = 1e-9;
/// How much an uneven cut counts against its smaller hulls.
const UNEVEN: f64 = 0.05;
/// How much the volume of the two hulls counts beside the room they clear.
const VOLUME: f64 = 0.5;
/// Into how many directions cuts turn at the proudest place and the next ones.
const TURNS: [u32; 2] = [8, 4];

/// A plane: points with `normal · p = offset`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plane {
    normal: DVec3,
    offset: f64,
}

impl Plane {
    fn through(point: DVec3, normal: DVec3) -> Self {
        Self {
            normal,
            offset: normal.dot(point),
        }
    }

    fn above(&self, point: DVec3) -> f64 {
        self.normal.dot(point) - self.offset
    }

    fn flipped(&self) -> Self {
        Self {
            normal: -self.normal,
            offset: -self.offset,
        }
    }
}

/// The room that cuts have left to a part: what lies below all planes.
#[derive(Debug, Clone, Default)]
pub(super) struct Cell {
    /// The planes.
    pub planes: Vec<Plane>,
}

impl Cell {
    /// Corners of what a mesh has in the cell.
    pub fn points_of(&self, mesh: &Mesh) -> Vec<DVec3> {
        let mut points = Vec::new();
        for t in 0..mesh.triangles.len() {
            let mut polygon = mesh.corners(t).to_vec();
            for plane in &self.planes {
                polygon = below(&polygon, plane);
                if polygon.is_empty() {
                    break;
                }
            }
            points.extend(polygon);
        }
        points
    }
}

/// What of a polygon lies below a plane (Sutherland–Hodgman).
fn below(polygon: &[DVec3], plane: &Plane) -> Vec<DVec3> {
    if polygon.iter().all(|p| plane.above(*p) >= -ON_PLANE_M) {
        return Vec::new();
    }
    let mut kept = Vec::with_capacity(polygon.len() + 1);
    for (i, p) in polygon.iter().enumerate() {
        let q = polygon[(i + 1) % polygon.len()];
        let (hp, hq) = (plane.above(*p), plane.above(q));
        if hp <= ON_PLANE_M {
            kept.push(*p);
        }
        if (hp > ON_PLANE_M && hq < -ON_PLANE_M) || (hp < -ON_PLANE_M && hq > ON_PLANE_M) {
            kept.push(*p + (q - *p) * (hp / (hp - hq)));
        }
    }
    kept
}

/// A part on its way: its room, its corners and edges, and its hull.
#[derive(Debug, Clone)]
pub(super) struct Chunk {
    /// The room.
    pub cell: Cell,
    /// Hull of the coarse corners in it.
    pub hull: Hull,
    /// Where that hull stands proud.
    pub proud: Proud,
    wires: Wires,
}

/// Corners and edges of a surface: all that a hull of what a plane leaves needs.
#[derive(Debug, Clone)]
struct Wires {
    points: Vec<DVec3>,
    edges: Vec<[u32; 2]>,
}

impl Wires {
    fn of(mesh: &Mesh) -> Self {
        let mut edges: Vec<[u32; 2]> = mesh
            .triangles
            .iter()
            .flat_map(|t| [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]])
            .map(|[a, b]| [a.min(b), a.max(b)])
            .collect();
        edges.sort_unstable();
        edges.dedup();
        Self {
            points: mesh.vertices_m.clone(),
            edges,
        }
    }

    /// What lies below a plane, edges cut at it.
    fn below(&self, plane: &Plane) -> Self {
        let heights: Vec<f64> = self.points.iter().map(|p| plane.above(*p)).collect();
        // A corner on the plane belongs below only if an edge leads there: a face
        // in the plane bounds one side alone.
        let mut joins_below = vec![false; self.points.len()];
        for [a, b] in &self.edges {
            joins_below[*a as usize] |= heights[*b as usize] < -ON_PLANE_M;
            joins_below[*b as usize] |= heights[*a as usize] < -ON_PLANE_M;
        }
        let mut place = vec![u32::MAX; self.points.len()];
        let mut points = Vec::new();
        for (i, p) in self.points.iter().enumerate() {
            if heights[i] < -ON_PLANE_M || (heights[i] <= ON_PLANE_M && joins_below[i]) {
                place[i] = points.len() as u32;
                points.push(*p);
            }
        }
        let mut edges = Vec::new();
        for [a, b] in &self.edges {
            let (i, j) = (*a as usize, *b as usize);
            match (place[i] != u32::MAX, place[j] != u32::MAX) {
                (true, true) => edges.push([place[i], place[j]]),
                (false, false) => {}
                (first, _) => {
                    let (low, high) = if first { (i, j) } else { (j, i) };
                    if heights[low] < -ON_PLANE_M && heights[high] > ON_PLANE_M {
                        let share = heights[low] / (heights[low] - heights[high]);
                        edges.push([place[low], points.len() as u32]);
                        points.push(
                            self.points[low] + share * (self.points[high] - self.points[low]),
                        );
                    }
                }
            }
        }
        Self { points, edges }
    }
}

impl Chunk {
    /// The uncut solid.
    pub fn whole(coarse: &Mesh, hull: Hull, bvh: &Bvh, spacing_m: f64) -> Self {
        Self {
            cell: Cell::default(),
            proud: proud(&hull, bvh, spacing_m),
            hull,
            wires: Wires::of(coarse),
        }
    }

    /// Cuts along the plane that clears most of the room between hull and solid and
    /// leaves small hulls; `None` when no plane cuts.
    pub fn split(&self, mesh: &Mesh, bvh: &Bvh, spacing_m: f64) -> Option<[Self; 2]> {
        let tried: Vec<Option<(f64, [Side; 2])>> = self
            .candidates(mesh)
            .par_iter()
            .map(|plane| {
                let (low, high) = (self.side(*plane)?, self.side(plane.flipped())?);
                let whole = self.hull.volume_m3();
                let (a, b) = (low.hull.volume_m3() / whole, high.hull.volume_m3() / whole);
                let left = self.voids_left(&[&low.hull, &high.hull]);
                Some((
                    left + VOLUME * (a + b) + UNEVEN * (a - b).abs(),
                    [low, high],
                ))
            })
            .collect();
        let best = tried.into_iter().flatten().reduce(
            |best, next| {
                if next.0 < best.0 { next } else { best }
            },
        );
        let (_, sides) = best?;
        Some(sides.map(|side| {
            let mut cell = self.cell.clone();
            cell.planes.push(side.plane);
            Self {
                cell,
                proud: proud(&side.hull, bvh, spacing_m),
                hull: side.hull,
                wires: side.wires,
            }
        }))
    }

    /// The share of the room between hull and solid, each point by its depth, that
    /// two hulls would still take in.
    fn voids_left(&self, hulls: &[&Hull]) -> f64 {
        let planes: Vec<Vec<(DVec3, f64)>> = hulls.iter().map(|hull| planes_of(hull)).collect();
        let held = |p: DVec3| {
            planes
                .iter()
                .any(|planes| planes.iter().all(|(n, offset)| n.dot(p) <= *offset))
        };
        let all: f64 = self.proud.voids.iter().map(|v| v.1).sum();
        let left: f64 = self
            .proud
            .voids
            .iter()
            .filter(|(p, _)| held(*p))
            .map(|v| v.1)
            .sum();
        if all > 0.0 { left / all } else { 0.0 }
    }

    fn side(&self, plane: Plane) -> Option<Side> {
        let wires = self.wires.below(&plane);
        let hull = convex_hull(&wires.points).ok()?;
        // A side that is nearly the whole was not cut.
        (hull.volume_m3() < 0.999 * self.hull.volume_m3()).then_some(Side { plane, hull, wires })
    }

    fn candidates(&self, mesh: &Mesh) -> Vec<Plane> {
        let axes = principal_axes(&self.hull.vertices_m);
        let mut planes = Vec::new();
        for ((point, triangle), turns) in self.proud.places.iter().zip(TURNS) {
            let [a, b, c] = mesh.corners(*triangle as usize);
            let Some(normal) = (b - a).cross(c - a).try_normalize() else {
                continue;
            };
            // Along the face there, as at an inner edge; and into the solid, as
            // along the bottom of a valley.
            planes.push(Plane::through(*point, normal));
            let (u, v) = normal.any_orthonormal_pair();
            planes.extend((0..turns).map(|k| {
                let (sin, cos) = (std::f64::consts::PI * f64::from(k) / f64::from(turns)).sin_cos();
                Plane::through(*point, cos * u + sin * v)
            }));
        }
        if let Some((point, _)) = self.proud.places.first() {
            planes.extend(axes.map(|axis| Plane::through(*point, axis)));
        }
        planes
    }
}

/// Outward normal and offset of each triangle of a hull.
fn planes_of(hull: &Hull) -> Vec<(DVec3, f64)> {
    (0..hull.triangles.len())
        .map(|t| {
            let [a, b, c] = hull.corners(t);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            (normal, normal.dot(a))
        })
        .collect()
}

struct Side {
    plane: Plane,
    hull: Hull,
    wires: Wires,
}

/// Principal axes of points.
fn principal_axes(points: &[DVec3]) -> [DVec3; 3] {
    let middle = points.iter().sum::<DVec3>() / points.len().max(1) as f64;
    let covariance = points.iter().fold(DMat3::ZERO, |sum, p| {
        let d = *p - middle;
        sum + DMat3::from_cols(d * d.x, d * d.y, d * d.z)
    });
    let axes = covariance.symmetric_eigen().eigenvectors;
    [axes.x_axis, axes.y_axis, axes.z_axis]
}
