//! Which triangles are no surface: without area, or there twice.

use std::cmp::Ordering;

use glam::DVec3;

use super::edges::{Edges, NONE};
use super::groups::Groups;

/// Marks triangles that use a vertex twice.
pub(super) fn collapsed(triangles: &[[u32; 3]]) -> Vec<bool> {
    triangles
        .iter()
        .map(|[a, b, c]| a == b || b == c || c == a)
        .collect()
}

/// Marks triangles without width that seal nothing.
///
/// A triangle whose three corners lie on one line, but which joins its three
/// neighbours like any other, holds the surface together and stays: it adds
/// neither area nor volume.
pub(super) fn slivers(
    vertices_m: &[DVec3],
    triangles: &[[u32; 3]],
    edges: &Edges,
    tolerance_m: f64,
) -> Vec<bool> {
    triangles
        .iter()
        .enumerate()
        .map(|(t, triangle)| {
            let [a, b, c] = triangle.map(|v| vertices_m[v as usize]);
            let longest_squared = a
                .distance_squared(b)
                .max(b.distance_squared(c))
                .max(c.distance_squared(a));
            let twice_area_squared = (b - a).cross(c - a).length_squared();
            twice_area_squared <= 1e-4 * tolerance_m * tolerance_m * longest_squared
                && (3 * t..3 * t + 3).any(|h| edges.twin[h] == NONE)
        })
        .collect()
}

/// Whether some triangle may be there twice: where edges are crowded, or where a
/// triangle meets one other along two edges.
pub(super) fn may_hold_doubles(edges: &Edges) -> bool {
    !edges.crowded.is_empty()
        || edges.twin.chunks_exact(3).any(|twins| {
            let [a, b, c] = [twins[0], twins[1], twins[2]].map(|h| h / 3);
            (a == b && twins[0] != NONE)
                || (b == c && twins[1] != NONE)
                || (c == a && twins[2] != NONE)
        })
}

/// Marks the triangles to drop so that none is there twice.
///
/// Of copies that close the surface one stays. Where the rim of the doubled part
/// has an even number of triangles without it, copies that face each other
/// cancel, as a fin or the wall between two bodies that touch, and copies that
/// face one way stay: each closes a body of its own, and the bodies overlap.
pub(super) fn doubles(triangles: &[[u32; 3]]) -> Vec<bool> {
    let mut by_corners: Vec<([u32; 3], u32)> = triangles
        .iter()
        .zip(0..)
        .map(|(triangle, t)| {
            let mut sorted = *triangle;
            sorted.sort_unstable();
            (sorted, t)
        })
        .collect();
    by_corners.sort_unstable();
    let mut drop = vec![false; triangles.len()];
    // The triangle that stands for each set of copies; itself where it has none.
    let mut first = vec![NONE; triangles.len()];
    let mut singles = Vec::new();
    // For each such triangle: its copies that face its way, less those that face the other.
    let mut net: Vec<Vec<u32>> = vec![Vec::new(); triangles.len()];
    for copies in by_corners.chunk_by(|a, b| a.0 == b.0) {
        let stays = majority_first(triangles, copies);
        if copies.len() > 1 {
            net[stays as usize] = net_copies(triangles, copies, stays);
        }
        for (_, t) in copies {
            drop[*t as usize] = *t != stays;
        }
        if copies.len() > 1 {
            first[stays as usize] = stays;
        }
        singles.push(stays);
    }
    let doubled: Vec<u32> = first.iter().copied().filter(|t| *t != NONE).collect();
    if !doubled.is_empty() {
        settle_doubles(triangles, &singles, &first, &net, &mut drop);
    }
    drop
}

/// Which of its two ways a triangle faces: of the three steps round, one or two climb.
fn faces_up([a, b, c]: [u32; 3]) -> bool {
    (a < b) ^ (b < c) ^ (c < a)
}

/// The first copy that faces the way of most copies; on a tie, the first of all.
fn majority_first(triangles: &[[u32; 3]], copies: &[([u32; 3], u32)]) -> u32 {
    let is_even = |t: u32| faces_up(triangles[t as usize]);
    let n_even = copies.iter().filter(|c| is_even(c.1)).count();
    let wanted = match (2 * n_even).cmp(&copies.len()) {
        Ordering::Greater => true,
        Ordering::Less => false,
        Ordering::Equal => is_even(copies[0].1),
    };
    copies
        .iter()
        .find(|c| is_even(c.1) == wanted)
        .map_or(copies[0].1, |c| c.1)
}

/// What is left of copies when those that face each other cancel.
fn net_copies(triangles: &[[u32; 3]], copies: &[([u32; 3], u32)], stays: u32) -> Vec<u32> {
    let (same, other): (Vec<u32>, Vec<u32>) = copies
        .iter()
        .map(|c| c.1)
        .partition(|t| faces_up(triangles[*t as usize]) == faces_up(triangles[stays as usize]));
    let n_left = same.len().saturating_sub(other.len());
    same.into_iter().take(n_left).collect()
}

/// Lets whole doubled patches cancel whose rim is better off without one copy of them.
fn settle_doubles(
    triangles: &[[u32; 3]],
    singles: &[u32],
    first: &[u32],
    net: &[Vec<u32>],
    drop: &mut [bool],
) {
    let mut edges: Vec<([u32; 2], u32)> = singles
        .iter()
        .flat_map(|&t| {
            let [a, b, c] = triangles[t as usize];
            [(a, b), (b, c), (c, a)].map(|(u, v)| ([u.min(v), u.max(v)], t))
        })
        .collect();
    edges.sort_unstable();
    let mut patches = Groups::new(triangles.len());
    let is_double = |t: u32| first[t as usize] != NONE;
    for group in edges.chunk_by(|a, b| a.0 == b.0) {
        let doubled: Vec<u32> = group
            .iter()
            .map(|e| e.1)
            .filter(|t| is_double(*t))
            .collect();
        for pair in doubled.windows(2) {
            patches.join(pair[0], pair[1]);
        }
    }
    // For each patch: edges that want it there, less edges that want it gone.
    let mut balance = vec![0_i64; triangles.len()];
    let mut has_neighbours = vec![false; triangles.len()];
    for group in edges.chunk_by(|a, b| a.0 == b.0) {
        let Some(double) = group.iter().map(|e| e.1).find(|t| is_double(*t)) else {
            continue;
        };
        let n_double = group.iter().filter(|e| is_double(e.1)).count();
        let n_other = group.len() - n_double;
        let patch = patches.find(double) as usize;
        has_neighbours[patch] |= n_other > 0;
        balance[patch] += match (n_double % 2, n_other % 2) {
            (1, 1) => 1,
            (1, 0) => -1,
            _ => 0,
        };
    }
    for t in (0..).take(triangles.len()).filter(|t| is_double(*t)) {
        let patch = patches.find(t) as usize;
        if has_neighbours[patch] && balance[patch] < 0 {
            drop[t as usize] = true;
            net[t as usize]
                .iter()
                .for_each(|t| drop[*t as usize] = false);
        }
    }
}
