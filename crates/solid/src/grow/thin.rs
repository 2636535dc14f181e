//! How a mesh loses triangles where it can best spare them, and stays a manifold.

use std::cmp::{Ordering, Reverse};
use std::collections::BinaryHeap;

use glam::{DMat3, DVec3};

use crate::Mesh;

/// Weight of an edge's length against its error: keeps triangles on even ground
/// small enough to carry the colours.
const EVENNESS: f64 = 3e-3;

/// Most edges that may meet in one vertex; more make a fan of slivers.
const MOST_SPOKES: usize = 12;

/// Collapses edges, cheapest first, until at most `target` triangles are left.
///
/// An edge goes only if its ends share exactly two neighbours, which keeps a
/// closed manifold one (T. Dey et al., Topology preserving edge contraction,
/// 1999), and if no triangle beside it turns over. So it may end early.
///
/// # Source
/// M. Garland, P. Heckbert, Surface simplification using quadric error metrics,
/// SIGGRAPH 1997.
pub(super) fn thin(mesh: &Mesh, target: usize) -> Mesh {
    let mut thinner = Thinner::new(mesh);
    while thinner.n_alive > target {
        let Some(Reverse(edge)) = thinner.open.pop() else {
            break;
        };
        let [a, b] = edge.ends;
        let current = thinner.stamps[a as usize] == edge.stamps[0]
            && thinner.stamps[b as usize] == edge.stamps[1];
        if current && thinner.may_collapse(a, b, edge.place) {
            thinner.collapse(a, b, edge.place);
        }
    }
    thinner.into_mesh()
}

/// The sum of squared distances to planes, as a function of place.
#[derive(Clone, Copy, Default)]
struct Quadric {
    square: DMat3,
    linear: DVec3,
    constant: f64,
}

impl Quadric {
    fn plane(normal: DVec3, through: DVec3, weight: f64) -> Self {
        let offset = -normal.dot(through);
        Self {
            square: DMat3::from_cols(normal * normal.x, normal * normal.y, normal * normal.z)
                * weight,
            linear: normal * (offset * weight),
            constant: offset * offset * weight,
        }
    }

    fn plus(&self, other: &Self) -> Self {
        Self {
            square: self.square + other.square,
            linear: self.linear + other.linear,
            constant: self.constant + other.constant,
        }
    }

    fn at(&self, p: DVec3) -> f64 {
        (self.square * p).dot(p) + 2.0 * self.linear.dot(p) + self.constant
    }

    /// The place of least error, when the planes meet well enough to tell.
    fn least(&self) -> Option<DVec3> {
        let size = self.square.x_axis.x + self.square.y_axis.y + self.square.z_axis.z;
        let sharp = self.square.determinant() > 1e-5 * size * size * size;
        sharp.then(|| self.square.inverse() * -self.linear)
    }
}

/// An edge with what its collapse would cost; ordered by cost, then by its ends.
struct Edge {
    cost: f64,
    ends: [u32; 2],
    stamps: [u32; 2],
    place: DVec3,
}

impl Ord for Edge {
    fn cmp(&self, other: &Self) -> Ordering {
        self.cost
            .total_cmp(&other.cost)
            .then(self.ends.cmp(&other.ends))
            .then(self.stamps.cmp(&other.stamps))
    }
}

impl PartialOrd for Edge {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Edge {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Edge {}

struct Thinner {
    places: Vec<DVec3>,
    quadrics: Vec<Quadric>,
    /// Changes whenever the vertex moves, so that old edges are known as such.
    stamps: Vec<u32>,
    triangles: Vec<[u32; 3]>,
    alive: Vec<bool>,
    n_alive: usize,
    around: Vec<Vec<u32>>,
    open: BinaryHeap<Reverse<Edge>>,
}

impl Thinner {
    fn new(mesh: &Mesh) -> Self {
        let n = mesh.vertices_m.len();
        let mut thinner = Self {
            places: mesh.vertices_m.clone(),
            quadrics: vec![Quadric::default(); n],
            stamps: vec![0; n],
            triangles: mesh.triangles.clone(),
            alive: vec![true; mesh.triangles.len()],
            n_alive: mesh.triangles.len(),
            around: vec![Vec::with_capacity(8); n],
            open: BinaryHeap::new(),
        };
        for (index, triangle) in mesh.triangles.iter().enumerate() {
            let [a, b, c] = mesh.corners(index);
            let area = (b - a).cross(c - a);
            let size = area.length();
            let plane = Quadric::plane(area.normalize_or_zero(), a, size);
            for corner in triangle {
                let corner = *corner as usize;
                thinner.quadrics[corner] = thinner.quadrics[corner].plus(&plane);
                thinner.around[corner].push(index as u32);
            }
        }
        let edges: Vec<Reverse<Edge>> = mesh
            .triangles
            .iter()
            .flat_map(|t| [[t[0], t[1]], [t[1], t[2]], [t[2], t[0]]])
            .filter(|[from, to]| from < to)
            .map(|[from, to]| Reverse(thinner.edge(from, to)))
            .collect();
        thinner.open = edges.into();
        thinner
    }

    fn edge(&self, a: u32, b: u32) -> Edge {
        let ends = [a.min(b), a.max(b)];
        let [one, other] = ends.map(|end| self.places[end as usize]);
        let sum = self.quadrics[ends[0] as usize].plus(&self.quadrics[ends[1] as usize]);
        let middle = 0.5 * (one + other);
        let length = one.distance(other);
        let place = sum
            .least()
            .filter(|p| p.distance(middle) < length)
            .unwrap_or(middle);
        let evenness = EVENNESS * length.powi(4);
        Edge {
            cost: sum.at(place).max(0.0) + evenness,
            ends,
            stamps: ends.map(|end| self.stamps[end as usize]),
            place,
        }
    }

    /// The vertices joined to `a`, each once, in the order of its triangles.
    fn neighbours(&self, a: u32) -> impl Iterator<Item = u32> {
        self.around[a as usize].iter().map(move |index| {
            let triangle = self.triangles[*index as usize];
            // Round a closed fan, each neighbour follows `a` in just one triangle.
            match triangle.iter().position(|corner| *corner == a) {
                Some(at) => triangle[(at + 1) % 3],
                None => a,
            }
        })
    }

    fn may_collapse(&self, a: u32, b: u32, place: DVec3) -> bool {
        let spokes = self.around[a as usize].len() + self.around[b as usize].len();
        if spokes > MOST_SPOKES + 4 {
            return false;
        }
        let shared = self
            .neighbours(a)
            .filter(|n| self.neighbours(b).any(|m| m == *n))
            .count();
        shared == 2 && self.keeps_side(a, b, place) && self.keeps_side(b, a, place)
    }

    /// Whether the triangles at `from` that don't hold `with` keep facing their way.
    fn keeps_side(&self, from: u32, with: u32, place: DVec3) -> bool {
        self.around[from as usize].iter().all(|index| {
            let triangle = self.triangles[*index as usize];
            if triangle.contains(&with) {
                return true;
            }
            let before = triangle.map(|corner| self.places[corner as usize]);
            let after = triangle.map(|corner| {
                if corner == from {
                    place
                } else {
                    self.places[corner as usize]
                }
            });
            let area = |[a, b, c]: [DVec3; 3]| (b - a).cross(c - a);
            let (old, new) = (area(before), area(after));
            let longest = after[0]
                .distance_squared(after[1])
                .max(after[1].distance_squared(after[2]))
                .max(after[2].distance_squared(after[0]));
            old.dot(new) > 0.3 * old.length() * new.length() && new.length() > 0.15 * longest
        })
    }

    fn collapse(&mut self, a: u32, b: u32, place: DVec3) {
        for index in std::mem::take(&mut self.around[b as usize]) {
            let triangle = &mut self.triangles[index as usize];
            if triangle.contains(&a) {
                self.alive[index as usize] = false;
                self.n_alive -= 1;
                let gone = *triangle;
                for corner in gone.into_iter().filter(|corner| *corner != b) {
                    self.around[corner as usize].retain(|other| *other != index);
                }
            } else {
                for corner in triangle.iter_mut().filter(|corner| **corner == b) {
                    *corner = a;
                }
                self.around[a as usize].push(index);
            }
        }
        let (kept, lost) = (a as usize, b as usize);
        self.places[kept] = place;
        self.quadrics[kept] = self.quadrics[kept].plus(&self.quadrics[lost]);
        self.stamps[kept] += 1;
        self.stamps[lost] += 1;
        let neighbours: Vec<u32> = self.neighbours(a).collect();
        for neighbour in neighbours {
            let edge = self.edge(a, neighbour);
            self.open.push(Reverse(edge));
        }
    }

    fn into_mesh(self) -> Mesh {
        let mut renumbered = vec![u32::MAX; self.places.len()];
        let mut mesh = Mesh::default();
        for (index, triangle) in self.triangles.iter().enumerate() {
            if !self.alive[index] {
                continue;
            }
            mesh.triangles.push(triangle.map(|corner| {
                let number = &mut renumbered[corner as usize];
                if *number == u32::MAX {
                    *number = mesh.vertices_m.len() as u32;
                    mesh.vertices_m.push(self.places[corner as usize]);
                }
                *number
            }));
        }
        mesh
    }
}
