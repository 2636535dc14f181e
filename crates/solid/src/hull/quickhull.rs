//! Which triangles bound the hull of a set of points.

use std::collections::VecDeque;
use std::ops::Range;

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

/// No face, no point.
pub(super) const NONE: u32 = u32::MAX;

/// A face while the hull grows.
struct Growing {
    normal: DVec3,
    offset: f64,
    corners: [u32; 3],
    across: [u32; 3],
    /// Where its outside points are.
    outside: Range<u32>,
    /// The outside point that lies furthest.
    eye: u32,
    alive: bool,
}

/// What sharing out needs of a fresh face, side by side in memory.
struct Plane {
    normal: DVec3,
    offset: f64,
    furthest: f64,
    eye: u32,
    n_outside: u32,
}

/// A point on its way, with its place beside it.
#[derive(Clone, Copy)]
struct Loose {
    place: DVec3,
    index: u32,
    /// Which of the fresh faces it lies outside of.
    face: u32,
}

/// An edge between a face that the eye sees and one that it doesn't.
struct HorizonEdge {
    from: u32,
    to: u32,
    beyond: u32,
    side_beyond: usize,
}

/// The hull of the points named by `kept`, but for those within `skin` outside of it.
pub(super) fn faces(
    points: &[DVec3],
    kept: &[u32],
    skin: f64,
    flatness: f64,
) -> Result<Vec<Face>, SolidError> {
    let simplex = first_simplex(points, kept, flatness)?;
    let mut build = Build::new(points, simplex, skin);
    build.homeless.extend(kept.iter().map(|index| Loose {
        place: points[*index as usize],
        index: *index,
        face: NONE,
    }));
    build.share_out();
    while let Some((face, eye)) = build.pending.pop_front() {
        // The slot may hold another face by now: then its own eye is pending too.
        let current = &build.faces[face as usize];
        if current.alive && current.eye == eye {
            build.add(face, eye);
        }
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
    /// Slots of faces that are gone.
    free: Vec<u32>,
    /// Faces with a point outside, and that point, first come first served.
    pending: VecDeque<(u32, u32)>,
    /// The points outside of all faces, face by face, with gaps.
    outside: Vec<Loose>,
    n_outside: usize,
    /// For a corner of the horizon: the new face whose rim edge starts there.
    starting: Vec<u32>,
    horizon: Vec<HorizonEdge>,
    stack: Vec<u32>,
    seen: Vec<u32>,
    fresh: Vec<u32>,
    homeless: Vec<Loose>,
}

impl<'a> Build<'a> {
    fn new(points: &'a [DVec3], [a, b, c, d]: [u32; 4], skin: f64) -> Self {
        let mut build = Self {
            points,
            skin,
            faces: Vec::new(),
            free: Vec::new(),
            pending: VecDeque::new(),
            outside: Vec::new(),
            n_outside: 0,
            starting: vec![NONE; points.len()],
            horizon: Vec::new(),
            stack: Vec::new(),
            seen: Vec::new(),
            fresh: Vec::new(),
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

    /// Adds a face, in a free slot if there is one, and lists it as fresh.
    fn push(&mut self, corners: [u32; 3], across: [u32; 3]) -> u32 {
        let [a, b, c] = corners.map(|v| self.at(v));
        let normal = (b - a).cross(c - a).normalize_or_zero();
        let face = Growing {
            normal,
            offset: normal.dot(a),
            corners,
            across,
            outside: 0..0,
            eye: NONE,
            alive: true,
        };
        let slot = if let Some(slot) = self.free.pop() {
            self.faces[slot as usize] = face;
            slot
        } else {
            self.faces.push(face);
            self.faces.len() as u32 - 1
        };
        self.fresh.push(slot);
        slot
    }

    /// Gives each homeless point to the first fresh face that it lies outside of,
    /// and lists those faces as pending.
    fn share_out(&mut self) {
        let mut planes: Vec<Plane> = Vec::with_capacity(self.fresh.len());
        for &slot in &self.fresh {
            let face = &self.faces[slot as usize];
            planes.push(Plane {
                normal: face.normal,
                offset: face.offset,
                furthest: self.skin,
                eye: NONE,
                n_outside: 0,
            });
        }
        for loose in &mut self.homeless {
            let p = loose.place;
            loose.face = NONE;
            for (k, plane) in planes.iter_mut().enumerate() {
                let distance = plane.normal.dot(p) - plane.offset;
                if distance <= self.skin {
                    continue;
                }
                loose.face = k as u32;
                plane.n_outside += 1;
                let further = distance > plane.furthest
                    || (distance == plane.furthest
                        && lexicographic(p, self.points[plane.eye as usize]).is_gt());
                if further {
                    plane.furthest = distance;
                    plane.eye = loose.index;
                }
                break;
            }
        }
        let mut place = self.outside.len() as u32;
        for (plane, slot) in planes.iter_mut().zip(&self.fresh) {
            if plane.eye != NONE {
                let face = &mut self.faces[*slot as usize];
                face.outside = place..place + plane.n_outside;
                face.eye = plane.eye;
                self.pending.push_back((*slot, plane.eye));
            }
            self.n_outside += plane.n_outside as usize;
            let end = place + plane.n_outside;
            plane.n_outside = place;
            place = end;
        }
        if let Some(any) = self.homeless.first() {
            self.outside.resize(place as usize, *any);
        }
        for loose in &self.homeless {
            if loose.face != NONE {
                let place = &mut planes[loose.face as usize].n_outside;
                self.outside[*place as usize] = *loose;
                *place += 1;
            }
        }
        self.fresh.clear();
    }

    /// Closes the gaps between the outside points when they are most of the list.
    fn tidy(&mut self) {
        if self.outside.len() < 4096 || self.outside.len() < 3 * self.n_outside {
            return;
        }
        let mut tidied = Vec::with_capacity(2 * self.n_outside);
        for face in self.faces.iter_mut().filter(|face| face.alive) {
            let from = tidied.len() as u32;
            tidied.extend_from_slice(
                &self.outside[face.outside.start as usize..face.outside.end as usize],
            );
            face.outside = from..tidied.len() as u32;
        }
        self.outside = tidied;
    }

    /// Makes `eye`, which lies outside `face`, a corner.
    fn add(&mut self, face: u32, eye: u32) {
        if !self.is_seen(face, eye) {
            // Rounding put a point on the wrong side of a sliver: it's within the skin.
            let skipped = &mut self.faces[face as usize];
            skipped.eye = NONE;
            self.n_outside -= skipped.outside.len();
            skipped.outside = 0..0;
            return;
        }
        self.find_horizon(face, eye);
        self.homeless.clear();
        for &gone in &self.seen {
            let range = self.faces[gone as usize].outside.clone();
            let outside = &self.outside[range.start as usize..range.end as usize];
            self.n_outside -= outside.len();
            let others = outside.iter().filter(|loose| loose.index != eye);
            self.homeless.extend(others.copied());
        }
        self.free.append(&mut self.seen);
        for edge in 0..self.horizon.len() {
            let HorizonEdge {
                from,
                to,
                beyond,
                side_beyond,
            } = self.horizon[edge];
            let new = self.push([from, to, eye], [beyond, NONE, NONE]);
            self.faces[beyond as usize].across[side_beyond] = new;
            self.starting[from as usize] = new;
        }
        for place in 0..self.fresh.len() {
            let new = self.fresh[place];
            let next = self.starting[self.faces[new as usize].corners[1] as usize];
            self.faces[new as usize].across[1] = next;
            self.faces[next as usize].across[2] = new;
        }
        self.share_out();
        self.tidy();
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
