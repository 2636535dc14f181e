//! Where pieces touch once they lie still, few enough points to carry all that can be carried.

use glam::DVec3;
use parry3d_f64::math::Pose as Frame;
use solid::Pose;

use super::{
    barrier::{Barrier, Surface},
    parts::Part,
    prepared::Solid,
    probe::{self, Side},
    rim,
    scene::{Body, Scene, Support},
    touch::{self, Touch},
};

/// Surfaces nearer than this touch, m.
pub(crate) const TOUCHING_M: f64 = 5e-5;
/// Normals within this cosine (12°) of each other belong to one patch.
const SAME_PATCH: f64 = 0.978;

/// One place where a body is held.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Contact {
    /// The body that is held.
    pub body: usize,
    /// What holds it.
    pub by: Support,
    /// Where, in the tank frame, m.
    pub point_m: DVec3,
    /// From what holds to what is held, unit.
    pub normal: DVec3,
    /// Coefficient of friction.
    pub friction: f64,
}

/// All contacts of the bodies at `poses`, those of a pair at the body with the
/// higher index, in the order body, support.
pub(crate) fn find(scene: &Scene, barriers: &[Barrier], poses: &[Pose]) -> Vec<Contact> {
    let strips = rim::strips(scene);
    let mut contacts = Vec::new();
    for (index, body) in scene.bodies.iter().enumerate() {
        for barrier in barriers {
            contacts.extend(thinned(on_barrier(index, body, &poses[index], barrier)));
        }
        if !strips.is_empty() {
            for contact in on_rim(scene, index, &poses[index], &strips) {
                contacts.push(contact);
            }
        }
        for other in 0..index {
            contacts.extend(thinned(on_piece(scene, poses, index, other)));
        }
    }
    contacts
}

fn on_barrier(index: usize, body: &Body, pose: &Pose, barrier: &Barrier) -> Vec<Contact> {
    let facet = match &barrier.surface {
        Surface::Plane { normal, .. } => facet_on(body, pose, *normal),
        Surface::Grid(_) => None,
    };
    let points = match &facet {
        Some(corners) => corners.as_slice(),
        None if barrier.is_uneven() => body.solid.samples_m(),
        None => body.solid.hull_m(),
    };
    points
        .iter()
        .filter_map(|p| {
            let point_m = body.point_in_tank(pose, *p);
            let (gap, normal) = barrier.gap(point_m)?;
            (gap <= TOUCHING_M).then(|| Contact {
                body: index,
                by: barrier.support,
                point_m: point_m - normal * gap,
                normal,
                friction: body.friction.min(barrier.friction),
            })
        })
        .collect()
}

/// A facet this near to a plane, rad, lies on it: 0.05°.
const LIES_RAD: f64 = 0.05 * std::f64::consts::PI / 180.0;

/// Corners of the hull facet that a body lies on a plane with, if with a whole
/// one. On a finely meshed round stone, corners of the neighbouring facets are
/// within micrometres of the plane too; to count them would widen its support.
fn facet_on(body: &Body, pose: &Pose, normal: DVec3) -> Option<Vec<DVec3>> {
    let hull = body.solid.hull();
    let down = pose.turn.inverse() * -normal;
    let facet = hull.facets.iter().reduce(|best, f| {
        if f.normal.dot(down) > best.normal.dot(down) {
            f
        } else {
            best
        }
    })?;
    let lies = facet.normal.cross(down).length() < LIES_RAD.sin() && facet.normal.dot(down) > 0.0;
    lies.then(|| {
        facet
            .rim
            .iter()
            .map(|edge| hull.vertices_m[edge.from as usize])
            .collect()
    })
}

fn frame_of(body: &Body, pose: &Pose) -> Frame {
    Frame::from_parts(pose.centre_m - pose.turn * body.solid.centre_m(), pose.turn)
}

fn on_piece(scene: &Scene, poses: &[Pose], index: usize, other: usize) -> Vec<Contact> {
    let (held, holds) = (&scene.bodies[index], &scene.bodies[other]);
    let apart = poses[index].centre_m.distance(poses[other].centre_m);
    if apart > held.solid.radius_m() + holds.solid.radius_m() + TOUCHING_M {
        return Vec::new();
    }
    let (frame, held_frame) = (
        frame_of(holds, &poses[other]),
        frame_of(held, &poses[index]),
    );
    let held_in_holds = frame.inv_mul(&held_frame);
    let mut contacts = Vec::new();
    for first in sides(&holds.solid) {
        for second in sides(&held.solid) {
            for (touch, normal) in touches_of(first, second, &held_in_holds) {
                contacts.push(Contact {
                    body: index,
                    by: Support::Piece(other),
                    point_m: frame.transform_point(0.5 * (touch.on_first + touch.on_second)),
                    normal: frame.rotation * normal,
                    friction: held.friction.min(holds.friction),
                });
            }
        }
    }
    contacts
}

/// What others meet of a solid: its convex parts, or itself.
fn sides(solid: &Solid) -> Vec<Side<'_>> {
    if solid.field().is_some() {
        vec![Side::Lump(solid)]
    } else {
        solid.parts().iter().map(Side::Part).collect()
    }
}

/// Touches of two pieces nearer than [`TOUCHING_M`], with their normals.
fn touches_of(first: Side, second: Side, second_in_first: &Frame) -> Vec<(Touch, DVec3)> {
    if let (Side::Part(a), Side::Part(b)) = (first, second) {
        let patch = touch::between(
            &a.polyhedron,
            &b.polyhedron,
            second_in_first,
            TOUCHING_M,
            None,
        );
        return patch
            .into_iter()
            .flat_map(|p| p.touches.into_iter().map(move |t| (t, p.normal)))
            .collect();
    }
    probe::touches(first, second, second_in_first, TOUCHING_M, &mut None)
}

fn on_rim(scene: &Scene, index: usize, pose: &Pose, strips: &[Part]) -> Vec<Contact> {
    let walls = [
        Support::WallLeft,
        Support::WallRight,
        Support::WallFront,
        Support::WallBack,
    ];
    let body = &scene.bodies[index];
    let frame = frame_of(body, pose);
    let mut contacts = Vec::new();
    for (strip, wall) in strips.iter().zip(walls) {
        for side in sides(&body.solid) {
            for (touch, normal) in touches_of(Side::Part(strip), side, &frame) {
                // A pane's inside is met by the piece's points already.
                if normal.z > 0.1 {
                    contacts.push(Contact {
                        body: index,
                        by: wall,
                        point_m: touch.on_first,
                        normal,
                        friction: body.friction.min(scene.tank.wall_friction),
                    });
                }
            }
        }
    }
    contacts
}

/// Keeps of each patch of about one normal the corners of its outline.
///
/// Any force that inner points of a flat patch can carry, its corners can carry.
fn thinned(contacts: Vec<Contact>) -> Vec<Contact> {
    let mut patches: Vec<Vec<Contact>> = Vec::new();
    for contact in contacts {
        let patch = patches
            .iter_mut()
            .find(|p| p[0].normal.dot(contact.normal) >= SAME_PATCH);
        match patch {
            Some(patch) => patch.push(contact),
            None => patches.push(vec![contact]),
        }
    }
    patches.iter().flat_map(|p| outline(p)).collect()
}

/// Corners of the outline of points, seen along their mean normal, in order round it.
fn outline(contacts: &[Contact]) -> Vec<Contact> {
    let normal = contacts
        .iter()
        .map(|c| c.normal)
        .sum::<DVec3>()
        .normalize_or(DVec3::Z);
    let points: Vec<DVec3> = contacts.iter().map(|c| c.point_m).collect();
    hull_order(&points, normal)
        .into_iter()
        .map(|i| contacts[i])
        .collect()
}

/// Indices of the corners of the convex outline of points seen along `normal`,
/// anticlockwise; points within a hundredth of a millimetre count once.
///
/// # Source
/// A. M. Andrew, Another efficient algorithm for convex hulls in two
/// dimensions, Information Processing Letters 9 (1979).
pub(crate) fn hull_order(points: &[DVec3], normal: DVec3) -> Vec<usize> {
    const SAME_M: f64 = 1e-5;
    let (u, v) = normal.any_orthonormal_pair();
    let flat: Vec<(f64, f64)> = points.iter().map(|p| (p.dot(u), p.dot(v))).collect();
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|a, b| {
        flat[*a]
            .0
            .total_cmp(&flat[*b].0)
            .then(flat[*a].1.total_cmp(&flat[*b].1))
            .then(a.cmp(b))
    });
    let mut kept: Vec<usize> = Vec::new();
    for i in order {
        let near = kept
            .iter()
            .any(|k| (flat[*k].0 - flat[i].0).hypot(flat[*k].1 - flat[i].1) < SAME_M);
        if !near {
            kept.push(i);
        }
    }
    if kept.len() < 3 {
        return kept;
    }
    // Twice the area of a triangle; one under a 1 µm high sliver is a straight line.
    let turn = |a: usize, b: usize, c: usize| {
        let (p, q, r) = (flat[a], flat[b], flat[c]);
        let area = (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0);
        area > 1e-6 * (r.0 - p.0).hypot(r.1 - p.1)
    };
    let chain = |indices: &mut dyn Iterator<Item = usize>| {
        let mut chain: Vec<usize> = Vec::new();
        for i in indices {
            while chain.len() >= 2 && !turn(chain[chain.len() - 2], chain[chain.len() - 1], i) {
                chain.pop();
            }
            chain.push(i);
        }
        chain.pop();
        chain
    };
    let mut hull = chain(&mut kept.iter().copied());
    hull.extend(chain(&mut kept.iter().rev().copied()));
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_a_grid_of_points_the_four_corners_carry() {
        let points: Vec<DVec3> = (0..25)
            .map(|i| DVec3::new(f64::from(i % 5), f64::from(i / 5), 0.0))
            .collect();
        let mut hull = hull_order(&points, DVec3::Z);
        hull.sort_unstable();
        assert_eq!(hull, [0, 4, 20, 24]);
    }

    #[test]
    fn points_of_a_line_leave_its_ends() {
        let points: Vec<DVec3> = (0..5).map(|i| DVec3::X * f64::from(i)).collect();
        let mut hull = hull_order(&points, DVec3::Z);
        hull.sort_unstable();
        assert_eq!(hull, [0, 4]);
    }
}
