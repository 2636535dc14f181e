//! How long a measure takes, whole and in parts, on clean scans of three sizes.

use std::collections::HashMap;
use std::f64::consts::FRAC_PI_4;

use divan::Bencher;
use glam::DVec3;
use solid::hull::convex_hull;
use solid::measure::{MeasureOptions, measure};
use solid::repair::repair;
use solid::{Mesh, Moments};

fn main() {
    divan::main();
}

/// A lumpy stone of about `n` triangles: a gridded cube blown up to a ball with waves.
fn stone(n: u32) -> Mesh {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number of some hundreds"
    )]
    let cells = (f64::from(n) / 12.0).sqrt().round() as u32;
    let mut index: HashMap<[u32; 3], u32> = HashMap::new();
    let mut vertices_m = Vec::new();
    let mut triangles = Vec::new();
    let mut at = |p: [u32; 3]| {
        *index.entry(p).or_insert_with(|| {
            let angle = |c: u32| (FRAC_PI_4 * (2.0 * f64::from(c) / f64::from(cells) - 1.0)).tan();
            let unit = DVec3::from_array(p.map(angle)).normalize();
            let waves = (7.0 * unit.x).sin() + (9.0 * unit.y + 1.0).cos() + (11.0 * unit.z).sin();
            vertices_m.push(unit * (0.08 * (1.0 + 0.06 * waves)));
            vertices_m.len() as u32 - 1
        })
    };
    for axis in 0..3 {
        for (end, i, j) in (0..2 * cells * cells).map(|k| (k % 2, k / 2 / cells, k / 2 % cells)) {
            let mut quad = [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(di, dj)| {
                let mut p = [0; 3];
                p[axis] = end * cells;
                p[(axis + 1) % 3] = i + di;
                p[(axis + 2) % 3] = j + dj;
                at(p)
            });
            if end == 0 {
                quad.reverse();
            }
            triangles.push([quad[0], quad[1], quad[2]]);
            triangles.push([quad[0], quad[2], quad[3]]);
        }
    }
    Mesh {
        vertices_m,
        triangles,
        colours: Vec::new(),
    }
}

const SIZES: [u32; 3] = [20_000, 200_000, 1_000_000];

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn whole(bencher: Bencher, n: u32) {
    let mesh = stone(n);
    let options = MeasureOptions {
        mass_kg: None,
        density_kg_m3: Some(2650.0),
    };
    bencher.bench(|| measure(&mesh, &options));
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn mending(bencher: Bencher, n: u32) {
    let mesh = stone(n);
    bencher.bench(|| repair(&mesh, |_| 0.0));
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn integrals(bencher: Bencher, n: u32) {
    let mesh = stone(n);
    bencher.bench(|| Moments::of(&mesh));
}

#[divan::bench(args = SIZES, sample_count = 5, sample_size = 1)]
fn hull(bencher: Bencher, n: u32) {
    let mesh = stone(n);
    bencher.bench(|| convex_hull(&mesh.vertices_m));
}
