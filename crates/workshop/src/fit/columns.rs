//! How high and how low does a piece reach, column by column, seen from the front?

use glam::{DQuat, DVec3};
use solid::Mesh;

/// Columns of an outline.
pub(super) const N_COLUMNS: usize = 12;

/// A piece's front outline as columns of equal width.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Columns {
    /// Least and greatest place along x, m.
    pub x_m: [f64; 2],
    /// Least and greatest place along y, m.
    pub y_m: [f64; 2],
    /// Least and greatest height, m.
    pub z_m: [f64; 2],
    /// Lowest height in each column, m.
    pub lower_m: [f64; N_COLUMNS],
    /// Greatest height in each column, m.
    pub upper_m: [f64; N_COLUMNS],
}

impl Columns {
    /// The outline of a turned mesh; nothing when it has no extent.
    pub fn of(mesh: &Mesh, turn: DQuat) -> Option<Self> {
        let points: Vec<DVec3> = mesh.vertices_m.iter().map(|v| turn * *v).collect();
        let (low, high) = points
            .iter()
            .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| {
                (low.min(*p), high.max(*p))
            });
        let size = high - low;
        if !(size.is_finite() && size.min_element() > 0.0) {
            return None;
        }
        let mut columns = Self {
            x_m: [low.x, high.x],
            y_m: [low.y, high.y],
            z_m: [low.z, high.z],
            lower_m: [f64::INFINITY; N_COLUMNS],
            upper_m: [f64::NEG_INFINITY; N_COLUMNS],
        };
        for triangle in &mesh.triangles {
            let corners = triangle.map(|i| points[i as usize]);
            for k in 0..3 {
                columns.add_edge(corners[k], corners[(k + 1) % 3]);
            }
        }
        Some(columns)
    }

    /// Takes in an edge: an outline's heights are those of its edges.
    fn add_edge(&mut self, a: DVec3, b: DVec3) {
        let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
        let width = (self.x_m[1] - self.x_m[0]) / N_COLUMNS as f64;
        let column = |x: f64| (((x - self.x_m[0]) / width) as usize).min(N_COLUMNS - 1);
        let height = |x: f64| {
            if b.x > a.x {
                a.z + (b.z - a.z) * ((x - a.x) / (b.x - a.x)).clamp(0.0, 1.0)
            } else {
                a.z
            }
        };
        for c in column(a.x)..=column(b.x) {
            let from = self.x_m[0] + width * c as f64;
            for z in [height(from.max(a.x)), height((from + width).min(b.x))] {
                self.lower_m[c] = self.lower_m[c].min(z);
                self.upper_m[c] = self.upper_m[c].max(z);
            }
        }
        if b.x <= a.x {
            let c = column(a.x);
            self.lower_m[c] = self.lower_m[c].min(b.z);
            self.upper_m[c] = self.upper_m[c].max(b.z);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form: a triangle's outline rises linearly to its apex.
    #[test]
    fn a_wedge_rises_column_by_column() {
        let mut mesh = Mesh::cuboid(DVec3::new(0.12, 0.02, 0.06));
        for v in &mut mesh.vertices_m {
            if v.z > 0.0 && v.x > 0.0 {
                v.z = -0.03 + 1e-9;
            }
        }
        let columns = Columns::of(&mesh, DQuat::IDENTITY).expect("it has extent");
        for c in 0..N_COLUMNS {
            let left_edge = c as f64 / N_COLUMNS as f64;
            let want = -0.03 + 0.06 * (1.0 - left_edge);
            assert!((columns.upper_m[c] - want).abs() < 1e-6, "column {c}");
            assert!((columns.lower_m[c] + 0.03).abs() < 1e-9);
        }
    }
}
