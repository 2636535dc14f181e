//! Volume, centre and inertia of the closed body that a mesh bounds.

use glam::{DMat3, DVec3};
use rayon::prelude::*;

use crate::Mesh;

/// Triangles summed at a time; fixed, so that the thread count never shows.
const CHUNK: usize = 16_384;

/// Exact integrals over a closed mesh of density one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Volume, m³; negative when the mesh is wound inwards.
    pub volume_m3: f64,
    /// Centre of volume in the mesh's frame, m.
    pub centre_m: DVec3,
    /// Inertia about `centre_m` along the mesh's axes at unit density, m⁵.
    pub inertia_m5: DMat3,
}

impl Moments {
    /// Integrates over the closed body bounded by `mesh`.
    ///
    /// # Equation
    /// Signed tetrahedra from the middle of the bounding box: for one with
    /// corners 0, a, b, c and determinant d = a·(b×c): V = d/6,
    /// ∫x = d/24 (a+b+c), ∫x xᵀ = d/120 (aaᵀ + bbᵀ + ccᵀ + (a+b+c)(a+b+c)ᵀ).
    ///
    /// # Accuracy
    /// Exact but for rounding; the middle of the box keeps far-off files accurate.
    ///
    /// # Source
    /// B. Mirtich, Fast and accurate computation of polyhedral mass properties,
    /// J. Graphics Tools 1 (1996); D. Eberly, Polyhedral mass properties (revisited).
    #[must_use]
    pub fn of(mesh: &Mesh) -> Self {
        let middle = mesh
            .bounds()
            .map_or(DVec3::ZERO, |(low, high)| 0.5 * (low + high));
        let sums: Vec<(f64, DVec3, DMat3)> = mesh
            .triangles
            .par_chunks(CHUNK)
            .map(|chunk| {
                let (mut volume, mut first, mut second) = (0.0, DVec3::ZERO, DMat3::ZERO);
                for triangle in chunk {
                    let [a, b, c] = triangle.map(|v| mesh.vertices_m[v as usize] - middle);
                    let d = a.dot(b.cross(c));
                    let sum = a + b + c;
                    volume += d / 6.0;
                    first += sum * (d / 24.0);
                    second += (outer(a) + outer(b) + outer(c) + outer(sum)) * (d / 120.0);
                }
                (volume, first, second)
            })
            .collect();
        let (mut volume, mut first, mut second) = (0.0, DVec3::ZERO, DMat3::ZERO);
        for part in sums {
            volume += part.0;
            first += part.1;
            second += part.2;
        }
        let offset = if volume == 0.0 {
            DVec3::ZERO
        } else {
            first / volume
        };
        let central = second - outer(offset) * volume;
        let trace = central.x_axis.x + central.y_axis.y + central.z_axis.z;
        Self {
            volume_m3: volume,
            centre_m: middle + offset,
            inertia_m5: DMat3::from_diagonal(DVec3::splat(trace)) - central,
        }
    }
}

fn outer(v: DVec3) -> DMat3 {
    DMat3::from_cols(v * v.x, v * v.y, v * v.z)
}
