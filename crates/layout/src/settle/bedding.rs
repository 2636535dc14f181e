//! How ground is cut to the underside of bedded pieces.

use glam::{DVec2, DVec3};

use solid::bvh::Ray;

use super::{
    overlap::into_piece,
    scene::{Body, Ground, GroundForm, Scene},
};
use crate::{LayoutError, ground::GroundSurface};

/// Ground that a bedded piece lies in has nodes at most this far apart, m.
const FINE_M: f64 = 2.5e-3;
/// Most nodes of a fine grid; a larger tank gets a coarser one.
const MOST_NODES: f64 = 1.5e6;
/// Passes over the points of a piece; the last changes nothing but rounding.
const PASSES: usize = 3;

/// The ground with a hollow for each bedded piece, where there are any.
///
/// A plane becomes a grid first, and a coarse grid a finer one of the same
/// surface. Nodes under a piece fall to its underside, and those just beside it
/// to the lowest of their neighbours that did, so that a flat foot keeps a flat
/// bed to its very edge. Then each point of the piece's surface that is still
/// below the ground, as a corner between nodes, lowers the three nodes round it,
/// each by its share, until the ground passes through it. Nodes only ever fall,
/// so at the end no point lies below, and the piece rests in its own hollow.
pub(crate) fn hollowed(scene: &Scene) -> Result<Option<Ground>, LayoutError> {
    let Some(ground) = &scene.ground else {
        return Ok(None);
    };
    if !scene.bodies.iter().any(|b| b.bedded) {
        return Ok(Some(ground.clone()));
    }
    let mut grid = fine(scene, &ground.form)?;
    for body in scene.bodies.iter().filter(|b| b.bedded) {
        lay_under(&mut grid, body);
        let points = points_below(body, &grid);
        for _ in 0..PASSES {
            for point in &points {
                lower(&mut grid, *point);
            }
        }
    }
    Ok(Some(Ground {
        friction: ground.friction,
        form: GroundForm::Heights(grid),
    }))
}

/// The ground on a grid fine enough to be cut.
fn fine(scene: &Scene, form: &GroundForm) -> Result<GroundSurface, LayoutError> {
    let (length, width) = (scene.tank.length_m, scene.tank.width_m);
    let cell_m = match form {
        GroundForm::Heights(grid) => {
            let times = (grid.cell_m / FINE_M).ceil().max(1.0);
            grid.cell_m / times
        }
        GroundForm::Plane { .. } => FINE_M,
    };
    let coarsened = (length * width / (cell_m * cell_m) / MOST_NODES)
        .sqrt()
        .max(1.0);
    let cell_m = cell_m * coarsened.ceil();
    let nodes = |span: f64| (span / cell_m - 1e-6).ceil().max(1.0) as usize + 1;
    let (nx, ny) = (nodes(length), nodes(width));
    let middle = scene.tank.middle();
    let height = |x: f64, y: f64| match form {
        GroundForm::Plane {
            height_at_middle_m,
            slope_x_rad,
            slope_y_rad,
        } => {
            let height = height_at_middle_m
                + slope_x_rad.tan() * (x - middle.x)
                + slope_y_rad.tan() * (y - middle.y);
            height.max(0.0)
        }
        GroundForm::Heights(grid) => grid.height_m(DVec2::new(x, y)),
    };
    let heights = (0..nx * ny)
        .map(|n| height((n % nx) as f64 * cell_m, (n / nx) as f64 * cell_m))
        .collect();
    GroundSurface::new(cell_m, nx, ny, heights).map_err(|error| LayoutError::Ground {
        reason: error.to_string(),
        hint: "give heights over the whole base".to_owned(),
    })
}

/// Lets the nodes under a piece fall to its underside, and those beside it along.
fn lay_under(grid: &mut GroundSurface, body: &Body) {
    let (low, high) = body
        .solid
        .hull_m()
        .iter()
        .map(|v| body.point_in_tank(&body.pose, *v))
        .fold((DVec3::MAX, DVec3::MIN), |(low, high), p| {
            (low.min(p), high.max(p))
        });
    let span = |low: f64, high: f64, n: usize| {
        let first = (low / grid.cell_m - 1.0).floor().max(0.0) as usize;
        let last = ((high / grid.cell_m + 1.0).ceil().max(0.0) as usize).min(n - 1);
        first..=last
    };
    let (rows, columns) = (span(low.y, high.y, grid.ny), span(low.x, high.x, grid.nx));
    let mut fallen: Vec<Option<f64>> = vec![None; grid.heights_m.len()];
    for j in rows.clone() {
        for i in columns.clone() {
            let place = DVec3::new(i as f64 * grid.cell_m, j as f64 * grid.cell_m, low.z);
            let node = j * grid.nx + i;
            fallen[node] = underside_m(body, place).filter(|z| *z < grid.heights_m[node]);
        }
    }
    for j in rows {
        for i in columns.clone() {
            let node = j * grid.nx + i;
            let beside = || {
                let around = (j.saturating_sub(1)..=(j + 1).min(grid.ny - 1)).flat_map(|j| {
                    (i.saturating_sub(1)..=(i + 1).min(grid.nx - 1)).map(move |i| (i, j))
                });
                around
                    .filter_map(|(i, j)| fallen[j * grid.nx + i])
                    .reduce(f64::min)
            };
            if let Some(height) = fallen[node].or_else(beside) {
                grid.heights_m[node] = grid.heights_m[node].min(height);
            }
        }
    }
}

/// Height of a piece's underside over a place of the plan that is below it, m.
fn underside_m(body: &Body, below: DVec3) -> Option<f64> {
    let from = below - DVec3::Z * 1e-3;
    let back = body.pose.turn.inverse();
    let ray = Ray::new(into_piece(body, &body.pose, from), back * DVec3::Z);
    body.solid
        .bvh()
        .first_hit(&ray)
        .map(|hit| from.z + hit.distance_m)
}

/// Points of a piece's surface below the ground, dense enough that no node lies
/// between them unseen.
fn points_below(body: &Body, grid: &GroundSurface) -> Vec<DVec3> {
    let mesh = body.solid.mesh();
    let mut points = Vec::new();
    let (_, highest_m) = grid.range_m();
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t).map(|v| body.point_in_tank(&body.pose, v));
        let lowest = a.z.min(b.z).min(c.z);
        if lowest > highest_m {
            continue;
        }
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        let n = ((2.0 * longest / grid.cell_m).ceil() as usize).clamp(1, 2000);
        for i in 0..=n {
            for j in 0..=n - i {
                let (u, v) = (i as f64 / n as f64, j as f64 / n as f64);
                let p = a + u * (b - a) + v * (c - a);
                if p.z < grid.height_m(DVec2::new(p.x, p.y)) {
                    points.push(p);
                }
            }
        }
    }
    points.extend(
        body.solid
            .samples_m()
            .iter()
            .map(|v| body.point_in_tank(&body.pose, *v)),
    );
    points
}

/// Lowers the three nodes round a place so that the ground passes through a
/// point below it: the change of least squares.
fn lower(grid: &mut GroundSurface, point: DVec3) {
    let (nodes, weights) = round(grid, point);
    let height: f64 = (0..3).map(|k| weights[k] * grid.heights_m[nodes[k]]).sum();
    let too_high = height - point.z;
    if too_high <= 0.0 {
        return;
    }
    let squares: f64 = weights.iter().map(|w| w * w).sum();
    for k in 0..3 {
        grid.heights_m[nodes[k]] -= too_high * weights[k] / squares;
    }
}

/// The nodes of the triangle under a place and their weights there; the triangles
/// are those of [`GroundSurface`].
fn round(grid: &GroundSurface, place: DVec3) -> ([usize; 3], [f64; 3]) {
    let along = |value: f64, n: usize| {
        let steps = (value / grid.cell_m).clamp(0.0, (n - 1) as f64);
        let cell = (steps as usize).min(n - 2);
        (cell, steps - cell as f64)
    };
    let (i, u) = along(place.x, grid.nx);
    let (j, v) = along(place.y, grid.ny);
    let front_left = j * grid.nx + i;
    let (right, back) = (front_left + 1, front_left + grid.nx);
    if u + v <= 1.0 {
        ([front_left, right, back], [1.0 - u - v, u, v])
    } else {
        ([back + 1, back, right], [u + v - 1.0, 1.0 - u, 1.0 - v])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_point_below_lies_on_the_ground_once_that_is_lowered() {
        let mut grid =
            GroundSurface::new(0.01, 3, 3, vec![0.05; 9]).expect("nine heights make a grid");
        for point in [
            DVec3::new(0.003, 0.004, 0.03),
            DVec3::new(0.018, 0.017, 0.02),
        ] {
            lower(&mut grid, point);
            let (gap, _) = super::super::field::gap(&grid, point);
            assert!(gap.abs() < 1e-12, "{gap}");
        }
    }
}
