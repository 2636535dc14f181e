//! Resting poses against closed forms and the open cases.

use std::f64::consts::{FRAC_PI_2, PI};

use glam::{DQuat, DVec2, DVec3};
use proptest::prelude::*;
use serde::Deserialize;
use solid::hull::convex_hull;
use solid::least_box::least_box;
use solid::outline::{convex_ring, signed_area_m2};
use solid::read::{ReadOptions, Unit, Up, read};
use solid::resting::{Resting, resting_poses};
use solid::{Mesh, Moments};

fn some_turn() -> DQuat {
    DQuat::from_xyzw(0.31, -0.47, 0.22, 0.8).normalize()
}

/// The hull of the points as a mesh.
fn convex_mesh(points: &[DVec3]) -> Mesh {
    let hull = convex_hull(points).expect("points span a volume");
    Mesh {
        vertices_m: hull.vertices_m,
        triangles: hull.triangles,
        colours: Vec::new(),
    }
}

fn resting_of(mesh: &Mesh) -> Resting {
    let hull = convex_hull(&mesh.vertices_m).expect("a body");
    resting_poses(&hull, Moments::of(mesh).centre_m, mesh)
}

/// What holds for every piece.
fn assert_sound(resting: &Resting) {
    let listed: f64 = resting.poses.iter().map(|p| p.probability).sum();
    assert!((listed + resting.other_probability - 1.0).abs() < 1e-9);
    assert!(resting.poses.len() <= 24);
    for pair in resting.poses.windows(2) {
        assert!(pair[0].probability >= pair[1].probability);
    }
    for pose in &resting.poses {
        assert!(pose.probability >= 0.005);
        assert!((pose.turn * pose.down_in_piece + DVec3::Z).length() < 1e-9);
        assert!(pose.turn.w >= 0.0 && (pose.turn.length() - 1.0).abs() < 1e-9);
        assert!((0.0..FRAC_PI_2).contains(&pose.tip_angle_rad));
        assert!(pose.width_m >= pose.depth_m);
        assert!(pose.support_m2 <= pose.footprint_m2 * (1.0 + 1e-6));
        assert!(pose.footprint_m2 <= pose.width_m * pose.depth_m * (1.0 + 1e-6));
        assert!(pose.centre_height_m > 0.0 && pose.centre_height_m < pose.height_m);
    }
    assert_eq!(resting.poses.first().map_or(1, |pose| pose.group), 1);
}

fn close(found: f64, wanted: f64, tolerance: f64, what: &str) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "{what}: {found} against {wanted} ± {tolerance}"
    );
}

/// A box lies on each face with its solid angle over 4π. For the face a × b at
/// distance d: Ω = 4 atan(ab / (2d √(4d² + a² + b²))).
/// Source: A. Khadjavi, Calculation of solid angle subtended by rectangular
/// apertures, J. Opt. Soc. Am. 58 (1968), the centred rectangle; reference
/// given from memory, the relation follows from integrating dA cos / r².
#[test]
fn a_box_lies_on_each_face_by_its_solid_angle() {
    let (x, y, z) = (0.12, 0.08, 0.05);
    let mut mesh = Mesh::cuboid(DVec3::new(x, y, z));
    for vertex in &mut mesh.vertices_m {
        *vertex = some_turn() * *vertex;
    }
    let resting = resting_of(&mesh);
    assert_sound(&resting);
    assert_eq!(resting.poses.len(), 6);
    for (pair, (a, b, height)) in resting
        .poses
        .chunks(2)
        .zip([(x, y, z), (x, z, y), (y, z, x)])
    {
        let d = 0.5 * height;
        let angle = 4.0 * (a * b / (2.0 * d * (4.0 * d * d + a * a + b * b).sqrt())).atan();
        for pose in pair {
            close(pose.probability, angle / (4.0 * PI), 1e-9, "probability");
            close(pose.tip_angle_rad, (b / height).atan(), 1e-9, "tip angle");
            close(pose.support_m2, a * b, 1e-12, "support");
            close(pose.footprint_m2, a * b, 1e-9, "footprint");
            close(pose.width_m, a, 1e-9, "width");
            close(pose.depth_m, b, 1e-9, "depth");
            close(pose.height_m, height, 1e-9, "height");
        }
    }
    let groups: Vec<usize> = resting.poses.iter().map(|pose| pose.group).collect();
    assert_eq!(groups, [1, 2, 3, 4, 5, 6]);
}

/// The vertices of a regular solid lie on each of its n faces with 1/n; the tip
/// angle is the atan of the inradius of the face over that of the solid.
fn check_regular(points: &[DVec3], n_faces: usize, tip_angle_rad: f64) {
    let turned: Vec<DVec3> = points.iter().map(|p| some_turn() * *p * 0.1).collect();
    let resting = resting_of(&convex_mesh(&turned));
    assert_sound(&resting);
    assert_eq!(resting.poses.len(), n_faces);
    for pose in &resting.poses {
        close(pose.probability, 1.0 / n_faces as f64, 1e-9, "probability");
        close(pose.tip_angle_rad, tip_angle_rad, 1e-9, "tip angle");
    }
}

#[test]
fn regular_solids_lie_on_each_face_alike() {
    // tan(dihedral / 2) = inradius of the solid / inradius of the face.
    // Dihedral angles: H. S. M. Coxeter, Regular Polytopes, table I.
    let tip = |dihedral: f64| (1.0 / (0.5 * dihedral).tan()).atan();
    let tetrahedron = [(1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)]
        .map(|(x, y, z)| DVec3::new(f64::from(x), f64::from(y), f64::from(z)));
    check_regular(&tetrahedron, 4, tip((1.0_f64 / 3.0).acos()));
    let octahedron = [DVec3::X, DVec3::Y, DVec3::Z].map(|v| [v, -v]).concat();
    check_regular(&octahedron, 8, tip((-1.0_f64 / 3.0).acos()));
    let golden = 0.5 * (1.0 + 5.0_f64.sqrt());
    let mut icosahedron = Vec::new();
    for (s, t) in [
        (1.0, golden),
        (1.0, -golden),
        (-1.0, golden),
        (-1.0, -golden),
    ] {
        icosahedron.push(DVec3::new(0.0, s, t));
        icosahedron.push(DVec3::new(s, t, 0.0));
        icosahedron.push(DVec3::new(t, 0.0, s));
    }
    check_regular(&icosahedron, 20, tip((-(5.0_f64.sqrt()) / 3.0).acos()));
}

/// Points of a solid of revolution: rings of (radius, height).
fn revolve(n: usize, rings: &[(f64, f64)]) -> Vec<DVec3> {
    let mut points = Vec::new();
    for (radius, z) in rings {
        for k in 0..n {
            let angle = 2.0 * PI * k as f64 / n as f64;
            points.push(DVec3::new(radius * angle.cos(), radius * angle.sin(), *z));
        }
    }
    points
}

/// Chance of the pose whose floor direction is nearest to `down`.
fn chance(resting: &Resting, down: DVec3) -> f64 {
    let towards = |pose: &&solid::resting::RestingPose| pose.down_in_piece.dot(down) > 0.9999;
    let on = resting.poses.iter().filter(towards);
    on.map(|pose| pose.probability).sum()
}

/// A disc of radius r at distance d is seen under Ω = 2π (1 − d/√(d² + r²)).
fn disc_chance(r: f64, d: f64) -> f64 {
    0.5 * (1.0 - d / d.hypot(r))
}

#[test]
fn a_cylinder_stands_by_the_angle_of_its_ends() {
    let (r, h) = (0.04, 0.1);
    let resting = resting_of(&convex_mesh(&revolve(400, &[(r, 0.0), (r, h)])));
    for down in [DVec3::Z, DVec3::NEG_Z] {
        close(
            chance(&resting, down),
            disc_chance(r, 0.5 * h),
            1e-4,
            "an end",
        );
    }
    // Each of 400 strips has too small a chance to be listed.
    let rolling = 1.0 - 2.0 * disc_chance(r, 0.5 * h);
    close(resting.other_probability, rolling, 1e-3, "the side");
}

/// The centre of a cone is a quarter of its height over the base. On its side it
/// stays where it lies: the foot, 3h/4 cos α from the tip, is short of the rim
/// at h / cos α for every half angle α.
#[test]
fn a_cone_stands_by_the_angle_of_its_base() {
    let (r, h) = (0.04, 0.15);
    let mut points = revolve(400, &[(r, 0.0)]);
    points.push(DVec3::new(0.0, 0.0, h));
    let resting = resting_of(&convex_mesh(&points));
    close(
        chance(&resting, DVec3::NEG_Z),
        disc_chance(r, 0.25 * h),
        1e-4,
        "base",
    );
    let base = &resting.poses[0];
    close(
        base.tip_angle_rad,
        (r / (0.25 * h)).atan(),
        1e-3,
        "tip angle",
    );
}

/// A half sphere's centre lies 3r/8 under its flat side, and it rights itself
/// from every point of the dome but the lowest.
/// Source: the centroid of the hemisphere, e.g. CRC Standard Mathematical Tables.
#[test]
fn a_half_sphere_lies_on_its_flat_or_on_its_dome() {
    let r = 0.05;
    let rings: Vec<(f64, f64)> = (0..60)
        .map(|k| 0.5 * PI * f64::from(k) / 60.0)
        .map(|a| (r * a.cos(), r * a.sin()))
        .collect();
    let mut points = revolve(240, &rings);
    points.push(DVec3::Z * r);
    let resting = resting_of(&convex_mesh(&points));
    close(
        chance(&resting, DVec3::NEG_Z),
        disc_chance(r, 0.375 * r),
        2e-3,
        "flat side",
    );
    // The dome's share gathers at its top, in the few facets round the pole.
    let up = |pose: &&solid::resting::RestingPose| pose.down_in_piece.z > 0.95;
    let flat = resting
        .poses
        .iter()
        .find(|pose| pose.down_in_piece.z < -0.999)
        .expect("lies flat");
    close(flat.height_m, r, 1e-9, "height");
    let dome: f64 = resting
        .poses
        .iter()
        .filter(up)
        .map(|pose| pose.probability)
        .sum();
    close(
        dome + resting.other_probability,
        1.0 - disc_chance(r, 0.375 * r),
        2e-3,
        "dome",
    );
}

/// A leaning prism that falls over: the foot of its centre lies beyond the base.
#[test]
fn an_oblique_prism_does_not_stand_on_its_base() {
    let base = revolve(4, &[(0.02, 0.0)]);
    let lean = DVec3::new(0.08, 0.0, 0.06);
    let mut points = base.clone();
    points.extend(base.iter().map(|p| *p + lean));
    let resting = resting_of(&convex_mesh(&points));
    assert_sound(&resting);
    assert_eq!(chance(&resting, DVec3::NEG_Z), 0.0);
    assert_eq!(chance(&resting, DVec3::Z), 0.0);
    close(
        resting.poses.iter().map(|p| p.probability).sum(),
        1.0,
        1e-9,
        "sum",
    );
}

/// A centre outside the hull can't be, but must not hang or give nonsense.
#[test]
fn a_centre_outside_the_hull_ends() {
    let mesh = Mesh::cuboid(DVec3::splat(0.1));
    let hull = convex_hull(&mesh.vertices_m).expect("a box");
    let resting = resting_poses(&hull, DVec3::new(0.3, 0.1, -0.2), &mesh);
    let listed: f64 = resting.poses.iter().map(|p| p.probability).sum();
    assert!(listed.is_finite() && listed <= 1.0 + 1e-9);
}

#[derive(Deserialize)]
struct OpenCases {
    cases: Vec<OpenCase>,
}

#[derive(Deserialize)]
struct OpenCase {
    mesh: String,
    unit: String,
    up: String,
    hull_volume_l: f64,
    box_volume_l: f64,
    size_mm_low: [f64; 3],
    size_mm_high: [f64; 3],
    centre_file_axes_mm: [f64; 3],
    poses: Vec<OpenPose>,
    clusters: Vec<OpenCluster>,
}

#[derive(Deserialize)]
struct OpenPose {
    down: [f64; 3],
    probability: f64,
    tolerance: f64,
    tip_angle_deg: f64,
    support_mm2: f64,
    plan_hull_mm2: f64,
    height_mm: f64,
    plan_box_mm: [f64; 2],
}

#[derive(Deserialize)]
struct OpenCluster {
    down: [f64; 3],
    probability: f64,
}

/// The scan of an open case, its hull's poses about the given centre, and the
/// map from the file's axes to the piece's.
fn open(case: &OpenCase) -> (Mesh, Resting, fn([f64; 3]) -> DVec3) {
    let path = format!("{}/checks/meshes/{}", env!("CARGO_MANIFEST_DIR"), case.mesh);
    let bytes = std::fs::read(path).expect("the mesh is in the repository");
    let unit = match case.unit.as_str() {
        "mm" => Unit::Mm,
        "cm" => Unit::Cm,
        "m" => Unit::M,
        _ => Unit::In,
    };
    let upright: fn([f64; 3]) -> DVec3 = match case.up.as_str() {
        "y" => |[x, y, z]| DVec3::new(x, -z, y),
        _ => DVec3::from,
    };
    let options = ReadOptions {
        unit: Some(unit),
        up: Some(if case.up == "y" { Up::Y } else { Up::Z }),
    };
    let mesh = read(&bytes, &case.mesh, &options).expect("readable").mesh;
    let hull = convex_hull(&mesh.vertices_m).expect("a body");
    let volume_l = hull.volume_m3() * 1e3;
    close(volume_l / case.hull_volume_l, 1.0, 1e-4, "hull volume");
    let found = least_box(&hull);
    let ratio = found.volume_m3() * 1e3 / case.box_volume_l;
    assert!(
        (0.999..=1.005).contains(&ratio),
        "{}: box {ratio}",
        case.mesh
    );
    for (side, size_m) in found.size_m.to_array().into_iter().enumerate() {
        let size_mm = size_m * 1e3;
        assert!(size_mm >= case.size_mm_low[side] * 0.994, "{size_mm}");
        assert!(size_mm <= case.size_mm_high[side] * 1.006, "{size_mm}");
    }
    let centre_m = upright(case.centre_file_axes_mm) * 1e-3;
    let resting = resting_poses(&hull, centre_m, &mesh);
    (mesh, resting, upright)
}

fn open_cases() -> Vec<OpenCase> {
    let cases: OpenCases =
        serde_json::from_str(include_str!("data/open_cases.json")).expect("JSON");
    cases.cases
}

#[test]
fn open_cases_lie_as_expected() {
    for case in open_cases() {
        let (mesh, resting, upright) = open(&case);
        assert_sound(&resting);
        for wanted in &case.poses {
            let down = upright(wanted.down);
            let pose = resting
                .poses
                .iter()
                .max_by(|a, b| {
                    let along = |p: &solid::resting::RestingPose| p.down_in_piece.dot(down);
                    along(a).total_cmp(&along(b))
                })
                .expect("has poses");
            let name = &case.mesh;
            close(
                pose.down_in_piece.angle_between(down).to_degrees(),
                0.0,
                0.05,
                name,
            );
            close(
                pose.probability,
                wanted.probability,
                1e-3 + 0.1 * wanted.tolerance,
                name,
            );
            close(
                pose.tip_angle_rad.to_degrees(),
                wanted.tip_angle_deg,
                0.02,
                name,
            );
            close(pose.support_m2 * 1e6 / wanted.support_mm2, 1.0, 1e-3, name);
            close(pose.height_m * 1e3, wanted.height_mm, 1e-3, name);
            close(pose.width_m * 1e3, wanted.plan_box_mm[0], 0.01, name);
            close(pose.depth_m * 1e3, wanted.plan_box_mm[1], 0.01, name);
            let plan: Vec<DVec2> = mesh
                .vertices_m
                .iter()
                .map(|v| (pose.turn * *v).truncate())
                .collect();
            let plan_hull_m2 = signed_area_m2(&convex_ring(plan));
            close(plan_hull_m2 * 1e6 / wanted.plan_hull_mm2, 1.0, 1e-4, name);
            assert!(pose.footprint_m2 <= plan_hull_m2 * (1.0 + 1e-6));
        }
        for cluster in &case.clusters {
            let down = upright(cluster.down);
            let group = resting
                .poses
                .iter()
                .find(|pose| pose.down_in_piece.angle_between(down) < 0.002)
                .expect("the cluster's first pose is listed")
                .group;
            let members = resting.poses.iter().filter(|pose| pose.group == group);
            let probability: f64 = members.map(|pose| pose.probability).sum();
            // Members under 0.5 % are not listed.
            close(probability, cluster.probability, 0.012, &case.mesh);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn chances_sum_to_one_and_do_not_depend_on_the_turn(
        raw in prop::collection::vec((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 4..80),
        stretch in (0.1..1.0f64, 0.1..1.0f64),
        (x, y, z, w) in (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64, 0.1..1.0f64),
    ) {
        let points: Vec<DVec3> = raw
            .iter()
            .map(|p| DVec3::new(p.0, p.1 * stretch.0, p.2 * stretch.1) * 0.1)
            .collect();
        let turn = DQuat::from_xyzw(x, y, z, w).normalize();
        let turned: Vec<DVec3> = points.iter().map(|p| turn * *p).collect();
        let before = resting_of(&convex_mesh(&points));
        let after = resting_of(&convex_mesh(&turned));
        assert_sound(&before);
        assert_sound(&after);
        for pose in &before.poses {
            let down = turn * pose.down_in_piece;
            let same = after.poses.iter().find(|p| p.down_in_piece.angle_between(down) < 1e-5);
            let Some(same) = same else {
                prop_assert!(pose.probability < 0.0051, "a pose is missing");
                continue;
            };
            prop_assert!((same.probability - pose.probability).abs() < 1e-6);
            prop_assert!((same.tip_angle_rad - pose.tip_angle_rad).abs() < 1e-6);
            prop_assert!((same.footprint_m2 / pose.footprint_m2 - 1.0).abs() < 1e-6);
        }
    }
}
