//! How long a measure takes, whole and in parts, on clean scans of three sizes.

use std::f64::consts::{PI, TAU};

use divan::Bencher;
use glam::DVec3;
use solid::hull::convex_hull;
use solid::measure::{MeasureOptions, measure};
use solid::repair::repair;
use solid::{Mesh, Moments};

fn main() {
    divan::main();
}

/// A lumpy stone of about `n` triangles: a ball with waves, one surface.
fn stone(n: u32) -> Mesh {
    let up = f64::from(n / 4).sqrt().round();
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a whole number of some hundreds"
    )]
    let rows = up as u32;
    let around = 2 * rows;
    let place = |row: u32, column: u32| {
        let t = PI * (f64::from(row) / up - 0.5);
        let p = TAU * f64::from(column) / f64::from(around);
        let unit = DVec3::new(t.cos() * p.cos(), t.cos() * p.sin(), t.sin());
        let waves = (7.0 * unit.x).sin() + (9.0 * unit.y + 1.0).cos() + (11.0 * unit.z).sin();
        unit * (0.08 * (1.0 + 0.06 * waves))
    };
    let mut vertices_m = vec![place(0, 0)];
    for row in 1..rows {
        vertices_m.extend((0..around).map(|column| place(row, column)));
    }
    vertices_m.push(place(rows, 0));
    let top = 1 + (rows - 1) * around;
    let at = |row: u32, column: u32| 1 + (row - 1) * around + column % around;
    let mut triangles = Vec::new();
    for column in 0..around {
        triangles.push([0, at(1, column + 1), at(1, column)]);
        triangles.push([top, at(rows - 1, column), at(rows - 1, column + 1)]);
        for row in 1..rows - 1 {
            let [a, b] = [at(row, column), at(row, column + 1)];
            let [c, d] = [at(row + 1, column + 1), at(row + 1, column)];
            triangles.push([a, b, c]);
            triangles.push([a, c, d]);
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
