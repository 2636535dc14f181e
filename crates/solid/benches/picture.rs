//! How long a picture takes: twelve pieces of 20 000 triangles behind glass and water.

mod lump;

use std::sync::Arc;

use divan::Bencher;
use glam::{DQuat, DVec3};
use solid::Mesh;
use solid::bvh::Placement;
use solid::picture::{Camera, Lighting, Scene, SceneItem, Surface, render};

use lump::lump;

fn main() {
    divan::main();
}

fn cuboid(low_m: DVec3, high_m: DVec3, surface: Surface) -> SceneItem {
    SceneItem {
        mesh: Arc::new(Mesh::cuboid(high_m - low_m)),
        placement: Placement {
            turn: DQuat::IDENTITY,
            shift_m: 0.5 * (low_m + high_m),
        },
        surface,
        colour: [180, 160, 130],
    }
}

/// A tank of 0.9 × 0.45 × 0.45 m.
fn items() -> Vec<SceneItem> {
    let mut items: Vec<SceneItem> = (0..12)
        .map(|i| SceneItem {
            mesh: Arc::new(lump(20_000)),
            placement: Placement {
                turn: DQuat::from_rotation_x(f64::from(i)),
                shift_m: DVec3::new(
                    0.12 + 0.06 * f64::from(i),
                    0.13 + 0.06 * f64::from(i % 4),
                    0.12,
                ),
            },
            surface: if i % 3 == 0 {
                Surface::Wood
            } else {
                Surface::Stone
            },
            colour: [130, 125, 120],
        })
        .collect();
    let (l, d, h, g) = (0.9, 0.45, 0.45, 0.01);
    let at = DVec3::new;
    items.push(cuboid(
        at(0.0, 0.0, 0.0),
        at(l, d, 0.06),
        Surface::Ground { grain_m: 0.002 },
    ));
    items.push(cuboid(
        at(-g, -g, -g),
        at(l + g, d + g, 0.0),
        Surface::Glass,
    ));
    items.push(cuboid(at(-g, -g, 0.0), at(l + g, 0.0, h), Surface::Glass));
    items.push(cuboid(at(-g, d, 0.0), at(l + g, d + g, h), Surface::Glass));
    items.push(cuboid(at(-g, 0.0, 0.0), at(0.0, d, h), Surface::Glass));
    items.push(cuboid(at(l, 0.0, 0.0), at(l + g, d, h), Surface::Glass));
    items.push(cuboid(DVec3::ZERO, at(l, d, 0.42), Surface::Water));
    items
}

#[divan::bench(sample_count = 3)]
fn scene(bencher: Bencher) {
    let items = items();
    bencher.bench(|| Scene::new(&items));
}

#[divan::bench(sample_count = 3)]
fn front_1600_by_900(bencher: Bencher) {
    let scene = Scene::new(&items());
    let (low, high) = scene.bounds().unwrap_or_default();
    let camera = Camera::front(low, high, 16.0 / 9.0);
    let lighting = Lighting::studio(low, high).with_floor(low.z);
    bencher.bench(|| render(&scene, &camera, &lighting, 1600, 900, 2, 1));
}
