//! How high the ground stands at a place: one grid of heights that ground and settling share.

use glam::{DVec2, DVec3};

use super::error::GroundError;

/// A height field over the inside of a tank.
///
/// Node (i, j) stands at x = i·cell, y = j·cell in the tank frame. Rows run
/// along x; the first row lies at the front glass. The grid covers the inside:
/// its last column and row stand at the glass or up to one cell beyond it.
///
/// A cell is two triangles that share the diagonal from its front right node
/// (i + 1, j) to its back left node (i, j + 1); the ground is linear on each.
/// That is also how parry's and rapier's height fields are split by default.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundSurface {
    /// Distance between neighbouring nodes, m.
    pub cell_m: f64,
    /// Nodes along x, at least 2.
    pub nx: usize,
    /// Nodes along y, at least 2.
    pub ny: usize,
    /// Heights above the base, m; node (i, j) is at `j * nx + i`.
    pub heights_m: Vec<f64>,
}

impl GroundSurface {
    /// A surface from its heights.
    ///
    /// # Errors
    /// When the cell is not above zero, there are fewer than two nodes along an
    /// axis, the count of heights is not nx·ny, or a height is not finite.
    pub fn new(
        cell_m: f64,
        nx: usize,
        ny: usize,
        heights_m: Vec<f64>,
    ) -> Result<Self, GroundError> {
        if !(cell_m.is_finite() && cell_m > 0.0) {
            return Err(GroundError::Cell {
                cell_m,
                reason: "a cell has a size above zero".to_owned(),
            });
        }
        if nx < 2 || ny < 2 || nx.checked_mul(ny) != Some(heights_m.len()) {
            return Err(GroundError::Grid {
                nx,
                ny,
                n_heights: heights_m.len(),
            });
        }
        if let Some(at) = heights_m.iter().position(|h| !h.is_finite()) {
            return Err(GroundError::Height {
                i: at % nx,
                j: at / nx,
            });
        }
        Ok(Self {
            cell_m,
            nx,
            ny,
            heights_m,
        })
    }

    /// Level ground at `height_m` over an inside of the given length and width.
    ///
    /// # Errors
    /// As [`GroundSurface::new`], or when the grid would have too many nodes.
    pub fn level(inside_m: DVec2, cell_m: f64, height_m: f64) -> Result<Self, GroundError> {
        let (nx, ny) = super::grid::nodes(inside_m, cell_m)?;
        Self::new(cell_m, nx, ny, vec![height_m; nx * ny])
    }

    /// Height of node (i, j), m. Both indices must be in range.
    #[must_use]
    pub fn node_m(&self, i: usize, j: usize) -> f64 {
        self.heights_m[j * self.nx + i]
    }

    /// The two triangles of cell (i, j), anticlockwise seen from above, m.
    #[must_use]
    pub fn cell_triangles(&self, i: usize, j: usize) -> [[DVec3; 3]; 2] {
        let node = |i: usize, j: usize| {
            DVec3::new(
                i as f64 * self.cell_m,
                j as f64 * self.cell_m,
                self.node_m(i, j),
            )
        };
        let (a, b, c, d) = (
            node(i, j),
            node(i + 1, j),
            node(i, j + 1),
            node(i + 1, j + 1),
        );
        [[a, b, c], [b, d, c]]
    }

    /// Cell that holds a place, and the place within it in 0..1; places off the grid go to its edge.
    fn locate(&self, place_m: DVec2) -> (usize, usize, f64, f64) {
        let along = |value: f64, n: usize| {
            let steps = (value / self.cell_m).clamp(0.0, (n - 1) as f64);
            let cell = (steps as usize).min(n - 2);
            (cell, steps - cell as f64)
        };
        let (i, u) = along(place_m.x, self.nx);
        let (j, v) = along(place_m.y, self.ny);
        (i, j, u, v)
    }

    /// Height at a place of the plan, m; off the grid, the height at its nearest edge.
    #[must_use]
    pub fn height_m(&self, place_m: DVec2) -> f64 {
        let (i, j, u, v) = self.locate(place_m);
        let (right, back) = (self.node_m(i + 1, j), self.node_m(i, j + 1));
        if u + v <= 1.0 {
            let corner = self.node_m(i, j);
            corner + u * (right - corner) + v * (back - corner)
        } else {
            let corner = self.node_m(i + 1, j + 1);
            corner + (1.0 - u) * (back - corner) + (1.0 - v) * (right - corner)
        }
    }

    /// Gradient (dh/dx, dh/dy) at a place of the plan.
    #[must_use]
    pub fn gradient(&self, place_m: DVec2) -> DVec2 {
        let (i, j, u, v) = self.locate(place_m);
        self.cell_gradients(i, j)[usize::from(u + v > 1.0)]
    }

    /// Gradients of the two triangles of cell (i, j), in the order of [`Self::cell_triangles`].
    #[must_use]
    pub fn cell_gradients(&self, i: usize, j: usize) -> [DVec2; 2] {
        let (a, b) = (self.node_m(i, j), self.node_m(i + 1, j));
        let (c, d) = (self.node_m(i, j + 1), self.node_m(i + 1, j + 1));
        [
            DVec2::new(b - a, c - a) / self.cell_m,
            DVec2::new(d - c, d - b) / self.cell_m,
        ]
    }

    /// Least and greatest height, m.
    #[must_use]
    pub fn range_m(&self) -> (f64, f64) {
        self.heights_m
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), h| {
                (low.min(*h), high.max(*h))
            })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_is_met_exactly_between_the_nodes() {
        let (nx, ny) = (7, 5);
        let plane = |x: f64, y: f64| 0.02 + 0.3 * x - 0.1 * y;
        let heights = (0..nx * ny)
            .map(|k| plane((k % nx) as f64 * 0.01, (k / nx) as f64 * 0.01))
            .collect();
        let surface = GroundSurface::new(0.01, nx, ny, heights).expect("a good grid");
        for (x, y) in [(0.0, 0.0), (0.013, 0.027), (0.06, 0.04), (0.0599, 0.0001)] {
            let got = surface.height_m(DVec2::new(x, y));
            assert!((got - plane(x, y)).abs() < 1e-14, "at {x}, {y}: {got}");
            let gradient = surface.gradient(DVec2::new(x, y));
            assert!((gradient - DVec2::new(0.3, -0.1)).length() < 1e-12);
        }
    }

    #[test]
    fn a_height_that_is_not_finite_is_refused_with_its_place() {
        let error = GroundSurface::new(0.01, 2, 2, vec![0.0, 0.0, f64::NAN, 0.0]);
        assert_eq!(error, Err(GroundError::Height { i: 0, j: 1 }));
    }
}
