//! Which way each triangle faces: one way round across every edge.

use super::edges::{Edges, NONE, from};

/// Connected sets of triangles, numbered by their first triangle.
#[derive(Debug, Clone)]
pub(super) struct Patches {
    /// Patch of each triangle.
    pub(super) of: Vec<u32>,
    /// How many patches there are.
    pub(super) n: usize,
    /// Triangles that face the other way than the first of their patch.
    turned: Vec<bool>,
}

impl Patches {
    /// Floods across all paired edges.
    pub(super) fn flood(triangles: &[[u32; 3]], edges: &Edges) -> Self {
        Self::flood_where(triangles, edges, |_| true)
    }

    /// Floods across paired edges between triangles that `may` be entered;
    /// a triangle that may not is a patch of its own.
    pub(super) fn flood_where(
        triangles: &[[u32; 3]],
        edges: &Edges,
        may: impl Fn(usize) -> bool,
    ) -> Self {
        let mut patches = Self {
            of: vec![NONE; triangles.len()],
            n: 0,
            turned: vec![false; triangles.len()],
        };
        let mut stack = Vec::new();
        for seed in 0..triangles.len() {
            if patches.of[seed] != NONE {
                continue;
            }
            let patch = u32::try_from(patches.n).unwrap_or(NONE);
            patches.n += 1;
            patches.of[seed] = patch;
            if may(seed) {
                stack.push(seed);
            }
            while let Some(t) = stack.pop() {
                for h in 3 * t..3 * t + 3 {
                    let twin = edges.twin[h];
                    let next = (twin / 3) as usize;
                    if twin == NONE || patches.of[next] != NONE || !may(next) {
                        continue;
                    }
                    let h = u32::try_from(h).unwrap_or(NONE);
                    let is_same_way = from(triangles, h) == from(triangles, twin);
                    patches.of[next] = patch;
                    patches.turned[next] = patches.turned[t] ^ is_same_way;
                    stack.push(next);
                }
            }
        }
        patches
    }

    /// Triangles of each patch, in order.
    pub(super) fn members(&self) -> Vec<Vec<u32>> {
        let mut members = vec![Vec::new(); self.n];
        for (t, patch) in self.of.iter().enumerate() {
            members[*patch as usize].push(u32::try_from(t).unwrap_or(NONE));
        }
        members
    }
}

/// Turns triangles over until each patch faces one way, the way of its majority.
///
/// The patches are made across edges with two triangles first; where more meet
/// on an edge, patches are then set against each other by the angle round it.
/// Returns how many triangles were turned, and the edges as they are afterwards.
pub(super) fn make_consistent(
    vertices_m: &[glam::DVec3],
    triangles: &mut [[u32; 3]],
    mut edges: Edges,
) -> (usize, Edges) {
    let n_vertices = vertices_m.len();
    let patches = Patches::flood(triangles, &edges);
    let mut n_flipped = 0;
    if edges.n_conflicts > 0 {
        let flip = minority(&patches.of, &patches.turned, patches.n);
        n_flipped += turn(triangles, &flip);
        edges = Edges::new(n_vertices, triangles);
    }
    if edges.crowded.is_empty() {
        return (n_flipped, edges);
    }
    let mut paired = edges;
    paired.pair_crowded(triangles, vertices_m);
    if paired.n_conflicts > 0 {
        let flip = settle_patches(triangles, &patches, &paired);
        let n_turned = turn(triangles, &flip);
        if n_turned > 0 {
            n_flipped += n_turned;
            paired = Edges::new(n_vertices, triangles);
            paired.pair_crowded(triangles, vertices_m);
        }
    }
    (n_flipped, paired)
}

/// In each group, the triangles that are turned the way of the fewer.
fn minority(group: &[u32], turned: &[bool], n_groups: usize) -> Vec<bool> {
    let mut balance = vec![0_i64; n_groups];
    for (g, t) in group.iter().zip(turned) {
        balance[*g as usize] += if *t { -1 } else { 1 };
    }
    group
        .iter()
        .zip(turned)
        .map(|(g, t)| *t == (balance[*g as usize] >= 0))
        .collect()
}

fn turn(triangles: &mut [[u32; 3]], flip: &[bool]) -> usize {
    let mut n = 0;
    for (triangle, _) in triangles.iter_mut().zip(flip).filter(|(_, f)| **f) {
        triangle.swap(1, 2);
        n += 1;
    }
    n
}

/// Which patches to turn so that the pairs at crowded edges agree, most votes first.
fn settle_patches(triangles: &[[u32; 3]], patches: &Patches, edges: &Edges) -> Vec<bool> {
    let mut votes: Vec<(u32, u32, i64)> = Vec::new();
    for h in edges.crowded.iter().flatten() {
        let twin = edges.twin[*h as usize];
        if twin == NONE || *h > twin {
            continue;
        }
        let (p, q) = (
            patches.of[(*h / 3) as usize],
            patches.of[(twin / 3) as usize],
        );
        if p != q {
            let vote = if from(triangles, *h) == from(triangles, twin) {
                -1
            } else {
                1
            };
            votes.push((p.min(q), p.max(q), vote));
        }
    }
    votes.sort_unstable();
    let mut links: Vec<(u32, u32, i64)> = votes
        .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
        .map(|group| (group[0].0, group[0].1, group.iter().map(|v| v.2).sum()))
        .collect();
    links.sort_by_key(|link| (-link.2.abs(), link.0, link.1));
    let mut forest = Parity::new(patches.n);
    for (p, q, vote) in links {
        forest.link(p, q, vote < 0);
    }
    let roots: Vec<(u32, bool)> = patches.of.iter().map(|p| forest.find(*p)).collect();
    let group: Vec<u32> = roots.iter().map(|r| r.0).collect();
    let turned: Vec<bool> = roots.iter().map(|r| r.1).collect();
    minority(&group, &turned, patches.n)
}

/// A union-find whose members stand the same or the other way as their root.
struct Parity {
    up: Vec<(u32, bool)>,
}

impl Parity {
    fn new(n: usize) -> Self {
        Self {
            up: (0..u32::try_from(n).unwrap_or(NONE))
                .map(|i| (i, false))
                .collect(),
        }
    }

    fn find(&self, mut i: u32) -> (u32, bool) {
        let mut odd = false;
        while self.up[i as usize].0 != i {
            odd ^= self.up[i as usize].1;
            i = self.up[i as usize].0;
        }
        (i, odd)
    }

    fn link(&mut self, a: u32, b: u32, odd: bool) {
        let ((a, a_odd), (b, b_odd)) = (self.find(a), self.find(b));
        if a != b {
            self.up[a.max(b) as usize] = (a.min(b), odd ^ a_odd ^ b_odd);
        }
    }
}
