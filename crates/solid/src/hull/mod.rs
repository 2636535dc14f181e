//! The convex hull of a piece: its corners, its triangles and its flat facets.

pub(crate) mod cells;
mod corners;
mod facets;
mod prefilter;
mod quickhull;

use glam::DVec3;

use crate::SolidError;

/// Points this close outside a face, as a share of the bounding diagonal, are
/// taken as on it: 0.02 nm on a piece of 20 cm, far below any scan.
const SKIN: f64 = 1e-10;
/// What is thinner than this share of its diagonal has no hull.
const FLAT: f64 = 1e-9;

/// A bounded convex body with flat facets.
#[derive(Debug, Clone, PartialEq)]
pub struct Hull {
    /// The corners, metres, in the frame of the points it was made of.
    pub vertices_m: Vec<DVec3>,
    /// Index of each corner among the points that the hull was made of.
    pub sources: Vec<u32>,
    /// Triangles, anticlockwise seen from outside; indices into `vertices_m`.
    pub triangles: Vec<[u32; 3]>,
    /// The triangle across each triangle's edge `i → i + 1`.
    pub neighbours: Vec<[u32; 3]>,
    /// Triangles that lie in one plane, together; ordered by their first triangle's area, falling.
    pub facets: Vec<Facet>,
    /// The facet of each triangle.
    pub facet_of: Vec<u32>,
    /// Diagonal of the box along the axes, metres.
    pub diagonal_m: f64,
}

/// Hull triangles within 0.02° and 2e-6 of the diagonal of one plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Facet {
    /// Outward unit normal.
    pub normal: DVec3,
    /// Greatest `normal · corner` of its corners, metres: the floor's plane when the piece lies on it.
    pub offset_m: f64,
    /// Indices into the hull's triangles, rising.
    pub triangles: Vec<u32>,
    /// Edges of the rim, each as (from, to, facet across), inside to the left seen from outside.
    pub rim: Vec<RimEdge>,
    /// Area of the triangles, square metres.
    pub area_m2: f64,
}

/// One edge of a facet's rim.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RimEdge {
    /// Hull corner where it starts.
    pub from: u32,
    /// Hull corner where it ends.
    pub to: u32,
    /// The facet on its other side.
    pub across: u32,
}

impl Hull {
    /// Enclosed volume, cubic metres.
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        let Some(&origin) = self.vertices_m.first() else {
            return 0.0;
        };
        self.triangles
            .iter()
            .map(|&triangle| {
                let [a, b, c] = triangle.map(|v| self.vertices_m[v as usize] - origin);
                a.dot(b.cross(c)) / 6.0
            })
            .sum()
    }

    /// Surface, square metres.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        self.facets.iter().map(|facet| facet.area_m2).sum()
    }

    /// Corners of triangle `index`, metres.
    #[must_use]
    pub fn corners(&self, index: usize) -> [DVec3; 3] {
        self.triangles[index].map(|v| self.vertices_m[v as usize])
    }

    /// Least and greatest `direction · corner`, metres (for a unit direction).
    #[must_use]
    pub fn extent(&self, direction: DVec3) -> (f64, f64) {
        self.vertices_m
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                let along = direction.dot(*v);
                (low.min(along), high.max(along))
            })
    }

    /// Every edge once, as its two corners and the two triangles beside it.
    #[must_use]
    pub fn edges(&self) -> Vec<HullEdge> {
        let mut edges = Vec::with_capacity(self.triangles.len() * 3 / 2);
        for (index, (triangle, across)) in self.triangles.iter().zip(&self.neighbours).enumerate() {
            for side in 0..3 {
                if (index as u32) < across[side] {
                    edges.push(HullEdge {
                        corners: [triangle[side], triangle[(side + 1) % 3]],
                        triangles: [index as u32, across[side]],
                    });
                }
            }
        }
        edges
    }
}

/// An edge between two hull triangles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HullEdge {
    /// Its corners, in the order of the first triangle.
    pub corners: [u32; 2],
    /// The triangles on its left and right.
    pub triangles: [u32; 2],
}

/// The convex hull of `points_m`.
///
/// Quickhull with exact sidedness: a face is removed only when the exact sign
/// of the orientation determinant says that the new corner lies outside it, so
/// grids of coplanar or cocircular points never tear the surface.
/// Only true corners are kept: points inside a flat facet or along a straight
/// edge are not.
///
/// # Accuracy
/// The hull's corners are input points. Points that are left outside it lie
/// within 1e-10 of the diagonal of one of its faces.
///
/// # Errors
/// [`SolidError::Degenerate`] for fewer than four points, points that are not
/// finite, or points that lie in one plane within 1e-9 of their diagonal.
///
/// # Source
/// C. B. Barber, D. P. Dobkin, H. Huhdanpaa, The Quickhull algorithm for convex
/// hulls, ACM TOMS 22 (1996); predicates: J. R. Shewchuk, Adaptive precision
/// floating-point arithmetic, Discrete & Computational Geometry 18 (1997).
pub fn convex_hull(points_m: &[DVec3]) -> Result<Hull, SolidError> {
    let (low, high) = bounds(points_m)?;
    let diagonal_m = low.distance(high);
    let skin_m = SKIN * diagonal_m;
    let flatness_m = FLAT * diagonal_m;
    let centred = about_middle(points_m, low, high);
    let mut kept = prefilter::candidates(&centred, skin_m, flatness_m)?;
    let mut faces = quickhull::faces(&centred, &kept, skin_m, flatness_m)?;
    for _ in 0..8 {
        let corners = corners::true_corners(&centred, &faces, 0.1 * skin_m);
        if corners.len() == corners::n_corners(&faces) {
            break;
        }
        kept = corners;
        faces = quickhull::faces(&centred, &kept, skin_m, flatness_m)?;
    }
    Ok(assemble(points_m, faces, diagonal_m))
}

/// A hull of fewer corners, all of them points, which leaves none further
/// outside a face than `skin_m`.
pub(crate) fn convex_hull_within(points_m: &[DVec3], skin_m: f64) -> Result<Hull, SolidError> {
    let (low, high) = bounds(points_m)?;
    let diagonal_m = low.distance(high);
    let centred = about_middle(points_m, low, high);
    let all: Vec<u32> = (0..points_m.len() as u32).collect();
    let faces = quickhull::faces(&centred, &all, skin_m, FLAT * diagonal_m)?;
    Ok(assemble(points_m, faces, diagonal_m))
}

/// The points about the middle of their box, where rounding is least.
fn about_middle(points_m: &[DVec3], low: DVec3, high: DVec3) -> Vec<DVec3> {
    let middle = 0.5 * (low + high);
    points_m.iter().map(|p| *p - middle).collect()
}

/// Box along the axes, refusing what has no extent.
fn bounds(points_m: &[DVec3]) -> Result<(DVec3, DVec3), SolidError> {
    if points_m.len() < 4 {
        return Err(flat("fewer than four points"));
    }
    let mut low = points_m[0];
    let mut high = points_m[0];
    for point in points_m {
        if !point.is_finite() {
            return Err(flat("a corner whose coordinates are not finite numbers"));
        }
        low = low.min(*point);
        high = high.max(*point);
    }
    let diagonal = low.distance(high);
    if !(1e-30..=1e30).contains(&diagonal) {
        return Err(flat("points without a measurable extent"));
    }
    Ok((low, high))
}

/// The error for what encloses no volume.
fn flat(what: &str) -> SolidError {
    SolidError::Degenerate {
        reason: format!("the scan has {what}: no convex hull"),
        hint: "export the scan again as a closed surface with thickness".into(),
    }
}

/// Numbers the corners by their order among the points, and merges facets.
fn assemble(points_m: &[DVec3], faces: Vec<quickhull::Face>, diagonal_m: f64) -> Hull {
    let (sources, place) = corners::corners(points_m.len(), &faces);
    let number = |source: u32| place[source as usize];
    let triangles: Vec<[u32; 3]> = faces.iter().map(|f| f.corners.map(number)).collect();
    let mut hull = Hull {
        vertices_m: sources.iter().map(|s| points_m[*s as usize]).collect(),
        sources,
        triangles,
        neighbours: faces.iter().map(|face| face.across).collect(),
        facets: Vec::new(),
        facet_of: Vec::new(),
        diagonal_m,
    };
    facets::merge(&mut hull);
    hull
}
