//! How polygons are cut into triangles.
//!
//! What is checked follows from geometry alone: the triangles of a polygon have
//! its vector area, each of its edges in exactly one triangle, and in a simple
//! plane polygon no triangle is turned over, so that the areas add up.

use std::collections::BTreeMap;
use std::f64::consts::TAU;

use glam::{DQuat, DVec3};
use proptest::prelude::*;
use solid::polygon::triangulate;

fn flat(corners: &[[f64; 2]]) -> Vec<DVec3> {
    corners
        .iter()
        .map(|&[x, y]| DVec3::new(x, y, 0.0))
        .collect()
}

fn vector_area(corners: &[DVec3]) -> DVec3 {
    let n = corners.len();
    (0..n)
        .map(|i| corners[i].cross(corners[(i + 1) % n]))
        .sum::<DVec3>()
        / 2.0
}

fn area_of(corners: &[DVec3], [a, b, c]: [usize; 3]) -> DVec3 {
    (corners[b] - corners[a]).cross(corners[c] - corners[a]) / 2.0
}

/// Holds the triangles to what is true for any closed polygon.
#[track_caller]
fn check_any(corners: &[DVec3]) -> Vec<[usize; 3]> {
    let triangles = triangulate(corners);
    let n = corners.len();
    assert_eq!(triangles.len(), n - 2);
    // Inner edges cancel; what is left is the polygon's own round.
    let mut edges: BTreeMap<(usize, usize), i32> = BTreeMap::new();
    for [a, b, c] in &triangles {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            *edges.entry((*from, *to)).or_default() += 1;
            *edges.entry((*to, *from)).or_default() -= 1;
        }
    }
    edges.retain(|_, count| *count > 0);
    let round: BTreeMap<_, _> = (0..n).map(|i| ((i, (i + 1) % n), 1)).collect();
    assert_eq!(edges, round);
    triangles
}

/// Holds the triangles of a simple plane polygon to what is true for those.
#[track_caller]
fn check_simple(corners: &[DVec3]) {
    let triangles = check_any(corners);
    let whole = vector_area(corners);
    let normal = whole.normalize();
    let sum: f64 = triangles
        .iter()
        .map(|&triangle| area_of(corners, triangle).length())
        .sum();
    assert!(
        (sum / whole.length() - 1.0).abs() < 1e-9,
        "triangles overlap: {sum} for {}",
        whole.length()
    );
    for &triangle in &triangles {
        let area = area_of(corners, triangle).dot(normal);
        assert!(area > 0.0, "{triangle:?} has area {area}");
    }
}

#[test]
fn a_square_is_cut_in_two() {
    check_simple(&flat(&[[0., 0.], [1., 0.], [1., 1.], [0., 1.]]));
}

#[test]
fn fewer_than_three_corners_give_nothing() {
    for n in 0..3 {
        assert_eq!(triangulate(&vec![DVec3::ZERO; n]), Vec::<[usize; 3]>::new());
    }
}

#[test]
fn a_quad_is_cut_along_its_shorter_diagonal() {
    let shares_02 = |corners: &[DVec3]| {
        let mut first = triangulate(corners)[0];
        first.sort_unstable();
        first == [0, 1, 2]
    };
    assert!(shares_02(&flat(&[
        [0., 0.],
        [3., -1.],
        [2., 2.],
        [-3., 4.]
    ])));
    assert!(!shares_02(&flat(&[[0., 0.], [1., 0.], [5., 5.], [0., 1.]])));
    // Not plane: the diagonals' own lengths count.
    let mut bent = flat(&[[0., 0.], [1., 0.], [1., 1.], [0., 1.]]);
    bent[2].z = 0.5;
    assert!(!shares_02(&bent));
    bent[2].z = 0.0;
    bent[1].z = 0.5;
    assert!(shares_02(&bent));
}

#[test]
fn a_quad_is_never_cut_outside() {
    // An arrowhead whose shorter diagonal lies outside, from each of its corners.
    let arrow = flat(&[[0., 0.], [5., -1.], [1., 0.], [5., 1.]]);
    for turn in 0..4 {
        let mut corners = arrow.clone();
        corners.rotate_left(turn);
        check_simple(&corners);
        corners.reverse();
        check_simple(&corners);
    }
}

#[test]
fn corners_on_a_straight_side_keep_their_edges() {
    // Each side of a square halved, or one side in many parts.
    check_simple(&flat(&[
        [0., 0.],
        [1., 0.],
        [2., 0.],
        [2., 1.],
        [2., 2.],
        [1., 2.],
        [0., 2.],
        [0., 1.],
    ]));
    check_simple(&flat(&[
        [0., 0.],
        [0.1, 0.],
        [0.2, 0.],
        [0.3, 0.],
        [0.4, 0.],
        [1., 0.],
        [0.5, 1.],
    ]));
    check_simple(&flat(&[[0., 0.], [1., 0.], [2., 0.], [1., 1.]]));
}

#[test]
fn straight_sides_on_a_tilted_plane_give_no_slivers() {
    // Rounding puts the halving corners a hair off their sides.
    let turn = DQuat::from_scaled_axis(DVec3::new(0.3, -0.7, 0.4));
    let corners: Vec<DVec3> = (0..12)
        .map(|i| {
            let (side, part) = (i / 3, f64::from(i % 3) / 3.0);
            let along = [DVec3::X, DVec3::Y, -DVec3::X, -DVec3::Y][side as usize];
            let from = [[0., 0., 0.], [1., 0., 0.], [1., 1., 0.], [0., 1., 0.]][side as usize];
            turn * (DVec3::from_array(from) + along * part) + DVec3::new(7.0, 5.0, 3.0)
        })
        .collect();
    let normal = vector_area(&corners).normalize();
    for triangle in check_any(&corners) {
        let area = area_of(&corners, triangle).dot(normal);
        // The smallest true triangle has two thirds of thirds as its sides.
        assert!(area > 0.01, "{triangle:?} has area {area}");
    }
}

#[test]
fn concave_polygons_are_cut_inside() {
    // A comb, a spiral, a star.
    let mut comb = vec![[0., 0.], [20., 0.]];
    for tooth in (0..10).rev() {
        let x = 2.0 * f64::from(tooth);
        comb.extend([[x + 1.5, 5.0], [x + 0.5, 0.5]]);
    }
    check_simple(&flat(&comb));
    let arm = |inner: f64| {
        move |i: i32| {
            let angle = f64::from(i) * 0.2;
            let radius = inner + 0.1 * angle;
            [radius * angle.cos(), radius * angle.sin()]
        }
    };
    let mut spiral: Vec<_> = (0..150).map(arm(1.0)).collect();
    spiral.extend((0..150).rev().map(arm(0.8)));
    spiral.reverse();
    check_simple(&flat(&spiral));
    let star: Vec<_> = (0..200)
        .map(|i| {
            let angle = f64::from(i) * TAU / 200.0;
            let radius = if i % 2 == 0 { 1.0 } else { 0.3 };
            [radius * angle.cos(), radius * angle.sin()]
        })
        .collect();
    check_simple(&flat(&star));
}

#[test]
fn a_hole_on_a_bridge_is_left_open() {
    // Outer square, a bridge to an inner one that runs the other way, and back.
    let corners = flat(&[
        [0., 0.],
        [4., 0.],
        [4., 4.],
        [0., 4.],
        [0., 0.],
        [1., 1.],
        [1., 3.],
        [3., 3.],
        [3., 1.],
        [1., 1.],
    ]);
    let triangles = check_any(&corners);
    let sum: f64 = triangles
        .iter()
        .map(|&triangle| area_of(&corners, triangle).length())
        .sum();
    assert!((sum - 12.0).abs() < 1e-9, "{sum}");
}

#[test]
fn polygons_without_sense_still_give_all_their_edges() {
    // Crossing itself, folded flat, all in one point, on one line.
    check_any(&flat(&[[0., 0.], [1., 1.], [1., 0.], [0., 1.]]));
    check_any(&flat(&[
        [0., 0.],
        [2., 2.],
        [2., 0.],
        [0., 2.],
        [1., 3.],
        [1., -1.],
    ]));
    check_any(&flat(&[[0., 0.], [1., 0.], [0., 0.], [1., 0.], [0., 0.]]));
    check_any(&[DVec3::ONE; 7]);
    check_any(&flat(&[[0., 0.], [1., 0.], [2., 0.], [3., 0.], [1.5, 0.]]));
    check_any(&flat(&[
        [f64::MAX, 0.],
        [0., f64::MAX],
        [-f64::MAX, 0.],
        [0., -f64::MAX],
        [1., 1.],
    ]));
}

#[test]
fn a_ragged_ring_of_twenty_thousand_corners_is_cut_inside() {
    // Radii from the fractional parts of multiples of the golden ratio.
    let corners: Vec<[f64; 2]> = (0..20_000)
        .map(|i| {
            let angle = f64::from(i) * TAU / 20_000.0;
            let radius = 1.0 + 0.1 * (f64::from(i) * 1.618_033_988_75).fract();
            [radius * angle.cos(), radius * angle.sin()]
        })
        .collect();
    check_simple(&flat(&corners));
}

#[test]
fn a_million_corners_are_cut() {
    let corners: Vec<DVec3> = (0..1_000_000)
        .map(|i| {
            let angle = f64::from(i) * TAU / 1e6;
            DVec3::new(angle.cos(), angle.sin(), 0.0)
        })
        .collect();
    let area: f64 = triangulate(&corners)
        .iter()
        .map(|&triangle| area_of(&corners, triangle).z)
        .sum();
    // A regular polygon of n corners on the unit circle: n/2 sin(2π/n).
    assert!((area - 5e5 * (TAU / 1e6).sin()).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Seen from their middle, corners in order of their angle make a simple polygon.
    #[test]
    fn star_shaped_polygons_are_cut_inside(
        radii in proptest::collection::vec(0.1..1.0_f64, 4..120),
        axis in prop::array::uniform3(-3.0..3.0_f64),
    ) {
        let turn = DQuat::from_scaled_axis(axis.into());
        let n = radii.len() as f64;
        let corners: Vec<DVec3> = radii
            .iter()
            .enumerate()
            .map(|(i, radius)| {
                let angle = i as f64 * TAU / n;
                turn * (DVec3::new(angle.cos(), angle.sin(), 0.0) * radius) + DVec3::splat(2.0)
            })
            .collect();
        check_simple(&corners);
    }

    #[test]
    fn any_polygon_gives_all_its_edges(
        corners in proptest::collection::vec(prop::array::uniform3(-3..4_i32), 3..40),
    ) {
        let corners: Vec<DVec3> = corners
            .iter()
            .map(|&corner| DVec3::from_array(corner.map(f64::from)))
            .collect();
        check_any(&corners);
    }

    #[test]
    fn polygons_on_a_grid_without_crossings_are_cut_inside(heights in proptest::collection::vec(1..6_i32, 2..20)) {
        // A skyline: many corners lie on common lines.
        let mut corners = Vec::new();
        let n = heights.len() as i32;
        for (i, &height) in heights.iter().enumerate().rev() {
            let x = i as i32;
            corners.extend([[x + 1, height], [x, height]]);
        }
        corners.extend((0..=n).map(|x| [x, 0]));
        corners.dedup();
        let corners: Vec<DVec3> = corners
            .iter()
            .map(|&[x, y]| DVec3::new(f64::from(x), f64::from(y), 0.0))
            .collect();
        check_simple(&corners);
    }
}
