//! How long settling takes, part by part.

use std::ops::ControlFlow;
use std::sync::Arc;

use divan::{Bencher, black_box};
use glam::{DQuat, DVec3};
use layout::settle::{Body, Scene, Solid, Tank, settle};
use solid::{
    Mesh, Pose,
    grow::{Form, Recipe, grow},
};

fn main() {
    divan::main();
}

const TANK: Tank = Tank {
    length_m: 0.6,
    width_m: 0.4,
    height_m: 0.8,
    base_friction: 0.5,
    wall_friction: 0.2,
    tilt_x_rad: 0.0,
    tilt_y_rad: 0.0,
};

/// Twelve pieces in three columns, let go above each other at chance turns.
fn heap(solid: impl Fn(usize) -> Arc<Solid>) -> Scene {
    let bodies = (0..12)
        .map(|i| {
            let solid = solid(i);
            let k = i as f64;
            let turn = DQuat::from_xyzw((3.0 * k).sin(), (5.0 * k).cos(), (7.0 * k).sin(), 0.4);
            Body {
                id: format!("p{i}"),
                mass_kg: solid.volume_m3() * 2650.0,
                solid,
                friction: 0.6,
                pose: Pose {
                    centre_m: DVec3::new(
                        0.13 + 0.17 * (i % 3) as f64,
                        0.2 + 0.02 * (11.0 * k).sin(),
                        0.1 + 0.15 * (i / 3) as f64,
                    ),
                    turn: turn.normalize(),
                },
                bedded: false,
            }
        })
        .collect();
    Scene {
        tank: TANK,
        ground: None,
        water: None,
        bodies,
        ballast_density_kg_m3: 2650.0,
    }
}

fn stone(form: Form, seed: u64) -> Mesh {
    grow(
        &Recipe::new(form, seed, 0.13)
            .expect("a sound recipe")
            .with_triangles(20_000),
    )
}

const FORMS: [Form; 3] = [Form::Rounded, Form::Bedded, Form::Fissured];

#[divan::bench(args = FORMS, sample_count = 3, sample_size = 1)]
fn prepare_a_stone(bencher: Bencher, form: Form) {
    let mesh = stone(form, 3);
    bencher.bench_local(|| Solid::prepare(black_box(mesh.clone())));
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn twelve_stones_to_rest(bencher: Bencher) {
    let solids = FORMS.map(|form| Arc::new(Solid::prepare(stone(form, 3)).expect("a stone")));
    let scene = heap(|i| Arc::clone(&solids[i % 3]));
    let mut steps = 0;
    bencher.bench_local(|| {
        settle(black_box(&scene), &mut |p| {
            steps = p.steps;
            ControlFlow::Continue(())
        })
    });
    println!("{steps} steps");
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn twelve_boxes_to_rest(bencher: Bencher) {
    let size = |i: usize| DVec3::new(0.1, 0.06 + 0.004 * i as f64, 0.05);
    let scene = heap(|i| Arc::new(Solid::prepare(Mesh::cuboid(size(i))).expect("a box")));
    bencher.bench_local(|| settle(black_box(&scene), &mut |_| ControlFlow::Continue(())));
}
