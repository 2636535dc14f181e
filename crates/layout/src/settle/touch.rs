//! Where two convex parts touch, and where a piece touches glass or ground.

use glam::{DQuat, DVec3};
use parry3d_f64::{
    math::Pose as Frame,
    query::{
        details::contact_support_map_support_map_with_params,
        gjk::{GJKResult, VoronoiSimplex},
    },
    shape::ConvexPolyhedron,
};

/// One place where two surfaces are close, in the frame of the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Touch {
    /// The place on the first body.
    pub on_first: DVec3,
    /// The place on the second body.
    pub on_second: DVec3,
    /// Distance along the normal; negative when they overlap.
    pub gap_m: f64,
    /// What of the two touches: equal from step to step while the same features do.
    pub feature: u64,
}

/// All places where two parts are within `reach_m`, with one common normal.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Patch {
    /// From the first body to the second, unit, in the frame of the first.
    pub normal: DVec3,
    /// The places.
    pub touches: Vec<Touch>,
}

/// Faces that lean more than this from the common normal do not carry it.
const FACES_IT: f64 = 0.7;

/// The patch between two convex parts; `second_in_first` takes the second's
/// frame into the first's. `None` when they are farther apart than `reach_m`.
///
/// The closest or deepest points come from GJK and EPA; beside them, every
/// corner of one within reach of a face of the other, and every crossing of
/// the outlines of the two faces that meet. (A manifold of four corners of one
/// face is not enough: a six-sided column would stand on two thirds of its foot.)
pub(crate) fn between(
    first: &ConvexPolyhedron,
    second: &ConvexPolyhedron,
    second_in_first: &Frame,
    reach_m: f64,
    hint: Option<DVec3>,
) -> Option<Patch> {
    let found = contact_support_map_support_map_with_params(
        second_in_first,
        first,
        second,
        reach_m,
        &mut VoronoiSimplex::new(),
        hint,
    );
    let GJKResult::ClosestPoints(on_first, on_second, normal) = found else {
        return None;
    };
    let normal = squared_up(first, second, second_in_first, normal);
    let closest = Touch {
        on_first,
        on_second,
        gap_m: (on_second - on_first).dot(normal),
        feature: u64::MAX,
    };
    let meeting = Meeting {
        first,
        second,
        second_in_first,
        normal,
        reach_m,
        closest,
    };
    let mut touches = meeting.corners_of_first();
    touches.extend(meeting.corners_of_second());
    touches.extend(meeting.crossings());
    let mut touches = once_each(touches, normal);
    let deepest = touches.iter().map(|t| t.gap_m).fold(f64::MAX, f64::min);
    if deepest > closest.gap_m + CLOSEST_BEFORE_M {
        touches.push(closest);
    }
    Some(Patch { normal, touches })
}

/// How much less apart two bodies may be along a face's normal for it to be taken, m.
const FACE_BEFORE_M: f64 = 2e-6;

/// The normal of a face that the two parts meet with, where one separates them
/// as well as the normal found: nearly touching bodies have a search direction
/// that is rounding noise, and a stack that is pushed along noise walks.
///
/// # Source
/// Separating axes of faces: S. Gottschalk, M. C. Lin, D. Manocha, OBBTree,
/// SIGGRAPH (1996); here only the two faces that look along the normal are tried.
fn squared_up(
    first: &ConvexPolyhedron,
    second: &ConvexPolyhedron,
    second_in_first: &Frame,
    normal: DVec3,
) -> DVec3 {
    let back = second_in_first.rotation.inverse();
    let apart = |n: DVec3| {
        let far = first
            .points()
            .iter()
            .map(|p| p.dot(n))
            .fold(f64::MIN, f64::max);
        let local = back * n;
        let near = second
            .points()
            .iter()
            .map(|p| p.dot(local))
            .fold(f64::MAX, f64::min);
        near + second_in_first.translation.dot(n) - far
    };
    let face = |body: &ConvexPolyhedron, direction: DVec3| {
        body.faces()
            .iter()
            .map(|f| (f.normal.dot(direction), f.normal))
            .fold((f64::MIN, direction), |a, b| if b.0 > a.0 { b } else { a })
            .1
    };
    let candidates = [
        face(first, normal),
        -(second_in_first.rotation * face(second, back * -normal)),
    ];
    let found = apart(normal);
    let best = candidates.map(apart);
    let pick = usize::from(best[1] > best[0] + FACE_BEFORE_M);
    if best[pick] >= found - FACE_BEFORE_M {
        candidates[pick]
    } else {
        normal
    }
}

/// How far a corner may lie beside a body and still count as over it, m.
const BESIDE_M: f64 = 2e-5;

/// How far a point is above those faces of `body` that look along `direction`;
/// `None` where it is not over them, or none does.
fn above_faces(body: &ConvexPolyhedron, point: DVec3, direction: DVec3) -> Option<f64> {
    let mut above: Option<f64> = None;
    for face in body.faces() {
        let corner =
            body.points()[body.vertices_adj_to_face()[face.first_vertex_or_edge as usize] as usize];
        let apart = (point - corner).dot(face.normal);
        if face.normal.dot(direction) > FACES_IT {
            above = Some(above.map_or(apart, |a| a.max(apart)));
        } else if apart > BESIDE_M {
            return None;
        }
    }
    above
}

/// Two parts that meet along a normal.
struct Meeting<'a> {
    first: &'a ConvexPolyhedron,
    second: &'a ConvexPolyhedron,
    second_in_first: &'a Frame,
    normal: DVec3,
    reach_m: f64,
    closest: Touch,
}

impl Meeting<'_> {
    /// Corners of the second over faces of the first.
    fn corners_of_second(&self) -> Vec<Touch> {
        let n = self.normal;
        let level = self.closest.on_first.dot(n) + self.reach_m.max(self.closest.gap_m);
        let corners = self.second.points().iter().enumerate();
        corners
            .filter_map(|(index, corner)| {
                let point = self.second_in_first.transform_point(*corner);
                if point.dot(n) > level {
                    return None;
                }
                let above = above_faces(self.first, point, n)?;
                (above <= self.reach_m).then(|| Touch {
                    on_first: point - n * above,
                    on_second: point,
                    gap_m: above,
                    feature: (2 << 60) | index as u64,
                })
            })
            .collect()
    }

    /// Corners of the first under faces of the second.
    fn corners_of_first(&self) -> Vec<Touch> {
        let n = self.normal;
        let back = self.second_in_first.rotation.inverse();
        let level = self.closest.on_second.dot(n) - self.reach_m.max(self.closest.gap_m);
        let corners = self.first.points().iter().enumerate();
        corners
            .filter_map(|(index, point)| {
                if point.dot(n) < level {
                    return None;
                }
                let local = self.second_in_first.inverse_transform_point(*point);
                let above = above_faces(self.second, local, back * -n)?;
                (above <= self.reach_m).then(|| Touch {
                    on_first: *point,
                    on_second: *point + n * above,
                    gap_m: above,
                    feature: (1 << 60) | index as u64,
                })
            })
            .collect()
    }

    /// Crossings of the outlines of the two faces that look at each other.
    fn crossings(&self) -> Vec<Touch> {
        let n = self.normal;
        let (a, face_a) = facing(self.first, n);
        let (b, face_b) = facing(self.second, self.second_in_first.rotation.inverse() * -n);
        let b: Vec<DVec3> = b
            .iter()
            .map(|p| self.second_in_first.transform_point(*p))
            .collect();
        let (u, v) = n.any_orthonormal_pair();
        let flat = |p: DVec3| (p.dot(u), p.dot(v));
        let mut touches = Vec::new();
        for i in 0..a.len() {
            let (p, q) = (a[i], a[(i + 1) % a.len()]);
            for j in 0..b.len() {
                let (r, s) = (b[j], b[(j + 1) % b.len()]);
                let Some((k, l)) = crossing(flat(p), flat(q), flat(r), flat(s)) else {
                    continue;
                };
                let (on_first, on_second) = (p + k * (q - p), r + l * (s - r));
                let gap_m = (on_second - on_first).dot(n);
                if gap_m <= self.reach_m {
                    touches.push(Touch {
                        on_first,
                        on_second,
                        gap_m,
                        feature: (3 << 60)
                            | (face_a << 36)
                            | (face_b << 12)
                            | ((i as u64) << 6)
                            | j as u64,
                    });
                }
            }
        }
        touches
    }
}

/// Places nearer than this to each other, seen along the normal, are one, m.
const SAME_PLACE_M: f64 = 3e-4;
/// The closest points found count beside corners and crossings when they are
/// closer than those by this, m.
const CLOSEST_BEFORE_M: f64 = 2e-6;

/// Of places that coincide the first, with the least gap of all of them.
fn once_each(touches: Vec<Touch>, normal: DVec3) -> Vec<Touch> {
    let mut kept: Vec<Touch> = Vec::new();
    for touch in touches {
        let same = kept.iter_mut().find(|k| {
            let apart = k.on_first - touch.on_first;
            (apart - normal * apart.dot(normal)).length_squared() < SAME_PLACE_M * SAME_PLACE_M
        });
        match same {
            Some(same) => {
                if touch.gap_m < same.gap_m {
                    let feature = same.feature;
                    *same = Touch { feature, ..touch };
                }
            }
            None => kept.push(touch),
        }
    }
    kept
}

/// The face that looks most along `direction`, its corners in order.
fn facing(body: &ConvexPolyhedron, direction: DVec3) -> (Vec<DVec3>, u64) {
    let mut best = (f64::MIN, 0);
    for (index, face) in body.faces().iter().enumerate() {
        let along = face.normal.dot(direction);
        if along > best.0 {
            best = (along, index);
        }
    }
    let face = &body.faces()[best.1];
    let from = face.first_vertex_or_edge as usize;
    let corners = body.vertices_adj_to_face()[from..from + face.num_vertices_or_edges as usize]
        .iter()
        .map(|v| body.points()[*v as usize])
        .collect();
    (corners, best.1 as u64)
}

/// Where two segments of a plane cross, as shares of each; `None` when they don't.
fn crossing(p: (f64, f64), q: (f64, f64), r: (f64, f64), s: (f64, f64)) -> Option<(f64, f64)> {
    let (ax, ay) = (q.0 - p.0, q.1 - p.1);
    let (bx, by) = (s.0 - r.0, s.1 - r.1);
    let cross = ax * by - ay * bx;
    if cross.abs() < 1e-9 * ax.hypot(ay) * bx.hypot(by) {
        return None;
    }
    let (cx, cy) = (r.0 - p.0, r.1 - p.1);
    let k = (cx * by - cy * bx) / cross;
    let l = (cx * ay - cy * ax) / cross;
    ((0.0..=1.0).contains(&k) && (0.0..=1.0).contains(&l)).then_some((k, l))
}

/// How much nearer than the deepest place another must be to count as touching now, m.
pub(crate) const BAND_M: f64 = 2e-5;

/// Directions in which the next touch is looked for.
const SECTORS: usize = 12;

/// Picks the few touches that carry a patch: the deepest, those farthest out among
/// the ones that touch now, and in each direction from them the one that would
/// touch next if the body rocked that way.
///
/// Farthest out is along 16 directions fixed in `frame`'s axes, so that a body
/// which turns slowly keeps its touches from step to step. A corner that touches
/// next and was not picked would sink in by a step's motion and be lifted out
/// again: some µm, but as much as keeps a pebble rocking for ever.
pub(crate) fn carry(touches: &[Touch], normal: DVec3, frame: DQuat, most: usize) -> Vec<usize> {
    if touches.len() <= 4 {
        return (0..touches.len()).collect();
    }
    let deepest = lowest(touches);
    let level = touches[deepest].gap_m.max(0.0) + BAND_M;
    let mut chosen = vec![deepest];
    let near: Vec<usize> = (0..touches.len())
        .filter(|i| touches[*i].gap_m <= level)
        .collect();
    farthest_out(touches, &near, normal, frame, 16, &mut chosen);
    chosen.truncate(most);
    if near.len() < touches.len() {
        next_to_touch(touches, level, normal, frame, &mut chosen);
    }
    chosen
}

/// Adds, for each direction from the middle of the chosen, the touch above `level`
/// whose gap is the least share of its distance.
fn next_to_touch(
    touches: &[Touch],
    level: f64,
    normal: DVec3,
    frame: DQuat,
    chosen: &mut Vec<usize>,
) {
    let middle = chosen.iter().map(|i| touches[*i].on_first).sum::<DVec3>() / chosen.len() as f64;
    let (u, v) = (frame.inverse() * normal).any_orthonormal_pair();
    let (u, v) = (frame * u, frame * v);
    let mut best: [Option<(f64, usize)>; SECTORS] = [None; SECTORS];
    for (i, touch) in touches.iter().enumerate() {
        if touch.gap_m <= level {
            continue;
        }
        let out = touch.on_first - middle;
        let (x, y) = (out.dot(u), out.dot(v));
        let share = (touch.gap_m - level + BAND_M) / x.hypot(y).max(BAND_M);
        let turn = y.atan2(x).rem_euclid(std::f64::consts::TAU) / std::f64::consts::TAU;
        let sector = ((turn * SECTORS as f64) as usize).min(SECTORS - 1);
        if best[sector].is_none_or(|(least, _)| share < least) {
            best[sector] = Some((share, i));
        }
    }
    chosen.extend(best.into_iter().flatten().map(|(_, i)| i));
}

fn lowest(touches: &[Touch]) -> usize {
    (1..touches.len()).fold(0, |best, i| {
        if touches[i].gap_m < touches[best].gap_m {
            i
        } else {
            best
        }
    })
}

fn farthest_out(
    touches: &[Touch],
    among: &[usize],
    normal: DVec3,
    frame: DQuat,
    directions: usize,
    chosen: &mut Vec<usize>,
) {
    let local = frame.inverse() * normal;
    let (u, v) = local.any_orthonormal_pair();
    let (u, v) = (frame * u, frame * v);
    for k in 0..directions {
        let (sin, cos) = (std::f64::consts::TAU * k as f64 / directions as f64).sin_cos();
        let along = cos * u + sin * v;
        let mut best: Option<(f64, usize)> = None;
        for i in among {
            let out = touches[*i].on_first.dot(along);
            if best.is_none_or(|(far, _)| out > far + 1e-9) {
                best = Some((out, *i));
            }
        }
        if let Some((_, i)) = best
            && !chosen.contains(&i)
        {
            chosen.push(i);
        }
    }
}
