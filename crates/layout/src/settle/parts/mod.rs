//! Which convex parts stand in for a solid when pieces touch each other.

mod concavity;
mod cut;

use glam::DVec3;
use parry3d_f64::shape::ConvexPolyhedron;
use solid::{
    Mesh,
    bvh::Bvh,
    hull::{Hull, convex_hull},
};

use super::sampling::Samples;
use cut::{Cell, Chunk};

/// Most parts of one solid; one that would need more is met as a distance field.
pub const MOST_PARTS: usize = 12;
/// How far parts may stand proud of the true surface, m.
pub const PROUD_M: f64 = 1e-4;
/// A part of more corners than this makes its solid one to be met as a field too:
/// asking for its deepest corner takes longer than looking distances up.
pub(crate) const MOST_CORNERS: usize = 136;
/// A scan of more triangles is met as a distance field without a try.
const MOST_TRIANGLES: usize = 3000;
/// A body with faces in more planes than this is rounded or rough, not built.
const MOST_PLANES: usize = 150;
/// Spacing of the points by which a part meets a distance field, m.
const SPACING_M: f64 = 4e-3;
/// A hull this little larger than its solid, as a share, is the solid.
const CONVEX: f64 = 1e-6;

/// One convex part, in the piece frame, m.
#[derive(Debug, Clone)]
pub struct Part {
    /// Corners of its hull.
    pub points_m: Vec<DVec3>,
    /// The same hull with its faces and edges.
    pub polyhedron: ConvexPolyhedron,
    /// Corners, and points of edges and faces.
    pub(crate) samples: Samples,
    pub(crate) low: DVec3,
    pub(crate) high: DVec3,
}

impl Part {
    pub(crate) fn of(hull: &Hull) -> Option<Self> {
        let polyhedron =
            ConvexPolyhedron::from_convex_mesh(hull.vertices_m.clone(), &hull.triangles)
                .or_else(|| ConvexPolyhedron::from_convex_hull(&hull.vertices_m))?;
        let (low, high) = hull
            .vertices_m
            .iter()
            .fold((DVec3::MAX, DVec3::MIN), |(low, high), p| {
                (low.min(*p), high.max(*p))
            });
        Some(Self {
            points_m: hull.vertices_m.clone(),
            polyhedron,
            samples: Samples::of(samples(hull)),
            low,
            high,
        })
    }

    /// How far a point of the piece frame is above the part's nearest face, m, and
    /// that face's normal.
    pub(crate) fn above(&self, point_m: DVec3) -> (f64, DVec3) {
        let body = &self.polyhedron;
        body.faces()
            .iter()
            .map(|face| {
                let corner = body.points()
                    [body.vertices_adj_to_face()[face.first_vertex_or_edge as usize] as usize];
                ((point_m - corner).dot(face.normal), face.normal)
            })
            .fold((f64::MIN, DVec3::Z), |a, b| if b.0 > a.0 { b } else { a })
    }
}

/// Corners of a hull, and points of its edges and faces about [`SPACING_M`] apart.
fn samples(hull: &Hull) -> Vec<DVec3> {
    let mut points = hull.vertices_m.clone();
    for t in 0..hull.triangles.len() {
        let [a, b, c] = hull.corners(t);
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        let n = ((longest / SPACING_M).ceil() as usize).clamp(1, 100);
        for i in 0..=n {
            for j in 0..=n - i {
                let corner = (i == 0 && (j == 0 || j == n)) || i == n;
                if !corner {
                    let (u, v) = (i as f64 / n as f64, j as f64 / n as f64);
                    points.push(a + u * (b - a) + v * (c - a));
                }
            }
        }
    }
    points
}

/// Convex parts whose union is the solid, to within [`PROUD_M`]; `None` when that
/// takes more than [`MOST_PARTS`].
///
/// The part that stands proudest is cut by a plane until none stands proud.
/// Planes tried go through the places where it stands proudest, along the faces
/// there and into the solid; the one is taken whose two hulls clear most of the
/// room between hull and solid. A convex solid is one part: its hull.
///
/// Parts that stand proud by the usual 2 mm or 1 % were tried for scans too: a
/// weathered stone took over a hundred of them and seconds to cut, and pieces
/// that touch exactly overlapped by what the parts stand proud.
///
/// # Source
/// Of the family of J.-M. Lien, N. M. Amato, Approximate convex decomposition of
/// polyhedra, SPM (2007); the order and the choice of planes are our own.
pub(crate) fn convex_parts(
    mesh: &Mesh,
    volume_m3: f64,
    bvh: &Bvh,
    hull: &Hull,
) -> Option<Vec<Part>> {
    if hull.volume_m3() <= volume_m3 * (1.0 + CONVEX) {
        return Part::of(hull).map(|part| vec![part]);
    }
    if mesh.triangles.len() > MOST_TRIANGLES || n_planes(mesh) > MOST_PLANES {
        return None;
    }
    let mut chunks = vec![Chunk::whole(mesh, hull.clone(), bvh, SPACED_M)];
    loop {
        let worst = (0..chunks.len()).fold(0, |w, i| {
            if chunks[i].proud.depth_m > chunks[w].proud.depth_m {
                i
            } else {
                w
            }
        });
        if chunks[worst].proud.depth_m <= PROUD_M {
            break;
        }
        if chunks.len() == MOST_PARTS {
            return None;
        }
        let [a, b] = chunks[worst].split(mesh, bvh, SPACED_M)?;
        chunks[worst] = a;
        chunks.push(b);
    }
    chunks
        .iter()
        .map(|chunk| Part::of(&hull_of_cell(mesh, &chunk.cell, &chunk.hull)))
        .collect()
}

/// Spacing of the samples that find where a hull stands proud, m.
const SPACED_M: f64 = 4e-3;

/// Planes in which a mesh's faces lie, roughly: by their normals to a thousandth.
fn n_planes(mesh: &Mesh) -> usize {
    let normals: std::collections::BTreeSet<[i32; 3]> = (0..mesh.triangles.len())
        .filter_map(|t| {
            let [a, b, c] = mesh.corners(t);
            let normal = (b - a).cross(c - a).try_normalize()?;
            Some((normal * 1e3).round().to_array().map(|v| v as i32))
        })
        .collect();
    normals.len()
}

/// Hull of what the full mesh has in a cell.
fn hull_of_cell(mesh: &Mesh, cell: &Cell, coarse_hull: &Hull) -> Hull {
    convex_hull(&cell.points_of(mesh)).unwrap_or_else(|_| coarse_hull.clone())
}

/// A mesh of so many triangles, or of more where that would be off by more than
/// `error_m`; its corners are corners of the full one.
pub(crate) fn coarse(mesh: &Mesh, n_triangles: usize, error_m: f64) -> Mesh {
    if mesh.triangles.len() <= n_triangles {
        return mesh.clone();
    }
    let Some((low, high)) = mesh.bounds() else {
        return mesh.clone();
    };
    let middle = 0.5 * (low + high);
    let points: Vec<[f32; 3]> = mesh
        .vertices_m
        .iter()
        .map(|v| {
            let v = *v - middle;
            [v.x as f32, v.y as f32, v.z as f32]
        })
        .collect();
    let indices: Vec<u32> = mesh.triangles.iter().flatten().copied().collect();
    let kept = meshopt::simplify_decoder(
        &indices,
        &points,
        3 * n_triangles,
        (error_m / (high - low).max_element()) as f32,
        meshopt::SimplifyOptions::None,
        None,
    );
    let triangles: Vec<[u32; 3]> = kept.chunks_exact(3).map(|t| [t[0], t[1], t[2]]).collect();
    compact(mesh, triangles)
}

/// A mesh with the corners that its triangles use.
fn compact(mesh: &Mesh, triangles: Vec<[u32; 3]>) -> Mesh {
    let mut place = vec![u32::MAX; mesh.vertices_m.len()];
    let mut vertices_m = Vec::new();
    let triangles = triangles
        .into_iter()
        .map(|t| {
            t.map(|v| {
                let slot = &mut place[v as usize];
                if *slot == u32::MAX {
                    *slot = vertices_m.len() as u32;
                    vertices_m.push(mesh.vertices_m[v as usize]);
                }
                *slot
            })
        })
        .collect();
    Mesh {
        vertices_m,
        triangles,
        colours: Vec::new(),
    }
}
