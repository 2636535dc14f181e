//! Where a piece is: its centre of mass in the tank, and its turn.

use glam::{DQuat, DVec3};

/// Place and turn of a piece in the tank frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Centre of mass in the tank frame, m.
    pub centre_m: DVec3,
    /// Unit turn that takes piece axes into tank axes, with w ≥ 0.
    pub turn: DQuat,
}

impl Pose {
    /// A point of the piece frame, seen in the tank frame.
    ///
    /// `centre_in_piece_m` is the centre of mass in the piece frame.
    #[must_use]
    pub fn point_in_tank(&self, point_in_piece_m: DVec3, centre_in_piece_m: DVec3) -> DVec3 {
        self.centre_m + self.turn * (point_in_piece_m - centre_in_piece_m)
    }

    /// The same turn with w ≥ 0 and unit length.
    #[must_use]
    pub fn canonical(self) -> Self {
        let q = self.turn.normalize();
        Self {
            centre_m: self.centre_m,
            turn: if q.w < 0.0 { -q } else { q },
        }
    }
}
