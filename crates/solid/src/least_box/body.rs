//! Corners of a convex body, laid out so that its widths are quick to find.

use glam::{DQuat, DVec3};

use crate::hull::Hull;

/// Corners about the middle of their box, in units of its diagonal.
#[derive(Debug, Clone, Default)]
pub(super) struct Body {
    x: Vec<f64>,
    y: Vec<f64>,
    z: Vec<f64>,
}

/// Corners handled side by side.
const LANES: usize = 4;

impl Body {
    pub fn of(hull: &Hull) -> Self {
        let none = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        let points = hull.vertices_m.iter();
        let (low, high) = points
            .clone()
            .fold(none, |(l, h), p| (l.min(*p), h.max(*p)));
        let middle = 0.5 * (low + high);
        let scale = low.distance(high).recip();
        Self::from_points(points.map(|p| (*p - middle) * scale))
    }

    pub fn from_points(points: impl Iterator<Item = DVec3>) -> Self {
        let mut body = Self::default();
        for p in points {
            body.x.push(p.x);
            body.y.push(p.y);
            body.z.push(p.z);
        }
        body
    }

    pub fn len(&self) -> usize {
        self.x.len()
    }

    pub fn corner(&self, index: usize) -> DVec3 {
        DVec3::new(self.x[index], self.y[index], self.z[index])
    }

    pub fn corners(&self) -> impl Iterator<Item = DVec3> {
        (0..self.len()).map(|index| self.corner(index))
    }

    /// Least and greatest `direction · corner`.
    pub fn extent(&self, direction: DVec3) -> (f64, f64) {
        let mut low = [f64::INFINITY; LANES];
        let mut high = [f64::NEG_INFINITY; LANES];
        let xs = self.x.chunks_exact(LANES);
        let ys = self.y.chunks_exact(LANES);
        let zs = self.z.chunks_exact(LANES);
        let rest = self.len() - self.len() % LANES;
        for ((x, y), z) in xs.zip(ys).zip(zs) {
            for lane in 0..LANES {
                let d = direction.x * x[lane] + direction.y * y[lane] + direction.z * z[lane];
                low[lane] = if d < low[lane] { d } else { low[lane] };
                high[lane] = if d > high[lane] { d } else { high[lane] };
            }
        }
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for lane in 0..LANES {
            least = least.min(low[lane]);
            most = most.max(high[lane]);
        }
        for index in rest..self.len() {
            let d = direction.x * self.x[index]
                + direction.y * self.y[index]
                + direction.z * self.z[index];
            least = least.min(d);
            most = most.max(d);
        }
        (least, most)
    }

    /// Logarithm of the volume of the box along the turned axes.
    pub fn log_volume(&self, turn: DQuat) -> f64 {
        axes(turn)
            .map(|axis| {
                let (low, high) = self.extent(axis);
                high - low
            })
            .iter()
            .product::<f64>()
            .ln()
    }

    /// Corners whose `direction · corner` is under `below`, and over `above`.
    pub fn touching(&self, direction: DVec3, below: f64, above: f64) -> [Vec<DVec3>; 2] {
        let mut touching = [Vec::new(), Vec::new()];
        for index in 0..self.len() {
            let d = direction.x * self.x[index]
                + direction.y * self.y[index]
                + direction.z * self.z[index];
            if d <= below {
                touching[0].push(self.corner(index));
            }
            if d >= above {
                touching[1].push(self.corner(index));
            }
        }
        touching
    }
}

/// Where the turn leads x, y and z.
pub(super) fn axes(turn: DQuat) -> [DVec3; 3] {
    [turn * DVec3::X, turn * DVec3::Y, turn * DVec3::Z]
}
