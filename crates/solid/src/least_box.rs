//! The smallest box that holds a piece.

use glam::{DMat3, DQuat, DVec3};

use crate::hull::Hull;
use crate::outline::{least_rectangle, plan_hull};

/// The box of least volume round a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastBox {
    /// Sides, metres: x the longest, y the middle one, z the shortest.
    pub size_m: DVec3,
    /// Takes piece axes into box axes (x long, y middle, z short); w ≥ 0.
    pub turn: DQuat,
    /// Middle of the box in the piece frame, metres.
    pub centre_m: DVec3,
}

impl LeastBox {
    /// Volume, cubic metres.
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        self.size_m.element_product()
    }
}

/// The box of least volume that holds every corner of the hull.
#[must_use]
pub fn least_box(hull: &Hull) -> LeastBox {
    let mut best: Option<LeastBox> = None;
    for facet in hull.facets.iter().take(64) {
        let upright = DQuat::from_rotation_arc(facet.normal, DVec3::NEG_Z);
        let rectangle = least_rectangle(&plan_hull(&hull.vertices_m, upright));
        let turn = DQuat::from_rotation_z(-rectangle.angle_rad) * upright;
        let found = box_along(hull, turn);
        if best.is_none_or(|b| found.volume_m3() < b.volume_m3()) {
            best = Some(found);
        }
    }
    best.unwrap_or_else(|| box_along(hull, DQuat::IDENTITY))
}

/// The box with its sides along the axes that `turn` takes into x, y, z, sorted by length.
fn box_along(hull: &Hull, turn: DQuat) -> LeastBox {
    let back = DMat3::from_quat(turn).transpose();
    let axes = [back.x_axis, back.y_axis, back.z_axis].map(DVec3::normalize);
    let mut sides = axes.map(|axis| {
        let (low, high) = hull.extent(axis);
        (high - low, axis, 0.5 * (low + high))
    });
    sides.sort_by(|a, b| b.0.total_cmp(&a.0));
    let [x, y, z] = sides;
    let third = if x.1.cross(y.1).dot(z.1) > 0.0 {
        z.1
    } else {
        -z.1
    };
    let from_box = DMat3::from_cols(x.1, y.1, third);
    let turn = DQuat::from_mat3(&from_box.transpose()).normalize();
    LeastBox {
        size_m: DVec3::new(x.0, y.0, z.0),
        turn: if turn.w < 0.0 { -turn } else { turn },
        centre_m: x.1 * x.2 + y.1 * y.2 + z.1 * z.2,
    }
}
