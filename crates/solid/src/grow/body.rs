//! What a form has to say about itself before it can be skinned and painted.

use glam::DVec3;

use super::palette::Colour;

/// A shape given by its distance field, in a frame where it is about one unit long.
pub(super) trait Body: Sync {
    /// A box along the axes that holds the whole shape.
    fn bounds(&self) -> (DVec3, DVec3);

    /// A place inside the shape; the surface is followed from above it.
    fn heart(&self) -> DVec3 {
        DVec3::ZERO
    }

    /// Negative inside, zero on the surface, near it about the distance to it.
    fn distance(&self, point: DVec3) -> f64;

    /// Colour of the surface at a spot.
    fn colour(&self, spot: &Spot) -> Colour;
}

/// A place on the surface, as the painter sees it.
pub(super) struct Spot {
    pub(super) point: DVec3,
    /// Unit normal, outwards.
    pub(super) normal: DVec3,
    /// 1 on open ground and crests, towards 0 deep in a crack.
    pub(super) openness: f64,
}

/// The greater of two, rounded where they meet over a width `k`.
///
/// The polynomial blend lies within k/4 of the plain maximum.
pub(super) fn soft_max(a: f64, b: f64, k: f64) -> f64 {
    let h = (k - (a - b).abs()).max(0.0);
    a.max(b) + h * h / (4.0 * k)
}

/// The lesser of two, filled where they meet over a width `k`.
pub(super) fn soft_min(a: f64, b: f64, k: f64) -> f64 {
    -soft_max(-a, -b, k)
}

/// About the distance to an ellipsoid with the given half axes.
pub(super) fn ellipsoid(p: DVec3, half: DVec3) -> f64 {
    let k0 = (p / half).length();
    let k1 = (p / (half * half)).length();
    if k1 < 1e-9 {
        return -half.min_element();
    }
    k0 * (k0 - 1.0) / k1
}
