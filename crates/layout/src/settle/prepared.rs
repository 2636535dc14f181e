//! What settling needs to know of a piece's form, worked out once and kept.

use glam::{DMat3, DVec3};
use solid::{
    Mesh, Moments,
    bvh::Bvh,
    hull::{Hull, convex_hull},
};

use super::{distance::DistanceField, overlap, parts, sampling};

/// A closed solid with all that settling asks of it. Piece frame, metres.
#[derive(Debug, Clone)]
pub struct Solid {
    mesh: Mesh,
    volume_m3: f64,
    centre_m: DVec3,
    inertia_m5: DMat3,
    hull: Hull,
    hull_m: Vec<DVec3>,
    samples: sampling::Samples,
    inner_m: Vec<DVec3>,
    bvh: Bvh,
    parts: Vec<parts::Part>,
    field: Option<DistanceField>,
    bounds: (DVec3, DVec3),
    coarse: Mesh,
    radius_m: f64,
    long_side_m: f64,
}

/// How far the mesh that buoyancy is stepped with may be off, m.
const STEP_ERROR_M: f64 = 1e-3;
/// Triangles of the mesh that buoyancy is stepped with.
const STEP_TRIANGLES: usize = 1500;

/// Longest side of the box round the points along their axes, m.
fn long_side_m(points_m: &[DVec3]) -> f64 {
    let (low, high) = points_m
        .iter()
        .fold((DVec3::MAX, DVec3::MIN), |(low, high), p| {
            (low.min(*p), high.max(*p))
        });
    (high - low).max_element()
}

/// Why a mesh is no solid.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{0}")]
pub struct NotSolid(pub String);

impl Solid {
    /// Prepares a closed mesh wound outwards.
    ///
    /// # Errors
    /// When the mesh bounds no volume.
    pub fn prepare(mesh: Mesh) -> Result<Self, NotSolid> {
        let moments = Moments::of(&mesh);
        Self::with_moments(mesh, moments)
    }

    /// Prepares a mesh whose volume, centre and inertia were measured elsewhere,
    /// as for a scan with holes.
    ///
    /// # Errors
    /// When the volume is not above zero or the vertices span no body.
    pub fn with_moments(mesh: Mesh, moments: Moments) -> Result<Self, NotSolid> {
        if !(moments.volume_m3 > 0.0 && moments.centre_m.is_finite()) {
            return Err(NotSolid(format!(
                "its volume is {} m³, not above zero",
                moments.volume_m3
            )));
        }
        let hull = convex_hull(&mesh.vertices_m).map_err(|error| NotSolid(error.to_string()))?;
        let hull_m = hull.vertices_m.clone();
        let bvh = Bvh::build(&mesh);
        let long_side_m = long_side_m(&hull_m);
        let coarse = parts::coarse(&mesh, STEP_TRIANGLES, STEP_ERROR_M);
        let parts = parts::convex_parts(&mesh, moments.volume_m3, &bvh, &hull).unwrap_or_default();
        let few = !parts.is_empty()
            && parts
                .iter()
                .all(|p| p.points_m.len() <= parts::MOST_CORNERS);
        let field = if few {
            None
        } else {
            Some(
                DistanceField::of(&mesh, moments.volume_m3, &bvh)
                    .ok_or_else(|| NotSolid("it has no corners".to_owned()))?,
            )
        };
        let bounds = mesh.bounds().unwrap_or_default();
        let radius_m = hull_m
            .iter()
            .map(|v| v.distance(moments.centre_m))
            .fold(0.0, f64::max);
        let samples = sampling::surface_samples(&mesh, &hull_m);
        Ok(Self {
            volume_m3: moments.volume_m3,
            centre_m: moments.centre_m,
            inertia_m5: moments.inertia_m5,
            hull_m,
            hull,
            samples,
            inner_m: overlap::inner_points(&mesh, &bvh),
            bvh,
            parts,
            field,
            bounds,
            mesh,
            coarse,
            radius_m,
            long_side_m,
        })
    }

    /// The full mesh.
    #[must_use]
    pub fn mesh(&self) -> &Mesh {
        &self.mesh
    }

    /// A mesh of fewer triangles with the same outline, for the steps.
    #[must_use]
    pub fn coarse(&self) -> &Mesh {
        &self.coarse
    }

    /// Volume, m³.
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        self.volume_m3
    }

    /// Centre of mass in the piece frame, m.
    #[must_use]
    pub fn centre_m(&self) -> DVec3 {
        self.centre_m
    }

    /// Inertia about the centre of mass at unit density, m⁵.
    #[must_use]
    pub fn inertia_m5(&self) -> DMat3 {
        self.inertia_m5
    }

    /// The convex hull.
    #[must_use]
    pub fn hull(&self) -> &Hull {
        &self.hull
    }

    /// Corners of the convex hull, m.
    #[must_use]
    pub fn hull_m(&self) -> &[DVec3] {
        &self.hull_m
    }

    /// Points of the surface, dense enough to lie on uneven ground, m.
    #[must_use]
    pub fn samples_m(&self) -> &[DVec3] {
        &self.samples.points_m
    }

    /// The same points in groups.
    pub(crate) fn samples(&self) -> &sampling::Samples {
        &self.samples
    }

    /// Points a little inside the surface, m.
    #[must_use]
    pub(crate) fn inner_m(&self) -> &[DVec3] {
        &self.inner_m
    }

    /// The tree over the full mesh.
    #[must_use]
    pub fn bvh(&self) -> &Bvh {
        &self.bvh
    }

    /// Distances to the surface, where the solid is no few convex parts.
    #[must_use]
    pub(crate) fn field(&self) -> Option<&DistanceField> {
        self.field.as_ref()
    }

    /// Least and greatest corner of the box along the piece's axes, m.
    #[must_use]
    pub(crate) fn bounds(&self) -> (DVec3, DVec3) {
        self.bounds
    }

    /// Convex parts whose union is the solid; none when it takes more than a few,
    /// as for most scans. Those are met through the distance to their surface.
    #[must_use]
    pub fn parts(&self) -> &[parts::Part] {
        &self.parts
    }

    /// Distance from the centre of mass to the farthest vertex, m.
    #[must_use]
    pub fn radius_m(&self) -> f64 {
        self.radius_m
    }

    /// Longest side of a box round the solid, m.
    #[must_use]
    pub fn long_side_m(&self) -> f64 {
        self.long_side_m
    }
}
