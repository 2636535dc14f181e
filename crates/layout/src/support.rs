//! What holds a piece where it was put, before anything moves?

use glam::DVec2;
use solid::Pose;

use crate::drop::{Below, Form, box_round, grid, lower, upper};

/// Surfaces nearer than this hold a piece, m: half as much again as the overlap that settling lets pass.
const TOUCH_M: f64 = 1.5e-3;
/// Distance between the places that are looked at, m.
const STEP_M: f64 = 2.5e-3;

/// A thing that can hold a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Holder {
    /// The base plate.
    Base,
    /// The ground.
    Ground,
    /// Another piece, by its place in the list.
    Piece(usize),
}

/// What lies right under a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// What it touches, in a fixed order.
    pub by: Vec<Holder>,
    /// The least vertical distance to what lies below it, m.
    pub gap_m: f64,
    /// How far the foot of its centre of mass lies outside the hull of the
    /// places where it is held, m; 0 inside, infinite where nothing holds it.
    pub beyond_m: f64,
}

/// Looks at a piece where it was put, over everything in `below` but itself.
///
/// Places on a grid of 2.5 mm and the corners of the mesh are looked at along
/// the vertical; those within 1.5 mm of what lies below count as held.
#[must_use]
pub fn held(below: &Below, own: usize, form: &Form, pose: Pose) -> Held {
    let piece = form.placed(pose);
    let (low, high) = box_round(&piece.vertices_m);
    let on_grid = grid(low.truncate(), high.truncate(), STEP_M);
    let at_corners = piece.vertices_m.iter().map(|v| v.truncate());
    let (mut by, mut places, mut gap_m) = (Vec::new(), Vec::new(), f64::INFINITY);
    for place in on_grid.chain(at_corners) {
        let Some(underside) = lower(&piece.seen, place) else {
            continue;
        };
        let (holder, top) = top_below(below, own, place, underside);
        gap_m = gap_m.min(underside - top);
        if underside - top < TOUCH_M {
            places.push(place);
            if !by.contains(&holder) {
                by.push(holder);
            }
        }
    }
    by.sort();
    Held {
        by,
        gap_m,
        beyond_m: beyond(pose.centre_m.truncate(), places),
    }
}

/// The highest thing at a place that is not above the piece's underside.
fn top_below(below: &Below, own: usize, place: DVec2, underside_m: f64) -> (Holder, f64) {
    let mut best = (Holder::Base, 0.0);
    if let Some(ground) = below.ground
        && ground.height_m(place) > 0.0
    {
        best = (Holder::Ground, ground.height_m(place));
    }
    for (i, other) in below.pieces().iter().enumerate() {
        if i == own {
            continue;
        }
        if let Some(top) = upper(&other.seen, place)
            && top > best.1
            && top < underside_m + 2.0 * TOUCH_M
        {
            best = (Holder::Piece(i), top);
        }
    }
    best
}

/// Distance of a point outside the convex hull of places.
fn beyond(foot: DVec2, places: Vec<DVec2>) -> f64 {
    let hull = solid::outline::convex_ring(places);
    match hull.len() {
        0 => f64::INFINITY,
        1 => foot.distance(hull[0]),
        n => {
            let sides = (0..n).map(|i| (hull[i], hull[(i + 1) % n]));
            let is_inside = n > 2
                && sides
                    .clone()
                    .all(|(a, b)| (b - a).perp_dot(foot - a) >= 0.0);
            if is_inside {
                return 0.0;
            }
            sides
                .map(|(a, b)| {
                    let along = ((foot - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
                    foot.distance(a + along * (b - a))
                })
                .fold(f64::INFINITY, f64::min)
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use glam::{DQuat, DVec3};
    use solid::Mesh;

    use super::*;

    fn at(x: f64, z: f64) -> Pose {
        Pose {
            centre_m: DVec3::new(x, 0.1, z),
            turn: DQuat::IDENTITY,
        }
    }

    #[test]
    fn a_block_past_the_edge_of_a_slab_is_seen_to_overhang() {
        let form = |x, y, z| Form::new(Arc::new(Mesh::cuboid(DVec3::new(x, y, z))), DVec3::ZERO);
        let (slab, block) = (form(0.2, 0.1, 0.04), form(0.09, 0.07, 0.06));
        let mut below = Below::new(None);
        below.put(&slab, at(0.2, 0.02));
        let seen = |x: f64, z: f64| held(&below, usize::MAX, &block, at(x, z));
        let over = seen(0.312, 0.07);
        assert_eq!(over.by, vec![Holder::Piece(0)]);
        assert!((over.beyond_m - 0.012).abs() < 2e-3, "{}", over.beyond_m);
        assert_eq!(seen(0.25, 0.07).beyond_m, 0.0);
        let hanging = seen(0.25, 0.10);
        assert!(hanging.by.is_empty());
        assert!((hanging.gap_m - 0.03).abs() < 1e-9);
    }
}
