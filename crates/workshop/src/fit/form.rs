//! What fit search knows of a piece: boxes of its resting poses, and its front outlines.
//!
//! Kept as bytes, as they lie in the store: version, number of boxes, number of
//! poses with outlines; a box is width, depth and height in tenths of a millimetre
//! (`u16`, little endian); an outline is width and depth likewise and then the
//! lower and upper columns in 255ths of the pose's height.

use std::f64::consts::PI;

use glam::DQuat;
use solid::measure::Measure;

use super::columns::{Columns, N_COLUMNS};

const VERSION: u8 = 1;
/// Resting poses whose boxes are kept.
const MOST_BOXES: usize = 12;
/// Resting poses whose front outlines are kept.
const MOST_SEEN: usize = 4;
/// Turns about the vertical at which a pose is seen, over half a turn; the other half is the mirror image.
pub(super) const N_TURNS: usize = 8;
const HEAD: usize = 3;
const BOX_BYTES: usize = 6;
const OUTLINE_BYTES: usize = 4 + 2 * N_COLUMNS;
const TENTH_MM: f64 = 1e-4;

/// What fit search knows of one piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FitForm(Box<[u8]>);

/// The box of a resting pose, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PoseBox {
    pub width_m: f32,
    pub depth_m: f32,
    pub height_m: f32,
}

/// One front outline, m.
#[derive(Debug, Clone, Copy)]
pub(super) struct Outline<'a> {
    pub width_m: f32,
    pub depth_m: f32,
    pub height_m: f32,
    lower: &'a [u8],
    upper: &'a [u8],
}

impl Outline<'_> {
    /// Lowest and greatest height of a column above the piece's lowest point, m.
    pub fn column_m(&self, c: usize, mirrored: bool) -> (f32, f32) {
        let c = if mirrored { N_COLUMNS - 1 - c } else { c };
        let scale = self.height_m / 255.0;
        (
            f32::from(self.lower[c]) * scale,
            f32::from(self.upper[c]) * scale,
        )
    }

    /// Its area, m².
    pub fn area_m2(&self) -> f32 {
        let filled: u32 = self
            .upper
            .iter()
            .zip(self.lower)
            .map(|(u, l)| u32::from(u.saturating_sub(*l)))
            .sum();
        filled as f32 / 255.0 * self.height_m * self.width_m / N_COLUMNS as f32
    }
}

impl FitForm {
    /// What is kept of a measured piece.
    #[must_use]
    pub fn of(measure: &Measure) -> Self {
        let poses = &measure.resting.poses;
        let boxes: Vec<_> = poses.iter().take(MOST_BOXES).collect();
        let mut outlines = Vec::new();
        let mut n_seen = 0;
        for pose in poses.iter().take(MOST_SEEN) {
            let seen: Option<Vec<Columns>> = (0..N_TURNS)
                .map(|t| Columns::of(&measure.solid_mesh, turn(t) * pose.turn))
                .collect();
            // A form without extent has no outline at any turn.
            let Some(seen) = seen else { break };
            n_seen += 1;
            for columns in seen {
                put_outline(&mut outlines, &columns);
            }
        }
        let mut bytes = vec![VERSION, boxes.len() as u8, n_seen];
        for pose in boxes {
            for side in [pose.width_m, pose.depth_m, pose.height_m] {
                put_length(&mut bytes, side);
            }
        }
        bytes.extend(outlines);
        Self(bytes.into())
    }

    /// What was kept before; nothing when the bytes are of another version or cut short.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        let [VERSION, n_boxes, n_seen, ..] = *bytes else {
            return None;
        };
        let wanted =
            HEAD + usize::from(n_boxes) * BOX_BYTES + usize::from(n_seen) * N_TURNS * OUTLINE_BYTES;
        (bytes.len() == wanted && n_seen <= n_boxes).then(|| Self(bytes.into()))
    }

    /// The bytes to keep.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.0
    }

    pub(super) fn n_boxes(&self) -> usize {
        usize::from(self.0[1])
    }

    pub(super) fn n_seen(&self) -> usize {
        usize::from(self.0[2])
    }

    pub(super) fn pose_box(&self, pose: usize) -> PoseBox {
        let at = HEAD + pose * BOX_BYTES;
        PoseBox {
            width_m: self.length(at),
            depth_m: self.length(at + 2),
            height_m: self.length(at + 4),
        }
    }

    pub(super) fn outline(&self, pose: usize, turn: usize) -> Outline<'_> {
        let at = HEAD + self.n_boxes() * BOX_BYTES + (pose * N_TURNS + turn) * OUTLINE_BYTES;
        let columns = &self.0[at + 4..at + OUTLINE_BYTES];
        Outline {
            width_m: self.length(at),
            depth_m: self.length(at + 2),
            height_m: self.pose_box(pose).height_m,
            lower: &columns[..N_COLUMNS],
            upper: &columns[N_COLUMNS..],
        }
    }

    fn length(&self, at: usize) -> f32 {
        f32::from(u16::from_le_bytes([self.0[at], self.0[at + 1]])) * TENTH_MM as f32
    }
}

/// Angle of a numbered turn, radians.
pub(super) fn turn_rad(number: usize) -> f64 {
    number as f64 * PI / N_TURNS as f64
}

fn turn(number: usize) -> DQuat {
    DQuat::from_rotation_z(turn_rad(number))
}

/// Lengths are rounded up, so that what is said to fit does.
fn put_length(bytes: &mut Vec<u8>, length_m: f64) {
    let tenths = (length_m / TENTH_MM - 1e-6)
        .ceil()
        .clamp(0.0, f64::from(u16::MAX));
    bytes.extend((tenths as u16).to_le_bytes());
}

fn put_outline(bytes: &mut Vec<u8>, columns: &Columns) {
    put_length(bytes, columns.x_m[1] - columns.x_m[0]);
    put_length(bytes, columns.y_m[1] - columns.y_m[0]);
    let [low, high] = columns.z_m;
    let share = |z: f64| 255.0 * (z - low) / (high - low);
    bytes.extend(
        columns
            .lower_m
            .map(|z| share(z).floor().clamp(0.0, 255.0) as u8),
    );
    bytes.extend(
        columns
            .upper_m
            .map(|z| share(z).ceil().clamp(0.0, 255.0) as u8),
    );
}
