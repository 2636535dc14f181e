//! What a piece covers, seen from above or from any other side.

mod contour;
mod covered;
mod rectangle;
mod simplify;
mod union;

use glam::{DMat3, DQuat, DVec2, DVec3};

pub use contour::Contours;
pub use rectangle::{Rectangle, convex_ring, least_rectangle, plan_hull};

use crate::Mesh;

/// How far a drawn outline may leave the true one, metres: 0.1 mm.
pub const DRAWING_TOLERANCE_M: f64 = 1e-4;

/// A closed outline, metres: the last point joins the first.
///
/// Outer rings run anticlockwise, holes clockwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    /// The corners in order; at least three.
    pub points_m: Vec<DVec2>,
}

impl Ring {
    /// Area with sign, square metres: positive for an outer ring, negative for a hole.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        signed_area_m2(&self.points_m)
    }

    /// True when the ring bounds a hole.
    #[must_use]
    pub fn is_hole(&self) -> bool {
        self.area_m2() < 0.0
    }
}

/// Area of a closed polygon, square metres; positive when anticlockwise.
#[must_use]
pub fn signed_area_m2(points_m: &[DVec2]) -> f64 {
    let Some(&origin) = points_m.first() else {
        return 0.0;
    };
    0.5 * points_m
        .windows(2)
        .map(|pair| (pair[0] - origin).perp_dot(pair[1] - origin))
        .sum::<f64>()
}

/// From where a piece is looked at: two axes of the drawing, in the frame that the turn leads to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Unit vector that points to the right of the drawing.
    pub right: DVec3,
    /// Unit vector that points up in the drawing.
    pub up: DVec3,
}

impl View {
    /// From above: x to the right, y up (the back of the tank at the top).
    pub const PLAN: Self = Self {
        right: DVec3::X,
        up: DVec3::Y,
    };
    /// From the front: x to the right, z up.
    pub const FRONT: Self = Self {
        right: DVec3::X,
        up: DVec3::Z,
    };
    /// From the right-hand side: the back of the tank to the right, z up.
    pub const RIGHT: Self = Self {
        right: DVec3::Y,
        up: DVec3::Z,
    };

    /// Rows: right, up, and towards the eye, in the frame of the mesh before `turn`.
    fn drawing_from_piece(self, turn: DQuat) -> DMat3 {
        let back = turn.conjugate();
        let right = back * self.right;
        let up = back * self.up;
        DMat3::from_cols(right, up, right.cross(up)).transpose()
    }
}

/// Area that a turned piece covers, seen from above, square metres: overhangs
/// count, holes right through it don't.
///
/// For many turns of one mesh, make [`Contours`] once.
///
/// # Accuracy
/// That of [`Contours::area_m2`]: within 0.1 %.
#[must_use]
pub fn footprint_area_m2(mesh: &Mesh, turn: DQuat) -> f64 {
    Contours::of(mesh).area_m2(turn, View::PLAN)
}

/// The true plan outline of a turned piece about the mesh's origin, simplified to 0.1 mm.
///
/// Points are turned but not moved: add the place of the piece.
#[must_use]
pub fn plan_outline(mesh: &Mesh, turn: DQuat) -> Vec<Ring> {
    silhouette(mesh, turn, View::PLAN)
}

/// The true outline of a turned piece seen from the front, simplified to 0.1 mm.
#[must_use]
pub fn front_outline(mesh: &Mesh, turn: DQuat) -> Vec<Ring> {
    silhouette(mesh, turn, View::FRONT)
}

/// The true outline of a turned piece in any view, simplified to 0.1 mm.
///
/// Outer rings and holes, the largest first. Rings too small to be drawn
/// (under 0.1 mm²) are left out.
#[must_use]
pub fn silhouette(mesh: &Mesh, turn: DQuat, view: View) -> Vec<Ring> {
    simplify::rings(Contours::of(mesh).rings(turn, view), DRAWING_TOLERANCE_M)
}
