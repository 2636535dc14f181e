//! The outside of surfaces that cut each other.
//!
//! Every triangle that another one crosses is split along the crossings into
//! convex pieces. A piece lies on the outside of the union exactly when the
//! winding number is at least one behind it and less in front of it; both are
//! whole numbers that a ray counts. So the result is exact but for rounding:
//! no grid. The pieces meet without gaps, but not corner to corner.
//!
//! A grid of columns was considered instead; it is of first order along walls
//! that stand upright, which cut stone has, and gives no surface.

use glam::DVec3;
use rayon::prelude::*;

use super::cross::Meeting;
use super::edges::Edges;
use super::orient::Patches;
use super::tree::{Tree, distance_squared};
use super::weld::weld;
use crate::Mesh;

/// Two triangles that cross.
#[derive(Debug, Clone, Copy)]
pub(super) struct Crossing {
    /// One triangle.
    pub(super) a: u32,
    /// The other.
    pub(super) b: u32,
    /// How they meet.
    pub(super) meeting: Meeting,
}

/// Ray directions, tried in order until one passes no edge closely.
const DIRECTIONS: [DVec3; 6] = [
    DVec3::new(0.365_421, 0.577_303, 0.730_217),
    DVec3::new(-0.613_907, 0.284_359, 0.736_371),
    DVec3::new(0.712_313, -0.608_129, 0.350_377),
    DVec3::new(0.191_489, 0.893_237, -0.406_799),
    DVec3::new(-0.871_651, -0.338_671, 0.354_353),
    DVec3::new(0.523_177, -0.148_301, -0.839_221),
];

/// The outside of all that `mesh` encloses at least once.
///
/// `mesh` is closed and faces outwards (hollows inwards); `crossings` are all
/// pairs of its triangles that meet other than at common corners.
pub(super) fn union(
    mesh: &Mesh,
    edges: &Edges,
    tree: &Tree,
    crossings: &[Crossing],
    reach_m: f64,
) -> Mesh {
    let cuts = cuts_by_triangle(mesh, crossings);
    let mut in_plane: Vec<(u32, u32)> = crossings
        .iter()
        .filter(|crossing| crossing.meeting == Meeting::Plane)
        .flat_map(|crossing| [(crossing.a, crossing.b), (crossing.b, crossing.a)])
        .collect();
    in_plane.sort_unstable();
    let judge = Judge {
        mesh,
        tree,
        in_plane,
        reach_m,
    };
    let mut is_cut = vec![false; mesh.triangles.len()];
    for (t, _) in &cuts {
        is_cut[*t as usize] = true;
    }
    let whole = judge.whole_triangles(edges, &is_cut);
    let pieces: Vec<Vec<Vec<DVec3>>> = cuts
        .par_iter()
        .map(|(t, cuts)| judge.kept_pieces(*t, cuts))
        .collect();
    let mut vertices_m = mesh.vertices_m.clone();
    let mut triangles = whole;
    for piece in pieces.iter().flatten() {
        let first = index(vertices_m.len());
        vertices_m.extend(piece);
        triangles.extend((1..index(piece.len()) - 1).map(|i| [first, first + i, first + i + 1]));
    }
    let low = mesh.bounds().map_or(DVec3::ZERO, |b| b.0);
    let weld = weld(&vertices_m, low, 0.1 * reach_m);
    let triangles = triangles
        .into_iter()
        .map(|t| t.map(|v| weld.root[v as usize]))
        .filter(|[a, b, c]| a != b && b != c && c != a)
        .collect();
    Mesh {
        vertices_m,
        triangles,
        colours: Vec::new(),
    }
}

fn index(i: usize) -> u32 {
    u32::try_from(i).unwrap_or(u32::MAX)
}

/// A place where a triangle is to be cut.
type Cut = (DVec3, DVec3);

fn cuts_by_triangle(mesh: &Mesh, crossings: &[Crossing]) -> Vec<(u32, Vec<Cut>)> {
    let mut cuts: Vec<(u32, Cut)> = Vec::new();
    for crossing in crossings {
        for (t, other) in [(crossing.a, crossing.b), (crossing.b, crossing.a)] {
            match crossing.meeting {
                Meeting::Line(p, q) => cuts.push((t, (p, q))),
                Meeting::Plane => {
                    let [a, b, c] = mesh.corners(other as usize);
                    cuts.extend([(a, b), (b, c), (c, a)].map(|cut| (t, cut)));
                }
                Meeting::Touch => {}
            }
        }
    }
    // A stable sort keeps the order of the crossings, which the mesh alone decides.
    cuts.sort_by_key(|c| c.0);
    cuts.chunk_by(|a, b| a.0 == b.0)
        .map(|group| (group[0].0, group.iter().map(|c| c.1).collect()))
        .collect()
}

struct Judge<'a> {
    mesh: &'a Mesh,
    tree: &'a Tree,
    /// Pairs that overlap in one plane, both ways round, sorted.
    in_plane: Vec<(u32, u32)>,
    reach_m: f64,
}

/// What becomes of a place on the surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    Keep,
    TurnOver,
    Drop,
}

impl Judge<'_> {
    fn unit_normal(&self, t: u32) -> Option<DVec3> {
        let [a, b, c] = self.mesh.corners(t as usize);
        (b - a).cross(c - a).try_normalize()
    }

    /// Triangles that nothing crosses, judged a connected set at a time.
    fn whole_triangles(&self, edges: &Edges, is_cut: &[bool]) -> Vec<[u32; 3]> {
        let patches = Patches::flood_where(&self.mesh.triangles, edges, |t| !is_cut[t]);
        let fates: Vec<Fate> = patches
            .members()
            .par_iter()
            .map(|members| {
                let area = |t: u32| {
                    let [a, b, c] = self.mesh.corners(t as usize);
                    (b - a).cross(c - a).length_squared()
                };
                let largest = members
                    .iter()
                    .copied()
                    .max_by(|a, b| area(*a).total_cmp(&area(*b)).then(b.cmp(a)));
                match largest {
                    Some(t) if !is_cut[t as usize] => {
                        let [a, b, c] = self.mesh.corners(t as usize);
                        self.fate(t, (a + b + c) / 3.0)
                    }
                    _ => Fate::Drop,
                }
            })
            .collect();
        let turned = |[a, b, c]: [u32; 3]| [a, c, b];
        self.mesh
            .triangles
            .iter()
            .zip(&patches.of)
            .filter_map(|(t, patch)| match fates[*patch as usize] {
                Fate::Keep => Some(*t),
                Fate::TurnOver => Some(turned(*t)),
                Fate::Drop => None,
            })
            .collect()
    }

    fn kept_pieces(&self, t: u32, cuts: &[Cut]) -> Vec<Vec<DVec3>> {
        let Some(normal) = self.unit_normal(t) else {
            return Vec::new();
        };
        split(
            self.mesh.corners(t as usize).to_vec(),
            normal,
            cuts,
            self.reach_m,
        )
        .into_iter()
        .filter_map(|mut piece| match self.fate(t, centroid(&piece)) {
            Fate::Keep => Some(piece),
            Fate::TurnOver => {
                piece.reverse();
                Some(piece)
            }
            Fate::Drop => None,
        })
        .collect()
    }

    /// Judges the surface of triangle `t` at one of its places.
    fn fate(&self, t: u32, place: DVec3) -> Fate {
        let Some(normal) = self.unit_normal(t) else {
            return Fate::Drop;
        };
        let mut last = Fate::Drop;
        for direction in DIRECTIONS {
            let along = direction.dot(normal);
            if along.abs() < 0.15 {
                continue;
            }
            let (fate, is_sure) = self.fate_along(t, place, direction * along.signum());
            if is_sure {
                return fate;
            }
            last = fate;
        }
        last
    }

    /// Counts along one ray; the second value is false when it passes an edge too closely.
    fn fate_along(&self, t: u32, place: DVec3, ray: DVec3) -> (Fate, bool) {
        let (mut in_front, mut through) = (0_i32, 1_i32);
        let (mut is_first, mut is_sure) = (true, true);
        self.tree.along_ray(place, ray, |other| {
            if other == t {
                return;
            }
            let corners = self.mesh.corners(other as usize);
            let Some(other_normal) = self.unit_normal(other) else {
                return;
            };
            let sign = if other_normal.dot(ray) > 0.0 { 1 } else { -1 };
            let reach_squared = 4.0 * self.reach_m * self.reach_m;
            // Only what was cut as one plane is judged as one; a hair's breadth
            // apart, the ray tells front from back.
            if self.in_plane.binary_search(&(t, other)).is_ok()
                && distance_squared(place, corners) <= reach_squared
            {
                // One and the same place of two surfaces: the lower number speaks for both.
                through += sign;
                is_first &= t < other;
                return;
            }
            match hit(place, ray, corners) {
                Hit::Inside => in_front += sign,
                Hit::Edge => is_sure = false,
                Hit::Beside => {}
            }
        });
        let fate = match (in_front >= 1, in_front + through >= 1) {
            _ if !is_first => Fate::Drop,
            (false, true) => Fate::Keep,
            (true, false) => Fate::TurnOver,
            _ => Fate::Drop,
        };
        (fate, is_sure)
    }
}

/// How a ray passes a triangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hit {
    Inside,
    Edge,
    Beside,
}

/// Whether a ray meets a triangle ahead of its start.
///
/// # Source
/// T. Möller, B. Trumbore, Fast, minimum storage ray/triangle intersection,
/// J. Graphics Tools 2 (1997).
pub(super) fn hit(start: DVec3, ray: DVec3, [a, b, c]: [DVec3; 3]) -> Hit {
    const CLOSE: f64 = 1e-7;
    let (ab, ac, from) = (b - a, c - a, start - a);
    let across = ray.cross(ac);
    let det = ab.dot(across);
    if det == 0.0 {
        return Hit::Beside;
    }
    let u = from.dot(across) / det;
    let turned = from.cross(ab);
    let v = ray.dot(turned) / det;
    let t = ac.dot(turned) / det;
    let least = u.min(v).min(1.0 - u - v);
    if t <= 0.0 || least < -CLOSE {
        Hit::Beside
    } else if least < CLOSE {
        Hit::Edge
    } else {
        Hit::Inside
    }
}

fn centroid(piece: &[DVec3]) -> DVec3 {
    let (mut sum, mut weight) = (DVec3::ZERO, 0.0);
    for i in 1..piece.len() - 1 {
        let (a, b, c) = (piece[0], piece[i], piece[i + 1]);
        let area = (b - a).cross(c - a).length();
        sum += (a + b + c) / 3.0 * area;
        weight += area;
    }
    if weight > 0.0 { sum / weight } else { piece[0] }
}

/// Splits a convex polygon along lines until no cut passes through a piece.
fn split(polygon: Vec<DVec3>, normal: DVec3, cuts: &[Cut], reach_m: f64) -> Vec<Vec<DVec3>> {
    let mut pieces = Vec::new();
    let mut stack = vec![(polygon, cuts.to_vec())];
    while let Some((piece, cuts)) = stack.pop() {
        let mut inside: Vec<(f64, Cut)> = cuts
            .iter()
            .filter_map(|cut| {
                let (p, q) = within(&piece, normal, *cut, reach_m)?;
                Some((p.distance(q), *cut))
            })
            .collect();
        let longest =
            (0..inside.len()).max_by(|&i, &j| inside[i].0.total_cmp(&inside[j].0).then(j.cmp(&i)));
        let Some(longest) = longest else {
            pieces.push(piece);
            continue;
        };
        let (_, (p, q)) = inside.swap_remove(longest);
        let left = normal.cross(q - p).normalize_or_zero();
        let rest: Vec<Cut> = inside.into_iter().map(|i| i.1).collect();
        for across in [left, -left] {
            let half = clip(&piece, p, across, 1e-3 * reach_m);
            if half.len() >= 3 {
                stack.push((half, rest.clone()));
            }
        }
    }
    pieces
}

/// The part of a cut that runs inside a convex polygon, clear of its sides.
fn within(piece: &[DVec3], normal: DVec3, (p, q): Cut, reach_m: f64) -> Option<Cut> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for i in 0..piece.len() {
        let (a, b) = (piece[i], piece[(i + 1) % piece.len()]);
        let Some(inward) = normal.cross(b - a).try_normalize() else {
            continue;
        };
        let (at_p, at_q) = (inward.dot(p - a) - reach_m, inward.dot(q - a) - reach_m);
        if at_p <= 0.0 && at_q <= 0.0 {
            return None;
        }
        if at_p <= 0.0 {
            from = from.max(at_p / (at_p - at_q));
        } else if at_q <= 0.0 {
            to = to.min(at_p / (at_p - at_q));
        }
    }
    let length_m = (to - from) * p.distance(q);
    (length_m > reach_m).then(|| (p.lerp(q, from), p.lerp(q, to)))
}

/// The part of a convex polygon on the side of a line to which `across` points.
fn clip(piece: &[DVec3], on_line: DVec3, across: DVec3, snap_m: f64) -> Vec<DVec3> {
    let side = |v: DVec3| {
        let d = across.dot(v - on_line);
        if d.abs() <= snap_m { 0.0 } else { d }
    };
    let mut half = Vec::with_capacity(piece.len() + 1);
    for i in 0..piece.len() {
        let (a, b) = (piece[i], piece[(i + 1) % piece.len()]);
        let (at_a, at_b) = (side(a), side(b));
        if at_a >= 0.0 {
            half.push(a);
        }
        if at_a * at_b < 0.0 {
            // Always computed from the same end, so that both halves get one corner.
            half.push(if at_a > 0.0 {
                a.lerp(b, at_a / (at_a - at_b))
            } else {
                b.lerp(a, at_b / (at_b - at_a))
            });
        }
    }
    half
}
