//! How far a point is above ground given by heights.

use glam::{DVec2, DVec3};

use crate::ground::GroundSurface;

/// How far a point is above the surface, square to the triangle under it, m,
/// and that triangle's upward normal. Beyond the grid its edge goes on.
pub(crate) fn gap(grid: &GroundSurface, point: DVec3) -> (f64, DVec3) {
    let place = DVec2::new(point.x, point.y);
    let gradient = grid.gradient(place);
    let normal = DVec3::new(-gradient.x, -gradient.y, 1.0).normalize();
    ((point.z - grid.height_m(place)) * normal.z, normal)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_gap_to_a_slope_is_square_to_it() {
        let (nx, ny) = (11, 6);
        let heights = (0..nx * ny)
            .map(|k| 0.3 + 0.2 * (k % nx) as f64 * 0.01 - 0.5 * (k / nx) as f64 * 0.01)
            .collect();
        let grid = GroundSurface::new(0.01, nx, ny, heights).expect("a sound grid");
        let (gap, normal) = gap(&grid, DVec3::new(0.0333, 0.0411, 0.4));
        let up = DVec3::new(-0.2, 0.5, 1.0).normalize();
        let height = 0.3 + 0.2 * 0.0333 - 0.5 * 0.0411;
        assert!((gap - (0.4 - height) * up.z).abs() < 1e-12);
        assert!(normal.distance(up) < 1e-12);
    }
}
