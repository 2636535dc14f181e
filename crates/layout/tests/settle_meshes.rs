//! Settling and letting down pieces that are no boxes.

use std::sync::Arc;

use glam::{DQuat, DVec3};
use layout::settle::{Body, Ground, GroundForm, Scene, Settled, Solid, Tank, settle};
use solid::{
    Mesh, Pose,
    grow::{Form, Recipe, grow},
    hull::convex_hull,
    measure::{MeasureOptions, measure},
};

fn tank() -> Tank {
    Tank {
        length_m: 0.9,
        width_m: 0.45,
        height_m: 0.45,
        base_friction: 0.4,
        wall_friction: 0.2,
        tilt_x_rad: 0.0,
        tilt_y_rad: 0.0,
    }
}

fn body(solid: &Arc<Solid>, pose: Pose, bedded: bool) -> Body {
    Body {
        id: format!("{:?}", pose.centre_m),
        mass_kg: solid.volume_m3() * 2650.0,
        solid: Arc::clone(solid),
        friction: 0.6,
        pose,
        bedded,
    }
}

fn settled(bodies: Vec<Body>, ground: Option<Ground>) -> Settled {
    let scene = Scene {
        tank: tank(),
        ground,
        water: None,
        bodies,
        ballast_density_kg_m3: 2650.0,
    };
    settle(&scene, &mut |_| std::ops::ControlFlow::Continue(())).expect("nothing overlaps")
}

fn cuboid(size_m: [f64; 3]) -> Arc<Solid> {
    Arc::new(Solid::prepare(Mesh::cuboid(DVec3::from_array(size_m))).expect("a box has volume"))
}

/// The pose with the lowest corner at a height.
fn let_down(solid: &Solid, turn: DQuat, low_m: f64) -> Pose {
    let low = solid
        .hull_m()
        .iter()
        .map(|v| (turn * (*v - solid.centre_m())).z)
        .fold(f64::MAX, f64::min);
    Pose {
        centre_m: DVec3::new(0.45, 0.22, low_m - low),
        turn,
    }
}

fn slope(height_at_middle_m: f64, slope_x_rad: f64) -> Ground {
    Ground {
        friction: 0.6,
        form: GroundForm::Plane {
            height_at_middle_m,
            slope_x_rad,
            slope_y_rad: 0.0,
        },
    }
}

// Two ways to one answer: the balance of forces here, the geometry of the hull's
// facets in solid.measure. The contract holds them to 0.3°.
#[test]
fn a_lone_stone_on_the_flat_tips_where_its_measure_says() {
    let recipe = Recipe::new(Form::Rounded, 5, 0.15)
        .expect("a sound recipe")
        .with_triangles(3000);
    let measured = measure(&grow(&recipe), &MeasureOptions::default()).expect("a grown stone");
    let solid = Arc::new(
        Solid::with_moments(measured.solid_mesh.clone(), measured.moments).expect("it has volume"),
    );
    let firm: Vec<_> = measured
        .resting
        .poses
        .iter()
        .filter(|p| p.tip_angle_rad > 1f64.to_radians())
        .take(3)
        .collect();
    assert!(!firm.is_empty());
    for pose in firm {
        let start = let_down(&solid, pose.turn, 0.0);
        let piece = &settled(vec![body(&solid, start, false)], None).pieces[0];
        assert!(piece.at_rest);
        assert!(piece.moved_m < 3e-4, "moved {} m", piece.moved_m);
        let tip = piece.tip_angle_rad.expect("the base holds it");
        let off = (tip - pose.tip_angle_rad).to_degrees();
        assert!(off.abs() < 0.3, "off by {off}°");
    }
}

#[test]
fn a_convex_solid_is_one_part_with_all_corners_of_its_hull() {
    let solid = cuboid([0.1, 0.06, 0.05]);
    assert_eq!(solid.parts().len(), 1);
    assert_eq!(solid.parts()[0].points_m.len(), 8);
}

/// An L of two bars, each 100 mm by 30 mm by 40 mm where they don't share.
fn ell() -> Mesh {
    let plan = [
        (0.0, 0.0),
        (0.1, 0.0),
        (0.1, 0.03),
        (0.03, 0.03),
        (0.03, 0.1),
        (0.0, 0.1),
    ];
    let vertices_m = [0.0, 0.04]
        .iter()
        .flat_map(|z| plan.map(|(x, y)| DVec3::new(x, y, *z)))
        .collect();
    let top = [[0, 1, 2], [0, 2, 3], [0, 3, 4], [0, 4, 5]];
    let mut triangles: Vec<[u32; 3]> = top.map(|[a, b, c]: [u32; 3]| [a + 6, b + 6, c + 6]).into();
    triangles.extend(top.map(|[a, b, c]| [a, c, b]));
    for i in 0..6 {
        let j = (i + 1) % 6;
        triangles.push([i, j, j + 6]);
        triangles.push([i, j + 6, i + 6]);
    }
    Mesh {
        vertices_m,
        triangles,
        colours: Vec::new(),
    }
}

// Closed form: an L is two boxes.
#[test]
fn an_ell_is_cut_into_two_boxes() {
    let solid = Solid::prepare(ell()).expect("an L has volume");
    let volume: f64 = solid
        .parts()
        .iter()
        .map(|p| convex_hull(&p.points_m).map_or(0.0, |h| h.volume_m3()))
        .sum();
    assert_eq!(solid.parts().len(), 2);
    assert!((volume / solid.volume_m3() - 1.0).abs() < 1e-9);
}

#[test]
fn a_bedded_piece_rests_in_its_own_hollow() {
    let solid = cuboid([0.1, 0.06, 0.05]);
    let ground = slope(0.06, 0.1);
    let pose = let_down(&solid, DQuat::IDENTITY, 0.04);
    let piece = &settled(vec![body(&solid, pose, true)], Some(ground)).pieces[0];
    assert!(piece.at_rest);
    assert!(piece.moved_m < 5e-4, "moved {} m", piece.moved_m);
    assert!(piece.turned_rad < 0.01, "turned {} rad", piece.turned_rad);
}

#[test]
fn the_same_scene_settles_to_the_same_bits() {
    let solid = Arc::new(Solid::prepare(ell()).expect("an L has volume"));
    let scene = || {
        (0..4)
            .map(|i| {
                let turn = DQuat::from_rotation_x(0.3 * f64::from(i));
                let centre_m =
                    DVec3::new(0.4, 0.2 + 0.01 * f64::from(i), 0.1 + 0.12 * f64::from(i));
                body(&solid, Pose { centre_m, turn }, false)
            })
            .collect()
    };
    assert_eq!(settled(scene(), None), settled(scene(), None));
}
