//! How much of a solid is under water, and where the water pushes.

use glam::DVec3;
use solid::{Mesh, Pose};

use super::scene::{Body, GRAVITY_M_S2, Scene};

/// The water's surface: a plane square to gravity, through the level above the
/// middle of the base.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    point_m: DVec3,
    up: DVec3,
    pub(crate) density_kg_m3: f64,
}

impl Surface {
    /// The surface of a scene's water, where there is any.
    #[must_use]
    pub fn of(scene: &Scene) -> Option<Self> {
        scene.water.map(|water| Self {
            point_m: scene.tank.middle() + DVec3::Z * water.level_m,
            up: -scene.tank.down(),
            density_kg_m3: water.density_kg_m3,
        })
    }

    /// How far a point is above the surface, m.
    #[must_use]
    pub fn above_m(&self, point_m: DVec3) -> f64 {
        (point_m - self.point_m).dot(self.up)
    }
}

/// The part of a solid under water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Submerged {
    /// Its volume, m³.
    pub volume_m3: f64,
    /// Its centre in the tank frame, m.
    pub centre_m: DVec3,
}

impl Submerged {
    /// The buoyancy, N.
    #[must_use]
    pub fn lift_n(&self, surface: &Surface) -> DVec3 {
        surface.up * (surface.density_kg_m3 * self.volume_m3 * GRAVITY_M_S2)
    }
}

/// Clips a body's mesh at the water's surface.
///
/// # Equation
/// The closed mesh is cut triangle by triangle; what lies below is summed as
/// signed tetrahedra from a point of the surface plane, so that the cut face,
/// which lies in that plane, adds nothing: V = Σ a·(b×c)/6, ∫x = Σ V (a+b+c)/4.
///
/// A scan with holes has a volume that was measured otherwise: the clipped share
/// is scaled so that a wholly submerged body displaces that volume.
///
/// # Accuracy
/// Exact for a closed mesh, but for rounding.
///
/// # Source
/// Archimedes' principle; the integrals as in [`solid::Moments::of`].
#[must_use]
pub fn submerged(body: &Body, mesh: &Mesh, pose: &Pose, surface: &Surface) -> Submerged {
    let above = surface.above_m(pose.centre_m);
    let radius = body.solid.radius_m();
    let whole = Submerged {
        volume_m3: body.solid.volume_m3(),
        centre_m: pose.centre_m,
    };
    if above >= radius {
        return Submerged {
            volume_m3: 0.0,
            ..whole
        };
    }
    if above <= -radius {
        return whole;
    }
    let origin = pose.centre_m - surface.up * above;
    let mut sums = (0.0, DVec3::ZERO, 0.0);
    let points: Vec<DVec3> = mesh
        .vertices_m
        .iter()
        .map(|v| body.point_in_tank(pose, *v) - origin)
        .collect();
    for triangle in &mesh.triangles {
        let corners = triangle.map(|v| points[v as usize]);
        let heights = corners.map(|c| c.dot(surface.up));
        let [a, b, c] = corners;
        sums.2 += a.dot(b.cross(c)) / 6.0;
        add_below(&mut sums, corners, heights);
    }
    let (volume, first, total) = sums;
    if volume.abs() <= 1e-9 * total.abs() || total == 0.0 {
        return Submerged {
            volume_m3: 0.0,
            ..whole
        };
    }
    Submerged {
        volume_m3: volume * body.solid.volume_m3() / total,
        centre_m: origin + first / volume,
    }
}

/// Adds the part of a triangle below zero height to the sums.
fn add_below(sums: &mut (f64, DVec3, f64), corners: [DVec3; 3], heights: [f64; 3]) {
    let mut add = |a: DVec3, b: DVec3, c: DVec3| {
        let volume = a.dot(b.cross(c)) / 6.0;
        sums.0 += volume;
        sums.1 += (a + b + c) * (0.25 * volume);
    };
    let below = heights.map(|h| h <= 0.0);
    match below.iter().filter(|b| **b).count() {
        3 => add(corners[0], corners[1], corners[2]),
        0 => {}
        n => {
            // The corner that is alone on its side comes first, the order kept.
            let alone = (0..3).find(|i| below[*i] == (n == 1)).unwrap_or(0);
            let [i, j, k] = [alone, (alone + 1) % 3, (alone + 2) % 3];
            let cut = |from: usize, to: usize| {
                let share = heights[from] / (heights[from] - heights[to]);
                corners[from] + share * (corners[to] - corners[from])
            };
            let (on_j, on_k) = (cut(i, j), cut(i, k));
            if n == 1 {
                add(corners[i], on_j, on_k);
            } else {
                add(on_j, corners[j], corners[k]);
                add(on_j, corners[k], on_k);
            }
        }
    }
}

/// How far the lowest point of a body is below the surface, m.
#[must_use]
pub fn draft_m(body: &Body, pose: &Pose, surface: &Surface) -> f64 {
    body.solid
        .hull_m()
        .iter()
        .map(|v| -surface.above_m(body.point_in_tank(pose, *v)))
        .fold(f64::MIN, f64::max)
}
