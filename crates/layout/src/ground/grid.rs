//! How many nodes a grid over the inside of a tank has.

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
