//! The tree of boxes against walks over every triangle, and against closed forms.

use glam::{DQuat, DVec3};
use proptest::prelude::*;
use solid::Mesh;
use solid::bvh::{Bvh, Instance, Instances, Placement, Ray};
use std::f64::consts::TAU;
use std::sync::Arc;

/// A torus about the z axis, wound outwards.
fn torus(ring_m: f64, tube_m: f64, n_ring: u32, n_tube: u32) -> Mesh {
    let mut mesh = Mesh::default();
    for i in 0..n_ring {
        let around = TAU * f64::from(i) / f64::from(n_ring);
        for j in 0..n_tube {
            let along = TAU * f64::from(j) / f64::from(n_tube);
            let out = ring_m + tube_m * along.cos();
            mesh.vertices_m.push(DVec3::new(
                out * around.cos(),
                out * around.sin(),
                tube_m * along.sin(),
            ));
        }
    }
    let at = |i: u32, j: u32| (i % n_ring) * n_tube + j % n_tube;
    for i in 0..n_ring {
        for j in 0..n_tube {
            let [a, b, c, d] = [at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1)];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    mesh
}

/// A ball of latitude and longitude, wound outwards.
fn ball(radius_m: f64, n: u32) -> Mesh {
    let mut mesh = Mesh::default();
    for i in 0..=n {
        let down = 0.5 * TAU * f64::from(i) / f64::from(n);
        // sin π is 1e-16 in f64: the pole would be a hole of that size.
        let out = if i == n { 0.0 } else { down.sin() };
        for j in 0..2 * n {
            let around = TAU * f64::from(j) / f64::from(2 * n);
            mesh.vertices_m
                .push(radius_m * DVec3::new(out * around.cos(), out * around.sin(), down.cos()));
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

/// Möller and Trumbore's test (J. Graphics Tools 2(1), 1997): not the one in the crate.
fn first_by_walk(mesh: &Mesh, ray: &Ray) -> Option<f64> {
    (0..mesh.triangles.len())
        .filter_map(|t| {
            let [a, b, c] = mesh.corners(t);
            let (e1, e2) = (b - a, c - a);
            let p = ray.direction.cross(e2);
            let det = e1.dot(p);
            let s = ray.origin_m - a;
            let u = s.dot(p) / det;
            let q = s.cross(e1);
            let v = ray.direction.dot(q) / det;
            let t = e2.dot(q) / det;
            let hit = u >= 0.0 && v >= 0.0 && u + v <= 1.0;
            (hit && t >= ray.least_m && t <= ray.most_m).then_some(t)
        })
        .min_by(f64::total_cmp)
}

/// Nearest over all triangles: the foot on the plane, else the nearest edge point.
fn nearest_by_walk(mesh: &Mesh, p: DVec3) -> f64 {
    let on_edge = |a: DVec3, b: DVec3| {
        let along = ((p - a).dot(b - a) / (b - a).length_squared()).clamp(0.0, 1.0);
        p.distance(a.lerp(b, along))
    };
    (0..mesh.triangles.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            let foot = p - normal * normal.dot(p - a);
            let side = |a: DVec3, b: DVec3| (b - a).cross(foot - a).dot(normal) >= 0.0;
            let over = normal != DVec3::ZERO && side(a, b) && side(b, c) && side(c, a);
            let edges = on_edge(a, b).min(on_edge(b, c)).min(on_edge(c, a));
            if over { p.distance(foot) } else { edges }
        })
        .fold(f64::INFINITY, f64::min)
}

fn point() -> impl Strategy<Value = DVec3> {
    [-1.0..1.0f64, -1.0..1.0f64, -1.0..1.0f64].prop_map(DVec3::from_array)
}

fn unit() -> impl Strategy<Value = DVec3> {
    point()
        .prop_filter("a direction has length", |d| d.length() > 0.1)
        .prop_map(DVec3::normalize)
}

/// Loose triangles of all sizes, some far off the origin.
fn soup() -> impl Strategy<Value = Mesh> {
    let triangle = (point(), point(), point(), 0.01..1.0f64);
    (
        prop::collection::vec(triangle, 1..120),
        point(),
        0.0..50.0f64,
    )
        .prop_map(|(triangles, way, off_m)| {
            let mut mesh = Mesh::default();
            for (middle, p, q, size) in triangles {
                let first = mesh.vertices_m.len() as u32;
                let middle = middle + way * off_m;
                mesh.vertices_m
                    .extend([middle, middle + p * size, middle + q * size]);
                mesh.triangles.push([first, first + 1, first + 2]);
            }
            mesh
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn first_hit_equals_a_walk_over_all(
        mesh in soup(), target in point(), way in unit(), back_m in 0.0..200.0f64, most in 0.0..3.0f64,
    ) {
        let middle = mesh.bounds().map_or(DVec3::ZERO, |(low, high)| 0.5 * (low + high));
        let ray = Ray {
            most_m: back_m + most,
            ..Ray::new(middle + target - way * back_m, way)
        };
        let bvh = Bvh::build(&mesh);
        let found = bvh.first_hit(&ray);
        let want = first_by_walk(&mesh, &ray);
        match (found, want) {
            (Some(hit), Some(want)) => prop_assert!((hit.distance_m - want).abs() < 1e-9 * (1.0 + want)),
            (None, None) => {}
            // Within rounding of an edge, the two tests may differ.
            (found, want) => prop_assert!(false, "{found:?} {want:?}"),
        }
        prop_assert_eq!(bvh.any_hit(&ray), found.is_some());
        let all = bvh.all_hits(&ray);
        prop_assert_eq!(all.first().map(|hit| hit.triangle), found.map(|hit| hit.triangle));
        prop_assert!(all.is_sorted_by(|a, b| a.distance_m <= b.distance_m));
        if let Some(hit) = found {
            let [a, b, c] = mesh.corners(hit.triangle as usize);
            let [u, v, w] = hit.barycentric;
            prop_assert!((a * u + b * v + c * w).distance(ray.at(hit.distance_m)) < 1e-9 * (1.0 + hit.distance_m));
        }
    }

    #[test]
    fn closest_equals_a_walk_over_all(mesh in soup(), p in point(), far in 0.0..30.0f64, most_m in 0.0..2.0f64) {
        let p = p * far;
        let bvh = Bvh::build(&mesh);
        let want = nearest_by_walk(&mesh, p);
        let found = bvh.closest(p, f64::INFINITY).expect("a mesh has a nearest point");
        prop_assert!((found.distance_m - want).abs() < 1e-9 * (1.0 + want));
        prop_assert!((found.point_m.distance(p) - want).abs() < 1e-9 * (1.0 + want));
        prop_assert_eq!(bvh.closest(p, most_m).is_some(), found.distance_m <= most_m);
    }

    #[test]
    fn rays_through_corners_and_edges_balance(
        n in 3u32..12, corner in 0usize..1000, part in 0.0..1.0f64, way in unit(),
    ) {
        // From outside through a closed mesh: as many hits enter as leave,
        // even exactly through a corner or a point of an edge.
        let mesh = torus(0.7, 0.3, n, n);
        let bvh = Bvh::build(&mesh);
        let [a, b, _] = mesh.corners(corner % mesh.triangles.len());
        for aim in [a, a.lerp(b, part), a.lerp(b, 0.5)] {
            for direction in [way, DVec3::X, DVec3::Y, DVec3::Z, DVec3::new(0.6, 0.8, 0.0)] {
                let hits = bvh.all_hits(&Ray::new(aim - 4.0 * direction, direction));
                let n_entering = hits.iter().filter(|hit| hit.enters).count();
                prop_assert_eq!(2 * n_entering, hits.len());
            }
        }
    }

    #[test]
    fn no_ray_from_inside_slips_out(n in 3u32..24, corner in 0usize..2000, part in 0.0..1.0f64, way in unit()) {
        let mesh = ball(1.0, n);
        let bvh = Bvh::build(&mesh);
        let [a, b, c] = mesh.corners(corner % mesh.triangles.len());
        for aim in [way, a, a.lerp(b, part), b.lerp(c, part)] {
            prop_assert!(bvh.any_hit(&Ray::new(DVec3::ZERO, aim.normalize())));
            prop_assert!(bvh.first_hit(&Ray::new(DVec3::ZERO, aim)).is_some_and(|hit| !hit.enters));
        }
    }

    #[test]
    fn overlapping_pairs_hold_every_crossing(a in soup(), b in soup(), shift in point(), axis in unit(), angle in 0.0..6.2f64) {
        let turned = Placement { turn: DQuat::from_axis_angle(axis, angle), shift_m: shift };
        let pairs = Bvh::build(&a).pairs_overlapping(&Bvh::build(&b), &turned, 0.0);
        for i in 0..a.triangles.len() {
            for j in 0..b.triangles.len() {
                let (p, q) = (a.corners(i), b.corners(j).map(|v| turned.point(v)));
                let low = |t: [DVec3; 3]| t[0].min(t[1]).min(t[2]);
                let high = |t: [DVec3; 3]| t[0].max(t[1]).max(t[2]);
                let meet = low(p).cmple(high(q)).all() && low(q).cmple(high(p)).all();
                let listed = pairs.binary_search(&(i as u32, j as u32)).is_ok();
                prop_assert_eq!(listed, meet);
            }
        }
    }
}

/// Inside the smooth body and outside it, clear of the facets' deviation, the answer is sure.
fn check_contains(mesh: &Mesh, least_clear_m: f64, depth_m: impl Fn(DVec3) -> f64) {
    let bvh = Bvh::build(mesh);
    let n = 23i32;
    let (low, high) = mesh.bounds().expect("not empty");
    let mut n_inside = 0;
    for i in 0..n * n * n {
        let cell = DVec3::new(f64::from(i % n), f64::from(i / n % n), f64::from(i / n / n));
        let p = low + (high - low) * (cell / f64::from(n - 1) * 1.1 - 0.05);
        let depth = depth_m(p);
        if depth.abs() > least_clear_m {
            assert_eq!(bvh.contains(p), depth > 0.0, "{p} at depth {depth}");
            n_inside += usize::from(depth > 0.0);
        }
    }
    assert!(n_inside > 500);
}

/// Closed form: x² + y² + z² < r².
#[test]
fn contains_equals_the_ball() {
    check_contains(&ball(0.5, 40), 0.002, |p| 0.5 - p.length());
}

/// Closed form: (√(x² + y²) − R)² + z² < r².
#[test]
fn contains_equals_the_torus() {
    check_contains(&torus(0.5, 0.2, 80, 60), 0.002, |p| {
        0.2 - (p.truncate().length() - 0.5).hypot(p.z)
    });
}

#[test]
fn a_hollow_is_outside() {
    let mut mesh = ball(0.5, 20);
    let inner = ball(0.3, 20);
    let first = mesh.vertices_m.len() as u32;
    mesh.vertices_m.extend(inner.vertices_m);
    let turned = inner.triangles.iter().map(|t| [t[0], t[2], t[1]]);
    mesh.triangles.extend(turned.map(|t| t.map(|v| v + first)));
    check_contains(&mesh, 0.006, |p| (0.5 - p.length()).min(p.length() - 0.3));
}

#[test]
fn a_box_is_met_where_its_faces_are() {
    let bvh = Bvh::build(&Mesh::cuboid(DVec3::new(0.2, 0.4, 0.6)));
    let hits = bvh.all_hits(&Ray::new(DVec3::new(-1.0, 0.0, 0.0), DVec3::X));
    let found: Vec<(f64, bool)> = hits.iter().map(|h| (h.distance_m, h.enters)).collect();
    // The ray runs along the diagonal edge of both faces: one hit each all the same.
    assert_eq!(found.len(), 2);
    assert!((found[0].0 - 0.9).abs() < 1e-12 && found[0].1);
    assert!((found[1].0 - 1.1).abs() < 1e-12 && !found[1].1);
}

#[test]
fn a_ray_outside_its_two_distances_meets_nothing() {
    let bvh = Bvh::build(&Mesh::cuboid(DVec3::ONE));
    let ray = Ray::new(DVec3::new(0.0, 0.0, 3.0), DVec3::NEG_Z);
    let met = |least_m: f64, most_m: f64| {
        let ray = Ray {
            least_m,
            most_m,
            ..ray
        };
        bvh.first_hit(&ray).map(|hit| hit.distance_m)
    };
    assert_eq!(met(0.0, 2.4), None);
    assert_eq!(met(0.0, 2.5), Some(2.5));
    assert_eq!(met(2.6, 9.0), Some(3.5));
    assert_eq!(met(3.6, 9.0), None);
    assert_eq!(met(f64::NAN, 9.0), None);
}

#[test]
fn nothing_breaks_on_nothing() {
    let none = Bvh::build(&Mesh::default());
    let ray = Ray::new(DVec3::ZERO, DVec3::X);
    assert!(none.first_hit(&ray).is_none() && !none.any_hit(&ray));
    assert!(none.closest(DVec3::ZERO, f64::INFINITY).is_none());
    assert!(!none.contains(DVec3::ZERO));
    let one = Bvh::build(&Mesh::cuboid(DVec3::ONE));
    for bad in [DVec3::ZERO, DVec3::NAN, DVec3::splat(f64::INFINITY)] {
        assert!(one.first_hit(&Ray::new(DVec3::ZERO, bad)).is_none());
        assert!(one.first_hit(&Ray::new(bad, DVec3::X)).is_none() || bad == DVec3::ZERO);
    }
    assert!(one.closest(DVec3::NAN, 1.0).is_none());
}

#[test]
fn corners_that_are_not_finite_are_left_out() {
    let mut mesh = Mesh::cuboid(DVec3::ONE);
    let first = mesh.vertices_m.len() as u32;
    mesh.vertices_m.extend([DVec3::NAN, DVec3::X, DVec3::Y]);
    mesh.triangles.push([first, first + 1, first + 2]);
    let bvh = Bvh::build(&mesh);
    assert_eq!(bvh.n_triangles(), 12);
    assert!(bvh.contains(DVec3::splat(0.1)));
}

/// Ten thousand triangles at one place, and long thin ones: the walk's stack must not run over.
#[test]
fn extreme_meshes_are_built() {
    let mut piled = Mesh::default();
    let mut doubling = Mesh::default();
    for i in 0..10_000u32 {
        piled.vertices_m.extend([DVec3::ZERO, DVec3::X, DVec3::Y]);
        piled.triangles.push([3 * i, 3 * i + 1, 3 * i + 2]);
        let far = DVec3::X * f64::from(i % 900).exp2().min(1e200) * 1e-200;
        doubling
            .vertices_m
            .extend([far, far + DVec3::Y, far + DVec3::Z]);
        doubling.triangles.push([3 * i, 3 * i + 1, 3 * i + 2]);
    }
    let ray = Ray::new(DVec3::new(0.2, 0.2, 1.0), DVec3::NEG_Z);
    assert_eq!(Bvh::build(&piled).all_hits(&ray).len(), 10_000);
    let through = Ray::new(DVec3::new(-1.0, 0.2, 0.2), DVec3::X);
    assert!(Bvh::build(&doubling).first_hit(&through).is_some());
}

#[test]
fn instances_meet_as_their_moved_meshes_do() {
    let mesh = torus(0.5, 0.2, 20, 12);
    let bvh = Arc::new(Bvh::build(&mesh));
    let placements: Vec<Placement> = (0..7)
        .map(|i| Placement {
            turn: DQuat::from_rotation_x(f64::from(i)),
            shift_m: DVec3::new(f64::from(i) * 0.9, 0.1 * f64::from(i), 0.0),
        })
        .collect();
    let mut moved = Mesh::default();
    for placement in &placements {
        let first = moved.vertices_m.len() as u32;
        let points = mesh.vertices_m.iter().map(|v| placement.point(*v));
        moved.vertices_m.extend(points);
        let shifted = mesh.triangles.iter().map(|t| t.map(|v| v + first));
        moved.triangles.extend(shifted);
    }
    let instances: Vec<Instance> = placements
        .iter()
        .map(|placement| Instance {
            bvh: Arc::clone(&bvh),
            placement: *placement,
        })
        .collect();
    let scene = Instances::new(&instances);
    let whole = Bvh::build(&moved);
    let mut n_hits = 0;
    for i in 0..4000 {
        let turn = f64::from(i);
        let from = DVec3::new(
            turn.sin() * 4.0 + 3.0,
            turn.cos() * 3.0,
            (0.7 * turn).sin() * 2.0,
        );
        let to = DVec3::new(
            (0.3 * turn).cos() * 3.0 + 3.0,
            (1.3 * turn).sin() * 0.6,
            0.0,
        );
        let ray = Ray::new(from, (to - from).normalize());
        let (a, b) = (scene.first_hit(&ray), whole.first_hit(&ray));
        assert_eq!(a.is_some(), b.is_some());
        assert_eq!(scene.any_hit(&ray), b.is_some());
        let mut n_all = 0;
        scene.for_all_hits(&ray, |_| n_all += 1);
        assert_eq!(n_all, whole.all_hits(&ray).len());
        if let (Some(a), Some(b)) = (a, b) {
            assert!((a.hit.distance_m - b.distance_m).abs() < 1e-9);
            assert_eq!(a.instance, b.triangle / mesh.triangles.len() as u32);
            n_hits += 1;
        }
    }
    assert!(n_hits > 500, "{n_hits}");
}

/// The tree must not depend on who built which half.
#[test]
fn any_number_of_threads_builds_one_tree() {
    let mesh = ball(1.0, 80);
    let with = |n_threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(n_threads)
            .build();
        pool.expect("a pool")
            .install(|| format!("{:?}", Bvh::build(&mesh)))
    };
    assert_eq!(with(1), with(3));
}
