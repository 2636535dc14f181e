//! Settling against closed forms of statics. Sources stand at each test.

use std::sync::Arc;

use glam::{DQuat, DVec3};
use layout::settle::{Body, Scene, Settled, Solid, Tank, settle};
use solid::{Mesh, Pose};

fn tank(tilt_x_deg: f64) -> Tank {
    Tank {
        length_m: 0.9,
        width_m: 0.45,
        height_m: 0.45,
        base_friction: 0.4,
        wall_friction: 0.2,
        tilt_x_rad: tilt_x_deg.to_radians(),
        tilt_y_rad: 0.0,
    }
}

fn cuboid(size_m: [f64; 3], centre_m: [f64; 3]) -> Body {
    let solid = Arc::new(
        Solid::prepare(Mesh::cuboid(DVec3::from_array(size_m))).expect("a box has volume"),
    );
    Body {
        id: format!("{centre_m:?}"),
        mass_kg: solid.volume_m3() * 2650.0,
        solid,
        friction: 0.6,
        pose: Pose {
            centre_m: DVec3::from_array(centre_m),
            turn: DQuat::IDENTITY,
        },
        bedded: false,
    }
}

fn settled(tank: Tank, bodies: Vec<Body>) -> Settled {
    let scene = Scene {
        tank,
        ground: None,
        water: None,
        bodies,
        ballast_density_kg_m3: 2650.0,
    };
    settle(&scene, &mut |_| std::ops::ControlFlow::Continue(())).expect("nothing overlaps")
}

/// Five blocks 100 mm long, each set out over the next by `share` of the classical limit.
fn overhang(share: f64) -> Settled {
    let mut x = 0.3;
    let bodies = (0..5)
        .map(|i| {
            let body = cuboid([0.1, 0.06, 0.05], [x, 0.2, 0.025 + 0.05 * f64::from(i)]);
            x += share * 0.05 / f64::from(4 - i).max(1.0);
            body
        })
        .collect();
    settled(tank(0.0), bodies)
}

// Closed form: the block k from the top may stand out over the next by
// length/2k (the harmonic stack; R. L. Graham, D. E. Knuth, O. Patashnik,
// Concrete Mathematics, section 6.3; typed from memory).
#[test]
fn a_stack_just_inside_the_classical_limit_stands_where_it_was_put() {
    let result = overhang(0.98);
    for piece in &result.pieces {
        assert!(piece.at_rest);
        assert!(piece.moved_m < 5e-5, "moved {} m", piece.moved_m);
    }
}

#[test]
fn a_stack_just_beyond_the_classical_limit_falls() {
    let moved = overhang(1.02)
        .pieces
        .iter()
        .map(|p| p.moved_m)
        .fold(0.0, f64::max);
    assert!(moved > 0.1, "moved {moved} m");
}

// Closed form: a block slides when tan θ > μ; here μ = 0.4, θ = 21.801°.
#[test]
fn a_block_on_an_incline_holds_just_below_the_angle_of_friction() {
    let result = settled(
        tank(21.7),
        vec![cuboid([0.1, 0.06, 0.05], [0.5, 0.2, 0.025])],
    );
    assert!(result.pieces[0].moved_m < 1e-5);
    let margin = result.pieces[0]
        .slide_margin
        .expect("a slope needs friction");
    assert!(
        (margin - 0.4 / 21.7f64.to_radians().tan()).abs() < 2e-3,
        "{margin}"
    );
}

#[test]
fn a_block_on_an_incline_slides_to_the_wall_just_above_it() {
    let result = settled(
        tank(21.9),
        vec![cuboid([0.1, 0.06, 0.05], [0.5, 0.2, 0.025])],
    );
    assert!((result.pieces[0].pose.centre_m.x - 0.05).abs() < 1e-3);
}

// Closed form: the weights of a stack add up; g by the 3rd CGPM (1901).
#[test]
fn a_stack_presses_its_whole_weight_on_the_base() {
    let result = settled(
        tank(0.0),
        (0..4)
            .map(|i| cuboid([0.1, 0.06, 0.05], [0.3, 0.2, 0.025 + 0.05 * f64::from(i)]))
            .collect(),
    );
    let weight = 4.0 * 0.1 * 0.06 * 0.05 * 2650.0 * 9.806_65;
    assert!((result.base_force_n - weight).abs() < 1e-4 * weight);
}
