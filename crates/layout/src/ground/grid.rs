//! The grid over the inside of a tank: how many nodes it has and where they stand.

use std::ops::Range;

use glam::DVec2;

use super::error::GroundError;

/// The most nodes that a grid may have: 2 mm over 4 m × 2 m.
pub const MOST_NODES: usize = 2_000_000;

/// Nodes along x and y of a grid that covers the inside.
///
/// A last cell under a millionth of a cell wide is not made.
///
/// # Errors
/// When the cell or the inside is not above zero and finite, or the grid would
/// have more than [`MOST_NODES`] nodes.
pub fn nodes(inside_m: DVec2, cell_m: f64) -> Result<(usize, usize), GroundError> {
    let refuse = |reason: String| Err(GroundError::Cell { cell_m, reason });
    if !(cell_m.is_finite() && cell_m > 0.0) {
        return refuse("a cell has a size above zero".to_owned());
    }
    if !(inside_m.is_finite() && inside_m.min_element() > 0.0) {
        return Err(GroundError::Inside {
            length_m: inside_m.x,
            width_m: inside_m.y,
        });
    }
    let cells = (inside_m / cell_m - DVec2::splat(1e-6))
        .ceil()
        .max(DVec2::ONE);
    let n_nodes = (cells.x + 1.0) * (cells.y + 1.0);
    if n_nodes > MOST_NODES as f64 {
        return refuse(format!(
            "a cell of {:.3} mm makes {n_nodes:.0} nodes, over {MOST_NODES}",
            cell_m * 1000.0
        ));
    }
    Ok((cells.x as usize + 1, cells.y as usize + 1))
}

/// A grid whose last column and row stand at the glass, be the last cells narrower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// Inside length and width, m.
    pub inside_m: DVec2,
    /// Distance between neighbouring nodes, m.
    pub cell_m: f64,
    /// Nodes along x, at least 2.
    pub nx: usize,
    /// Nodes along y, at least 2.
    pub ny: usize,
}

impl Grid {
    /// The grid over an inside.
    ///
    /// # Errors
    /// As [`nodes`].
    pub fn new(inside_m: DVec2, cell_m: f64) -> Result<Self, GroundError> {
        let (nx, ny) = nodes(inside_m, cell_m)?;
        Ok(Self {
            inside_m,
            cell_m,
            nx,
            ny,
        })
    }

    /// Place of a column of nodes, m.
    #[must_use]
    pub fn x_m(&self, i: usize) -> f64 {
        if i + 1 >= self.nx {
            self.inside_m.x
        } else {
            i as f64 * self.cell_m
        }
    }

    /// Place of a row of nodes, m.
    #[must_use]
    pub fn y_m(&self, j: usize) -> f64 {
        if j + 1 >= self.ny {
            self.inside_m.y
        } else {
            j as f64 * self.cell_m
        }
    }

    /// Place of a node, m.
    #[must_use]
    pub fn place_m(&self, i: usize, j: usize) -> DVec2 {
        DVec2::new(self.x_m(i), self.y_m(j))
    }

    /// How many nodes there are.
    #[must_use]
    pub fn n_nodes(&self) -> usize {
        self.nx * self.ny
    }

    /// Index of a node.
    #[must_use]
    pub fn node(&self, i: usize, j: usize) -> usize {
        j * self.nx + i
    }

    /// How many cells there are.
    #[must_use]
    pub fn n_cells(&self) -> usize {
        (self.nx - 1) * (self.ny - 1)
    }

    /// Index of a cell.
    #[must_use]
    pub fn cell(&self, i: usize, j: usize) -> usize {
        j * (self.nx - 1) + i
    }

    /// Columns of cells that overlap a stretch of x; empty when it lies off the grid.
    #[must_use]
    pub fn columns_over(&self, from_m: f64, to_m: f64) -> Range<usize> {
        over(from_m, to_m, self.cell_m, self.inside_m.x, self.nx - 1)
    }

    /// Rows of cells that overlap a stretch of y; empty when it lies off the grid.
    #[must_use]
    pub fn rows_over(&self, from_m: f64, to_m: f64) -> Range<usize> {
        over(from_m, to_m, self.cell_m, self.inside_m.y, self.ny - 1)
    }
}

fn over(from_m: f64, to_m: f64, cell_m: f64, inside_m: f64, n_cells: usize) -> Range<usize> {
    if to_m < 0.0 || from_m > inside_m {
        return 0..0;
    }
    let cell_of = |place: f64| ((place / cell_m).max(0.0) as usize).min(n_cells - 1);
    cell_of(from_m)..cell_of(to_m) + 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_cell_ends_at_the_glass() {
        let grid = Grid::new(DVec2::new(0.602, 0.3), 0.005).expect("a good grid");
        assert_eq!((grid.nx, grid.ny), (122, 61));
        assert_eq!(grid.place_m(121, 60), DVec2::new(0.602, 0.3));
        assert_eq!(grid.columns_over(0.601, 0.7), 120..121);
        assert_eq!(grid.columns_over(0.7, 0.8), 0..0);
    }

    #[test]
    fn a_grid_without_end_is_refused() {
        let inside = DVec2::new(1.0, 0.5);
        for cell_m in [0.0, -0.005, f64::NAN, f64::INFINITY, 1e-9] {
            let refused = Grid::new(inside, cell_m);
            assert!(
                matches!(refused, Err(GroundError::Cell { .. })),
                "{cell_m}: {refused:?}"
            );
        }
    }
}
