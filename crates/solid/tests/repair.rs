//! What mending makes of broken meshes, against closed forms.

use glam::{DQuat, DVec3};
use solid::repair::{RepairKind, Repaired, repair};
use solid::{Mesh, Moments};

/// Volume of the box round points: enough for a hull's to tell dust from bodies.
fn box_volume(points: &[DVec3]) -> f64 {
    let low = points.iter().fold(DVec3::INFINITY, |a, b| a.min(*b));
    let high = points.iter().fold(DVec3::NEG_INFINITY, |a, b| a.max(*b));
    (high - low).element_product()
}

fn mended(mesh: &Mesh) -> Repaired {
    repair(mesh, box_volume).expect("has a surface")
}

/// A box from `low` to `high`, turned by `turn` about the origin.
fn block(low: [f64; 3], high: [f64; 3], turn: DQuat) -> Mesh {
    let (low, high) = (DVec3::from_array(low), DVec3::from_array(high));
    let mut mesh = Mesh::cuboid(high - low);
    for v in &mut mesh.vertices_m {
        *v = turn * (*v + 0.5 * (low + high));
    }
    mesh
}

fn inside_out(mut mesh: Mesh) -> Mesh {
    mesh.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    mesh
}

fn together(meshes: &[Mesh]) -> Mesh {
    let mut all = Mesh::default();
    for mesh in meshes {
        let first = u32::try_from(all.vertices_m.len()).expect("small");
        all.vertices_m.extend(&mesh.vertices_m);
        all.triangles
            .extend(mesh.triangles.iter().map(|t| t.map(|v| v + first)));
    }
    all
}

/// Every face with corners of its own.
fn soup(mesh: &Mesh) -> Mesh {
    let vertices_m: Vec<DVec3> = (0..mesh.triangles.len())
        .flat_map(|t| mesh.corners(t))
        .collect();
    let triangles = (0..u32::MAX)
        .take(mesh.triangles.len())
        .map(|t| [3 * t, 3 * t + 1, 3 * t + 2])
        .collect();
    Mesh {
        vertices_m,
        triangles,
        colours: Vec::new(),
    }
}

fn turned() -> DQuat {
    DQuat::from_euler(glam::EulerRot::XYZ, 0.3, -1.1, 2.2)
}

/// Holds volume, area and the kinds of repair with their counts.
fn check(mesh: &Mesh, volume_m3: f64, area_m2: f64, repairs: &[(RepairKind, usize)]) {
    let mended = mended(mesh);
    let got: Vec<(RepairKind, usize)> = mended.repairs.iter().map(|r| (r.kind, r.count)).collect();
    assert_eq!(got, repairs);
    assert!(mended.is_closed, "not closed");
    let volume = Moments::of(&mended.mesh).volume_m3;
    assert!(
        (volume - volume_m3).abs() <= 1e-6 * volume_m3,
        "volume {volume}, wanted {volume_m3}"
    );
    let area = mended.mesh.area_m2();
    assert!(
        (area - area_m2).abs() <= 1e-6 * area_m2,
        "area {area}, wanted {area_m2}"
    );
}

fn unit() -> Mesh {
    block([0.0; 3], [1.0; 3], DQuat::IDENTITY)
}

#[test]
fn a_clean_box_passes_unchanged() {
    check(&unit(), 1.0, 6.0, &[]);
    assert_eq!(mended(&unit()).mesh, unit());
}

#[test]
fn a_box_inside_out_is_turned() {
    check(&inside_out(unit()), 1.0, 6.0, &[(RepairKind::TurnedOut, 1)]);
}

#[test]
fn one_face_against_its_neighbours_is_flipped() {
    let mut mesh = unit();
    mesh.triangles[3].swap(1, 2);
    check(&mesh, 1.0, 6.0, &[(RepairKind::Flipped, 1)]);
}

#[test]
fn a_soup_is_welded_without_a_word() {
    check(&soup(&block([0.0; 3], [1.0; 3], turned())), 1.0, 6.0, &[]);
}

#[test]
fn corners_a_little_apart_are_welded() {
    let mut mesh = soup(&unit());
    for (i, v) in mesh.vertices_m.iter_mut().enumerate() {
        *v += DVec3::splat(if i % 2 == 0 { 3e-7 } else { -3e-7 });
    }
    let mended = mended(&mesh);
    assert!(mended.is_closed);
    assert_eq!(mended.mesh.vertices_m.len(), 8);
    assert_eq!(mended.repairs[0].kind, RepairKind::Welded);
}

#[test]
fn a_face_that_is_there_twice_is_dropped_once() {
    let mut mesh = unit();
    mesh.triangles.push(mesh.triangles[4]);
    check(&mesh, 1.0, 6.0, &[(RepairKind::DoubledDropped, 1)]);
}

#[test]
fn a_mesh_with_a_back_to_every_face_is_one_surface() {
    let mesh = together(&[unit(), inside_out(unit())]);
    check(
        &mesh,
        1.0,
        6.0,
        &[(RepairKind::Welded, 8), (RepairKind::DoubledDropped, 12)],
    );
}

#[test]
fn a_face_without_area_is_dropped() {
    let mut mesh = unit();
    mesh.triangles.push([0, 0, 3]);
    mesh.triangles.push([0, 3, 3]);
    check(&mesh, 1.0, 6.0, &[(RepairKind::DegenerateDropped, 2)]);
}

#[test]
fn two_boxes_face_to_face_are_one() {
    let mesh = together(&[
        unit(),
        block([1.0, 0.0, 0.0], [2.0, 1.0, 1.0], DQuat::IDENTITY),
    ]);
    let volume = Moments::of(&mended(&mesh).mesh).volume_m3;
    assert!((volume - 2.0).abs() < 1e-9, "{volume}");
    assert!((mended(&mesh).mesh.area_m2() - 10.0).abs() < 1e-9);
}

#[test]
fn a_hollow_is_subtracted_and_an_inner_shell_ignored() {
    let core = || block([0.25; 3], [0.75; 3], DQuat::IDENTITY);
    check(
        &together(&[unit(), inside_out(core())]),
        1.0 - 0.125,
        6.0 + 1.5,
        &[(RepairKind::Hollow, 1)],
    );
    check(
        &together(&[unit(), core()]),
        1.0,
        6.0,
        &[(RepairKind::InnerShell, 1)],
    );
}

#[test]
fn the_outermost_shell_decides_for_all() {
    let core = block([0.25; 3], [0.75; 3], DQuat::IDENTITY);
    check(
        &together(&[inside_out(unit()), core]),
        0.875,
        7.5,
        &[(RepairKind::TurnedOut, 2), (RepairKind::Hollow, 1)],
    );
}

#[test]
fn dust_is_dropped_but_a_second_body_is_not() {
    let grain = block([1.5, 0.0, 0.0], [1.6, 0.1, 0.1], DQuat::IDENTITY);
    check(
        &together(&[unit(), grain]),
        1.0,
        6.0,
        &[(RepairKind::DustDropped, 1)],
    );
    let second = block([1.5, 0.0, 0.0], [2.0, 0.5, 0.5], DQuat::IDENTITY);
    check(&together(&[unit(), second]), 1.125, 7.5, &[]);
}

#[test]
fn a_grain_that_touches_is_no_dust() {
    let grain = block([1.0, 0.4, 0.4], [1.1, 0.5, 0.5], DQuat::IDENTITY);
    check(
        &together(&[unit(), grain]),
        1.001,
        6.04,
        &[(RepairKind::Union, 2)],
    );
}

#[test]
fn boxes_that_cut_each_other_are_their_union() {
    for turn in [DQuat::IDENTITY, turned()] {
        let one = block([0.0; 3], [1.0; 3], turn);
        let two = block([0.5; 3], [1.5; 3], turn);
        // 2 − 1/8, and 12 sides less 6 quarters.
        check(
            &together(&[one.clone(), two.clone()]),
            1.875,
            10.5,
            &[(RepairKind::Union, 2)],
        );
        check(
            &together(&[one, inside_out(two)]),
            1.875,
            10.5,
            &[(RepairKind::TurnedOut, 1), (RepairKind::Union, 2)],
        );
    }
}

#[test]
fn boxes_that_share_planes_are_their_union() {
    for turn in [DQuat::IDENTITY, turned()] {
        let one = block([0.0; 3], [1.0; 3], turn);
        let two = block([0.5, 0.0, 0.0], [1.5, 1.0, 1.0], turn);
        check(&together(&[one, two]), 1.5, 8.0, &[(RepairKind::Union, 2)]);
    }
}

#[test]
fn sides_a_hair_apart_are_counted_once() {
    // Tops 0.25 to 2 times the reach of 2e-7 of the diagonal apart.
    for gap in [1e-7, 4e-7, 5e-7, 8e-7] {
        let one = block([0.0; 3], [1.0; 3], turned());
        let two = block([0.3, 0.3, -0.2], [1.3, 1.3, 1.0 + gap], turned());
        check(
            &together(&[one, two]),
            1.0 + 1.2 - 0.49,
            6.0 + 6.8 - 4.0 * 0.7 - 2.0 * 0.49,
            &[(RepairKind::Union, 2)],
        );
    }
}

#[test]
fn a_heap_of_boxes_with_common_faces_is_their_union() {
    // Two boxes stand on one footprint, a third shares a side with both.
    let mesh = together(&[
        unit(),
        block([0.0; 3], [1.0, 1.0, 2.0], DQuat::IDENTITY),
        block([1.0, 0.0, 0.0], [2.0, 1.0, 1.0], DQuat::IDENTITY),
    ]);
    let mended = mended(&mesh);
    assert!(mended.is_closed);
    let volume = Moments::of(&mended.mesh).volume_m3;
    assert!((volume - 3.0).abs() < 1e-9, "{volume}");
    assert!((mended.mesh.area_m2() - 14.0).abs() < 1e-9);
}

#[test]
fn a_cross_of_three_bars_is_their_union() {
    let bar = |axis: usize| {
        let (mut low, mut high) = ([-1.0; 3], [1.0; 3]);
        low[axis] = -3.0;
        high[axis] = 3.0;
        block(low, high, turned())
    };
    // 3·24 − 2·8; six arms of 4 by 2·2 sides and an end.
    check(
        &together(&[bar(0), bar(1), bar(2)]),
        56.0,
        6.0 * (4.0 * 4.0 + 4.0),
        &[(RepairKind::Union, 3)],
    );
}

#[test]
fn a_hollow_stays_a_hollow_in_a_union() {
    let mesh = together(&[
        unit(),
        block([0.5; 3], [1.5; 3], DQuat::IDENTITY),
        inside_out(block([0.1; 3], [0.3; 3], DQuat::IDENTITY)),
    ]);
    check(
        &mesh,
        1.875 - 0.008,
        10.5 + 0.24,
        &[(RepairKind::Hollow, 1), (RepairKind::Union, 2)],
    );
}

#[test]
fn boxes_that_touch_along_an_edge_are_two() {
    let mesh = together(&[
        unit(),
        block([1.0, 1.0, 0.0], [2.0, 2.0, 1.0], DQuat::IDENTITY),
    ]);
    check(&mesh, 2.0, 12.0, &[(RepairKind::Welded, 2)]);
}

#[test]
fn a_large_hole_stays_open() {
    let mut mesh = unit();
    mesh.triangles.truncate(10);
    assert!(!mended(&mesh).is_closed);
}

#[test]
fn nothing_but_points_on_a_line_is_refused() {
    let mesh = Mesh {
        vertices_m: vec![DVec3::ZERO, DVec3::X, DVec3::X * 2.0],
        triangles: vec![[0, 1, 2]],
        colours: Vec::new(),
    };
    assert!(repair(&mesh, box_volume).is_err());
}
