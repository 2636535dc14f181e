//! The convex outline of a piece in plan, and the smallest rectangle round it.

use glam::{DQuat, DVec2, DVec3};

/// A rectangle in the plane, at any angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rectangle {
    /// Longer side, metres.
    pub width_m: f64,
    /// Shorter side, metres.
    pub depth_m: f64,
    /// Angle from x to the longer side, radians, in (−π/2, π/2].
    pub angle_rad: f64,
    /// Its middle, metres.
    pub centre_m: DVec2,
}

impl Rectangle {
    /// Area, square metres.
    #[must_use]
    pub fn area_m2(&self) -> f64 {
        self.width_m * self.depth_m
    }
}

/// The convex hull of turned points in plan, anticlockwise, without points on straight edges.
#[must_use]
pub fn plan_hull(points_m: &[DVec3], turn: DQuat) -> Vec<DVec2> {
    convex_ring(points_m.iter().map(|p| (turn * *p).truncate()).collect())
}

/// The convex hull of points in the plane, anticlockwise from the lowest x.
///
/// # Source
/// A. M. Andrew, Another efficient algorithm for convex hulls in two dimensions,
/// Information Processing Letters 9 (1979).
#[must_use]
pub fn convex_ring(mut points_m: Vec<DVec2>) -> Vec<DVec2> {
    points_m.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    points_m.dedup();
    if points_m.len() < 3 {
        return points_m;
    }
    let mut ring: Vec<DVec2> = Vec::with_capacity(points_m.len());
    let mut least = 2;
    for lap in 0..2 {
        for step in lap..points_m.len() {
            let index = if lap == 0 {
                step
            } else {
                points_m.len() - 1 - step
            };
            let p = points_m[index];
            while ring.len() >= least && turns_right(ring[ring.len() - 2], ring[ring.len() - 1], p)
            {
                ring.pop();
            }
            ring.push(p);
        }
        least = ring.len() + 1;
    }
    ring.pop();
    ring
}

/// True unless a, b, c is a turn to the left.
fn turns_right(a: DVec2, b: DVec2, c: DVec2) -> bool {
    let at = |v: DVec2| robust::Coord { x: v.x, y: v.y };
    robust::orient2d(at(a), at(b), at(c)) <= 0.0
}

/// The rectangle of least area round a convex ring; zero for an empty one.
///
/// One of its sides lies along an edge of the ring. Of equal ones, the longest is taken.
///
/// # Source
/// H. Freeman, R. Shapira, Determining the minimum-area encasing rectangle for
/// an arbitrary closed curve, Communications of the ACM 18 (1975).
#[must_use]
pub fn least_rectangle(ring_m: &[DVec2]) -> Rectangle {
    let mut best: Option<Rectangle> = None;
    let n = ring_m.len();
    let mut touch = [0usize; 3];
    for i in 0..n {
        let Some(along) = (ring_m[(i + 1) % n] - ring_m[i]).try_normalize() else {
            continue;
        };
        let found = flush_rectangle(ring_m, i, along, &mut touch);
        let better = best.is_none_or(|b| {
            let (area, least) = (found.area_m2(), b.area_m2());
            area < least * (1.0 - 1e-9)
                || (area <= least * (1.0 + 1e-9) && found.width_m > b.width_m * (1.0 + 1e-9))
        });
        if better {
            best = Some(found);
        }
    }
    best.unwrap_or(Rectangle {
        width_m: 0.0,
        depth_m: 0.0,
        angle_rad: 0.0,
        centre_m: ring_m.first().copied().unwrap_or_default(),
    })
}

/// The rectangle with a side along edge `i`.
///
/// `touch` are the corners where its right, far and left sides touched the ring
/// for the edge before, counted on past the end of the ring: they only move on.
fn flush_rectangle(ring: &[DVec2], i: usize, along: DVec2, touch: &mut [usize; 3]) -> Rectangle {
    let n = ring.len();
    let across = along.perp();
    let mut from = i + 1;
    for (place, direction) in touch.iter_mut().zip([along, across, -along]) {
        let reach = |k: usize| direction.dot(ring[k % n]);
        *place = (*place).max(from);
        while *place < i + n && reach(*place + 1) >= reach(*place) {
            *place += 1;
        }
        from = *place;
    }
    let right = along.dot(ring[touch[0] % n]);
    let far = across.dot(ring[touch[1] % n]);
    let left = along.dot(ring[touch[2] % n]);
    let near = across.dot(ring[i]);
    let (length, height) = (right - left, far - near);
    let (width_m, depth_m, side) = if length >= height {
        (length, height, along)
    } else {
        (height, length, across)
    };
    Rectangle {
        width_m,
        depth_m,
        angle_rad: half_turn(side.to_angle()),
        centre_m: along * (0.5 * (left + right)) + across * (0.5 * (near + far)),
    }
}

/// The angle of a line, in (−π/2, π/2].
fn half_turn(angle: f64) -> f64 {
    use std::f64::consts::{FRAC_PI_2, PI};
    if angle > FRAC_PI_2 {
        angle - PI
    } else if angle <= -FRAC_PI_2 {
        angle + PI
    } else {
        angle
    }
}
