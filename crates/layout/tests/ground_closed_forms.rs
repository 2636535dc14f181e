//! The ground against closed forms of the same facetted bodies, away from grid lines.
//!
//! Every wanted value is a formula of elementary geometry, written beside it; the
//! tolerance 1e-9 is rounding only, far under the contract's 0.1 %.

use glam::{DQuat, DVec2, DVec3};
use layout::ground::{
    Bed, BedPoint, By, GroundError, GroundPlan, GroundResult, Material, PlacedSolid, Region, build,
};
use proptest::prelude::*;
use solid::{Mesh, Moments, Pose};

const INSIDE: DVec3 = DVec3::new(0.6, 0.3, 0.36);

fn material(name: &str) -> Material {
    Material {
        name: name.to_owned(),
        bulk_density_kg_m3: 1500.0,
        grain_density_kg_m3: Some(2500.0),
        grain_m: None,
        angle_of_repose_rad: 35_f64.to_radians(),
        bag_m3: Some(0.004),
    }
}

fn bed(by: By, region: Region, points: &[(f64, f64, f64)]) -> Bed {
    Bed {
        material: 0,
        region,
        by,
        points: points
            .iter()
            .map(|&(x, y, value_m)| BedPoint {
                place_m: DVec2::new(x, y),
                value_m,
            })
            .collect(),
    }
}

fn polygon(corners: &[(f64, f64)]) -> Region {
    Region::Polygon(corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect())
}

fn plan(beds: Vec<Bed>) -> GroundPlan {
    GroundPlan {
        materials: vec![material("gravel")],
        beds,
    }
}

fn placed(mesh: &Mesh, centre: DVec3, turn: DQuat) -> PlacedSolid<'_> {
    PlacedSolid {
        mesh,
        centre_in_piece_m: Moments::of(mesh).centre_m,
        pose: Pose {
            centre_m: centre,
            turn,
        },
        bedded: true,
    }
}

fn built(plan: &GroundPlan, pieces: &[PlacedSolid<'_>], water_m: f64, cell_m: f64) -> GroundResult {
    build(plan, INSIDE, pieces, water_m, cell_m).expect("a good ground")
}

fn near(got: f64, want: f64) {
    assert!(
        (got - want).abs() <= 1e-9 * want.abs().max(1e-6),
        "got {got}, wanted {want}"
    );
}

/// Cells that divide the inside, and cells that don't.
const CELLS_M: [f64; 3] = [0.002, 0.005, 0.0137];

#[test]
fn a_flat_bed_is_area_times_thickness() {
    let plan = plan(vec![bed(By::Thickness, Region::All, &[(0.1, 0.1, 0.05)])]);
    for cell in CELLS_M {
        let result = built(&plan, &[], 0.3, cell);
        near(result.materials[0].volume_m3, 0.6 * 0.3 * 0.05);
        near(result.materials[0].mass_kg, 0.6 * 0.3 * 0.05 * 1500.0);
        assert_eq!(result.materials[0].n_bags, Some(3));
    }
}

#[test]
fn a_bank_from_glass_to_glass_is_its_mean_height() {
    let ramp = [(0.3, 0.0, 0.02), (0.3, 0.3, 0.12)];
    let plan = plan(vec![bed(By::Top, Region::All, &ramp)]);
    for cell in CELLS_M {
        let result = built(&plan, &[], 0.3, cell);
        near(result.materials[0].volume_m3, 0.6 * 0.3 * 0.07);
    }
}

#[test]
fn a_region_is_cut_at_its_very_sides() {
    // A triangle with slanted sides, and a U whose notch is left out.
    let triangle = [(0.031, 0.017), (0.457, 0.063), (0.211, 0.283)];
    let twice = (0.457 - 0.031) * (0.283 - 0.017) - (0.063 - 0.017) * (0.211 - 0.031);
    let u = [
        (0.0, 0.0),
        (0.501, 0.0),
        (0.501, 0.2),
        (0.303, 0.2),
        (0.303, 0.101),
        (0.107, 0.101),
        (0.107, 0.2),
        (0.0, 0.2),
    ];
    for (corners, area) in [
        (&triangle[..], 0.5 * twice),
        (&u[..], 0.501 * 0.2 - (0.303 - 0.107) * 0.099),
    ] {
        for reversed in [false, true] {
            let mut corners = corners.to_vec();
            if reversed {
                corners.reverse();
            }
            let plan = plan(vec![bed(
                By::Thickness,
                polygon(&corners),
                &[(0.1, 0.1, 0.04)],
            )]);
            for cell in CELLS_M {
                near(
                    built(&plan, &[], 0.3, cell).materials[0].volume_m3,
                    area * 0.04,
                );
            }
        }
    }
}

#[test]
fn a_bank_under_a_level_bed_is_cut_where_it_runs_out() {
    // Level to 50 mm; then a bank by top that rises from 0 at the front to 120 mm at the back:
    // it lies above the level from y = 125 mm on, a triangle of 175 mm by 70 mm.
    let beds = vec![
        bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.05)]),
        bed(By::Top, Region::All, &[(0.3, 0.0, 0.0), (0.3, 0.3, 0.12)]),
    ];
    for cell in CELLS_M {
        let result = built(&plan(beds.clone()), &[], 0.3, cell);
        near(result.beds[0].volume_m3, 0.6 * 0.3 * 0.05);
        near(result.beds[1].volume_m3, 0.6 * 0.5 * 0.175 * 0.07);
        near(result.beds[1].cut_area_m2, 0.6 * 0.125);
        near(result.beds[1].cut_depth_m, 0.05);
        assert_eq!(result.beds[1].below_base_m, 0.0);
    }
}

#[test]
fn a_bed_below_the_glass_is_cut_there() {
    let plan = plan(vec![bed(
        By::Top,
        Region::All,
        &[(0.0, 0.15, -0.06), (0.6, 0.15, 0.06)],
    )]);
    for cell in CELLS_M {
        let result = built(&plan, &[], 0.3, cell);
        near(result.beds[0].volume_m3, 0.3 * 0.5 * 0.3 * 0.06);
        near(result.beds[0].below_base_m, 0.06);
    }
}

#[test]
fn a_turned_box_half_in_level_ground_has_half_its_volume_there() {
    let mesh = Mesh::cuboid(DVec3::new(0.12, 0.08, 0.05));
    let level = plan(vec![bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.1)])]);
    for turn in [
        DQuat::IDENTITY,
        DQuat::from_rotation_z(0.5),
        DQuat::from_euler(glam::EulerRot::XYZ, 0.4, 1.1, -2.0),
    ] {
        for cell in CELLS_M {
            let piece = placed(&mesh, DVec3::new(0.3, 0.15, 0.1), turn);
            let result = built(&level, &[piece], 0.3, cell);
            near(result.pieces[0].buried_m3(), 0.12 * 0.08 * 0.05 / 2.0);
            near(result.pieces[0].submerged_m3, 0.12 * 0.08 * 0.05);
        }
    }
}

/// A regular octahedron with corners `radius_m` from its middle.
fn octahedron(radius_m: f64) -> Mesh {
    let r = radius_m;
    Mesh {
        vertices_m: vec![
            DVec3::new(r, 0.0, 0.0),
            DVec3::new(0.0, r, 0.0),
            DVec3::new(-r, 0.0, 0.0),
            DVec3::new(0.0, -r, 0.0),
            DVec3::new(0.0, 0.0, r),
            DVec3::new(0.0, 0.0, -r),
        ],
        triangles: vec![
            [0, 1, 4],
            [1, 2, 4],
            [2, 3, 4],
            [3, 0, 4],
            [1, 0, 5],
            [2, 1, 5],
            [3, 2, 5],
            [0, 3, 5],
        ],
        colours: Vec::new(),
    }
}

#[test]
fn the_cap_of_an_octahedron_is_a_pyramid_on_a_square_of_two_t_squared() {
    // Corner down, the tip t deep: a pyramid of base 2t² and height t.
    let mesh = octahedron(0.05);
    let level = plan(vec![bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.06)])]);
    for (depth, cell) in [(0.013, 0.002), (0.031, 0.005), (0.049, 0.0137)] {
        let centre = DVec3::new(0.211, 0.133, 0.06 + 0.05 - depth);
        let turn = DQuat::from_rotation_z(0.3);
        let result = built(&level, &[placed(&mesh, centre, turn)], 0.3, cell);
        let cap = 2.0 * depth.powi(3) / 3.0;
        near(result.pieces[0].buried_m3(), cap);
        near(result.pieces[0].deepest_m, depth);
        near(result.materials[0].volume_m3, 0.6 * 0.3 * 0.06 - cap);
    }
}

#[test]
fn a_box_across_two_beds_shares_itself_between_them() {
    let beds = vec![
        bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.03)]),
        bed(
            By::Thickness,
            polygon(&[(0.0, 0.0), (0.3, 0.0), (0.3, 0.3), (0.0, 0.3)]),
            &[(0.0, 0.0, 0.02)],
        ),
    ];
    // 100 × 60 mm in plan, middle on the region's edge, its underside 10 mm above the base.
    let mesh = Mesh::cuboid(DVec3::new(0.1, 0.06, 0.2));
    let piece = placed(&mesh, DVec3::new(0.3, 0.151, 0.11), DQuat::IDENTITY);
    for cell in CELLS_M {
        let result = built(&plan(beds.clone()), &[piece], 0.3, cell);
        near(result.pieces[0].in_bed_m3[0], 0.1 * 0.06 * 0.02);
        near(result.pieces[0].in_bed_m3[1], 0.05 * 0.06 * 0.02);
        let covered: f64 = result.pieces[0].covered_m2.iter().map(|c| c.1).sum();
        near(covered, 0.1 * 0.06);
    }
}

#[test]
fn a_box_in_a_sloping_bank_is_cut_by_the_slope() {
    // Heights 40 + 0.4 y mm; a box over y 100…200 mm, x 100…160 mm, underside at 50 mm, is
    // buried to a mean of 40 + 0.4·150 − 50 = 50 mm.
    let ramp = [(0.3, 0.0, 0.04), (0.3, 0.3, 0.16)];
    let plan = plan(vec![bed(By::Top, Region::All, &ramp)]);
    let mesh = Mesh::cuboid(DVec3::new(0.06, 0.1, 0.2));
    let piece = placed(&mesh, DVec3::new(0.13, 0.15, 0.15), DQuat::IDENTITY);
    for cell in CELLS_M {
        near(
            built(&plan, &[piece], 0.3, cell).pieces[0].buried_m3(),
            0.06 * 0.1 * 0.05,
        );
    }
}

#[test]
fn water_is_the_box_less_grains_and_stone() {
    // 40 % of the bed is gaps (1 − 1500/2500). A box stands half in the ground.
    let level = plan(vec![bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.06)])]);
    let mesh = Mesh::cuboid(DVec3::new(0.1, 0.1, 0.12));
    let piece = placed(&mesh, DVec3::new(0.3, 0.15, 0.06), DQuat::IDENTITY);
    let result = built(&level, &[piece], 0.3, 0.005);
    let (bare, stone) = (0.6 * 0.3 * 0.3, 0.1 * 0.1 * 0.06);
    let ground = 0.6 * 0.3 * 0.06 - stone;
    near(result.water.bare_m3, bare);
    near(result.water.pieces_m3, stone);
    near(result.water.free_m3, bare - ground - 2.0 * stone);
    near(result.water.pore_m3, 0.4 * ground);
    near(result.water.total_m3(), bare - 0.6 * ground - 2.0 * stone);
}

#[test]
fn ground_above_the_water_takes_no_water() {
    // A bank from 0 to 120 mm under 60 mm of water: the water is a triangle of 150 × 60 mm.
    let ramp = [(0.3, 0.0, 0.0), (0.3, 0.3, 0.12)];
    let plan = plan(vec![bed(By::Top, Region::All, &ramp)]);
    for cell in CELLS_M {
        let result = built(&plan, &[], 0.06, cell);
        let free = 0.6 * 0.5 * 0.15 * 0.06;
        near(result.water.free_m3, free);
        near(result.water.pore_m3, 0.4 * (0.6 * 0.3 * 0.06 - free));
    }
}

#[test]
fn a_buried_box_that_breaks_the_water_is_counted_below_it_only() {
    // Ground to 100 mm, water to 60 mm, a box from 20 to 120 mm.
    let level = plan(vec![bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.1)])]);
    let mesh = Mesh::cuboid(DVec3::new(0.1, 0.1, 0.1));
    let piece = placed(&mesh, DVec3::new(0.3, 0.15, 0.07), DQuat::IDENTITY);
    let result = built(&level, &[piece], 0.06, 0.0137);
    near(result.pieces[0].in_bed_m3[0], 0.1 * 0.1 * 0.08);
    near(result.pieces[0].wet_in_bed_m3[0], 0.1 * 0.1 * 0.04);
    near(result.water.free_m3, 0.0);
    near(
        result.water.pore_m3,
        0.4 * (0.6 * 0.3 * 0.06 - 0.1 * 0.1 * 0.04),
    );
}

#[test]
fn a_strip_between_the_nodes_is_ground_too() {
    // 2 mm wide, 300 mm long, 100 mm high, under 60 mm of water.
    let strip = polygon(&[(0.101, 0.0), (0.103, 0.0), (0.103, 0.3), (0.101, 0.3)]);
    let plan = plan(vec![bed(By::Thickness, strip, &[(0.0, 0.0, 0.1)])]);
    let result = built(&plan, &[], 0.06, 0.05);
    near(result.materials[0].volume_m3, 0.002 * 0.3 * 0.1);
    near(result.water.free_m3, (0.6 - 0.002) * 0.3 * 0.06);
    near(result.highest_m, 0.1);
}

#[test]
fn ground_level_with_the_water_is_wet_once() {
    let level = plan(vec![bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.1)])]);
    let mesh = Mesh::cuboid(DVec3::new(0.1, 0.1, 0.1));
    let piece = placed(&mesh, DVec3::new(0.3, 0.15, 0.02), DQuat::IDENTITY);
    for depth in [0.0, 0.1] {
        let result = built(&level, &[piece], depth, 0.0137);
        near(
            result.pieces[0].wet_in_bed_m3[0],
            0.1 * 0.1 * depth.min(0.07),
        );
        near(result.water.free_m3, 0.0);
    }
}

/// A level strip and then a slope of the given rise over the given run, across `width_m`.
fn bank(rise_m: f64, run_m: f64) -> GroundPlan {
    plan(vec![bed(
        By::Top,
        Region::All,
        &[(0.3, 0.1, 0.02), (0.3, 0.1 + run_m, 0.02 + rise_m)],
    )])
}

#[test]
fn a_slope_is_found_only_when_it_is_steeper_than_the_angle_of_repose() {
    // tan 35° = 0.7002: a rise of 69 in 100 holds, one of 71 slides.
    assert!(built(&bank(0.069, 0.1), &[], 0.3, 0.005).slopes.is_empty());
    let slopes = built(&bank(0.071, 0.1), &[], 0.3, 0.005).slopes;
    assert_eq!(slopes.len(), 1);
    assert!((slopes[0].slope_rad - 0.71_f64.atan()).abs() < 1e-9);
    near(slopes[0].area_m2, 0.6 * 0.1);
    assert!((slopes[0].middle_m - DVec2::new(0.3, 0.15)).length() < 1e-9);
}

#[test]
fn a_steep_spot_under_four_square_centimetres_is_no_slope() {
    // Steep faces round a square of a × a, each one cell of 5 mm wide; with its
    // four corner cells the ring is one stretch of 4 (a + 5 mm) × 5 mm.
    let spot = |side: f64| {
        let (from, to) = (0.1, 0.1 + side);
        let beds = vec![
            bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.02)]),
            bed(
                By::Thickness,
                polygon(&[(from, from), (to, from), (to, to), (from, to)]),
                &[(0.0, 0.0, 0.03)],
            ),
        ];
        built(&plan(beds), &[], 0.3, 0.005).slopes
    };
    assert!(spot(0.010).is_empty(), "{:?}", spot(0.010));
    assert_eq!(spot(0.030).len(), 1);
}

#[test]
fn a_stone_that_stands_in_the_step_holds_it() {
    // A terrace of 40 mm from x = 300 mm on, and a wall of stone along the step.
    let beds = vec![
        bed(By::Thickness, Region::All, &[(0.0, 0.0, 0.02)]),
        bed(
            By::Thickness,
            polygon(&[(0.3, 0.0), (0.6, 0.0), (0.6, 0.3), (0.3, 0.3)]),
            &[(0.0, 0.0, 0.04)],
        ),
    ];
    let plan = plan(beds);
    assert_eq!(built(&plan, &[], 0.3, 0.005).slopes.len(), 1);
    let mesh = Mesh::cuboid(DVec3::new(0.03, 0.3, 0.08));
    let wall = placed(&mesh, DVec3::new(0.297, 0.15, 0.04), DQuat::IDENTITY);
    assert!(built(&plan, &[wall], 0.3, 0.005).slopes.is_empty());
}

#[test]
fn nonsense_is_refused_with_its_place() {
    let good = bed(By::Thickness, Region::All, &[(0.1, 0.1, 0.05)]);
    let refused = |plan: &GroundPlan| build(plan, INSIDE, &[], 0.3, 0.005).expect_err("refused");
    let twice = bed(By::Top, Region::All, &[(0.1, 0.1, 0.05), (0.1, 0.1, 0.06)]);
    assert!(matches!(
        refused(&plan(vec![good.clone(), twice])),
        GroundError::Point {
            bed: 1,
            point: Some(1),
            ..
        }
    ));
    let outside = bed(By::Top, Region::All, &[(0.7, 0.1, 0.05)]);
    assert!(matches!(
        refused(&plan(vec![outside])),
        GroundError::Point {
            bed: 0,
            point: Some(0),
            ..
        }
    ));
    let bare = bed(By::Top, Region::All, &[]);
    assert!(matches!(
        refused(&plan(vec![bare])),
        GroundError::Point {
            bed: 0,
            point: None,
            ..
        }
    ));
    let mut unknown = good;
    unknown.material = 3;
    assert!(matches!(
        refused(&plan(vec![unknown])),
        GroundError::NoMaterial {
            bed: 0,
            material: 3,
            ..
        }
    ));
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 48,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Litres of beds and buried parts make up what the same beds hold without pieces,
    /// whatever the points; and what lies in the ground and above it is the whole piece.
    #[test]
    fn nothing_is_lost_between_ground_piece_and_water(
        values in prop::collection::vec(-0.05_f64..0.25, 6),
        places in prop::collection::vec((0.0_f64..0.6, 0.0_f64..0.3), 6),
        axis in (-1.0_f64..1.0, -1.0_f64..1.0, 0.1_f64..1.0),
        angle in 0.0_f64..6.0,
        height in 0.07_f64..0.2,
        depth in 0.0_f64..0.36,
    ) {
        let point = |k: usize| (places[k].0, places[k].1, values[k]);
        let beds = vec![
            bed(By::Thickness, Region::All, &[point(0), point(1), point(2)]),
            bed(
                By::Top,
                polygon(&[(0.05, 0.02), (0.43, 0.11), (0.5, 0.28), (0.21, 0.2), (0.08, 0.29)]),
                &[point(3), point(4), point(5)],
            ),
        ];
        let mut plan = plan(beds);
        plan.materials.push(material("sand"));
        plan.beds[1].material = 1;
        let mesh = Mesh::cuboid(DVec3::new(0.09, 0.06, 0.05));
        let turn = DQuat::from_axis_angle(DVec3::from(axis).normalize(), angle);
        let piece = placed(&mesh, DVec3::new(0.29, 0.16, height), turn);
        let without = built(&plan, &[], depth, 0.011);
        let with = built(&plan, &[piece], depth, 0.011);
        let volume = 0.09 * 0.06 * 0.05;
        for k in 0..2 {
            let sum = with.materials[k].volume_m3 + with.pieces[0].in_bed_m3[k];
            prop_assert!((sum - without.materials[k].volume_m3).abs() < 1e-12);
            prop_assert!(with.pieces[0].in_bed_m3[k] > -1e-12);
            prop_assert!(without.beds[k].volume_m3 > -1e-12);
        }
        prop_assert!(with.pieces[0].buried_m3() < volume + 1e-12);
        // Where the whole piece is under water, it displaces its volume.
        if with.pieces[0].box_m.1.z <= depth && with.pieces[0].box_m.0.z >= 0.0 {
            prop_assert!((with.pieces[0].submerged_m3 - volume).abs() < 1e-12);
        }
        // Free water gives way to exactly the part that isn't in the wet ground.
        let gone = without.water.free_m3 - with.water.free_m3;
        prop_assert!((gone - with.pieces[0].in_free_water_m3()).abs() < 1e-12);
        prop_assert!(with.water.free_m3 > -1e-12 && with.water.pore_m3 > -1e-12);
    }

    /// More ground is never less ground.
    #[test]
    fn raising_a_point_never_lowers_a_volume(
        values in prop::collection::vec(0.0_f64..0.2, 4),
        raise in 0.0_f64..0.1,
        which in 0_usize..4,
    ) {
        let corners = [(0.0, 0.0), (0.6, 0.05), (0.55, 0.3), (0.02, 0.25)];
        let volume = |values: &[f64]| {
            let points: Vec<_> = (0..4).map(|k| (corners[k].0, corners[k].1, values[k])).collect();
            let plan = plan(vec![bed(By::Thickness, Region::All, &points)]);
            built(&plan, &[], 0.3, 0.013).materials[0].volume_m3
        };
        let mut raised = values.clone();
        raised[which] += raise;
        prop_assert!(volume(&raised) >= volume(&values) - 1e-12);
    }

    /// A piece let down further has no less of itself in the ground.
    #[test]
    fn sinking_a_piece_never_lifts_it_out(depth in 0.0_f64..0.08, more in 0.0_f64..0.02) {
        let ramp = [(0.3, 0.0, 0.04), (0.3, 0.3, 0.16)];
        let plan = plan(vec![bed(By::Top, Region::All, &ramp)]);
        let mesh = octahedron(0.05);
        let buried = |depth: f64| {
            let piece = placed(&mesh, DVec3::new(0.3, 0.15, 0.15 - depth), DQuat::from_rotation_x(0.4));
            built(&plan, &[piece], 0.3, 0.013).pieces[0].buried_m3()
        };
        prop_assert!(buried(depth + more) >= buried(depth) - 1e-13);
    }
}
