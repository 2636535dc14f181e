//! Which holes are small enough to close, and with which triangles.

use glam::DVec3;

use super::edges::{Edges, NONE, from, to};

/// A rim shorter than this share of the bounding diagonal may be closed.
const PERIMETER_SHARE: f64 = 0.10;
/// A rim of at most this many edges may be closed.
const FEW_EDGES: usize = 8;
/// The closing triangles of a hole add less than this share of the area.
const AREA_SHARE: f64 = 0.01;
/// Rims with more corners are closed by a fan round their middle.
const MOST_FOR_LEAST_AREA: usize = 256;

/// The rims of a surface, each as corners in the order in which closing triangles run.
///
/// Where a rim passes a corner twice it is cut there, so that a seam whose two
/// sides are split differently becomes many short rims.
pub(super) fn rims(triangles: &[[u32; 3]], edges: &Edges, n_vertices: usize) -> Vec<Vec<u32>> {
    let mut is_used = vec![false; triangles.len() * 3];
    let mut place = vec![NONE; n_vertices];
    let mut rims = Vec::new();
    for start in (0..).take(edges.twin.len()) {
        if edges.twin[start as usize] != NONE || is_used[start as usize] {
            continue;
        }
        let mut walk: Vec<u32> = Vec::new();
        let mut h = start;
        loop {
            is_used[h as usize] = true;
            // The closing triangles run against the rim's own triangles.
            let v = from(triangles, h);
            if place[v as usize] != NONE {
                let rim = walk.split_off(place[v as usize] as usize);
                rim.iter().for_each(|v| place[*v as usize] = NONE);
                rims.push(rim);
            }
            place[v as usize] = u32::try_from(walk.len()).unwrap_or(NONE);
            walk.push(v);
            match next_on_rim(triangles, edges, h) {
                Some(next) if !is_used[next as usize] => h = next,
                // Back at the start: what is left is the last rim.
                Some(_) => break,
                None => break,
            }
        }
        walk.iter().for_each(|v| place[*v as usize] = NONE);
        rims.push(walk);
    }
    rims.iter_mut().for_each(|rim| rim.reverse());
    rims.retain(|rim| rim.len() > 1);
    rims
}

/// The rim's half-edge that begins where `h` ends: the last of the triangles round that corner.
fn next_on_rim(triangles: &[[u32; 3]], edges: &Edges, h: u32) -> Option<u32> {
    let corner = to(triangles, h);
    let mut along = h;
    // No corner has more triangles than there are.
    for _ in 0..triangles.len() {
        let next = along / 3 * 3 + (along + 1) % 3;
        if from(triangles, next) != corner {
            return None;
        }
        match edges.twin[next as usize] {
            NONE => return Some(next),
            twin => along = twin,
        }
    }
    None
}

/// What closing the holes took.
#[derive(Debug, Default)]
pub(super) struct Closing {
    /// New triangles.
    pub(super) triangles: Vec<[u32; 3]>,
    /// New corners, numbered on from the old ones.
    pub(super) vertices_m: Vec<DVec3>,
    /// Holes that were closed.
    pub(super) n_closed: usize,
    /// Holes that stay open.
    pub(super) n_open: usize,
}

/// Closes the rims that the rule lets close.
///
/// A rim is closed when its perimeter is under a tenth of the bounding diagonal
/// or it has at most eight edges, and the closing triangles add under a
/// hundredth of the area.
pub(super) fn close(
    vertices_m: &[DVec3],
    rims: &[Vec<u32>],
    diagonal_m: f64,
    area_m2: f64,
) -> Closing {
    let mut closing = Closing::default();
    for rim in rims {
        let at = |i: usize| vertices_m[rim[i % rim.len()] as usize];
        let perimeter_m: f64 = (0..rim.len()).map(|i| at(i).distance(at(i + 1))).sum();
        if rim.len() < 3 || (rim.len() > FEW_EDGES && perimeter_m >= PERIMETER_SHARE * diagonal_m) {
            closing.n_open += 1;
            continue;
        }
        let new_corner = vertices_m.len() + closing.vertices_m.len();
        let (triangles, corner) = span(vertices_m, rim, new_corner);
        let place = |v: u32| {
            vertices_m
                .get(v as usize)
                .copied()
                .or(corner)
                .unwrap_or_default()
        };
        let added_m2: f64 = triangles
            .iter()
            .map(|t| {
                let [a, b, c] = t.map(place);
                0.5 * (b - a).cross(c - a).length()
            })
            .sum();
        if added_m2 >= AREA_SHARE * area_m2 {
            closing.n_open += 1;
            continue;
        }
        closing.n_closed += 1;
        closing.triangles.extend(triangles);
        closing.vertices_m.extend(corner);
    }
    closing
}

/// Spans a rim with triangles; a long one gets a corner at its middle.
fn span(vertices_m: &[DVec3], rim: &[u32], new_corner: usize) -> (Vec<[u32; 3]>, Option<DVec3>) {
    if rim.len() <= MOST_FOR_LEAST_AREA {
        let points: Vec<DVec3> = rim.iter().map(|v| vertices_m[*v as usize]).collect();
        let triangles = least_area(&points)
            .into_iter()
            .map(|t| t.map(|i| rim[i]))
            .collect();
        return (triangles, None);
    }
    let middle = rim.iter().map(|v| vertices_m[*v as usize]).sum::<DVec3>()
        / f64::from(u32::try_from(rim.len()).unwrap_or(u32::MAX));
    let new = u32::try_from(new_corner).unwrap_or(NONE);
    let triangles = (0..rim.len())
        .map(|i| [rim[i], rim[(i + 1) % rim.len()], new])
        .collect();
    (triangles, Some(middle))
}

/// Spans a closed polygon in space with the triangles of least area in sum.
///
/// # Source
/// G. Barequet, M. Sharir, Filling gaps in the boundary of a polyhedron,
/// Computer Aided Geometric Design 12 (1995).
fn least_area(points: &[DVec3]) -> Vec<[usize; 3]> {
    let n = points.len();
    let area = |i: usize, k: usize, j: usize| {
        (points[k] - points[i])
            .cross(points[j] - points[i])
            .length()
    };
    let mut cost = vec![0.0_f64; n * n];
    let mut split = vec![0_usize; n * n];
    for width in 2..n {
        for i in 0..n - width {
            let j = i + width;
            let mut best = (f64::INFINITY, i + 1);
            for k in i + 1..j {
                let sum = cost[i * n + k] + cost[k * n + j] + area(i, k, j);
                if sum < best.0 {
                    best = (sum, k);
                }
            }
            (cost[i * n + j], split[i * n + j]) = best;
        }
    }
    let mut triangles = Vec::with_capacity(n - 2);
    let mut stack = vec![(0, n - 1)];
    while let Some((i, j)) = stack.pop() {
        if j - i >= 2 {
            let k = split[i * n + j];
            triangles.push([i, k, j]);
            stack.extend([(i, k), (k, j)]);
        }
    }
    triangles
}
