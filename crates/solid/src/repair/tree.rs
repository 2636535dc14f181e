//! Which triangles are near a box, a ray or each other: the box tree of repair.
//!
//! Triangles stand in Morton order, four to a leaf, under a complete binary tree
//! of boxes that is laid out as a heap. Building is one sort, so it costs little
//! even when it is used once; the order depends on the mesh alone.

use glam::DVec3;
use rayon::prelude::*;

use crate::Mesh;

/// Triangles in a leaf.
const LEAF: usize = 4;
/// Subtrees that a search for pairs is cut into; fixed, so that the thread count never shows.
const TASK_NODES: usize = 128;

/// Box in single precision about the mesh's middle, rounded outwards.
#[derive(Debug, Clone, Copy)]
struct Box32 {
    low: [f32; 3],
    high: [f32; 3],
}

impl Box32 {
    const EMPTY: Self = Self {
        low: [f32::INFINITY; 3],
        high: [f32::NEG_INFINITY; 3],
    };

    fn join(self, other: Self) -> Self {
        Self {
            low: std::array::from_fn(|k| self.low[k].min(other.low[k])),
            high: std::array::from_fn(|k| self.high[k].max(other.high[k])),
        }
    }

    #[inline]
    fn meets(&self, other: &Self) -> bool {
        (self.low[0] <= other.high[0])
            & (other.low[0] <= self.high[0])
            & (self.low[1] <= other.high[1])
            & (other.low[1] <= self.high[1])
            & (self.low[2] <= other.high[2])
            & (other.low[2] <= self.high[2])
    }

    /// Square of the distance from a point to the box.
    fn distance_squared(&self, point: [f64; 3]) -> f64 {
        (0..3)
            .map(|k| {
                let off = (f64::from(self.low[k]) - point[k])
                    .max(point[k] - f64::from(self.high[k]))
                    .max(0.0);
                off * off
            })
            .sum()
    }

    fn meets_ray(&self, start: [f64; 3], inverse: [f64; 3]) -> bool {
        let (mut near, mut far) = (f64::NEG_INFINITY, f64::INFINITY);
        for k in 0..3 {
            let one = (f64::from(self.low[k]) - start[k]) * inverse[k];
            let two = (f64::from(self.high[k]) - start[k]) * inverse[k];
            near = near.max(one.min(two));
            far = far.min(one.max(two));
        }
        far >= near && far >= 0.0
    }
}

/// A tree of boxes over the triangles of a mesh, or over other things with boxes.
#[derive(Debug, Clone)]
pub(crate) struct Tree {
    /// Triangles in the order of the leaves.
    pub(crate) order: Vec<u32>,
    boxes: Vec<Box32>,
    triangle_boxes: Vec<Box32>,
    n_leaves: usize,
    middle: DVec3,
}

impl Tree {
    /// Builds the tree over the triangles of a mesh, their boxes grown by `pad_m` on all sides.
    pub(crate) fn new(mesh: &Mesh, pad_m: f64) -> Self {
        let pad = DVec3::splat(pad_m);
        Self::over(mesh.triangles.len(), |t| {
            let [a, b, c] = mesh.triangles[t].map(|v| mesh.vertices_m[v as usize]);
            (a.min(b).min(c) - pad, a.max(b).max(c) + pad)
        })
    }

    /// Builds the tree over `n` things of which `bounds` gives the box.
    pub(crate) fn over(n: usize, bounds: impl Fn(usize) -> (DVec3, DVec3) + Sync) -> Self {
        let (low, high) = (0..n)
            .map(&bounds)
            .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), b| {
                (low.min(b.0), high.max(b.1))
            });
        let middle = 0.5 * (low + high);
        let order = morton_order(n, &bounds, low, (high - low).max_element());
        let triangle_boxes: Vec<Box32> = order
            .par_iter()
            .with_min_len(4096)
            .map(|t| {
                let (low, high) = bounds(*t as usize);
                #[expect(clippy::cast_possible_truncation, reason = "rounded outwards after")]
                Box32 {
                    low: (low - middle).to_array().map(|v| (v as f32).next_down()),
                    high: (high - middle).to_array().map(|v| (v as f32).next_up()),
                }
            })
            .collect();
        let n_leaves = order.len().div_ceil(LEAF).max(1).next_power_of_two();
        let mut boxes = vec![Box32::EMPTY; 2 * n_leaves];
        for (leaf, group) in triangle_boxes.chunks(LEAF).enumerate() {
            boxes[n_leaves + leaf] = group.iter().copied().fold(Box32::EMPTY, Box32::join);
        }
        for node in (1..n_leaves).rev() {
            boxes[node] = boxes[2 * node].join(boxes[2 * node + 1]);
        }
        Self {
            order,
            boxes,
            triangle_boxes,
            n_leaves,
            middle,
        }
    }

    /// How many nodes there are; the root is 1, the children of `i` are 2i and 2i + 1.
    pub(crate) fn n_nodes(&self) -> usize {
        self.boxes.len()
    }

    /// Places in `order` below a leaf, or `None` for an inner node.
    pub(crate) fn leaf(&self, node: usize) -> Option<std::ops::Range<usize>> {
        let leaf = node.checked_sub(self.n_leaves)?;
        let end = self.order.len();
        Some((leaf * LEAF).min(end)..((leaf + 1) * LEAF).min(end))
    }

    /// Least and greatest corner of a node's box, or `None` when it is empty.
    pub(crate) fn node_box(&self, node: usize) -> Option<(DVec3, DVec3)> {
        let b = &self.boxes[node];
        (b.low[0] <= b.high[0]).then(|| {
            (
                DVec3::from_array(b.low.map(f64::from)) + self.middle,
                DVec3::from_array(b.high.map(f64::from)) + self.middle,
            )
        })
    }

    /// Calls `visit` for every triangle whose box the ray meets.
    pub(crate) fn along_ray(&self, start: DVec3, direction: DVec3, mut visit: impl FnMut(u32)) {
        let from = (start - self.middle).to_array();
        let inverse = direction.to_array().map(|v| 1.0 / v);
        let mut stack = vec![1_usize];
        while let Some(node) = stack.pop() {
            if !self.boxes[node].meets_ray(from, inverse) {
                continue;
            }
            match self.leaf(node) {
                Some(range) => range
                    .filter(|&place| self.triangle_boxes[place].meets_ray(from, inverse))
                    .for_each(|place| visit(self.order[place])),
                None => stack.extend([2 * node + 1, 2 * node]),
            }
        }
    }

    /// Distance from `point` to the nearest triangle, or `most_m` when none is nearer.
    pub(crate) fn distance(&self, mesh: &Mesh, point: DVec3, most_m: f64) -> f64 {
        let from = (point - self.middle).to_array();
        let mut best = most_m * most_m;
        let mut stack = vec![(1_usize, self.boxes[1].distance_squared(from))];
        while let Some((node, bound)) = stack.pop() {
            if bound >= best {
                continue;
            }
            if let Some(range) = self.leaf(node) {
                for place in range {
                    if self.triangle_boxes[place].distance_squared(from) < best {
                        let corners = mesh.corners(self.order[place] as usize);
                        best = best.min(distance_squared(point, corners));
                    }
                }
                continue;
            }
            let mut children = [2 * node, 2 * node + 1]
                .map(|child| (child, self.boxes[child].distance_squared(from)));
            if children[0].1 < children[1].1 {
                children.swap(0, 1);
            }
            stack.extend(children);
        }
        best.sqrt()
    }

    /// All results of `test` over pairs of things whose boxes meet, in a fixed order.
    pub(crate) fn pairs<T: Send>(&self, test: impl Fn(u32, u32) -> Option<T> + Sync) -> Vec<T> {
        let mut tasks = Vec::new();
        self.split_pairs(1, 1, &mut tasks);
        let found: Vec<Vec<T>> = tasks
            .par_iter()
            .map(|&(a, b)| {
                let mut found = Vec::new();
                self.search(a, b, &test, &mut found);
                found
            })
            .collect();
        found.into_iter().flatten().collect()
    }

    fn split_pairs(&self, a: usize, b: usize, tasks: &mut Vec<(usize, usize)>) {
        if !self.boxes[a].meets(&self.boxes[b]) {
            return;
        }
        if a >= TASK_NODES.min(self.n_leaves) {
            tasks.push((a, b));
            return;
        }
        for (x, y) in children_pairs(a, b) {
            self.split_pairs(x, y, tasks);
        }
    }

    fn search<T>(
        &self,
        a: usize,
        b: usize,
        test: &(impl Fn(u32, u32) -> Option<T> + Sync),
        found: &mut Vec<T>,
    ) {
        if !self.boxes[a].meets(&self.boxes[b]) {
            return;
        }
        let (Some(left), Some(right)) = (self.leaf(a), self.leaf(b)) else {
            for (x, y) in children_pairs(a, b) {
                self.search(x, y, test, found);
            }
            return;
        };
        for i in left {
            let from = if a == b { i + 1 } else { right.start };
            for j in from..right.end {
                if self.triangle_boxes[i].meets(&self.triangle_boxes[j]) {
                    found.extend(test(self.order[i], self.order[j]));
                }
            }
        }
    }
}

/// The pairs of children of two nodes of one depth; each pair once.
fn children_pairs(a: usize, b: usize) -> impl Iterator<Item = (usize, usize)> {
    let all = [
        (2 * a, 2 * b),
        (2 * a, 2 * b + 1),
        (2 * a + 1, 2 * b + 1),
        (2 * a + 1, 2 * b),
    ];
    let n = if a == b { 3 } else { 4 };
    all.into_iter().take(n)
}

/// Things sorted along the Morton curve of their boxes' middles, thirteen bits an axis.
fn morton_order(
    n: usize,
    bounds: &(impl Fn(usize) -> (DVec3, DVec3) + Sync),
    low: DVec3,
    extent_m: f64,
) -> Vec<u32> {
    let scale = if extent_m > 0.0 {
        8191.0 / extent_m
    } else {
        0.0
    };
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "scaled into 0..8191"
    )]
    let mut keys: Vec<(u64, u32)> = (0..n)
        .into_par_iter()
        .with_min_len(4096)
        .map(|t| {
            let (least, most) = bounds(t);
            let at = (0.5 * (least + most) - low) * scale;
            let code = spread(at.x as u64) | spread(at.y as u64) << 1 | spread(at.z as u64) << 2;
            (code, t as u32)
        })
        .collect();
    keys.par_sort_unstable();
    keys.into_iter().map(|(_, t)| t).collect()
}

/// Puts two zero bits between the bits of a number of up to 21 bits.
fn spread(value: u64) -> u64 {
    let mut x = value & 0x001f_ffff;
    x = (x | x << 32) & 0x001f_0000_0000_ffff;
    x = (x | x << 16) & 0x001f_0000_ff00_00ff;
    x = (x | x << 8) & 0x100f_00f0_0f00_f00f;
    x = (x | x << 4) & 0x10c3_0c30_c30c_30c3;
    (x | x << 2) & 0x1249_2492_4924_9249
}

/// Square of the distance from a point to a triangle.
///
/// # Source
/// C. Ericson, Real-Time Collision Detection (2005), section 5.1.5.
pub(super) fn distance_squared(p: DVec3, [a, b, c]: [DVec3; 3]) -> f64 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return ap.length_squared();
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(bp), ac.dot(bp));
    if d3 >= 0.0 && d4 <= d3 {
        return bp.length_squared();
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return (ap - ab * (d1 / (d1 - d3))).length_squared();
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(cp), ac.dot(cp));
    if d6 >= 0.0 && d5 <= d6 {
        return cp.length_squared();
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return (ap - ac * (d2 / (d2 - d6))).length_squared();
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        let w = (d4 - d3) / ((d4 - d3) + (d5 - d6));
        return (bp - (c - b) * w).length_squared();
    }
    let sum = va + vb + vc;
    (ap - ab * (vb / sum) - ac * (vc / sum)).length_squared()
}
