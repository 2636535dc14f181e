//! Smooth normals where a surface is smooth, face normals across creases.

use glam::{DVec3, Vec3};

use crate::Mesh;

/// Faces that meet at a sharper angle are not blended: cos 42°.
const CREASE_COSINE: f64 = 0.743;

/// A normal for each corner of each triangle: of all faces at its vertex
/// within the crease angle, weighted by their angle there.
pub fn of_corners(mesh: &Mesh) -> Vec<[Vec3; 3]> {
    let place = places(mesh);
    let faces: Vec<DVec3> = (0..mesh.triangles.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            (b - a).cross(c - a).normalize_or_zero()
        })
        .collect();
    let n_places = mesh.vertices_m.len();
    let mut first = vec![0u32; n_places + 1];
    for v in mesh.triangles.iter().flatten() {
        first[place[*v as usize] as usize + 1] += 1;
    }
    for i in 0..n_places {
        first[i + 1] += first[i];
    }
    let mut next = first.clone();
    let mut around = vec![(0u32, 0.0f64); 3 * mesh.triangles.len()];
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        let corners = mesh.corners(t);
        for k in 0..3 {
            let at = place[triangle[k] as usize] as usize;
            let (p, q) = (
                corners[(k + 1) % 3] - corners[k],
                corners[(k + 2) % 3] - corners[k],
            );
            around[next[at] as usize] = (t as u32, p.cross(q).length().atan2(p.dot(q)));
            next[at] += 1;
        }
    }
    let corner = |t: usize, v: u32| {
        let at = place[v as usize] as usize;
        let faces_here = &around[first[at] as usize..first[at + 1] as usize];
        let sum: DVec3 = faces_here
            .iter()
            .map(|(other, angle)| (faces[*other as usize], *angle))
            .filter(|(face, _)| face.dot(faces[t]) > CREASE_COSINE)
            .map(|(face, angle)| face * angle)
            .sum();
        sum.try_normalize().unwrap_or(faces[t]).as_vec3()
    };
    mesh.triangles
        .iter()
        .enumerate()
        .map(|(t, triangle)| triangle.map(|v| corner(t, v)))
        .collect()
}

/// For each vertex the first one at the same place: files often repeat corners.
fn places(mesh: &Mesh) -> Vec<u32> {
    let key = |v: u32| {
        mesh.vertices_m[v as usize]
            .to_array()
            .map(|x| (x + 0.0).to_bits())
    };
    let mut order: Vec<u32> = (0..mesh.vertices_m.len() as u32).collect();
    order.sort_unstable_by_key(|v| (key(*v), *v));
    let mut place = vec![0; order.len()];
    let mut leader = 0;
    for (i, v) in order.iter().enumerate() {
        if i == 0 || key(order[i - 1]) != key(*v) {
            leader = *v;
        }
        place[*v as usize] = leader;
    }
    place
}
