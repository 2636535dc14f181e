//! How fast the tree of boxes is built and asked, on one thread.

mod lump;

use divan::Bencher;
use divan::counter::ItemsCount;
use glam::DVec3;
use solid::bvh::{Bvh, Ray};
use std::f64::consts::TAU;

use lump::lump;

fn main() {
    divan::main();
}

/// Rays from a ball round the mesh to points in its middle, in no order.
fn rays(n: usize) -> Vec<Ray> {
    let mut state = 1u64;
    let mut uniform = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / f64::from(1u32 << 31)
    };
    let mut on_ball = move || {
        let (z, turn) = (2.0 * uniform() - 1.0, TAU * uniform());
        let out = (1.0 - z * z).sqrt();
        DVec3::new(out * turn.cos(), out * turn.sin(), z)
    };
    (0..n)
        .map(|_| {
            let (from, to) = (on_ball() * 0.2, on_ball() * 0.1);
            Ray::new(from, (to - from).normalize())
        })
        .collect()
}

#[divan::bench(args = [20_000, 200_000, 1_000_000], sample_count = 5)]
fn build(bencher: Bencher, n_triangles: u32) {
    let mesh = lump(n_triangles);
    bencher.bench(|| Bvh::build(&mesh));
}

#[divan::bench(args = [20_000, 200_000, 1_000_000], sample_count = 10)]
fn first_hit(bencher: Bencher, n_triangles: u32) {
    let bvh = Bvh::build(&lump(n_triangles));
    let rays = rays(100_000);
    bencher.counter(ItemsCount::new(rays.len())).bench(|| {
        rays.iter()
            .filter(|ray| bvh.first_hit(ray).is_some())
            .count()
    });
}

#[divan::bench(args = [200_000], sample_count = 10)]
fn any_hit(bencher: Bencher, n_triangles: u32) {
    let bvh = Bvh::build(&lump(n_triangles));
    let rays = rays(100_000);
    bencher
        .counter(ItemsCount::new(rays.len()))
        .bench(|| rays.iter().filter(|ray| bvh.any_hit(ray)).count());
}

#[divan::bench(args = [200_000], sample_count = 10)]
fn closest(bencher: Bencher, n_triangles: u32) {
    let bvh = Bvh::build(&lump(n_triangles));
    let points: Vec<DVec3> = rays(20_000).iter().map(|ray| ray.at(0.12)).collect();
    bencher.counter(ItemsCount::new(points.len())).bench(|| {
        points
            .iter()
            .filter_map(|p| bvh.closest(*p, f64::INFINITY))
            .map(|found| found.distance_m)
            .sum::<f64>()
    });
}

#[divan::bench(args = [200_000], sample_count = 10)]
fn contains(bencher: Bencher, n_triangles: u32) {
    let bvh = Bvh::build(&lump(n_triangles));
    let points: Vec<DVec3> = rays(20_000).iter().map(|ray| ray.at(0.12)).collect();
    bencher
        .counter(ItemsCount::new(points.len()))
        .bench(|| points.iter().filter(|p| bvh.contains(**p)).count());
}
