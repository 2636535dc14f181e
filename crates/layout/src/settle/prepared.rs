//! What settling needs to know of a piece's form, worked out once and kept.

use glam::{DMat3, DVec3};
use solid::{Mesh, Moments};

use super::{parts, sampling};

/// A closed solid with all that settling asks of it. Piece frame, metres.
#[derive(Debug, Clone)]
pub struct Solid {
    mesh: Mesh,
    volume_m3: f64,
    centre_m: DVec3,
    inertia_m5: DMat3,
    hull_m: Vec<DVec3>,
    samples_m: Vec<DVec3>,
    parts: Vec<parts::Part>,
    coarse: Mesh,
    radius_m: f64,
    long_side_m: f64,
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
        let hull_m = parts::hull_points(&mesh.vertices_m)
            .ok_or_else(|| NotSolid("its vertices lie in one plane".to_owned()))?;
        let long_side_m = parts::long_side_m(&hull_m);
        let coarse = parts::coarse(&mesh);
        let parts = parts::convex_parts(&mesh, &coarse, &hull_m, long_side_m);
        let radius_m = hull_m
            .iter()
            .map(|v| v.distance(moments.centre_m))
            .fold(0.0, f64::max);
        let samples_m = sampling::surface_samples(&mesh, &hull_m);
        Ok(Self {
            volume_m3: moments.volume_m3,
            centre_m: moments.centre_m,
            inertia_m5: moments.inertia_m5,
            mesh,
            hull_m,
            samples_m,
            parts,
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

    /// Corners of the convex hull, m.
    #[must_use]
    pub fn hull_m(&self) -> &[DVec3] {
        &self.hull_m
    }

    /// Points of the surface, dense enough to lie on uneven ground, m.
    #[must_use]
    pub fn samples_m(&self) -> &[DVec3] {
        &self.samples_m
    }

    /// Convex parts whose union is the solid, to within [`parts::concavity_limit_m`].
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
