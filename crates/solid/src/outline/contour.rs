//! The outline of a mesh in one view, from its contour edges alone.

use super::covered::covered_m2;
use super::union::{chain, union};
use super::{Ring, View};
use crate::Mesh;
use glam::{DMat3, DQuat, DVec2, DVec3};
use rayon::prelude::*;

/// Outlines with no more contour edges than this are joined exactly for their area.
const FEW_EDGES: usize = 256;

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

/// A face seen within 2e-5 of edge-on counts as seen edge-on: rounding would turn it either way,
/// and leave thousands of edges in one line.
fn edge_on(d: f64, n: &DVec3) -> f64 {
    if d.abs() <= 2e-5 * n.length() { 0.0 } else { d }
}

impl<'a> Contours<'a> {
    /// Finds the edges of `mesh`.
    #[must_use]
    pub fn of(mesh: &'a Mesh) -> Self {
        let normals = (0..mesh.triangles.len())
            .into_par_iter()
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
    ///
    /// # Accuracy
    /// Exact up to 256 contour edges; beyond, within 0.1 %: exact along each of
    /// 512 lines or more across the view.
    #[must_use]
    pub fn area_m2(&self, turn: DQuat, view: View) -> f64 {
        let frame = view.drawing_from_piece(turn);
        let rim = self.rim(frame.row(2));
        if rim.len() <= FEW_EDGES {
            return union(&self.loops(rim, frame))
                .iter()
                .map(Ring::area_m2)
                .sum();
        }
        let flat = self.flat(frame);
        let edges: Vec<[DVec2; 2]> = rim.iter().map(|(a, b)| [flat(*a), flat(*b)]).collect();
        covered_m2(&edges)
    }

    /// The outline in a view, every corner of it.
    #[must_use]
    pub fn rings(&self, turn: DQuat, view: View) -> Vec<Ring> {
        let frame = view.drawing_from_piece(turn);
        union(&self.loops(self.rim(frame.row(2)), frame))
    }

    /// The contour edges, from corner to corner, the body on their left.
    fn rim(&self, towards_eye: DVec3) -> Vec<(u32, u32)> {
        let side: Vec<i8> = self
            .normals
            .iter()
            .map(|n| match (edge_on(n.dot(towards_eye), n), self.closed) {
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
        rim
    }

    /// The contour edges as closed loops, in the view's axes.
    fn loops(&self, mut rim: Vec<(u32, u32)>, frame: DMat3) -> Vec<Vec<DVec2>> {
        rim.sort_unstable();
        let flat = self.flat(frame);
        chain(&rim)
            .into_iter()
            .map(|chain| chain.into_iter().map(&flat).collect())
            .collect()
    }

    /// Where a corner is seen in the view.
    fn flat(&self, frame: DMat3) -> impl Fn(u32) -> DVec2 {
        let (right, up) = (frame.row(0), frame.row(1));
        move |v| {
            let p = self.mesh.vertices_m[v as usize];
            DVec2::new(right.dot(p), up.dot(p))
        }
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
