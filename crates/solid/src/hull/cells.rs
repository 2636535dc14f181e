//! The furthest points of a body in many directions, found in one pass.

use glam::{DMat3, DVec3};
use rayon::prelude::*;

/// Points handed to one task; the result does not depend on it.
pub(super) const CHUNK: usize = 65_536;
/// Points from which the frame is made.
const SAMPLE: usize = 4096;

/// An affine frame in which a body is about as long as it is wide and high.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RoundFrame {
    pub middle: DVec3,
    pub from_body: DMat3,
}

impl RoundFrame {
    /// The frame in which a sample of the points has unit covariance; `None` for flat ones.
    ///
    /// The middle is a mean of points, so it lies in their hull.
    pub fn of(points: &[DVec3]) -> Option<Self> {
        let stride = points.len().div_ceil(SAMPLE).max(1);
        let sample = || points.iter().step_by(stride);
        let share = 1.0 / sample().count() as f64;
        let middle = sample().copied().sum::<DVec3>() * share;
        let mut c = [[0.0; 3]; 3];
        for p in sample() {
            let d = (*p - middle).to_array();
            for i in 0..3 {
                for j in 0..=i {
                    c[i][j] += d[i] * d[j] * share;
                }
            }
        }
        // Cholesky: covariance = L Lᵀ; L⁻¹ makes it the unit matrix.
        let l00 = c[0][0].sqrt();
        let (l10, l20) = (c[1][0] / l00, c[2][0] / l00);
        let l11 = (c[1][1] - l10 * l10).sqrt();
        let l21 = (c[2][1] - l20 * l10) / l11;
        let l22 = (c[2][2] - l20 * l20 - l21 * l21).sqrt();
        let lower = DMat3::from_cols(
            DVec3::new(l00, l10, l20),
            DVec3::new(0.0, l11, l21),
            DVec3::new(0.0, 0.0, l22),
        );
        let from_body = lower.inverse();
        let sound = from_body.is_finite() && l11 > 1e-6 * l00 && l22 > 1e-6 * l00;
        sound.then_some(Self { middle, from_body })
    }

    pub fn place(&self, p: DVec3) -> DVec3 {
        self.from_body * (p - self.middle)
    }
}

/// Where a ray meets the cube of directions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Meeting {
    /// Side of the cube, and the cell on it.
    pub face: usize,
    pub i: usize,
    pub j: usize,
    /// Greatest coordinate of the point whose ray it is.
    pub reach: f64,
    /// How far across the cell, 0 to 1 along i and j.
    pub s: f64,
    pub t: f64,
}

/// A cube of directions, each face cut into `side` × `side` cells.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cells {
    pub side: usize,
}

impl Cells {
    pub fn n(self) -> usize {
        6 * self.side * self.side
    }

    /// Where the ray along `q` meets the cube.
    pub fn meet(self, q: DVec3) -> Meeting {
        let size = q.abs();
        let (face, reach, s, t) = if size.x >= size.y && size.x >= size.z {
            (usize::from(q.x < 0.0), size.x, q.y, q.z)
        } else if size.y >= size.z {
            (2 + usize::from(q.y < 0.0), size.y, q.z, q.x)
        } else {
            (4 + usize::from(q.z < 0.0), size.z, q.x, q.y)
        };
        let per_unit = 0.5 * self.side as f64 / reach.max(f64::MIN_POSITIVE);
        let (s, t) = ((s + reach) * per_unit, (t + reach) * per_unit);
        let (i, j) = (
            (s as usize).min(self.side - 1),
            (t as usize).min(self.side - 1),
        );
        Meeting {
            face,
            i,
            j,
            reach,
            s: s - i as f64,
            t: t - j as f64,
        }
    }

    /// The number of the cell that the direction of `q` lies in.
    fn cell_of(self, q: DVec3) -> usize {
        let Meeting { face, i, j, .. } = self.meet(q);
        (face * self.side + i) * self.side + j
    }

    /// The ray through corner (i, j) of the cells of a face, its greatest coordinate 1.
    pub fn corner(self, face: usize, i: usize, j: usize) -> DVec3 {
        let sign = if face.is_multiple_of(2) { 1.0 } else { -1.0 };
        let step = |k: usize| 2.0 * k as f64 / self.side as f64 - 1.0;
        match face / 2 {
            0 => DVec3::new(sign, step(i), step(j)),
            1 => DVec3::new(step(j), sign, step(i)),
            _ => DVec3::new(step(i), step(j), sign),
        }
    }

    /// For each cell that holds any, the point furthest from the frame's middle
    /// (the first of equals); rising indices.
    pub fn furthest(self, points: &[DVec3], frame: &RoundFrame) -> Vec<u32> {
        let nothing = || vec![(-1.0_f64, u32::MAX); self.n()];
        let found: Vec<_> = points
            .par_chunks(CHUNK)
            .enumerate()
            .map(|(chunk, some)| {
                let mut best = nothing();
                for (i, p) in some.iter().enumerate() {
                    let q = frame.place(*p);
                    let cell = self.cell_of(q);
                    let distance = q.length_squared();
                    if distance > best[cell].0 {
                        best[cell] = (distance, (chunk * CHUNK + i) as u32);
                    }
                }
                best
            })
            .collect();
        let mut best = nothing();
        for part in found {
            for (kept, candidate) in best.iter_mut().zip(part) {
                if candidate.0 > kept.0 {
                    *kept = candidate;
                }
            }
        }
        let mut far: Vec<u32> = best.iter().filter(|b| b.0 >= 0.0).map(|b| b.1).collect();
        far.sort_unstable();
        far
    }
}
