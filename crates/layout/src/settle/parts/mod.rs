//! Which convex parts stand in for a solid when pieces touch each other.

mod concavity;
mod cut;
mod few;

use glam::DVec3;
use parry3d_f64::shape::ConvexPolyhedron;
use solid::{
    Mesh,
    bvh::Bvh,
    hull::{Hull, convex_hull},
};

use cut::{Cell, Chunk};

/// Most parts of one solid. A solid that would need more keeps the deepest
/// concavity that is left.
pub const MOST_PARTS: usize = 64;
/// A hull this little larger than its solid, as a share, is the solid.
const CONVEX: f64 = 1e-6;

/// One convex part, in the piece frame, m.
#[derive(Debug, Clone)]
pub struct Part {
    /// Corners of its hull.
    pub points_m: Vec<DVec3>,
    /// The hull that collides: of all corners, or of enough of them.
    pub polyhedron: ConvexPolyhedron,
    low: DVec3,
    high: DVec3,
}

impl Part {
    fn of(hull: &Hull) -> Option<Self> {
        let polyhedron = few::polyhedron(hull)?;
        let (low, high) = hull
            .vertices_m
            .iter()
            .fold((DVec3::MAX, DVec3::MIN), |(low, high), p| {
                (low.min(*p), high.max(*p))
            });
        Some(Self {
            points_m: hull.vertices_m.clone(),
            polyhedron,
            low,
            high,
        })
    }

    /// Whether a point of the piece frame is inside, or within `near_m` of being.
    #[must_use]
    pub fn contains(&self, point_m: DVec3, near_m: f64) -> bool {
        let near = DVec3::splat(near_m);
        let body = &self.polyhedron;
        point_m.cmpge(self.low - near).all()
            && point_m.cmple(self.high + near).all()
            && body.faces().iter().all(|face| {
                let corner = body.points()
                    [body.vertices_adj_to_face()[face.first_vertex_or_edge as usize] as usize];
                (point_m - corner).dot(face.normal) <= near_m
            })
    }
}

/// How far the parts may stand proud of the true surface: the larger of 2 mm and
/// 1 % of the long side, m.
#[must_use]
pub fn concavity_limit_m(long_side_m: f64) -> f64 {
    (0.01 * long_side_m).max(2e-3)
}

/// Convex parts whose union holds the solid and stands proud of it by at most
/// [`concavity_limit_m`], unless that takes more than [`MOST_PARTS`].
///
/// The part that stands proudest is cut by a plane until none stands too proud.
/// Planes tried go through the places where it stands proudest, along the faces
/// there and across its principal axes; the one is taken whose two hulls
/// together are smallest. A convex solid is one part: its hull.
///
/// # Source
/// Of the family of J.-M. Lien, N. M. Amato, Approximate convex decomposition of
/// polyhedra, SPM (2007); the order and the choice of planes are our own.
pub(crate) fn convex_parts(
    mesh: &Mesh,
    volume_m3: f64,
    bvh: &Bvh,
    hull: &Hull,
    long_side_m: f64,
) -> Vec<Part> {
    if hull.volume_m3() <= volume_m3 * (1.0 + CONVEX) {
        return Part::of(hull).into_iter().collect();
    }
    let limit_m = concavity_limit_m(long_side_m);
    let coarse = coarse(mesh, COARSE_TRIANGLES);
    let whole = Chunk::whole(&coarse, hull.clone(), bvh, limit_m);
    let mut chunks = vec![whole];
    while chunks.len() < MOST_PARTS {
        let worst = (0..chunks.len()).fold(0, |w, i| {
            if chunks[i].proud.depth_m > chunks[w].proud.depth_m {
                i
            } else {
                w
            }
        });
        if chunks[worst].proud.depth_m <= limit_m {
            break;
        }
        match chunks[worst].split(mesh, bvh, limit_m) {
            Some([a, b]) => {
                chunks[worst] = a;
                chunks.push(b);
            }
            None => chunks[worst].proud.depth_m = 0.0,
        }
    }
    if let [only] = chunks.as_slice() {
        debug_assert!(only.cell.planes.is_empty());
        return Part::of(hull).into_iter().collect();
    }
    let parts: Vec<Part> = chunks
        .iter()
        .filter_map(|chunk| part_of_cell(mesh, &chunk.cell, &chunk.hull))
        .collect();
    if parts.is_empty() {
        return Part::of(hull).into_iter().collect();
    }
    parts
}

/// The part that the full mesh has in a cell.
fn part_of_cell(mesh: &Mesh, cell: &Cell, coarse_hull: &Hull) -> Option<Part> {
    let points = cell.points_of(mesh);
    match convex_hull(&points) {
        Ok(hull) => Part::of(&hull),
        Err(_) => Part::of(coarse_hull),
    }
}

/// Triangles on which cuts are chosen.
const COARSE_TRIANGLES: usize = 600;

/// A mesh of about so many triangles, its corners corners of the full one.
pub(crate) fn coarse(mesh: &Mesh, n_triangles: usize) -> Mesh {
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
        1.0,
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
