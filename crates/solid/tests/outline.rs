//! Outlines, footprints and rectangles against closed forms.

use std::f64::consts::PI;

use glam::{DQuat, DVec2, DVec3};
use proptest::prelude::*;
use solid::Mesh;
use solid::outline::{
    Contours, Ring, View, convex_ring, footprint_area_m2, front_outline, least_rectangle,
    plan_hull, plan_outline, signed_area_m2, silhouette,
};

fn close(found: f64, wanted: f64, tolerance: f64) {
    assert!(
        (found - wanted).abs() <= tolerance,
        "{found} against {wanted} ± {tolerance}"
    );
}

fn joined(parts: &[Mesh]) -> Mesh {
    let mut all = Mesh::default();
    for part in parts {
        let first = all.vertices_m.len() as u32;
        all.vertices_m.extend(&part.vertices_m);
        all.triangles
            .extend(part.triangles.iter().map(|t| t.map(|v| v + first)));
    }
    all
}

fn block(size: [f64; 3], at: [f64; 3]) -> Mesh {
    let mut mesh = Mesh::cuboid(DVec3::from(size));
    for vertex in &mut mesh.vertices_m {
        *vertex += DVec3::from(at);
    }
    mesh
}

/// A torus about z with `n` × `m` plane-ish cells.
fn torus(big: f64, small: f64, n: u32, m: u32) -> Mesh {
    let mut mesh = Mesh::default();
    for i in 0..n {
        let (sin, cos) = (2.0 * PI * f64::from(i) / f64::from(n)).sin_cos();
        for j in 0..m {
            let (up, out) = (2.0 * PI * f64::from(j) / f64::from(m)).sin_cos();
            let r = big + small * out;
            mesh.vertices_m
                .push(DVec3::new(r * cos, r * sin, small * up));
            let at = |i: u32, j: u32| (i % n) * m + j % m;
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            mesh.triangles.push([a, b, c]);
            mesh.triangles.push([a, c, d]);
        }
    }
    mesh
}

fn total_m2(rings: &[Ring]) -> f64 {
    rings.iter().map(Ring::area_m2).sum()
}

/// Cauchy: the shadow of a box is Σ face area · |cosine|.
#[test]
fn the_shadow_of_a_turned_box_is_the_sum_over_its_faces() {
    let size = DVec3::new(0.12, 0.08, 0.05);
    let mesh = Mesh::cuboid(size);
    for turn in [
        DQuat::IDENTITY,
        DQuat::from_rotation_x(0.5),
        DQuat::from_xyzw(0.31, -0.47, 0.22, 0.8).normalize(),
    ] {
        let cosines = DVec3::new(
            (turn * DVec3::X).z,
            (turn * DVec3::Y).z,
            (turn * DVec3::Z).z,
        )
        .abs();
        let faces = DVec3::new(size.y * size.z, size.z * size.x, size.x * size.y);
        close(footprint_area_m2(&mesh, turn), faces.dot(cosines), 1e-10);
    }
}

#[test]
fn a_ring_has_one_hole_and_runs_the_right_way() {
    let mesh = torus(0.06, 0.018, 240, 48);
    let rings = plan_outline(&mesh, DQuat::IDENTITY);
    assert_eq!(rings.len(), 2);
    assert!(!rings[0].is_hole() && rings[1].is_hole());
    // π ((R + r)² − (R − r)²) = 4 π R r, less what 240 chords cut off: 1 − sin(x)/x, x = 2π/240.
    let chords = (2.0 * PI / 240.0_f64).sin() / (2.0 * PI / 240.0);
    let exact = 4.0 * PI * 0.06 * 0.018 * chords;
    close(
        footprint_area_m2(&mesh, DQuat::IDENTITY),
        exact,
        1e-4 * exact,
    );
    close(total_m2(&rings), exact, 2e-3 * exact);
    let contours = Contours::of(&mesh);
    close(
        total_m2(&contours.rings(DQuat::IDENTITY, View::PLAN)),
        exact,
        1e-9,
    );
}

/// Two ways to one area: counted along lines, and as joined polygons.
#[test]
fn counting_along_lines_agrees_with_joining_outlines() {
    let mut mesh = torus(0.06, 0.018, 90, 30);
    for (k, vertex) in mesh.vertices_m.iter_mut().enumerate() {
        *vertex *= 1.0 + 0.02 * (k as f64 * 12.9898).sin();
    }
    let contours = Contours::of(&mesh);
    for k in 0..12 {
        let turn = DQuat::from_rotation_x(0.4 * f64::from(k)) * DQuat::from_rotation_y(0.3);
        for view in [View::PLAN, View::FRONT, View::RIGHT] {
            let joined = total_m2(&contours.rings(turn, view));
            close(contours.area_m2(turn, view), joined, 5e-4 * joined);
        }
    }
}

#[test]
fn overlapping_blocks_are_counted_once() {
    let mesh = joined(&[
        block([0.1, 0.02, 0.02], [0.0, 0.0, 0.0]),
        block([0.02, 0.1, 0.02], [0.0, 0.0, 0.01]),
        block([0.02, 0.02, 0.3], [0.0, 0.0, 0.0]),
    ]);
    let plus = 2.0 * 0.1 * 0.02 - 0.02 * 0.02;
    close(footprint_area_m2(&mesh, DQuat::IDENTITY), plus, 1e-10);
    let rings = plan_outline(&mesh, DQuat::IDENTITY);
    assert_eq!(rings.len(), 1);
    assert_eq!(rings[0].points_m.len(), 12);
}

#[test]
fn a_gate_seen_from_the_front_shows_its_opening_only_when_closed_above() {
    let posts = [
        block([0.02, 0.02, 0.1], [-0.04, 0.0, 0.0]),
        block([0.02, 0.02, 0.1], [0.04, 0.0, 0.0]),
    ];
    let beams = [
        block([0.1, 0.02, 0.02], [0.0, 0.0, 0.06]),
        block([0.1, 0.02, 0.02], [0.0, 0.0, -0.06]),
    ];
    let frame = joined(&[&posts[..], &beams[..]].concat());
    let rings = front_outline(&frame, DQuat::IDENTITY);
    assert_eq!(rings.len(), 2);
    close(rings[0].area_m2(), 0.1 * 0.14, 1e-9);
    close(rings[1].area_m2(), -0.06 * 0.1, 1e-9);
    // From above and from the side it is solid.
    assert_eq!(plan_outline(&frame, DQuat::IDENTITY).len(), 1);
    close(
        total_m2(&silhouette(&frame, DQuat::IDENTITY, View::RIGHT)),
        0.02 * 0.14,
        1e-9,
    );
}

#[test]
fn an_open_shell_covers_what_it_covers_from_both_sides() {
    let mut mesh = Mesh::cuboid(DVec3::new(0.1, 0.08, 0.05));
    // Without its lid, and then with only its lid.
    let lid = mesh.triangles.drain(2..4).collect::<Vec<_>>();
    close(footprint_area_m2(&mesh, DQuat::IDENTITY), 0.008, 1e-10);
    mesh.triangles = lid;
    close(footprint_area_m2(&mesh, DQuat::IDENTITY), 0.008, 1e-10);
    close(
        footprint_area_m2(&mesh, DQuat::from_rotation_x(PI)),
        0.008,
        1e-10,
    );
    mesh.triangles.clear();
    assert_eq!(footprint_area_m2(&mesh, DQuat::IDENTITY), 0.0);
}

#[test]
fn a_drawn_outline_stays_within_its_tolerance() {
    let mesh = torus(0.1, 0.04, 2000, 16);
    let rings = plan_outline(&mesh, DQuat::IDENTITY);
    assert!(rings[0].points_m.len() < 200, "2,000 corners are thinned");
    for (ring, radius) in rings.iter().zip([0.14, 0.06]) {
        let n = ring.points_m.len();
        for i in 0..n {
            let (a, b) = (ring.points_m[i], ring.points_m[(i + 1) % n]);
            close(a.length(), radius, 1e-4);
            close(a.midpoint(b).length(), radius, 1.1e-4);
        }
    }
}

#[test]
fn the_least_rectangle_of_a_turned_rectangle_is_itself() {
    for k in 0..37 {
        let angle = 0.17 * f64::from(k) - 3.0;
        let turn = DVec2::from_angle(angle);
        let middle = DVec2::new(0.3, -0.2);
        let corners = [(0.05, 0.02), (-0.05, 0.02), (-0.05, -0.02), (0.05, -0.02)];
        let points = corners.map(|(x, y)| turn.rotate(DVec2::new(x, y)) + middle);
        let found = least_rectangle(&convex_ring(points.to_vec()));
        close(found.width_m, 0.1, 1e-12);
        close(found.depth_m, 0.04, 1e-12);
        assert!(found.centre_m.distance(middle) < 1e-12);
        close((found.angle_rad - angle).sin(), 0.0, 1e-9);
        assert!(found.angle_rad > -0.5 * PI && found.angle_rad <= 0.5 * PI);
    }
}

fn points_2d() -> impl Strategy<Value = Vec<DVec2>> {
    prop::collection::vec((-30i32..30, -30i32..30), 3..60).prop_map(|points| {
        let to = |p: (i32, i32)| DVec2::new(f64::from(p.0), f64::from(p.1)) * 0.01;
        points.into_iter().map(to).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn calipers_match_every_edge_tried_in_full(points in points_2d()) {
        let ring = convex_ring(points.clone());
        prop_assume!(ring.len() >= 3);
        let n = ring.len();
        let by_edges = (0..n)
            .map(|i| {
                let along = (ring[(i + 1) % n] - ring[i]).normalize();
                let side = |axis: DVec2| {
                    let reach = points.iter().map(|p| axis.dot(*p));
                    let (low, high) = reach.fold((f64::MAX, f64::MIN), |(l, h), d| (l.min(d), h.max(d)));
                    high - low
                };
                side(along) * side(along.perp())
            })
            .fold(f64::MAX, f64::min);
        let found = least_rectangle(&ring);
        prop_assert!((found.area_m2() / by_edges - 1.0).abs() < 1e-8);
        prop_assert!(signed_area_m2(&ring) <= found.area_m2() * (1.0 + 1e-9));
    }

    /// The silhouette of a convex body is the hull of its projected corners.
    #[test]
    fn a_convex_body_covers_its_plan_hull(
        raw in prop::collection::vec((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 5..60),
        (x, y, z, w) in (-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64, 0.1..1.0f64),
    ) {
        let points: Vec<DVec3> = raw.iter().map(|p| DVec3::new(p.0, p.1, p.2) * 0.1).collect();
        let hull = solid::hull::convex_hull(&points).expect("random points");
        let mesh = Mesh { vertices_m: hull.vertices_m, triangles: hull.triangles, colours: vec![] };
        let turn = DQuat::from_xyzw(x, y, z, w).normalize();
        let wanted = signed_area_m2(&plan_hull(&points, turn));
        prop_assert!((footprint_area_m2(&mesh, turn) / wanted - 1.0).abs() < 1e-7);
    }

    /// Random triangles, closed or not: what they cover equals what a fine count
    /// of sample points finds covered, within the sampling error.
    #[test]
    fn a_heap_of_triangles_covers_what_sampling_finds(
        raw in prop::collection::vec((-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64), 12..45),
    ) {
        let n = raw.len() / 3 * 3;
        let vertices_m: Vec<DVec3> = raw[..n].iter().map(|p| DVec3::new(p.0, p.1, p.2)).collect();
        let triangles: Vec<[u32; 3]> = (0..n as u32 / 3).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect();
        let flat: Vec<[DVec2; 3]> = triangles
            .iter()
            .map(|t| t.map(|v| vertices_m[v as usize].truncate()))
            .collect();
        let covered = |p: DVec2| flat.iter().any(|[a, b, c]| {
            let sides = [(*b - *a).perp_dot(p - *a), (*c - *b).perp_dot(p - *b), (*a - *c).perp_dot(p - *c)];
            sides.iter().all(|s| *s >= 0.0) || sides.iter().all(|s| *s <= 0.0)
        });
        let steps = 150;
        let step = 2.0 / f64::from(steps);
        let count = (0..steps * steps)
            .filter(|k| {
                let place = DVec2::new(f64::from(k % steps), f64::from(k / steps));
                covered((place + 0.5) * step - 1.0)
            })
            .count();
        let mesh = Mesh { vertices_m, triangles, colours: vec![] };
        let found = footprint_area_m2(&mesh, DQuat::IDENTITY);
        // Rims of n triangles, 150 cells to the side: error well under a cell along each rim.
        prop_assert!((found - count as f64 * step * step).abs() < 0.06, "{found}");
    }
}
