//! Which triangles meet along which edge.

use std::f64::consts::TAU;

use glam::DVec3;

/// Stands for "no half-edge".
pub(super) const NONE: u32 = u32::MAX;

/// The half-edges of a set of triangles. Half-edge 3t + k of triangle t runs
/// from its corner k to the next.
#[derive(Debug, Clone)]
pub(super) struct Edges {
    /// The half-edge on the other side, or [`NONE`] at a rim.
    pub(super) twin: Vec<u32>,
    /// Edges with three or more triangles, each with its half-edges.
    pub(super) crowded: Vec<Vec<u32>>,
    /// Half-edges without a twin, those of crowded edges among them.
    pub(super) n_single: usize,
    /// Pairs that run in the same direction: one of the two faces the wrong way.
    pub(super) n_conflicts: usize,
}

/// The corner at which half-edge `h` begins.
pub(super) fn from(triangles: &[[u32; 3]], h: u32) -> u32 {
    triangles[(h / 3) as usize][(h % 3) as usize]
}

/// The corner at which half-edge `h` ends.
pub(super) fn to(triangles: &[[u32; 3]], h: u32) -> u32 {
    triangles[(h / 3) as usize][((h + 1) % 3) as usize]
}

/// The corner across from half-edge `h`.
fn apex(triangles: &[[u32; 3]], h: u32) -> u32 {
    triangles[(h / 3) as usize][((h + 2) % 3) as usize]
}

impl Edges {
    /// Pairs half-edges that are alone with each other on their edge.
    pub(super) fn new(n_vertices: usize, triangles: &[[u32; 3]]) -> Self {
        let n = triangles.len() * 3;
        let mut starts = vec![0_u32; n_vertices + 1];
        for_each_half_edge(triangles, |_, low, _| starts[low as usize + 1] += 1);
        for v in 0..n_vertices {
            starts[v + 1] += starts[v];
        }
        let mut fill = starts.clone();
        let mut entries = vec![(0_u32, 0_u32); n];
        for_each_half_edge(triangles, |h, low, high| {
            let place = &mut fill[low as usize];
            entries[*place as usize] = (high, h);
            *place += 1;
        });
        let mut edges = Self {
            twin: vec![NONE; n],
            crowded: Vec::new(),
            n_single: 0,
            n_conflicts: 0,
        };
        for v in 0..n_vertices {
            let bucket = &mut entries[starts[v] as usize..starts[v + 1] as usize];
            bucket.sort_unstable();
            for group in bucket.chunk_by(|a, b| a.0 == b.0) {
                edges.take_group(triangles, group);
            }
        }
        edges
    }

    fn take_group(&mut self, triangles: &[[u32; 3]], group: &[(u32, u32)]) {
        match group {
            [(_, a), (_, b)] => self.join(triangles, *a, *b),
            [_] => self.n_single += 1,
            _ => {
                self.n_single += group.len();
                self.crowded.push(group.iter().map(|e| e.1).collect());
            }
        }
    }

    fn join(&mut self, triangles: &[[u32; 3]], a: u32, b: u32) {
        self.twin[a as usize] = b;
        self.twin[b as usize] = a;
        self.n_conflicts += usize::from(from(triangles, a) == from(triangles, b));
    }

    /// Whether every half-edge has a twin that runs the other way.
    pub(super) fn is_closed(&self) -> bool {
        self.n_single == 0 && self.n_conflicts == 0
    }

    /// Pairs the half-edges of crowded edges by their angle round the edge.
    ///
    /// Two triangles with solid between them belong together; so bodies that
    /// touch along an edge come apart, and a notch stays a notch.
    pub(super) fn pair_crowded(&mut self, triangles: &[[u32; 3]], vertices_m: &[DVec3]) {
        for group in std::mem::take(&mut self.crowded) {
            for (a, b) in pairs_round_edge(&group, triangles, vertices_m) {
                self.join(triangles, a, b);
                self.n_single -= 2;
            }
            self.crowded.push(group);
        }
    }
}

fn for_each_half_edge(triangles: &[[u32; 3]], mut visit: impl FnMut(u32, u32, u32)) {
    let mut h = 0;
    for &[a, b, c] in triangles {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            visit(h, from.min(to), from.max(to));
            h += 1;
        }
    }
}

/// Pairs of half-edges with solid between them; those left over are paired in order.
fn pairs_round_edge(
    group: &[u32],
    triangles: &[[u32; 3]],
    vertices_m: &[DVec3],
) -> Vec<(u32, u32)> {
    let at = |v: u32| vertices_m[v as usize];
    let (u, v) = (from(triangles, group[0]), to(triangles, group[0]));
    let (low, high) = (u.min(v), u.max(v));
    let axis = (at(high) - at(low)).normalize_or(DVec3::Z);
    let side = axis.any_orthonormal_vector();
    let up = axis.cross(side);
    // A triangle that runs low → high has its outside towards growing angles.
    let mut ring: Vec<(f64, u32, bool)> = group
        .iter()
        .map(|&h| {
            let arm = at(apex(triangles, h)) - at(low);
            let angle = arm.dot(up).atan2(arm.dot(side)).rem_euclid(TAU);
            (angle, h, from(triangles, h) == low)
        })
        .collect();
    ring.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut pairs = Vec::new();
    // A solid opens at a triangle high → low and closes at the next low → high.
    while let Some(i) = (0..ring.len())
        .filter(|&i| ring.len() > 1 && !ring[i].2 && ring[(i + 1) % ring.len()].2)
        .min_by(|&i, &j| wedge(&ring, i).total_cmp(&wedge(&ring, j)))
    {
        let next = (i + 1) % ring.len();
        pairs.push((ring[i].1, ring[next].1));
        ring.remove(i.max(next));
        ring.remove(i.min(next));
    }
    pairs.extend(ring.chunks_exact(2).map(|pair| (pair[0].1, pair[1].1)));
    pairs
}

/// Angle of the solid that opens at place `i` of the ring.
fn wedge(ring: &[(f64, u32, bool)], i: usize) -> f64 {
    (ring[(i + 1) % ring.len()].0 - ring[i].0).rem_euclid(TAU)
}
