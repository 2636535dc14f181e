//! How the tree of boxes is built: binned surface-area heuristic, then four to a node.

use glam::{DVec3, Vec3A};

use super::tree::{Node, PADDING, STACK, Tree};

const BINS: usize = 16;
/// A leaf never holds more than this.
const LEAF_MOST: usize = 4;
/// Cost of going through a node, in triangle tests.
const NODE_COST: f32 = 1.0;
/// Subtrees over this size are built side by side.
const PARALLEL_FROM: usize = 4096;

#[derive(Debug, Clone, Copy)]
struct Extent {
    low: Vec3A,
    high: Vec3A,
}

impl Extent {
    const EMPTY: Self = Self {
        low: Vec3A::INFINITY,
        high: Vec3A::NEG_INFINITY,
    };

    fn join(self, other: Self) -> Self {
        Self {
            low: self.low.min(other.low),
            high: self.high.max(other.high),
        }
    }

    fn add(&mut self, point: Vec3A) {
        self.low = self.low.min(point);
        self.high = self.high.max(point);
    }

    /// Half the surface; 0 when empty.
    fn area(self) -> f32 {
        let d = (self.high - self.low).max(Vec3A::ZERO);
        d.x * d.y + d.y * d.z + d.z * d.x
    }
}

#[derive(Debug, Clone, Copy)]
struct Thing {
    extent: Extent,
    index: u32,
}

impl Thing {
    /// Twice the middle of the box.
    fn middle(&self) -> Vec3A {
        self.extent.low + self.extent.high
    }
}

/// A node with two children; a node over n things owns a stretch of 2n − 1.
#[derive(Debug, Clone, Copy)]
struct Pair {
    extent: Extent,
    /// First thing of a leaf.
    first: u32,
    /// Things of a leaf; 0 for an inner node.
    count: u32,
    /// Distance to the second child in the array; the first follows at once.
    second: u32,
}

/// A tree over boxes given as (name, least corner, greatest corner), all finite.
pub fn tree(boxes: &[(u32, DVec3, DVec3)]) -> Tree {
    let bounds_m = boxes
        .iter()
        .map(|b| (b.1, b.2))
        .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let Some((low, high)) = bounds_m else {
        return Tree {
            nodes: Vec::new(),
            order: Vec::new(),
            centre_m: DVec3::ZERO,
            reach_m: 0.0,
            deepest: 0,
            bounds_m: None,
        };
    };
    let centre_m = 0.5 * (low + high);
    let mut things: Vec<Thing> = boxes
        .iter()
        .map(|(index, low, high)| Thing {
            extent: Extent {
                low: (*low - centre_m).as_vec3a(),
                high: (*high - centre_m).as_vec3a(),
            },
            index: *index,
        })
        .collect();
    let blank = Pair {
        extent: Extent::EMPTY,
        first: 0,
        count: 0,
        second: 0,
    };
    let mut pairs = vec![blank; 2 * things.len() - 1];
    // A single point has no reach of its own.
    let reach_m = (0.5 * low.distance(high))
        .max(1e-9 * centre_m.length())
        .max(1e-12);
    let padding = (PADDING * reach_m) as f32;
    split(&mut things, &mut pairs, 0, true);
    let mut nodes = Vec::new();
    let mut deepest = gather(&pairs, padding, &mut nodes);
    if deepest * 3 + 4 > STACK {
        // An extreme mesh: halve by count, which bounds the depth.
        split(&mut things, &mut pairs, 0, false);
        nodes.clear();
        deepest = gather(&pairs, padding, &mut nodes);
    }
    Tree {
        nodes,
        order: things.iter().map(|thing| thing.index).collect(),
        centre_m,
        reach_m,
        deepest,
        bounds_m,
    }
}

/// Fills `pairs` with the binary tree over `things`, which it puts in order.
fn split(things: &mut [Thing], pairs: &mut [Pair], first: u32, by_area: bool) {
    let n = things.len();
    let mut extent = Extent::EMPTY;
    let mut middles = Extent::EMPTY;
    for thing in things.iter() {
        extent = extent.join(thing.extent);
        middles.add(thing.middle());
    }
    let at = if n == 1 {
        None
    } else if by_area {
        divide(things, extent, middles)
    } else {
        (n > LEAF_MOST).then(|| halve(things, middles))
    };
    let Some(at) = at else {
        pairs[0] = Pair {
            extent,
            first,
            count: n as u32,
            second: 0,
        };
        return;
    };
    pairs[0] = Pair {
        extent,
        first,
        count: 0,
        second: 2 * at as u32,
    };
    let (left, right) = things.split_at_mut(at);
    let (left_pairs, right_pairs) = pairs[1..].split_at_mut(2 * at - 1);
    let right_first = first + at as u32;
    if n > PARALLEL_FROM {
        rayon::join(
            || split(left, left_pairs, first, by_area),
            || split(right, right_pairs, right_first, by_area),
        );
    } else {
        split(left, left_pairs, first, by_area);
        split(right, right_pairs, right_first, by_area);
    }
}

#[derive(Clone, Copy)]
struct Bin {
    extent: Extent,
    count: u32,
}

/// The place after which the things are cut in two, or `None` for a leaf.
fn divide(things: &mut [Thing], extent: Extent, middles: Extent) -> Option<usize> {
    let n = things.len();
    let span = middles.high - middles.low;
    if span.max_element() <= 0.0 {
        return (n > LEAF_MOST).then_some(n / 2);
    }
    let scale = Vec3A::select(
        span.cmpgt(Vec3A::ZERO),
        Vec3A::splat(BINS as f32 * 0.9999) / span,
        Vec3A::ZERO,
    );
    // A span so small that its reciprocal overflows counts as none.
    let scale = Vec3A::select(scale.cmplt(Vec3A::splat(1e30)), scale, Vec3A::ZERO);
    let empty = Bin {
        extent: Extent::EMPTY,
        count: 0,
    };
    let mut bins = [[empty; BINS]; 3];
    for thing in things.iter() {
        let place = ((thing.middle() - middles.low) * scale).to_array();
        for axis in 0..3 {
            let bin = &mut bins[axis][(place[axis] as usize).min(BINS - 1)];
            bin.extent = bin.extent.join(thing.extent);
            bin.count += 1;
        }
    }
    let (cost, axis, cut) = best_cut(&bins)?;
    let split_cost = NODE_COST + cost / extent.area().max(f32::MIN_POSITIVE);
    if n <= LEAF_MOST && split_cost >= n as f32 {
        return None;
    }
    Some(partition(things, |thing| {
        let place = (thing.middle()[axis] - middles.low[axis]) * scale[axis];
        (place as usize).min(BINS - 1) <= cut
    }))
    .filter(|at| *at > 0 && *at < n)
    .or_else(|| (n > LEAF_MOST).then(|| halve(things, middles)))
}

/// Least cost over all cuts with something on both sides: (cost, axis, last bin on the left).
fn best_cut(bins: &[[Bin; BINS]; 3]) -> Option<(f32, usize, usize)> {
    let mut best: Option<(f32, usize, usize)> = None;
    for (axis, bins) in bins.iter().enumerate() {
        let mut right_cost = [f32::INFINITY; BINS];
        let (mut extent, mut count) = (Extent::EMPTY, 0);
        for i in (1..BINS).rev() {
            extent = extent.join(bins[i].extent);
            count += bins[i].count;
            if count > 0 {
                right_cost[i] = extent.area() * count as f32;
            }
        }
        let (mut extent, mut count) = (Extent::EMPTY, 0);
        for i in 0..BINS - 1 {
            extent = extent.join(bins[i].extent);
            count += bins[i].count;
            let cost = extent.area() * count as f32 + right_cost[i + 1];
            if count > 0 && cost.is_finite() && best.is_none_or(|b| cost < b.0) {
                best = Some((cost, axis, i));
            }
        }
    }
    best
}

/// Moves the things that hold to the front; how many they are.
fn partition(things: &mut [Thing], holds: impl Fn(&Thing) -> bool) -> usize {
    let mut front = 0;
    for i in 0..things.len() {
        if holds(&things[i]) {
            things.swap(front, i);
            front += 1;
        }
    }
    front
}

/// Cuts at the median along the longest axis of the middles.
fn halve(things: &mut [Thing], middles: Extent) -> usize {
    let axis = (middles.high - middles.low).max_position();
    let at = things.len() / 2;
    things.select_nth_unstable_by(at, |a, b| {
        a.middle()[axis]
            .total_cmp(&b.middle()[axis])
            .then(a.index.cmp(&b.index))
    });
    at
}

/// Folds the binary tree into nodes of four; how deep they lie.
fn gather(pairs: &[Pair], padding: f32, nodes: &mut Vec<Node>) -> usize {
    nodes.push(Node::EMPTY);
    let mut waiting = vec![(0usize, 0usize, 1usize)];
    let mut deepest = 1;
    while let Some((place, pair, depth)) = waiting.pop() {
        deepest = deepest.max(depth);
        let (members, n_members) = four(pairs, pair);
        for (i, member) in members.iter().take(n_members).enumerate() {
            let below = pairs[*member];
            let (low, high) = (below.extent.low - padding, below.extent.high + padding);
            for axis in 0..3 {
                nodes[place].low[axis][i] = low[axis];
                nodes[place].high[axis][i] = high[axis];
            }
            nodes[place].count[i] = below.count;
            nodes[place].child[i] = below.first;
            if below.count == 0 {
                nodes[place].child[i] = nodes.len() as u32;
                waiting.push((nodes.len(), *member, depth + 1));
                nodes.push(Node::EMPTY);
            }
        }
    }
    deepest
}

/// Up to four descendants of a pair: the largest inner one is opened until they are four.
fn four(pairs: &[Pair], top: usize) -> ([usize; 4], usize) {
    let mut members = [top, 0, 0, 0];
    let mut n_members = 1;
    while n_members < 4 {
        let widest = (0..n_members)
            .filter(|i| pairs[members[*i]].count == 0)
            .max_by(|i, j| {
                let area = |k: usize| pairs[members[k]].extent.area();
                area(*i).total_cmp(&area(*j)).then(j.cmp(i))
            });
        let Some(i) = widest else { break };
        let opened = members[i];
        members[i] = opened + 1;
        members[n_members] = opened + pairs[opened].second as usize;
        n_members += 1;
    }
    (members, n_members)
}
