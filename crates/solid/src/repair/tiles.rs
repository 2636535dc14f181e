//! Which triangles may meet other than as neighbours.
//!
//! Testing every triangle against those around it finds only neighbours on a
//! clean scan, and takes most of the time of mending it. So the surface is laid
//! in tiles: connected, of some dozens of triangles that all face within 45° of
//! the first. Such a tile, seen along its normal, lies flat without a fold, and
//! so do two that touch and face alike together: none of their triangles can
//! meet but as neighbours. Only tiles farther apart whose boxes meet, and tiles
//! round a sharp edge, are tested triangle by triangle.

use glam::DVec3;
use rayon::prelude::*;

use super::edges::{Edges, NONE};
use super::tree::Tree;
use crate::Mesh;

/// Triangles in a tile at most.
const MOST: usize = 64;
/// Least cosine between the normals of a tile and its first.
const TILE_COSINE: f64 = 0.71;
/// Least cosine between the normals of two tiles and their mean.
const PAIR_COSINE: f64 = 0.25;

/// The tiles of a mesh.
struct Tiles {
    /// Triangles, a tile after the other.
    triangles: Vec<u32>,
    /// Start of each tile in `triangles`, and the end.
    starts: Vec<u32>,
    /// Tile of each triangle.
    of: Vec<u32>,
    /// The triangle across each half-edge, none across a crowded edge: there
    /// triangles may lie on each other.
    across: Vec<u32>,
}

impl Tiles {
    fn lay(n_triangles: usize, edges: &Edges, normals: &[DVec3]) -> Self {
        let mut tiles = Self {
            triangles: Vec::with_capacity(n_triangles),
            starts: vec![0],
            of: vec![NONE; n_triangles],
            across: edges
                .twin
                .iter()
                .map(|h| if *h == NONE { NONE } else { h / 3 })
                .collect(),
        };
        for h in edges.crowded.iter().flatten() {
            tiles.across[*h as usize] = NONE;
        }
        for seed in (0..NONE).take(n_triangles) {
            if tiles.of[seed as usize] != NONE {
                continue;
            }
            let first = tiles.triangles.len();
            let tile = u32::try_from(tiles.n()).unwrap_or(NONE);
            let mut next = first;
            tiles.of[seed as usize] = tile;
            tiles.triangles.push(seed);
            while let Some(&t) = tiles.triangles.get(next) {
                next += 1;
                for h in 3 * t as usize..3 * t as usize + 3 {
                    let other = tiles.across[h];
                    if other != NONE
                        && tiles.triangles.len() - first < MOST
                        && tiles.of[other as usize] == NONE
                        && normals[other as usize].dot(normals[seed as usize]) > TILE_COSINE
                    {
                        tiles.of[other as usize] = tile;
                        tiles.triangles.push(other);
                    }
                }
            }
            tiles
                .starts
                .push(u32::try_from(tiles.triangles.len()).unwrap_or(NONE));
        }
        tiles
    }

    fn n(&self) -> usize {
        self.starts.len() - 1
    }

    fn members(&self, tile: usize) -> &[u32] {
        &self.triangles[self.starts[tile] as usize..self.starts[tile + 1] as usize]
    }

    /// Whether two tiles have a side in common.
    fn touch(&self, one: usize, two: usize) -> bool {
        self.members(one).iter().any(|t| {
            let t = *t as usize;
            self.across[3 * t..3 * t + 3]
                .iter()
                .any(|other| *other != NONE && self.of[*other as usize] as usize == two)
        })
    }
}

type Bounds = (DVec3, DVec3);

fn meets(a: &Bounds, b: &Bounds) -> bool {
    a.0.cmple(b.1).all() && b.0.cmple(a.1).all()
}

/// All results of `test` over pairs of triangles that may meet other than as
/// neighbours, in a fixed order.
pub(super) fn pairs<T: Send>(
    mesh: &Mesh,
    edges: &Edges,
    normals: &[DVec3],
    reach_m: f64,
    test: impl Fn(u32, u32) -> Option<T> + Sync,
) -> Vec<T> {
    let tiles = Tiles::lay(mesh.triangles.len(), edges, normals);
    let pad = DVec3::splat(reach_m);
    let bounds_of = |t: u32| {
        let [a, b, c] = mesh.triangles[t as usize].map(|v| mesh.vertices_m[v as usize]);
        (a.min(b).min(c) - pad, a.max(b).max(c) + pad)
    };
    let bounds: Vec<Bounds> = (0..tiles.n())
        .into_par_iter()
        .with_min_len(64)
        .map(|tile| {
            tiles
                .members(tile)
                .iter()
                .map(|t| bounds_of(*t))
                .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |sum, b| {
                    (sum.0.min(b.0), sum.1.max(b.1))
                })
        })
        .collect();
    let lies_flat = |a: usize, b: usize| {
        let (one, two) = (tiles.members(a), tiles.members(b));
        tiles.touch(a, b) && face_alike(one, two, normals)
    };
    let tree = Tree::over(tiles.n(), |tile| bounds[tile]);
    let near: Vec<(u32, u32)> =
        tree.pairs(|a, b| (!lies_flat(a as usize, b as usize)).then_some((a.min(b), a.max(b))));
    let found: Vec<Vec<T>> = near
        .par_iter()
        .with_min_len(16)
        .map(|&(a, b)| {
            let (a, b) = (a as usize, b as usize);
            let others: Vec<(u32, Bounds)> = tiles
                .members(b)
                .iter()
                .map(|t| (*t, bounds_of(*t)))
                .filter(|other| meets(&other.1, &bounds[a]))
                .collect();
            let mut found = Vec::new();
            for &t in tiles.members(a) {
                let own = bounds_of(t);
                if !meets(&own, &bounds[b]) {
                    continue;
                }
                for (other, other_bounds) in &others {
                    if meets(&own, other_bounds) {
                        found.extend(test(t, *other));
                    }
                }
            }
            found
        })
        .collect();
    found.into_iter().flatten().collect()
}

fn face_alike(one: &[u32], two: &[u32], normals: &[DVec3]) -> bool {
    let normal = |t: &u32| normals[*t as usize];
    let both = || one.iter().chain(two).map(normal);
    let mean = both().sum::<DVec3>().normalize_or_zero();
    both().all(|n| n.dot(mean) > PAIR_COSINE)
}
