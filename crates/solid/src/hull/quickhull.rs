//! Which triangles bound the hull of a set of points.

use glam::DVec3;
use robust::{Coord3D, orient3d};

use super::flat;
use crate::SolidError;

/// One triangle of the hull.
#[derive(Debug, Clone)]
pub(super) struct Face {
    /// Indices into the points, anticlockwise seen from outside.
    pub corners: [u32; 3],
    /// The face across edge `i → i + 1`.
    pub across: [u32; 3],
}

/// A face while the hull grows.
struct Growing {
    corners: [u32; 3],
    across: [u32; 3],
    normal: DVec3,
    offset: f64,
    outside: Vec<u32>,
    /// The outside point that lies furthest.
    eye: Option<u32>,
    alive: bool,
}

/// An edge between a face that the eye sees and one that it doesn't.
struct HorizonEdge {
    from: u32,
    to: u32,
    beyond: u32,
    side_beyond: usize,
}

/// The hull of the points named by `kept`.
pub(super) fn faces(points: &[DVec3], kept: &[u32], skin: f64) -> Result<Vec<Face>, SolidError> {
    let simplex = first_simplex(points, kept, 10.0 * skin)?;
    let mut build = Build::new(points, simplex, skin);
    build.share_out(kept, 0);
    let mut next = 0;
    while next < build.faces.len() {
        if build.faces[next].alive
            && let Some(eye) = build.faces[next].eye
        {
            build.add(next as u32, eye);
        }
        next += 1;
    }
    Ok(build.finish())
}

/// True when `p` lies strictly outside the plane through the face `a`, `b`, `c`.
fn sees(p: DVec3, [a, b, c]: [DVec3; 3]) -> bool {
    let at = |v: DVec3| Coord3D {
        x: v.x,
        y: v.y,
        z: v.z,
    };
    orient3d(at(a), at(b), at(c), at(p)) < 0.0
}

/// Order of points by x, then y, then z: among equals in one direction, the
/// greatest is always a corner of the hull.
fn lexicographic(a: DVec3, b: DVec3) -> std::cmp::Ordering {
    a.x.total_cmp(&b.x)
        .then(a.y.total_cmp(&b.y))
        .then(a.z.total_cmp(&b.z))
}

/// The point with the greatest `score`; of equal ones, the lexicographically greatest.
fn furthest(points: &[DVec3], kept: &[u32], score: impl Fn(DVec3) -> f64) -> (f64, u32) {
    let mut best = (f64::NEG_INFINITY, kept[0]);
    for &index in kept {
        let value = score(points[index as usize]);
        let better = value > best.0
            || (value == best.0
                && lexicographic(points[index as usize], points[best.1 as usize]).is_gt());
        if better {
            best = (value, index);
        }
    }
    best
}

/// Four points that span a volume, the fourth inside of the first three's plane.
fn first_simplex(points: &[DVec3], kept: &[u32], thickness: f64) -> Result<[u32; 4], SolidError> {
    let at = |index: u32| points[index as usize];
    let (mut a, mut b, mut span) = (0, 0, -1.0);
    for axis in [DVec3::X, DVec3::Y, DVec3::Z] {
        let high = furthest(points, kept, |p| axis.dot(p)).1;
        let low = furthest(points, kept, |p| -axis.dot(p)).1;
        let distance = at(high).distance(at(low));
        if distance > span {
            (a, b, span) = (low, high, distance);
        }
    }
    let along = (at(b) - at(a)).normalize_or_zero();
    let off_line = |p: DVec3| (p - at(a)).reject_from_normalized(along).length_squared();
    let (square, c) = furthest(points, kept, off_line);
    if square.sqrt() <= thickness {
        return Err(flat("all its points on one line"));
    }
    let normal = (at(b) - at(a)).cross(at(c) - at(a)).normalize_or_zero();
    let (distance, d) = furthest(points, kept, |p| normal.dot(p - at(a)).abs());
    let corners = [at(a), at(b), at(c)];
    if distance <= thickness {
        return Err(flat("all its points in one plane"));
    }
    if sees(at(d), corners) {
        return Ok([a, c, b, d]);
    }
    if sees(at(d), [at(a), at(c), at(b)]) {
        return Ok([a, b, c, d]);
    }
    Err(flat("all its points in one plane"))
}

struct Build<'a> {
    points: &'a [DVec3],
    skin: f64,
    faces: Vec<Growing>,
    /// For a corner of the horizon: the new face whose rim edge starts there.
    starting: Vec<u32>,
    horizon: Vec<HorizonEdge>,
    stack: Vec<u32>,
    seen: Vec<u32>,
    homeless: Vec<u32>,
}

impl<'a> Build<'a> {
    fn new(points: &'a [DVec3], [a, b, c, d]: [u32; 4], skin: f64) -> Self {
        let mut build = Self {
            points,
            skin,
            faces: Vec::new(),
            starting: vec![u32::MAX; points.len()],
            horizon: Vec::new(),
            stack: Vec::new(),
            seen: Vec::new(),
            homeless: Vec::new(),
        };
        build.push([a, b, c], [1, 2, 3]);
        build.push([b, a, d], [0, 3, 2]);
        build.push([c, b, d], [0, 1, 3]);
        build.push([a, c, d], [0, 2, 1]);
        build
    }

    fn at(&self, index: u32) -> DVec3 {
        self.points[index as usize]
    }

    fn push(&mut self, corners: [u32; 3], across: [u32; 3]) {
        let [a, b, c] = corners.map(|v| self.at(v));
        let normal = (b - a).cross(c - a).normalize_or_zero();
        self.faces.push(Growing {
            corners,
            across,
            normal,
            offset: normal.dot(a),
            outside: Vec::new(),
            eye: None,
            alive: true,
        });
    }

    /// Gives each point to the first face from `first` on that it lies outside of.
    fn share_out(&mut self, candidates: &[u32], first: usize) {
        for &index in candidates {
            let p = self.at(index);
            let home = self.faces[first..]
                .iter_mut()
                .find(|face| face.normal.dot(p) - face.offset > self.skin);
            if let Some(face) = home {
                face.outside.push(index);
            }
        }
        for face in first..self.faces.len() {
            let face = &mut self.faces[face];
            if !face.outside.is_empty() {
                let normal = face.normal;
                face.eye = Some(furthest(self.points, &face.outside, |p| normal.dot(p)).1);
            }
        }
    }

    /// Makes `eye`, which lies outside `face`, a corner.
    fn add(&mut self, face: u32, eye: u32) {
        if !self.is_seen(face, eye) {
            // Rounding put a point on the wrong side of a sliver: it's within the skin.
            self.faces[face as usize].outside.clear();
            return;
        }
        self.find_horizon(face, eye);
        let first = self.faces.len();
        for edge in 0..self.horizon.len() {
            let HorizonEdge {
                from,
                to,
                beyond,
                side_beyond,
            } = self.horizon[edge];
            let new = self.faces.len() as u32;
            self.push([from, to, eye], [beyond, u32::MAX, u32::MAX]);
            self.faces[beyond as usize].across[side_beyond] = new;
            self.starting[from as usize] = new;
        }
        for new in first..self.faces.len() {
            let next = self.starting[self.faces[new].corners[1] as usize];
            self.faces[new].across[1] = next;
            self.faces[next as usize].across[2] = new as u32;
        }
        let mut homeless = std::mem::take(&mut self.homeless);
        homeless.clear();
        for &gone in &self.seen {
            let outside = std::mem::take(&mut self.faces[gone as usize].outside);
            homeless.extend(outside.into_iter().filter(|p| *p != eye));
        }
        self.share_out(&homeless, first);
        self.homeless = homeless;
    }

    fn is_seen(&self, face: u32, eye: u32) -> bool {
        let corners = self.faces[face as usize].corners.map(|v| self.at(v));
        sees(self.at(eye), corners)
    }

    /// Takes away the faces that `eye` sees, and lists the edges round them.
    fn find_horizon(&mut self, face: u32, eye: u32) {
        self.horizon.clear();
        self.seen.clear();
        self.stack.clear();
        self.stack.push(face);
        self.faces[face as usize].alive = false;
        while let Some(current) = self.stack.pop() {
            self.seen.push(current);
            for side in 0..3 {
                let Growing {
                    corners, across, ..
                } = self.faces[current as usize];
                let beyond = across[side];
                if !self.faces[beyond as usize].alive {
                    continue;
                }
                if self.is_seen(beyond, eye) {
                    self.faces[beyond as usize].alive = false;
                    self.stack.push(beyond);
                } else {
                    let side_beyond = self.faces[beyond as usize]
                        .across
                        .iter()
                        .position(|f| *f == current)
                        .unwrap_or(0);
                    self.horizon.push(HorizonEdge {
                        from: corners[side],
                        to: corners[(side + 1) % 3],
                        beyond,
                        side_beyond,
                    });
                }
            }
        }
    }

    /// The living faces, renumbered.
    fn finish(self) -> Vec<Face> {
        let mut number = vec![u32::MAX; self.faces.len()];
        let living = self.faces.iter().enumerate().filter(|(_, f)| f.alive);
        for (new, (old, _)) in living.enumerate() {
            number[old] = new as u32;
        }
        self.faces
            .iter()
            .filter(|face| face.alive)
            .map(|face| Face {
                corners: face.corners,
                across: face.across.map(|f| number[f as usize]),
            })
            .collect()
    }
}

/// How many corners the faces have (Euler: F = 2V − 4).
pub(super) fn n_corners(faces: &[Face]) -> usize {
    faces.len() / 2 + 2
}

/// The corners that stand out of their neighbours by more than `least`, in rising order.
///
/// A corner that does not is inside a flat facet or along a straight edge. Of
/// two neighbours at most one is dropped, so that a true corner with a twin stays.
pub(super) fn true_corners(points: &[DVec3], faces: &[Face], least: f64) -> Vec<u32> {
    let mut corners: Vec<u32> = faces.iter().flat_map(|face| face.corners).collect();
    corners.sort_unstable();
    corners.dedup();
    let number = |index: u32| corners.partition_point(|c| *c < index);
    let at = |index: u32| points[index as usize];
    let mut outward = vec![DVec3::ZERO; corners.len()];
    for face in faces {
        let [a, b, c] = face.corners.map(at);
        let normal = (b - a).cross(c - a).normalize_or_zero();
        for side in 0..3 {
            let here = at(face.corners[side]);
            let to_next = at(face.corners[(side + 1) % 3]) - here;
            let to_last = at(face.corners[(side + 2) % 3]) - here;
            outward[number(face.corners[side])] += normal * to_next.angle_between(to_last);
        }
    }
    let mut height = vec![f64::INFINITY; corners.len()];
    for face in faces {
        for side in 0..3 {
            let here = number(face.corners[side]);
            let along = outward[here].normalize_or_zero();
            let rise = along.dot(at(face.corners[side]) - at(face.corners[(side + 1) % 3]));
            height[here] = height[here].min(rise);
        }
    }
    let mut dropped = vec![false; corners.len()];
    let mut blocked = vec![false; corners.len()];
    for face in faces {
        for side in 0..3 {
            let here = number(face.corners[side]);
            let next = number(face.corners[(side + 1) % 3]);
            if height[here] <= least && !blocked[here] && !dropped[next] {
                dropped[here] = true;
                blocked[next] = true;
            } else if dropped[here] {
                blocked[next] = true;
            }
        }
    }
    let keep = |(index, _): &(usize, &u32)| !dropped[*index];
    let kept = corners.iter().enumerate().filter(keep);
    kept.map(|(_, corner)| *corner).collect()
}
