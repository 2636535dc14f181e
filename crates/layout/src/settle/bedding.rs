//! How ground is cut to the underside of bedded pieces, and how it carries them.

use glam::{DVec2, DVec3};

use super::{
    barrier::Barrier,
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
/// surface. Then each point of a piece's surface that lies below the ground
/// lowers the three nodes round it, each by its share, until the ground passes
/// through the point. Nodes only ever fall, so at the end no point lies below,
/// and the piece rests in its own hollow.
pub(crate) fn hollowed(scene: &Scene) -> Result<Option<Ground>, LayoutError> {
    let Some(ground) = &scene.ground else {
        return Ok(None);
    };
    if !scene.bodies.iter().any(|b| b.bedded) {
        return Ok(Some(ground.clone()));
    }
    let mut grid = fine(scene, &ground.form)?;
    for body in scene.bodies.iter().filter(|b| b.bedded) {
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

/// The height at which the ground carries each sample of a bedded piece, m: where
/// it lies at the start, or NaN for a sample above the ground.
///
/// Ground is filled round a bedded piece, so its whole buried underside is carried,
/// upwards only. The sides are not counted on, which is on the safe side.
pub(crate) fn carried_at(scene: &Scene, body: &Body) -> Option<Vec<f64>> {
    let form = &scene.ground.as_ref().filter(|_| body.bedded)?.form;
    let heights = body
        .solid
        .samples_m()
        .iter()
        .map(|sample| {
            let p = body.point_in_tank(&body.pose, *sample);
            if p.z <= height_m(scene, form, p.x, p.y) {
                p.z
            } else {
                f64::NAN
            }
        })
        .collect();
    Some(heights)
}

/// Ground steeper than this (50°) is the side of a hollow.
const SIDE: f64 = 0.64;

/// How far sample `index` of a bedded piece, now at `point`, is above what carries it.
pub(crate) fn gap(
    carried_at: &[f64],
    index: usize,
    point: DVec3,
    barrier: &Barrier,
) -> Option<(f64, DVec3)> {
    match carried_at.get(index) {
        Some(height) if height.is_finite() => Some((point.z - height, DVec3::Z)),
        _ => barrier.gap(point).filter(|(_, normal)| normal.z > SIDE),
    }
}

fn height_m(scene: &Scene, form: &GroundForm, x: f64, y: f64) -> f64 {
    match form {
        GroundForm::Plane {
            height_at_middle_m,
            slope_x_rad,
            slope_y_rad,
        } => {
            let middle = scene.tank.middle();
            let height = height_at_middle_m
                + slope_x_rad.tan() * (x - middle.x)
                + slope_y_rad.tan() * (y - middle.y);
            height.max(0.0)
        }
        GroundForm::Heights(grid) => grid.height_m(DVec2::new(x, y)),
    }
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
    let heights = (0..nx * ny)
        .map(|n| {
            height_m(
                scene,
                form,
                (n % nx) as f64 * cell_m,
                (n / nx) as f64 * cell_m,
            )
        })
        .collect();
    GroundSurface::new(cell_m, nx, ny, heights).map_err(|error| LayoutError::Ground {
        reason: error.to_string(),
        hint: "give heights over the whole base".to_owned(),
    })
}

/// Points of a piece's surface below the ground, dense enough that no node lies
/// between them unseen.
fn points_below(body: &Body, grid: &GroundSurface) -> Vec<DVec3> {
    let mesh = body.solid.mesh();
    let mut points = Vec::new();
    for t in 0..mesh.triangles.len() {
        let [a, b, c] = mesh.corners(t).map(|v| body.point_in_tank(&body.pose, v));
        let lowest = a.z.min(b.z).min(c.z);
        if lowest > grid.range_m().1 {
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
