//! The body that the benches look at.

use std::f64::consts::TAU;

use glam::DVec3;
use solid::Mesh;

/// A lumpy ball of about `n_triangles`.
pub fn lump(n_triangles: u32) -> Mesh {
    let n = f64::from(n_triangles / 4).sqrt() as u32;
    let mut mesh = Mesh::default();
    for i in 0..=n {
        let down = 0.5 * TAU * f64::from(i) / f64::from(n);
        for j in 0..2 * n {
            let around = TAU * f64::from(j) / f64::from(2 * n);
            let way = DVec3::new(
                down.sin() * around.cos(),
                down.sin() * around.sin(),
                down.cos(),
            );
            let w = way * 7.0;
            let lumps = (w.x + 1.3 * w.y).sin() * (w.y - w.z).cos() + 0.4 * (3.0 * w.z).sin();
            mesh.vertices_m.push(way * (0.1 + 0.012 * lumps));
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
