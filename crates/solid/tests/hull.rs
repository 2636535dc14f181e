//! The convex hull against closed forms, on point sets that tear careless hulls.

use glam::{DMat3, DQuat, DVec3};
use proptest::prelude::*;
use solid::SolidError;
use solid::hull::{Hull, convex_hull};

/// Every triangle's neighbours agree with it, and Euler's relation holds: F = 2V − 4.
fn assert_closed(hull: &Hull) {
    assert_eq!(hull.triangles.len(), 2 * hull.vertices_m.len() - 4);
    for (index, triangle) in hull.triangles.iter().enumerate() {
        for side in 0..3 {
            let other = hull.neighbours[index][side] as usize;
            let back = (0..3).find(|k| hull.neighbours[other][*k] as usize == index);
            let back = back.expect("neighbours name each other");
            assert_eq!(triangle[side], hull.triangles[other][(back + 1) % 3]);
            assert_eq!(triangle[(side + 1) % 3], hull.triangles[other][back]);
        }
    }
}

/// No point lies outside any face by more than `slack_m`.
fn assert_holds(hull: &Hull, points: &[DVec3], slack_m: f64) {
    for t in 0..hull.triangles.len() {
        let [a, b, c] = hull.corners(t);
        let cross = (b - a).cross(c - a);
        if cross.length() < 1e-12 * hull.diagonal_m * hull.diagonal_m {
            continue;
        }
        let normal = cross.normalize();
        let furthest = points
            .iter()
            .map(|p| normal.dot(*p - a))
            .fold(f64::NEG_INFINITY, f64::max);
        assert!(furthest <= slack_m, "a point lies {furthest} m outside");
    }
}

/// Hull of `points` has these corners, facets and volume (relative 1e-9).
fn check(points: &[DVec3], n_vertices: usize, n_facets: usize, volume_m3: f64) {
    let hull = convex_hull(points).expect("points span a volume");
    assert_closed(&hull);
    assert_holds(&hull, points, 1e-9 * hull.diagonal_m);
    assert_eq!(hull.vertices_m.len(), n_vertices, "corners");
    assert_eq!(hull.facets.len(), n_facets, "facets");
    let volume = hull.volume_m3();
    assert!(
        (volume / volume_m3 - 1.0).abs() < 1e-9,
        "{volume} against {volume_m3}"
    );
}

/// A grid of `n` × `n` points on each face of a box.
fn gridded_box(size: DVec3, n: usize, turn: DQuat) -> Vec<DVec3> {
    let mut points = Vec::new();
    for axis in 0..3 {
        for side in [-0.5, 0.5] {
            for i in 0..n {
                for j in 0..n {
                    let step = |k: usize| k as f64 / (n - 1) as f64 - 0.5;
                    let mut p = [0.0; 3];
                    p[axis] = side;
                    p[(axis + 1) % 3] = step(i);
                    p[(axis + 2) % 3] = step(j);
                    points.push(turn * (DVec3::from(p) * size));
                }
            }
        }
    }
    points
}

fn some_turn() -> DQuat {
    DQuat::from_xyzw(0.31, -0.47, 0.22, 0.8).normalize()
}

#[test]
fn a_box_with_a_grid_on_each_face_has_eight_corners() {
    let size = DVec3::new(0.12, 0.08, 0.05);
    check(&gridded_box(size, 100, DQuat::IDENTITY), 8, 6, 0.00048);
}

#[test]
fn a_turned_box_with_a_grid_on_each_face_has_eight_corners() {
    let size = DVec3::new(0.12, 0.08, 0.05);
    check(&gridded_box(size, 100, some_turn()), 8, 6, 0.00048);
}

#[test]
fn duplicates_change_nothing() {
    let mut points = gridded_box(DVec3::splat(0.1), 2, some_turn());
    points.extend(points.clone());
    check(&points, 8, 6, 0.001);
}

#[test]
fn a_far_off_box_is_measured_all_the_same() {
    let far = DVec3::new(123.0, -456.0, 789.0);
    let points: Vec<DVec3> = gridded_box(DVec3::splat(0.1), 12, DQuat::IDENTITY)
        .into_iter()
        .map(|p| p + far)
        .collect();
    let hull = convex_hull(&points).expect("a box");
    assert!((hull.volume_m3() / 0.001 - 1.0).abs() < 1e-9);
    assert_closed(&hull);
}

/// Prism over a regular n-gon with `rings` rows of points: V = A h, A = n/2 r² sin(2π/n).
fn cylinder(n: usize, rings: usize, radius: f64, height: f64) -> Vec<DVec3> {
    let mut points = Vec::new();
    for ring in 0..rings {
        let z = height * ring as f64 / (rings - 1) as f64;
        for k in 0..n {
            let angle = std::f64::consts::TAU * k as f64 / n as f64;
            points.push(DVec3::new(radius * angle.cos(), radius * angle.sin(), z));
        }
        points.push(DVec3::new(0.0, 0.0, z));
    }
    points
}

#[test]
fn a_fine_cylinder_has_two_rims_and_nothing_between() {
    let n = 720;
    let area = 0.5 * n as f64 * 0.0025 * (std::f64::consts::TAU / n as f64).sin();
    let points = cylinder(n, 40, 0.05, 0.2);
    check(&points, 2 * n, n + 2, area * 0.2);
}

#[test]
fn a_fine_sphere_keeps_every_point() {
    let mut points = vec![DVec3::Z * 0.1, DVec3::NEG_Z * 0.1];
    let (rows, columns) = (60, 120);
    for i in 1..rows {
        let polar = std::f64::consts::PI * f64::from(i) / f64::from(rows);
        for k in 0..columns {
            let angle = std::f64::consts::TAU * f64::from(k) / f64::from(columns);
            let ring = DVec3::new(angle.cos(), angle.sin(), 0.0) * polar.sin();
            points.push((ring + DVec3::Z * polar.cos()) * 0.1);
        }
    }
    let hull = convex_hull(&points).expect("a sphere");
    assert_closed(&hull);
    assert_holds(&hull, &points, 1e-11);
    assert_eq!(hull.vertices_m.len(), points.len());
    // Rows of trapezia between equal latitudes are flat; the two caps are triangles.
    assert_eq!(hull.facets.len(), (rows * columns) as usize);
}

#[test]
fn the_filter_for_many_points_leaves_the_hull_as_it_is() {
    let mut state = 7u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64 - 0.5
    };
    let points: Vec<DVec3> = (0..60_000)
        .map(|_| {
            let p = DVec3::new(next(), next(), next()).normalize_or(DVec3::X);
            p * DVec3::new(0.4, 0.1, 0.02) * (0.9 + 0.2 * next())
        })
        .collect();
    let filtered = convex_hull(&points).expect("a blob");
    assert_closed(&filtered);
    assert_holds(&filtered, &points, 1e-10 * filtered.diagonal_m);
}

/// These points have no hull, and the error says so.
fn check_refused(points: &[DVec3], words: &str) {
    match convex_hull(points) {
        Err(SolidError::Degenerate { reason, hint }) => {
            assert!(reason.contains(words), "{reason}");
            assert!(!hint.is_empty());
        }
        other => panic!("expected a refusal, got {other:?}"),
    }
}

#[test]
fn flat_and_broken_points_are_refused() {
    check_refused(&[], "fewer than four");
    check_refused(&[DVec3::X; 9], "extent");
    let line: Vec<DVec3> = (0..50).map(|k| DVec3::ONE * f64::from(k)).collect();
    check_refused(&line, "one line");
    let mut sheet = gridded_box(DVec3::new(0.3, 0.2, 0.0), 9, some_turn());
    check_refused(&sheet, "one plane");
    sheet.push(DVec3::new(f64::NAN, 0.0, 0.0));
    check_refused(&sheet, "finite");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Coordinates on a coarse lattice: coplanar, collinear and double points everywhere.
    #[test]
    fn lattice_points_never_tear_the_hull(
        lattice in prop::collection::vec((0i32..5, 0i32..5, 0i32..5), 4..80),
    ) {
        let points: Vec<DVec3> = lattice
            .iter()
            .map(|(x, y, z)| DVec3::new(f64::from(*x), f64::from(*y), f64::from(*z)) * 0.01)
            .collect();
        if let Ok(hull) = convex_hull(&points) {
            assert_closed(&hull);
            assert_holds(&hull, &points, 1e-11);
            let volume_6: f64 = hull.volume_m3() * 6e6;
            prop_assert!((volume_6 - volume_6.round()).abs() < 1e-6, "six times the volume is whole");
            prop_assert!(volume_6 > 0.5);
        }
    }

    /// An affine image of a hull is the hull of the image: the volume scales by the determinant.
    #[test]
    fn volume_scales_with_the_determinant(
        raw in prop::collection::vec((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 6..60),
        stretch in (0.05..3.0f64, 0.05..3.0f64, 0.05..3.0f64),
    ) {
        let points: Vec<DVec3> = raw.iter().map(|p| DVec3::new(p.0, p.1, p.2)).collect();
        let map = DMat3::from_quat(some_turn()) * DMat3::from_diagonal(DVec3::new(stretch.0, stretch.1, stretch.2));
        let image: Vec<DVec3> = points.iter().map(|p| map * *p).collect();
        let before = convex_hull(&points).expect("random points");
        let after = convex_hull(&image).expect("their image");
        let ratio = after.volume_m3() / before.volume_m3() / map.determinant();
        prop_assert!((ratio - 1.0).abs() < 1e-9);
    }
}
