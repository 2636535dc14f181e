//! Where rays meet a mesh, what is nearest, what is inside.
//!
//! [`Bvh`] is a tree of boxes over the triangles of one mesh; [`Instances`]
//! is the same over placed meshes. Boxes are single precision and padded so
//! that they never lose a triangle; every triangle test is in f64.

mod build;
mod inside;
mod instances;
mod pairs;
mod tree;
mod triangle;

use glam::DVec3;

pub use instances::{Instance, InstanceHit, Instances, Placement};

use crate::Mesh;
use tree::{RaySlabs, Tree};
use triangle::{Corners, Shear, Ties};

/// A half-line, or a piece of one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ray {
    /// Where distance 0 is, m.
    pub origin_m: DVec3,
    /// Unit direction. Of another length, distances come in that length's unit.
    pub direction: DVec3,
    /// Hits nearer than this are passed over, m.
    pub least_m: f64,
    /// Hits further than this are passed over, m; may be infinite.
    pub most_m: f64,
}

impl Ray {
    /// The whole half-line from `origin_m` along the unit vector `direction`.
    #[must_use]
    pub fn new(origin_m: DVec3, direction: DVec3) -> Self {
        Self {
            origin_m,
            direction,
            least_m: 0.0,
            most_m: f64::INFINITY,
        }
    }

    /// The point at a distance along the ray, m.
    #[must_use]
    pub fn at(&self, distance_m: f64) -> DVec3 {
        self.origin_m + self.direction * distance_m
    }
}

/// Where a ray meets a triangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    /// Distance from the ray's origin, m.
    pub distance_m: f64,
    /// Which triangle of the mesh.
    pub triangle: u32,
    /// Weights of the triangle's three corners; they sum to 1.
    pub barycentric: [f64; 3],
    /// Whether the ray meets the outer side: it goes into the body.
    pub enters: bool,
}

/// The point of a mesh that is nearest to a given one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closest {
    /// The nearest point on the mesh, m.
    pub point_m: DVec3,
    /// How far away it is, m.
    pub distance_m: f64,
    /// The triangle it lies on.
    pub triangle: u32,
}

/// A bounding-volume hierarchy over the triangles of one mesh.
#[derive(Debug, Clone)]
pub struct Bvh {
    tree: Tree,
    /// Corners in the tree's order, so that a leaf reads one stretch of memory.
    corners_m: Vec<Corners>,
}

impl Bvh {
    /// Builds the tree over all triangles of `mesh`.
    ///
    /// Binned by the surface-area heuristic; the same tree whatever the number
    /// of threads. Triangles with a corner that is not finite are left out.
    ///
    /// # Source
    /// I. Wald, On fast construction of SAH-based bounding volume hierarchies,
    /// IEEE Symposium on Interactive Ray Tracing (2007).
    #[must_use]
    pub fn build(mesh: &Mesh) -> Self {
        let boxes: Vec<(u32, DVec3, DVec3)> = (0..mesh.triangles.len())
            .filter_map(|t| {
                let [a, b, c] = mesh.corners(t);
                let finite = a.is_finite() && b.is_finite() && c.is_finite();
                finite.then(|| (t as u32, a.min(b).min(c), a.max(b).max(c)))
            })
            .collect();
        let tree = build::tree(&boxes);
        let corners_m = tree
            .order
            .iter()
            .map(|t| mesh.corners(*t as usize))
            .collect();
        Self { tree, corners_m }
    }

    /// How many triangles the tree holds.
    #[must_use]
    pub fn n_triangles(&self) -> usize {
        self.corners_m.len()
    }

    /// Least and greatest corner of the box round all triangles, m; `None` without triangles.
    #[must_use]
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        self.tree.bounds_m
    }

    /// The nearest hit between the ray's two distances.
    ///
    /// Both sides of a triangle are hit, its edges and corners included: a ray
    /// never slips between neighbours. Of hits at one distance the triangle
    /// with the least index counts.
    ///
    /// # Source
    /// S. Woop, C. Benthin, I. Wald, Watertight ray/triangle intersection,
    /// J. Computer Graphics Techniques 2(1) (2013).
    #[must_use]
    pub fn first_hit(&self, ray: &Ray) -> Option<Hit> {
        let shear = Shear::of(ray)?;
        let mut best: Option<Hit> = None;
        let slabs = RaySlabs::of(&self.tree, ray)?;
        self.tree.visit_ray(&slabs, |first, count, most_m| {
            for place in first..first + count {
                let corners = &self.corners_m[place];
                let Some(hit) = shear.hit(corners, ray.least_m, *most_m, Ties::Inclusive) else {
                    continue;
                };
                let triangle = self.tree.order[place];
                let nearer =
                    best.is_none_or(|b| (hit.distance_m, triangle) < (b.distance_m, b.triangle));
                if nearer {
                    *most_m = hit.distance_m;
                    best = Some(hit.of(triangle));
                }
            }
            true
        });
        best
    }

    /// Whether anything lies between the ray's two distances; quicker than [`Bvh::first_hit`].
    #[must_use]
    pub fn any_hit(&self, ray: &Ray) -> bool {
        let (Some(shear), Some(slabs)) = (Shear::of(ray), RaySlabs::of(&self.tree, ray)) else {
            return false;
        };
        let mut found = false;
        self.tree.visit_ray(&slabs, |first, count, most_m| {
            found = self.corners_m[first..first + count].iter().any(|corners| {
                shear
                    .hit(corners, ray.least_m, *most_m, Ties::Inclusive)
                    .is_some()
            });
            !found
        });
        found
    }

    /// All hits between the ray's two distances, nearest first.
    ///
    /// A ray through an edge or a corner is taken as one moved aside by an
    /// infinitely small amount, the same for all triangles. Through a closed
    /// mesh, hits that enter and hits that leave therefore always balance.
    #[must_use]
    pub fn all_hits(&self, ray: &Ray) -> Vec<Hit> {
        let mut hits = Vec::new();
        self.for_all_hits(ray, |hit| hits.push(hit));
        hits.sort_by(|a, b| {
            a.distance_m
                .total_cmp(&b.distance_m)
                .then(a.triangle.cmp(&b.triangle))
        });
        hits
    }

    /// Calls `take` with every hit, in no useful order.
    pub fn for_all_hits(&self, ray: &Ray, mut take: impl FnMut(Hit)) {
        let (Some(shear), Some(slabs)) = (Shear::of(ray), RaySlabs::of(&self.tree, ray)) else {
            return;
        };
        self.tree.visit_ray(&slabs, |first, count, most_m| {
            for place in first..first + count {
                let corners = &self.corners_m[place];
                if let Some(hit) = shear.hit(corners, ray.least_m, *most_m, Ties::MovedAside) {
                    take(hit.of(self.tree.order[place]));
                }
            }
            true
        });
    }

    /// The point of the mesh nearest to `point_m`, if one lies within `most_m`.
    ///
    /// Of points at one distance the triangle with the least index counts.
    ///
    /// # Source
    /// Point to triangle: C. Ericson, Real-time collision detection (2005), 5.1.5.
    #[must_use]
    pub fn closest(&self, point_m: DVec3, most_m: f64) -> Option<Closest> {
        if !point_m.is_finite() || most_m.is_nan() || most_m < 0.0 {
            return None;
        }
        let mut best: Option<Closest> = None;
        let mut best_square = most_m * most_m;
        self.tree
            .visit_near(point_m, most_m, |first, count, within_m| {
                for place in first..first + count {
                    let nearest = triangle::nearest(&self.corners_m[place], point_m);
                    let square = nearest.distance_squared(point_m);
                    let triangle = self.tree.order[place];
                    let nearer = match best {
                        None => square <= best_square,
                        Some(b) => {
                            square < best_square || (square == best_square && triangle < b.triangle)
                        }
                    };
                    if nearer {
                        best_square = square;
                        *within_m = square.sqrt();
                        best = Some(Closest {
                            point_m: nearest,
                            distance_m: *within_m,
                            triangle,
                        });
                    }
                }
            });
        best
    }
}
