//! The outline of a mesh in one view, from its contour edges alone.

use glam::{DMat3, DQuat, DVec2, DVec3};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::{Ring, View};
use crate::Mesh;

/// Half of the extent of a view, in steps of the grid that crossings are snapped to.
const STEPS: f64 = (1_u32 << 29) as f64;

/// The edges of a mesh with the triangles beside them: what outlines are made of.
///
/// The triangles that face the eye are all anticlockwise in the view, so the
/// number of them over a point is the winding number of their common rim, in
/// which edges between two such triangles cancel. What is left are the contour
/// edges, some √n of all: the outline is where their winding number is not 0.
/// A mesh that isn't closed is seen through from behind too: then the
/// triangles that face away are turned over and count as well.
#[derive(Debug, Clone)]
pub struct Contours<'a> {
    mesh: &'a Mesh,
    /// Twice the area vector of each triangle.
    normals: Vec<DVec3>,
    /// Each edge with its corners and the triangles on its left and right.
    edges: Vec<Edge>,
    /// False when some edge has more triangles on one side than on the other.
    closed: bool,
}

#[derive(Debug, Clone, Copy)]
struct Edge {
    from: u32,
    to: u32,
    /// Triangle that has the edge as from → to, or `NONE`.
    left: u32,
    /// Triangle that has it as to → from, or `NONE`.
    right: u32,
}

const NONE: u32 = u32::MAX;

impl<'a> Contours<'a> {
    /// Finds the edges of `mesh`.
    #[must_use]
    pub fn of(mesh: &'a Mesh) -> Self {
        let normals = (0..mesh.triangles.len())
            .map(|t| {
                let [a, b, c] = mesh.corners(t);
                (b - a).cross(c - a)
            })
            .collect();
        let edges = edges(mesh);
        let closed = edges.iter().all(|e| e.left != NONE && e.right != NONE);
        Self {
            mesh,
            normals,
            edges,
            closed,
        }
    }

    /// Area that the turned mesh covers in a view, square metres.
    #[must_use]
    pub fn area_m2(&self, turn: DQuat, view: View) -> f64 {
        let rings = self.rings(turn, view);
        rings.iter().map(Ring::area_m2).sum()
    }

    /// The outline in a view, every corner of it.
    #[must_use]
    pub fn rings(&self, turn: DQuat, view: View) -> Vec<Ring> {
        let frame = view.drawing_from_piece(turn);
        let loops = self.loops(frame);
        union(&loops)
    }

    /// The contour edges as closed loops, in the view's axes.
    fn loops(&self, frame: DMat3) -> Vec<Vec<DVec2>> {
        let towards_eye = frame.row(2);
        let side: Vec<i8> = self
            .normals
            .iter()
            .map(|n| match (n.dot(towards_eye), self.closed) {
                (d, _) if d > 0.0 => 1,
                (d, false) if d < 0.0 => -1,
                _ => 0,
            })
            .collect();
        let weight = |t: u32| if t == NONE { 0 } else { side[t as usize] };
        let mut rim: Vec<(u32, u32)> = Vec::new();
        for edge in &self.edges {
            let count = weight(edge.left) - weight(edge.right);
            for _ in 0..count.max(0) {
                rim.push((edge.from, edge.to));
            }
            for _ in count..0 {
                rim.push((edge.to, edge.from));
            }
        }
        rim.sort_unstable();
        let chains = chain(&rim);
        let (right, up) = (frame.row(0), frame.row(1));
        let flat = |v: u32| {
            let p = self.mesh.vertices_m[v as usize];
            DVec2::new(right.dot(p), up.dot(p))
        };
        chains
            .into_iter()
            .map(|chain| chain.into_iter().map(flat).collect())
            .collect()
    }
}

/// Every edge with the triangles beside it; where more than two meet, they are paired in order.
fn edges(mesh: &Mesh) -> Vec<Edge> {
    let n_vertices = mesh.vertices_m.len();
    let halves = || {
        mesh.triangles.iter().enumerate().flat_map(|(t, corners)| {
            (0..3).map(move |side| (t as u32, corners[side], corners[(side + 1) % 3]))
        })
    };
    let mut start = vec![0u32; n_vertices + 1];
    for (_, a, b) in halves() {
        start[a.min(b) as usize + 1] += 1;
    }
    for v in 0..n_vertices {
        start[v + 1] += start[v];
    }
    let mut place = start.clone();
    // (higher corner, 1 when from higher to lower, triangle)
    let mut sorted = vec![(0u32, 0u8, 0u32); 3 * mesh.triangles.len()];
    for (t, a, b) in halves() {
        let slot = &mut place[a.min(b) as usize];
        sorted[*slot as usize] = (a.max(b), u8::from(a > b), t);
        *slot += 1;
    }
    let mut edges = Vec::with_capacity(sorted.len() / 2);
    for v in 0..n_vertices {
        let around = &mut sorted[start[v] as usize..start[v + 1] as usize];
        around.sort_unstable();
        for group in around.chunk_by(|a, b| a.0 == b.0) {
            let n_left = group.partition_point(|half| half.1 == 0);
            let (left, right) = group.split_at(n_left);
            for k in 0..left.len().max(right.len()) {
                edges.push(Edge {
                    from: v as u32,
                    to: group[0].0,
                    left: left.get(k).map_or(NONE, |half| half.2),
                    right: right.get(k).map_or(NONE, |half| half.2),
                });
            }
        }
    }
    edges
}

/// Links edges, sorted by where they start, into closed loops.
///
/// As many edges end at a corner as start there, so a walk can only end where it began.
fn chain(rim: &[(u32, u32)]) -> Vec<Vec<u32>> {
    let mut used = vec![false; rim.len()];
    // For each group of edges with one start (at its first edge): how many are used.
    let mut taken = vec![0u32; rim.len()];
    let mut chains = Vec::new();
    for first in 0..rim.len() {
        if used[first] {
            continue;
        }
        let mut loop_ = Vec::new();
        let mut here = rim[first].0;
        loop {
            let group = rim.partition_point(|edge| edge.0 < here);
            let next = group + taken.get(group).map_or(0, |n| *n as usize);
            if next >= rim.len() || rim[next].0 != here {
                break;
            }
            taken[group] += 1;
            used[next] = true;
            loop_.push(here);
            here = rim[next].1;
        }
        chains.push(loop_);
    }
    chains
}

/// Where the winding number of the loops is not 0.
fn union(loops: &[Vec<DVec2>]) -> Vec<Ring> {
    let mut points = loops.iter().flatten();
    let Some(&first) = points.next() else {
        return Vec::new();
    };
    let (low, high) = points.fold((first, first), |(l, h), p| (l.min(*p), h.max(*p)));
    let middle = 0.5 * (low + high);
    let step_m = 0.5 * (high - low).max_element() / STEPS;
    if !(step_m > 0.0 && step_m.is_finite()) {
        return Vec::new();
    }
    let options = IntOverlayOptions::default();
    let n_points = loops.iter().map(Vec::len).sum();
    let mut overlay = Overlay::<i32>::new_custom(n_points, options, Default::default());
    for one in loops {
        let snapped = one.iter().map(|p| {
            let q = (*p - middle) / step_m;
            IntPoint::new(q.x.round() as i32, q.y.round() as i32)
        });
        overlay.add_path_iter(snapped, ShapeType::Subject);
    }
    overlay
        .overlay(OverlayRule::Subject, FillRule::NonZero)
        .into_iter()
        .flatten()
        .map(|contour| Ring {
            points_m: contour
                .iter()
                .map(|p| DVec2::new(f64::from(p.x), f64::from(p.y)) * step_m + middle)
                .collect(),
        })
        .collect()
}
