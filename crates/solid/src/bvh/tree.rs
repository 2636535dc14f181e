//! A tree of boxes, four to a node, and how a ray or a point goes through it.

use glam::{DVec3, Vec4};

use super::Ray;

/// Entries that a walk may have waiting; `build::tree` keeps every tree shallow enough.
pub const STACK: usize = 128;
/// Enough for trees of a few hundred things.
const SMALL_STACK: usize = 28;
/// Padding of the boxes as a share of the half diagonal. It covers the rounding
/// of corners, ray origin and direction to f32 (each at most 2⁻²⁴ of the reach).
pub const PADDING: f64 = 1.0 / (1u32 << 19) as f64;

/// Four boxes side by side and what lies in them.
#[derive(Debug, Clone, Copy)]
pub struct Node {
    pub low: [Vec4; 3],
    pub high: [Vec4; 3],
    /// A node, or the first place in the tree's order when `count` is not 0.
    pub child: [u32; 4],
    /// Things in a leaf; 0 for a node.
    pub count: [u32; 4],
}

impl Node {
    /// Four boxes that nothing meets.
    pub const EMPTY: Self = Self {
        low: [Vec4::INFINITY; 3],
        high: [Vec4::NEG_INFINITY; 3],
        child: [0; 4],
        count: [0; 4],
    };
}

/// Boxes in single precision about `centre_m`, padded.
#[derive(Debug, Clone)]
pub struct Tree {
    /// The root is the first; empty when there is nothing.
    pub nodes: Vec<Node>,
    /// The things in the order of the leaves.
    pub order: Vec<u32>,
    pub centre_m: DVec3,
    /// Half the diagonal of the whole, m.
    pub reach_m: f64,
    /// Levels of nodes.
    pub deepest: usize,
    pub bounds_m: Option<(DVec3, DVec3)>,
}

/// A ray made ready for the box test: single precision, about the tree's centre.
#[derive(Debug, Clone, Copy)]
pub struct RaySlabs {
    origin: [Vec4; 3],
    inverse: [Vec4; 3],
    negative: [bool; 3],
    /// Where along the ray `origin` lies, m: far origins are drawn near first.
    start_m: f64,
    least_m: f64,
    most_m: f64,
    unit_m: f64,
}

impl RaySlabs {
    /// `None` when the ray misses the whole tree.
    #[inline]
    pub fn of(tree: &Tree, ray: &Ray) -> Option<Self> {
        if tree.nodes.is_empty() {
            return None;
        }
        let unit_m = ray.direction.length();
        let direction = ray.direction / unit_m;
        let origin = ray.origin_m - tree.centre_m;
        // The middle of the ray's way through the ball round the tree, drawn
        // back to its rim: from there single precision is good enough.
        let middle_m = -origin.dot(direction);
        let start_m = if origin.length_squared() > 4.0 * tree.reach_m * tree.reach_m {
            middle_m - 1.5 * tree.reach_m
        } else {
            0.0
        };
        let near = origin + direction * start_m;
        if near.length_squared() > 16.0 * tree.reach_m * tree.reach_m && start_m != 0.0 {
            return None;
        }
        let axis = |i: usize| {
            let d = direction[i] as f32;
            let d = if d.abs() < 1e-18 {
                1e-18f32.copysign(d)
            } else {
                d
            };
            (Vec4::splat(near[i] as f32), Vec4::splat(1.0 / d), d < 0.0)
        };
        let (x, y, z) = (axis(0), axis(1), axis(2));
        Some(Self {
            origin: [x.0, y.0, z.0],
            inverse: [x.1, y.1, z.1],
            negative: [x.2, y.2, z.2],
            start_m,
            least_m: ray.least_m,
            most_m: ray.most_m,
            unit_m,
        })
    }

    /// A distance of the ray, seen from the near origin, in the units of the slabs.
    #[inline]
    fn seen(&self, distance: f64) -> f32 {
        (distance * self.unit_m - self.start_m) as f32
    }
}

impl Tree {
    /// Calls `leaf(first, count, &mut most)` for each leaf that the ray meets,
    /// nearest first; `leaf` may shorten the ray and ends the walk with `false`.
    #[inline]
    pub fn visit_ray(&self, ray: &RaySlabs, leaf: impl FnMut(usize, usize, &mut f64) -> bool) {
        // Clearing a large stack costs as much as walking a small tree.
        if self.deepest * 3 + 4 <= SMALL_STACK {
            self.visit_ray_on::<SMALL_STACK>(ray, leaf);
        } else {
            self.visit_ray_on::<STACK>(ray, leaf);
        }
    }

    #[inline]
    fn visit_ray_on<const N: usize>(
        &self,
        ray: &RaySlabs,
        mut leaf: impl FnMut(usize, usize, &mut f64) -> bool,
    ) {
        let mut stack = Waiting::<N>::root();
        let mut most = ray.most_m;
        let slack = 1e-6 * self.reach_m as f32;
        let least_seen = ray.seen(ray.least_m);
        let least_seen = Vec4::splat(least_seen - 1e-6 * least_seen.abs() - slack);
        let widen = |seen: f32| seen + 1e-6 * seen.abs() + slack;
        let mut most_seen = widen(ray.seen(most));
        while let Some((child, count, near)) = stack.pop() {
            if near > most_seen {
                continue;
            }
            if count > 0 {
                if !leaf(child as usize, count as usize, &mut most) {
                    return;
                }
                most_seen = widen(ray.seen(most));
                continue;
            }
            let node = &self.nodes[child as usize];
            let (near, mask) = ray.meet(node, least_seen, Vec4::splat(most_seen));
            if mask == 0 {
                continue;
            }
            stack.push(node, near, mask);
        }
    }

    /// Calls `leaf(first, count, &mut within_m)` for each leaf whose box lies
    /// within `within_m` of the point, nearest first; `leaf` may draw it in.
    pub fn visit_near(
        &self,
        point_m: DVec3,
        within_m: f64,
        mut leaf: impl FnMut(usize, usize, &mut f64),
    ) {
        if self.nodes.is_empty() {
            return;
        }
        let point = point_m - self.centre_m;
        let blur = Vec4::splat((point.abs().max_element() * f64::from(f32::EPSILON)) as f32);
        let at = [0, 1, 2].map(|i| Vec4::splat(point[i] as f32));
        let mut within_m = within_m;
        let square = |within_m: f64| (within_m * within_m * (1.0 + 1e-6)) as f32;
        let mut limit = square(within_m);
        let mut stack = Waiting::<STACK>::root();
        while let Some((child, count, near)) = stack.pop() {
            if near > limit {
                continue;
            }
            if count > 0 {
                leaf(child as usize, count as usize, &mut within_m);
                limit = square(within_m);
                continue;
            }
            let node = &self.nodes[child as usize];
            let gap = |i: usize| {
                let gap = (node.low[i] - at[i]).max(at[i] - node.high[i]) - blur;
                let gap = gap.max(Vec4::ZERO);
                gap * gap
            };
            let near = gap(0) + gap(1) + gap(2);
            // Empty boxes are infinitely far, also where the limit is.
            let mask = near.cmple(Vec4::splat(limit.min(f32::MAX))).bitmask();
            stack.push(node, near, mask);
        }
    }
}

impl RaySlabs {
    /// Where the ray goes into each of four boxes, and which of them it meets.
    #[inline]
    fn meet(&self, node: &Node, least: Vec4, most: Vec4) -> (Vec4, u32) {
        let mut near = least;
        let mut far = most;
        for i in 0..3 {
            let (front, back) = if self.negative[i] {
                (node.high[i], node.low[i])
            } else {
                (node.low[i], node.high[i])
            };
            near = near.max((front - self.origin[i]) * self.inverse[i]);
            far = far.min((back - self.origin[i]) * self.inverse[i]);
        }
        // The reciprocal is rounded: allow a few units in the last place.
        let far = far + far.abs() * 4e-7;
        (near, near.cmple(far).bitmask())
    }
}

/// Boxes that a walk has yet to go into, the nearest on top of each node's four.
struct Waiting<const N: usize> {
    /// Child, count, and how near the box is.
    entries: [(u32, u32, f32); N],
    depth: usize,
}

impl<const N: usize> Waiting<N> {
    #[inline]
    fn root() -> Self {
        let mut entries = [(0, 0, 0.0); N];
        entries[0].2 = f32::NEG_INFINITY;
        Self { entries, depth: 1 }
    }

    #[inline]
    fn pop(&mut self) -> Option<(u32, u32, f32)> {
        self.depth = self.depth.checked_sub(1)?;
        Some(self.entries[self.depth])
    }

    /// Adds the members of `node` that `mask` names, by insertion.
    #[inline]
    fn push(&mut self, node: &Node, near: Vec4, mask: u32) {
        let near = near.to_array();
        let bottom = self.depth;
        let mut left = mask;
        while left != 0 {
            let i = left.trailing_zeros() as usize;
            left &= left - 1;
            let mut place = self.depth;
            while place > bottom && self.entries[place - 1].2 < near[i] {
                self.entries[place] = self.entries[place - 1];
                place -= 1;
            }
            self.entries[place] = (node.child[i], node.count[i], near[i]);
            self.depth += 1;
        }
    }
}
