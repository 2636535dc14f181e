//! Pictures against closed forms of light, geometry and symmetry.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use glam::{DQuat, DVec3, Vec3};
use solid::Mesh;
use solid::bvh::Placement;
use solid::picture::{
    Backdrop, Camera, Exposure, Lamp, Lens, Lighting, Picture, Scene, SceneItem, Surface, expose,
    render,
};

const WHITE: [u8; 3] = [255; 3];

fn ball(radius_m: f64, n: u32) -> Mesh {
    let mut mesh = Mesh::default();
    for i in 0..=n {
        let down = 0.5 * TAU * f64::from(i) / f64::from(n);
        let out = if i == n { 0.0 } else { down.sin() };
        for j in 0..2 * n {
            let around = TAU * f64::from(j) / f64::from(2 * n);
            let way = DVec3::new(out * around.cos(), out * around.sin(), down.cos());
            mesh.vertices_m.push(radius_m * way);
        }
    }
    let at = |i: u32, j: u32| i * 2 * n + j % (2 * n);
    for i in 0..n {
        for j in 0..2 * n {
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

fn item(mesh: Mesh, middle_m: DVec3, surface: Surface, colour: [u8; 3]) -> SceneItem {
    SceneItem {
        mesh: Arc::new(mesh),
        placement: Placement {
            turn: DQuat::IDENTITY,
            shift_m: middle_m,
        },
        surface,
        colour,
    }
}

fn cuboid(low_m: DVec3, high_m: DVec3, surface: Surface, colour: [u8; 3]) -> SceneItem {
    item(
        Mesh::cuboid(high_m - low_m),
        0.5 * (low_m + high_m),
        surface,
        colour,
    )
}

/// Straight down on the origin; the picture's height shows `height_m`.
fn from_above(height_m: f64) -> Camera {
    Camera {
        eye_m: DVec3::Z * 5.0,
        target_m: DVec3::ZERO,
        up: DVec3::Y,
        lens: Lens::Orthographic { height_m },
    }
}

fn dark() -> Lighting {
    Lighting::uniform(0.0)
}

fn near(found: Vec3, want: Vec3, within: f32) -> bool {
    (found - want).abs().max_element() <= within
}

/// Closed form: a convex white matt body in light L from everywhere shows L
/// everywhere (the furnace test).
#[test]
fn a_white_ball_in_a_furnace_cannot_be_told_from_it() {
    let scene = Scene::new(&[item(ball(0.1, 24), DVec3::ZERO, Surface::Plain, WHITE)]);
    let lighting = Lighting {
        backdrop: Backdrop {
            top: [0; 3],
            bottom: [0; 3],
            floor_z_m: None,
        },
        ..Lighting::uniform(0.7)
    };
    let picture = expose(&scene, &from_above(0.12), &lighting, 60, 60, 2, 1);
    for light in &picture.light {
        assert!(near(*light, Vec3::splat(0.7), 1e-3), "{light}");
    }
}

/// Light that bounces is never more than what came in: no matt body in light 1 shows more than 1.
#[test]
fn no_hollow_gets_brighter_than_the_furnace() {
    let walls = [
        cuboid(
            DVec3::new(-0.2, -0.2, -0.1),
            DVec3::new(0.2, 0.2, 0.0),
            Surface::Plain,
            WHITE,
        ),
        cuboid(
            DVec3::new(-0.2, -0.2, 0.0),
            DVec3::new(-0.1, 0.2, 0.2),
            Surface::Plain,
            WHITE,
        ),
        cuboid(
            DVec3::new(-0.1, 0.1, 0.0),
            DVec3::new(0.2, 0.2, 0.2),
            Surface::Plain,
            WHITE,
        ),
        item(
            ball(0.05, 16),
            DVec3::new(0.0, 0.0, 0.05),
            Surface::Plain,
            WHITE,
        ),
    ];
    let picture = expose(
        &Scene::new(&walls),
        &from_above(0.4),
        &Lighting::uniform(1.0),
        80,
        80,
        8,
        3,
    );
    let darkest = picture
        .light
        .iter()
        .map(|l| l.min_element())
        .fold(1.0, f32::min);
    assert!(
        picture
            .light
            .iter()
            .all(|light| light.max_element() <= 1.0 + 1e-4)
    );
    assert!(
        (0.3..0.9).contains(&darkest),
        "hollows are darker: {darkest}"
    );
}

/// Closed form: ∫ of the room's linear fade over the cosine lobe about z is
/// (5 sky + below) ÷ 6; colours are IEC 61966-2-1.
#[test]
fn a_level_face_takes_five_sixths_of_its_light_from_the_upper_half() {
    let scene = Scene::new(&[cuboid(
        DVec3::splat(-0.1),
        DVec3::splat(0.1),
        Surface::Plain,
        [188; 3],
    )]);
    let lighting = Lighting {
        sky: Vec3::new(0.8, 0.6, 0.4),
        below: Vec3::new(0.2, 0.3, 0.1),
        ..dark()
    };
    let picture = expose(&scene, &from_above(0.15), &lighting, 16, 16, 4, 1);
    let albedo = ((188.0f32 / 255.0 + 0.055) / 1.055).powf(2.4);
    let want = (lighting.sky * 5.0 + lighting.below) / 6.0 * albedo;
    assert!(picture.light.iter().all(|light| near(*light, want, 1e-3)));
}

/// A colour under light 1 comes out as the very bytes that went in.
#[test]
fn colours_stay_true() {
    for colour in [[120, 80, 40], [0, 128, 200], [30, 30, 30], [211, 190, 150]] {
        let mut mesh = Mesh::cuboid(DVec3::splat(0.2));
        mesh.colours = vec![colour; mesh.vertices_m.len()];
        let scene = Scene::new(&[item(mesh, DVec3::ZERO, Surface::Plain, WHITE)]);
        let picture = render(
            &scene,
            &from_above(0.15),
            &Lighting::uniform(1.0),
            8,
            8,
            1,
            1,
        );
        let middle = &picture.rgb[(8 * 4 + 4) * 3..][..3];
        assert_eq!(middle, colour);
    }
}

/// A small lamp at (−0.5, 0, 1), a box of height 0.2 up to x = 0.1: by similar
/// triangles its shadow on the floor ends at 0.1 + 0.6 · 0.2 ÷ 0.8 = 0.25. In
/// the open, light = L A cos² ÷ (π r²) for a lamp that faces down.
#[test]
fn a_shadow_falls_where_geometry_says() {
    let floor = cuboid(
        DVec3::new(-1.0, -1.0, -0.1),
        DVec3::new(1.0, 1.0, 0.0),
        Surface::Plain,
        WHITE,
    );
    let block = cuboid(
        DVec3::new(-0.1, -0.1, 0.0),
        DVec3::new(0.1, 0.1, 0.2),
        Surface::Plain,
        WHITE,
    );
    let lamp = Lamp {
        centre_m: DVec3::new(-0.5, 0.0, 1.0),
        half_u_m: DVec3::Y * 0.002,
        half_v_m: DVec3::X * 0.002,
        radiance: Vec3::splat(50_000.0),
    };
    let lighting = Lighting {
        lamp: Some(lamp),
        ..dark()
    };
    let (n, height_m) = (200, 0.8);
    let picture = expose(
        &Scene::new(&[floor, block]),
        &from_above(height_m),
        &lighting,
        n,
        n,
        4,
        1,
    );
    let at = |x_m: f64, y_m: f64| {
        let pixel = |m: f64| ((0.5 + m / height_m) * f64::from(n)) as u32;
        f64::from(picture.at(pixel(x_m), pixel(-y_m)).x)
    };
    let open = |x_m: f64, y_m: f64| {
        let square = (x_m + 0.5).powi(2) + y_m * y_m + 1.0;
        50_000.0 * 0.004 * 0.004 / (PI * square * square)
    };
    for (x_m, y_m, lit) in [
        (0.24, 0.0, false),
        (0.26, 0.0, true),
        (0.15, 0.11, false),
        (0.15, 0.14, true),
        (0.20, -0.11, false),
        (-0.12, 0.0, true),
        (0.35, 0.2, true),
    ] {
        // Second bounces off the block add a little light beside it.
        let (found, want) = (at(x_m, y_m), if lit { open(x_m, y_m) } else { 0.0 });
        let room = open(0.0, 0.0) * 0.12;
        assert!(
            (found - want).abs() < room,
            "({x_m}, {y_m}): {found}, want {want}"
        );
    }
    assert!((at(0.35, 0.3) / open(0.35, 0.3) - 1.0).abs() < 0.02);
}

fn still_life() -> Scene {
    Scene::new(&[
        item(
            ball(0.08, 20),
            DVec3::new(0.0, 0.1, 0.08),
            Surface::Stone,
            [130, 120, 110],
        ),
        item(
            ball(0.04, 12),
            DVec3::new(0.12, 0.0, 0.04),
            Surface::Wood,
            [110, 80, 50],
        ),
        cuboid(
            DVec3::new(-0.3, -0.2, -0.05),
            DVec3::new(0.3, 0.25, 0.0),
            Surface::Ground { grain_m: 0.003 },
            [180, 160, 130],
        ),
        cuboid(
            DVec3::new(-0.3, -0.21, -0.05),
            DVec3::new(0.3, -0.2, 0.3),
            Surface::Glass,
            WHITE,
        ),
        cuboid(
            DVec3::new(-0.3, -0.2, 0.0),
            DVec3::new(0.3, 0.25, 0.25),
            Surface::Water,
            WHITE,
        ),
    ])
}

fn still_picture(n_threads: usize, seed: u64) -> Picture {
    let (low, high) = (DVec3::new(-0.3, -0.21, -0.05), DVec3::new(0.3, 0.25, 0.3));
    let lighting = Lighting::studio(low, high).with_floor(low.z);
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(n_threads)
        .build();
    pool.expect("a pool").install(|| {
        render(
            &still_life(),
            &Camera::front(low, high, 1.6),
            &lighting,
            96,
            60,
            2,
            seed,
        )
    })
}

#[test]
fn any_number_of_threads_takes_the_same_picture() {
    let one = still_picture(1, 7);
    assert_eq!(one, still_picture(2, 7));
    assert_eq!(one, still_picture(5, 7));
    assert_ne!(one.rgb, still_picture(1, 8).rgb, "the seed must matter");
    assert_eq!(one.rgb.len(), 96 * 60 * 3);
}

/// Mean of the light over a patch, left and right of the middle.
fn sides(picture: &Exposure, x: u32, y: u32, n: u32) -> (Vec3, Vec3) {
    let mut sums = (Vec3::ZERO, Vec3::ZERO);
    for i in 0..n {
        for j in 0..n {
            sums.0 += picture.at(x + i, y + j);
            sums.1 += picture.at(picture.width - 1 - x - i, y + j);
        }
    }
    let each = 1.0 / (n * n) as f32;
    (sums.0 * each, sums.1 * each)
}

#[test]
fn a_symmetric_scene_gives_a_symmetric_picture() {
    let ball_at = |x: f64| {
        item(
            ball(0.06, 20),
            DVec3::new(x, 0.0, 0.06),
            Surface::Plain,
            [150, 140, 130],
        )
    };
    let floor = cuboid(
        DVec3::new(-0.4, -0.3, -0.05),
        DVec3::new(0.4, 0.3, 0.0),
        Surface::Plain,
        [180; 3],
    );
    let scene = Scene::new(&[ball_at(-0.1), ball_at(0.1), floor]);
    let (low, high) = (DVec3::new(-0.4, -0.3, -0.05), DVec3::new(0.4, 0.3, 0.12));
    let mut lighting = Lighting::studio(low, high);
    let lamp = lighting.lamp.as_mut().expect("a studio has a lamp");
    lamp.centre_m.x = 0.0;
    (lamp.half_u_m, lamp.half_v_m) = (DVec3::Y * 0.1, DVec3::X * 0.1);
    let picture = expose(
        &scene,
        &Camera::front(low, high, 1.6),
        &lighting,
        160,
        100,
        8,
        1,
    );
    let mut darkest = f32::INFINITY;
    for x in (0..80).step_by(8) {
        for y in (0..96).step_by(8) {
            let (left, right) = sides(&picture, x, y, 4);
            assert!(near(left, right, 0.03), "({x}, {y}): {left} and {right}");
            darkest = darkest.min(left.x);
        }
    }
    assert!(darkest < 0.3, "there is something to see: {darkest}");
}

/// Beer and Lambert: twice the water lets the square of the share through.
#[test]
fn water_dims_by_its_length() {
    let through = |length_m: f64| {
        let half = DVec3::new(0.2, 0.2, 0.5 * length_m);
        let scene = Scene::new(&[cuboid(-half, half, Surface::Water, WHITE)]);
        expose(
            &scene,
            &from_above(0.1),
            &Lighting::uniform(0.5),
            4,
            4,
            1,
            1,
        )
        .at(2, 2)
    };
    let behind = through(1e-9);
    let once = through(0.5) / behind;
    let twice = through(1.0) / behind;
    assert!(near(twice, once * once, 1e-5) && once.x < 0.99 && once.x < once.y);
}

/// A pane is not opaque, keeps shadows off, and shows its rim darker than its face.
#[test]
fn a_pane_is_seen_by_its_rim() {
    let pane = cuboid(
        DVec3::new(-0.1, -0.005, -0.2),
        DVec3::new(0.1, 0.005, 0.2),
        Surface::Glass,
        WHITE,
    );
    let lighting = Lighting::uniform(0.5);
    let behind = expose(&Scene::new(&[]), &from_above(0.1), &lighting, 4, 4, 1, 1).at(2, 2);
    let rim = expose(
        &Scene::new(std::slice::from_ref(&pane)),
        &from_above(0.008),
        &lighting,
        4,
        4,
        1,
        1,
    )
    .at(2, 2);
    let square = Camera {
        eye_m: DVec3::NEG_Y * 5.0,
        up: DVec3::Z,
        ..from_above(0.1)
    };
    let face = expose(&Scene::new(&[pane]), &square, &lighting, 4, 4, 1, 1).at(2, 2);
    assert!(face.x > 0.9 * behind.x && face.max_element() <= behind.max_element());
    assert!(rim.x < 0.8 * behind.x && rim.y > rim.x, "green: {rim}");
}

#[test]
fn nothing_to_see_is_no_error() {
    let none = Scene::new(&[]);
    let (low, high) = (DVec3::ZERO, DVec3::ZERO);
    for lighting in [
        Lighting::studio(low, high).with_floor(0.0),
        Lighting::plan(low, high),
    ] {
        for camera in [Camera::front(low, high, 1.0), Camera::plan(low, high, 1.0)] {
            assert_eq!(render(&none, &camera, &lighting, 3, 2, 0, 0).rgb.len(), 18);
            assert!(render(&none, &camera, &lighting, 0, 2, 1, 0).rgb.is_empty());
        }
    }
    assert!(none.bounds().is_none());
}
