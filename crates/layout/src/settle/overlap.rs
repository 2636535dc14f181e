//! Which things fill the same space before anything is let go.

use glam::DVec3;
use solid::Pose;

use super::{
    barrier::{Barrier, Surface},
    scene::{Body, Scene, Support},
};
use crate::{LayoutError, ground::GroundSurface};

/// An overlap deeper than this is refused, m.
pub const ALLOWED_M: f64 = 1e-3;
/// Rounding that a user's millimetres may carry, m.
const ROUNDING_M: f64 = 2e-6;
/// How far inside the surface a body is asked as well, m: two bodies of one
/// form in one place have their surfaces in common and nothing of one surface
/// inside the other.
const INSIDE_M: f64 = 2.5e-3;

/// Refuses a scene whose pieces overlap each other, the glass or the ground.
///
/// Measured on the true meshes: corners, points along the edges and points of
/// the faces of one inside the other, both ways, each as deep as its distance to
/// the nearest surface.
///
/// # Errors
/// The first overlap over [`ALLOWED_M`], glass before ground before pieces, in
/// the order of the bodies.
pub(crate) fn check(scene: &Scene, barriers: &[Barrier]) -> Result<(), LayoutError> {
    for (index, body) in scene.bodies.iter().enumerate() {
        for barrier in barriers {
            if !(barrier.support == Support::Ground && body.bedded) {
                barrier_overlap(index, body, barrier)?;
            }
        }
    }
    for (index, body) in scene.bodies.iter().enumerate() {
        for other in &scene.bodies[..index] {
            let depth_m = depth(body, other).max(depth(other, body));
            if depth_m > ALLOWED_M + ROUNDING_M {
                return Err(LayoutError::Overlap {
                    body: index,
                    piece: body.id.clone(),
                    other: format!("piece {:?}", other.id),
                    depth_m,
                });
            }
        }
    }
    Ok(())
}

fn barrier_overlap(index: usize, body: &Body, barrier: &Barrier) -> Result<(), LayoutError> {
    let depth_m = match &barrier.surface {
        Surface::Plane { top_m, .. } => below_plane(body, barrier, *top_m),
        Surface::Grid(grid) => below_grid(body, grid),
    };
    if depth_m <= ALLOWED_M + ROUNDING_M {
        return Ok(());
    }
    let piece = body.id.clone();
    let pane = match barrier.support {
        Support::WallLeft => "left",
        Support::WallRight => "right",
        Support::WallFront => "front",
        Support::WallBack => "back",
        Support::Base | Support::Ground | Support::Piece(_) => {
            return Err(LayoutError::Overlap {
                body: index,
                piece,
                other: if barrier.support == Support::Base {
                    "the base".to_owned()
                } else {
                    "the ground".to_owned()
                },
                depth_m,
            });
        }
    };
    Err(LayoutError::ThroughGlass {
        body: index,
        piece,
        pane,
        depth_m,
    })
}

/// How far a body reaches behind a plane that ends at `top_m`, m. Where its
/// surface crosses that height the crossing counts, so that a bough may lie
/// over the rim but not pass through the pane.
fn below_plane(body: &Body, barrier: &Barrier, top_m: f64) -> f64 {
    let behind = |p: DVec3| barrier.gap(p).map_or(0.0, |(gap, _)| -gap);
    let reach = body.solid.hull_m().iter().map(|v| {
        let p = body.point_in_tank(&body.pose, *v);
        (behind(p), p.z <= top_m)
    });
    let (mut deepest, mut all_below) = (0.0_f64, true);
    for (depth, below) in reach {
        deepest = deepest.max(depth);
        all_below &= below;
    }
    if all_below {
        return deepest;
    }
    let mesh = body.solid.mesh();
    let points: Vec<DVec3> = mesh
        .vertices_m
        .iter()
        .map(|v| body.point_in_tank(&body.pose, *v))
        .collect();
    let mut deepest = points.iter().map(|p| behind(*p)).fold(0.0, f64::max);
    for [a, b, c] in &mesh.triangles {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let (p, q) = (points[*from as usize], points[*to as usize]);
            if (p.z > top_m) != (q.z > top_m) {
                let mut at_rim = p + (q - p) * ((top_m - p.z) / (q.z - p.z));
                at_rim.z = top_m;
                deepest = deepest.max(behind(at_rim));
            }
        }
    }
    deepest
}

/// How far a body and ground given by heights reach into each other, m.
fn below_grid(body: &Body, grid: &GroundSurface) -> f64 {
    let points = body.solid.mesh().vertices_m.iter();
    let mut deepest = points
        .chain(body.solid.samples_m())
        .map(|v| -super::field::gap(grid, body.point_in_tank(&body.pose, *v)).0)
        .fold(0.0, f64::max);
    let (low, high) = bounds_in_tank(body);
    let span = |low: f64, high: f64, n: usize| {
        let first = (low / grid.cell_m).floor().max(0.0) as usize;
        let last = ((high / grid.cell_m).ceil().max(0.0) as usize).min(n - 1);
        first..=last
    };
    for j in span(low.y, high.y, grid.ny) {
        for i in span(low.x, high.x, grid.nx) {
            let node = DVec3::new(
                i as f64 * grid.cell_m,
                j as f64 * grid.cell_m,
                grid.node_m(i, j),
            );
            if node.z > low.z + ALLOWED_M && node.z < high.z {
                deepest = deepest.max(inside_by(body, node));
            }
        }
    }
    deepest
}

fn bounds_in_tank(body: &Body) -> (DVec3, DVec3) {
    body.solid
        .hull_m()
        .iter()
        .map(|v| body.point_in_tank(&body.pose, *v))
        .fold((DVec3::MAX, DVec3::MIN), |(low, high), p| {
            (low.min(p), high.max(p))
        })
}

/// How far a point of the tank is inside a body, m; 0 outside.
fn inside_by(body: &Body, point_in_tank: DVec3) -> f64 {
    let point = into_piece(body, &body.pose, point_in_tank);
    let (low, high) = body.solid.bounds();
    if !(point.cmpge(low).all() && point.cmple(high).all()) {
        return 0.0;
    }
    let bvh = body.solid.bvh();
    let Some(closest) = bvh.closest(point, f64::INFINITY) else {
        return 0.0;
    };
    if closest.distance_m > ALLOWED_M && bvh.contains(point) {
        closest.distance_m
    } else {
        0.0
    }
}

/// A point of the tank in the piece frame.
pub(crate) fn into_piece(body: &Body, pose: &Pose, point_in_tank: DVec3) -> DVec3 {
    pose.turn.inverse() * (point_in_tank - pose.centre_m) + body.solid.centre_m()
}

/// The deepest that corners, edges and faces of `body` reach into `other`, m.
fn depth(body: &Body, other: &Body) -> f64 {
    let apart = body.pose.centre_m.distance(other.pose.centre_m);
    if apart >= body.solid.radius_m() + other.solid.radius_m() {
        return 0.0;
    }
    let (low, high) = bounds_in_tank(other);
    let probe = |p: DVec3| {
        let point = body.point_in_tank(&body.pose, p);
        if point.cmpge(low).all() && point.cmple(high).all() {
            inside_by(other, point)
        } else {
            0.0
        }
    };
    let solid = &body.solid;
    let outer = solid
        .mesh()
        .vertices_m
        .iter()
        .chain(solid.samples_m())
        .map(|v| probe(*v));
    let inner = solid.inner_m().iter().map(|v| probe(*v));
    outer.chain(inner).fold(0.0, f64::max)
}

/// Points of the surface moved inwards by [`INSIDE_M`], where the body is thicker than twice that.
pub(crate) fn inner_points(mesh: &solid::Mesh, bvh: &solid::bvh::Bvh) -> Vec<DVec3> {
    let step = (mesh.triangles.len() / 400).max(1);
    (0..mesh.triangles.len())
        .step_by(step)
        .filter_map(|t| {
            let [a, b, c] = mesh.corners(t);
            let inwards = (c - a).cross(b - a).try_normalize()?;
            let point = (a + b + c) / 3.0 + inwards * INSIDE_M;
            let nearest = bvh.closest(point, f64::INFINITY)?;
            (nearest.distance_m > 0.9 * INSIDE_M && bvh.contains(point)).then_some(point)
        })
        .collect()
}
