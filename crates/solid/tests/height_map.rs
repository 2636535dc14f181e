//! Height maps against the planes and balls that they are maps of.

use glam::{DQuat, DVec2, DVec3};
use solid::Mesh;
use solid::height_map::{Grid, HeightMap, Sample};

const GRID: Grid = Grid {
    origin_m: DVec2::new(-0.1, -0.05),
    cell_m: 0.01,
    nx: 20,
    ny: 10,
};

fn maps(mesh: &Mesh, sample: Sample) -> (HeightMap, HeightMap) {
    (
        HeightMap::lower(&mesh.vertices_m, &mesh.triangles, GRID, sample),
        HeightMap::upper(&mesh.vertices_m, &mesh.triangles, GRID, sample),
    )
}

#[test]
fn a_box_fills_the_cells_whose_middles_it_covers() {
    let mesh = Mesh::cuboid(DVec3::new(0.083, 0.041, 0.03));
    let (lower, upper) = maps(&mesh, Sample::Middle);
    for iy in 0..GRID.ny {
        for ix in 0..GRID.nx {
            let middle = GRID.middle_m(ix, iy).abs();
            let inside = middle.x <= 0.0415 && middle.y <= 0.0205;
            assert_eq!(lower.get(ix, iy), inside.then_some(-0.015), "{ix} {iy}");
            assert_eq!(upper.get(ix, iy), inside.then_some(0.015), "{ix} {iy}");
        }
    }
    assert_eq!(lower.get(GRID.nx, 0), None);
    assert_eq!(lower.get(0, GRID.ny), None);
}

/// A box tilted about y by θ: over its lower face z = x tan θ − h / (2 cos θ).
#[test]
fn a_tilted_box_has_exact_heights() {
    let (h, angle) = (0.03, 0.3_f64);
    let mut mesh = Mesh::cuboid(DVec3::new(0.12, 0.08, h));
    for vertex in &mut mesh.vertices_m {
        *vertex = DQuat::from_rotation_y(-angle) * *vertex;
    }
    let (lower, upper) = maps(&mesh, Sample::Middle);
    for ix in 7..13 {
        let x = GRID.middle_m(ix, 5).x;
        let (low, high) = (lower.get(ix, 5), upper.get(ix, 5));
        let half = 0.5 * h / angle.cos();
        assert!((low.expect("covered") - (x * angle.tan() - half)).abs() < 1e-12);
        assert!((high.expect("covered") - (x * angle.tan() + half)).abs() < 1e-12);
    }
}

#[test]
fn the_furthest_map_bounds_the_middle_map_and_covers_every_touched_cell() {
    let mut mesh = Mesh::cuboid(DVec3::new(0.09, 0.06, 0.04));
    for vertex in &mut mesh.vertices_m {
        *vertex = DQuat::from_xyzw(0.31, -0.47, 0.22, 0.8).normalize() * *vertex;
    }
    let (lower, upper) = maps(&mesh, Sample::Middle);
    let (lowest, uppermost) = maps(&mesh, Sample::Furthest);
    let mut n_more = 0;
    for cell in 0..GRID.nx * GRID.ny {
        if !lower.heights_m[cell].is_nan() {
            assert!(lowest.heights_m[cell] <= lower.heights_m[cell] + 1e-12);
            assert!(uppermost.heights_m[cell] >= upper.heights_m[cell] - 1e-12);
        } else if !lowest.heights_m[cell].is_nan() {
            n_more += 1;
        }
    }
    assert!(n_more > 0, "the rim touches cells whose middles it misses");
    // Its lowest and highest corner are found whatever the grid.
    let least = lowest.heights_m.iter().copied().fold(f64::NAN, f64::min);
    let most = uppermost.heights_m.iter().copied().fold(f64::NAN, f64::max);
    let (low, high) = mesh.bounds().expect("corners");
    assert!((least - low.z).abs() < 1e-12 && (most - high.z).abs() < 1e-12);
}

#[test]
fn a_mesh_off_the_grid_leaves_it_empty() {
    let mut mesh = Mesh::cuboid(DVec3::splat(0.02));
    for vertex in &mut mesh.vertices_m {
        *vertex += DVec3::new(5.0, -3.0, 0.0);
    }
    for sample in [Sample::Middle, Sample::Furthest] {
        let (lower, upper) = maps(&mesh, sample);
        assert!(
            lower
                .heights_m
                .iter()
                .chain(&upper.heights_m)
                .all(|z| z.is_nan())
        );
    }
}

/// Neighbouring triangles leave no gap between them, wherever their edges fall.
#[test]
fn a_sheet_of_triangles_has_no_holes() {
    let mut mesh = Mesh::default();
    let n = 37;
    for i in 0..=n {
        for j in 0..=n {
            let place = DVec2::new(f64::from(i), f64::from(j)) / f64::from(n);
            let p = (place - 0.5) * DVec2::new(0.3, 0.2);
            mesh.vertices_m.push(p.extend(0.01 * (40.0 * p.x).sin()));
        }
    }
    for i in 0..n {
        for j in 0..n {
            let at = |i: u32, j: u32| i * (n + 1) + j;
            mesh.triangles
                .push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
            mesh.triangles
                .push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
        }
    }
    let (lower, upper) = maps(&mesh, Sample::Middle);
    assert!(lower.heights_m.iter().all(|z| !z.is_nan()));
    for (low, high) in lower.heights_m.iter().zip(&upper.heights_m) {
        assert!((low - high).abs() < 1e-12);
    }
}
