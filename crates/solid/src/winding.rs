//! How often a surface winds round a point, even when it is not closed.

use std::f64::consts::PI;

use glam::{DMat3, DVec3};

use crate::Mesh;
use crate::repair::tree::Tree;

/// A node is taken as a whole when the point is this many of its radii away.
const FAR: f64 = 3.0;

/// The generalised winding number of a mesh.
///
/// Inside a closed surface that faces outwards it is 1, outside 0, where two
/// bodies overlap 2. At a hole it falls smoothly from 1 to 0, and 0.5 is the
/// best guess of where the surface would be.
///
/// # Equation
/// w(q) = Σ Ω(q, triangle) / 4π, the sum of signed solid angles. Far from a
/// group of triangles the sum is replaced by its Taylor series about the
/// group's middle p: w ≈ (Σ aₙ)·∇G + (Σ aₙ ⊗ d):∇∇G with G the Green's function
/// of the Laplacian, aₙ a triangle's area vector and d the way from p to its middle.
///
/// # Accuracy
/// Within 0.01 of the exact sum, held by a test on an open scan; faces that are turned at random double it.
///
/// # Source
/// A. Jacobson, L. Kavan, O. Sorkine-Hornung, Robust inside-outside segmentation
/// using generalized winding numbers, ACM Trans. Graphics 32 (2013); G. Barill,
/// N. G. Dickson, R. Schmidt, D. I. W. Levin, A. Jacobson, Fast winding numbers
/// for soups and clouds, ACM Trans. Graphics 37 (2018).
#[derive(Debug)]
pub struct Winding<'a> {
    mesh: &'a Mesh,
    tree: Tree,
    groups: Vec<Group>,
}

/// The triangles below a node of the tree, seen from afar.
#[derive(Debug, Clone, Copy)]
struct Group {
    middle_m: DVec3,
    radius_m: f64,
    /// Σ of area vectors.
    dipole: DVec3,
    /// Σ of area vector ⊗ way from the middle; columns follow the way.
    quadrupole: DMat3,
    area_m2: f64,
}

impl<'a> Winding<'a> {
    /// Prepares a mesh for many questions.
    #[must_use]
    pub fn new(mesh: &'a Mesh) -> Self {
        let tree = Tree::new(mesh, 0.0);
        let empty = Group {
            middle_m: DVec3::ZERO,
            radius_m: 0.0,
            dipole: DVec3::ZERO,
            quadrupole: DMat3::ZERO,
            area_m2: 0.0,
        };
        let mut groups = vec![empty; tree.n_nodes()];
        for node in (1..tree.n_nodes()).rev() {
            groups[node] = match tree.leaf(node) {
                Some(range) => {
                    let triangles = &tree.order[range];
                    Group::of(triangles.iter().map(|t| Part::of(mesh, *t)))
                }
                None => {
                    let parts = [groups[2 * node], groups[2 * node + 1]];
                    Group::of(parts.into_iter().map(Part::from))
                }
            };
            if let Some((low, high)) = tree.node_box(node) {
                let middle = groups[node].middle_m;
                groups[node].radius_m = (middle - low).abs().max((high - middle).abs()).length();
            }
        }
        Self { mesh, tree, groups }
    }

    /// The winding number at a point.
    #[must_use]
    pub fn at(&self, point_m: DVec3) -> f64 {
        let mut sum = 0.0;
        let mut stack = vec![1_usize];
        while let Some(node) = stack.pop() {
            let group = &self.groups[node];
            let to = group.middle_m - point_m;
            let distance_squared = to.length_squared();
            let far = FAR * group.radius_m;
            if distance_squared > far * far {
                sum += group.seen_from(to, distance_squared);
                continue;
            }
            match self.tree.leaf(node) {
                Some(range) => {
                    for t in &self.tree.order[range] {
                        let [a, b, c] = self.mesh.corners(*t as usize);
                        sum += solid_angle([a - point_m, b - point_m, c - point_m]);
                    }
                }
                None => stack.extend([2 * node + 1, 2 * node]),
            }
        }
        sum / (4.0 * PI)
    }

    /// Distance to the surface, or `most_m` when it is not nearer.
    #[must_use]
    pub fn distance_m(&self, point_m: DVec3, most_m: f64) -> f64 {
        self.tree.distance(self.mesh, point_m, most_m)
    }
}

/// What a group is summed from.
struct Part {
    middle_m: DVec3,
    dipole: DVec3,
    quadrupole: DMat3,
    area_m2: f64,
}

impl Part {
    fn of(mesh: &Mesh, triangle: u32) -> Self {
        let [a, b, c] = mesh.corners(triangle as usize);
        let dipole = 0.5 * (b - a).cross(c - a);
        Self {
            middle_m: (a + b + c) / 3.0,
            dipole,
            quadrupole: DMat3::ZERO,
            area_m2: dipole.length(),
        }
    }
}

impl From<Group> for Part {
    fn from(group: Group) -> Self {
        Self {
            middle_m: group.middle_m,
            dipole: group.dipole,
            quadrupole: group.quadrupole,
            area_m2: group.area_m2,
        }
    }
}

impl Group {
    fn of(parts: impl Iterator<Item = Part> + Clone) -> Self {
        let (mut weighted, mut area_m2, mut plain, mut n) = (DVec3::ZERO, 0.0, DVec3::ZERO, 0.0);
        for part in parts.clone().filter(|part| part.area_m2 > 0.0) {
            weighted += part.middle_m * part.area_m2;
            area_m2 += part.area_m2;
            plain += part.middle_m;
            n += 1.0;
        }
        let middle_m = if area_m2 > 0.0 {
            weighted / area_m2
        } else {
            plain / f64::max(n, 1.0)
        };
        let (mut dipole, mut quadrupole) = (DVec3::ZERO, DMat3::ZERO);
        for part in parts {
            let way = part.middle_m - middle_m;
            dipole += part.dipole;
            quadrupole += part.quadrupole
                + DMat3::from_cols(
                    part.dipole * way.x,
                    part.dipole * way.y,
                    part.dipole * way.z,
                );
        }
        Self {
            middle_m,
            radius_m: 0.0,
            dipole,
            quadrupole,
            area_m2,
        }
    }

    /// Solid angle of the group by its series; `to` leads from the point to its middle.
    fn seen_from(&self, to: DVec3, distance_squared: f64) -> f64 {
        let inverse = 1.0 / (distance_squared * distance_squared.sqrt());
        let q = &self.quadrupole;
        let trace = q.x_axis.x + q.y_axis.y + q.z_axis.z;
        let second = trace - 3.0 * to.dot(*q * to) / distance_squared;
        inverse * (self.dipole.dot(to) + second)
    }
}

/// Signed solid angle of a triangle seen from the origin.
///
/// # Source
/// A. Van Oosterom, J. Strackee, The solid angle of a plane triangle, IEEE
/// Trans. Biomedical Engineering BME-30 (1983).
fn solid_angle([a, b, c]: [DVec3; 3]) -> f64 {
    let (la, lb, lc) = (a.length(), b.length(), c.length());
    let above = a.dot(b.cross(c));
    let below = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
    // Most triangles are small from where they are seen: a series within 1e-9 will do.
    let ratio = above / below;
    if below > 0.0 && ratio.abs() < 0.05 {
        let square = ratio * ratio;
        return 2.0 * ratio * (1.0 - square * (1.0 / 3.0 - square * (0.2 - square / 7.0)));
    }
    2.0 * above.atan2(below)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_closed_box_winds_once_inside_and_not_outside() {
        let mesh = Mesh::cuboid(DVec3::new(0.2, 0.1, 0.3));
        let winding = Winding::new(&mesh);
        assert!((winding.at(DVec3::new(0.03, -0.02, 0.1)) - 1.0).abs() < 1e-12);
        assert!(winding.at(DVec3::new(0.3, 0.0, 0.1)).abs() < 1e-3);
    }

    #[test]
    fn the_tree_agrees_with_the_sum_over_all_triangles() {
        let mesh = include_bytes!("../checks/meshes/open_broken.ply");
        let options = crate::read::ReadOptions {
            unit: Some(crate::read::Unit::Mm),
            up: None,
        };
        let scan = crate::read::read(mesh, "open_broken.ply", &options).expect("reads");
        let mut mesh = crate::repair::repair(&scan.mesh, |_| 0.0)
            .expect("mends")
            .mesh;
        let below: Vec<[u32; 3]> = (0..mesh.triangles.len())
            .filter(|t| mesh.corners(*t)[0].z < 0.01)
            .map(|t| mesh.triangles[t])
            .collect();
        mesh.triangles = below;
        let winding = Winding::new(&mesh);
        for i in 0..200 {
            let part = |k: u32| f64::from(i * k % 199) / 199.0 - 0.5;
            let point = DVec3::new(part(7), part(31), part(83)) * 0.2;
            let exact: f64 = (0..mesh.triangles.len())
                .map(|t| solid_angle(mesh.corners(t).map(|v| v - point)))
                .sum::<f64>()
                / (4.0 * PI);
            let fast = winding.at(point);
            assert!((fast - exact).abs() < 0.01, "{fast}, exactly {exact}");
        }
    }

    #[test]
    fn in_the_plane_of_a_missing_face_it_is_a_half() {
        // Closed form: from there the missing face fills half of all directions.
        let mut mesh = Mesh::cuboid(DVec3::new(0.2, 0.1, 0.3));
        let top = |t: &[u32; 3]| t.iter().all(|v| mesh.vertices_m[*v as usize].z > 0.0);
        let kept = mesh.triangles.iter().copied().filter(|t| !top(t)).collect();
        mesh.triangles = kept;
        let w = Winding::new(&mesh).at(DVec3::new(0.01, 0.02, 0.15));
        assert!((w - 0.5).abs() < 1e-9, "{w}");
    }
}
