//! How a distance field becomes one closed, manifold mesh.

use glam::{DVec3, USizeVec3};

use super::body::Body;
use crate::Mesh;

/// Rounds of evening out, each followed by drawing onto the field.
const ROUNDS: usize = 2;

/// Skins `body` with cells of the given edge, by surface nets.
///
/// The surface is followed from cell to cell outwards from the heart, so that
/// only the field next to it is ever read, and hollows and crumbs are never met.
/// On the way the field is freed of places where two parts touch in a mere edge
/// or corner (L. Latecki et al., Well-composed sets, 1995): the net of what is
/// left is a manifold. Then the vertices are evened out and drawn onto the field.
///
/// # Source
/// S. Gibson, Constrained elastic surface nets, MICCAI 1998.
pub(super) fn skin(body: &dyn Body, cell: f64) -> Mesh {
    let mut grid = Grid::new(body, cell);
    let mut shell = Shell::default();
    for start in grid.crossings() {
        while grid.follow(start, &mut shell) {}
        if grid.volume(&shell) > 0.0 {
            break;
        }
    }
    let mut mesh = grid.net(&shell);
    let start = mesh.vertices_m.clone();
    let slopes: Vec<DVec3> = shell.cells.iter().map(|at| grid.slope(*at)).collect();
    for _ in 0..ROUNDS {
        even_out(&mut mesh, &slopes);
        even_out(&mut mesh, &slopes);
        for ((vertex, start), slope) in mesh.vertices_m.iter_mut().zip(&start).zip(&slopes) {
            let steep = slope.length_squared().max(0.25);
            let way = *slope * (-body.distance(*vertex) / steep);
            *vertex += way.clamp_length_max(0.5 * cell);
            *vertex = *start + (*vertex - *start).clamp_length_max(0.9 * cell);
        }
    }
    mesh
}

/// The cells that one connected part of the surface runs through, in the order they were met.
#[derive(Default)]
struct Shell {
    cells: Vec<usize>,
}

struct Grid<'a> {
    body: &'a dyn Body,
    low: DVec3,
    cell: f64,
    points: USizeVec3,
    /// Field at the points; NaN where it hasn't been read.
    values: Vec<f32>,
    /// For each cell, by its first corner: its place in the shell, or `NOT_MET`.
    numbers: Vec<u32>,
}

const NOT_MET: u32 = u32::MAX;

impl<'a> Grid<'a> {
    fn new(body: &'a dyn Body, cell: f64) -> Self {
        let (low, high) = body.bounds();
        let points = ((high - low) / cell).ceil().as_usizevec3() + USizeVec3::splat(6);
        let n = points.element_product();
        Self {
            body,
            low: low - DVec3::splat(2.5 * cell),
            cell,
            points,
            values: vec![f32::NAN; n],
            numbers: vec![NOT_MET; n],
        }
    }

    fn strides(&self) -> [usize; 3] {
        [1, self.points.x, self.points.x * self.points.y]
    }

    fn coordinates(&self, at: usize) -> USizeVec3 {
        let [_, row, sheet] = self.strides();
        USizeVec3::new(at % row, at % sheet / row, at / sheet)
    }

    fn place(&self, at: usize) -> DVec3 {
        self.low + self.coordinates(at).as_dvec3() * self.cell
    }

    /// The field at a point; outside on the rim, whatever the body says.
    fn read(&mut self, at: usize) -> f32 {
        if self.values[at].is_nan() {
            let c = self.coordinates(at);
            let rim = c.min_element() == 0 || (self.points - c).min_element() <= 2;
            let there = self.body.distance(self.place(at)) as f32;
            let outside = self.cell as f32;
            self.values[at] = if rim || there.is_nan() {
                outside
            } else {
                there
            };
        }
        self.values[at]
    }

    fn inner(&self, at: usize) -> bool {
        self.values[at] < 0.0
    }

    /// Cells where a line up from the heart of the body crosses its surface.
    fn crossings(&mut self) -> Vec<usize> {
        let from = ((self.body.heart() - self.low) / self.cell)
            .round()
            .as_usizevec3()
            .min(self.points - USizeVec3::splat(3));
        let [_, row, sheet] = self.strides();
        let foot = from.x + from.y * row;
        (from.z..self.points.z - 2)
            .map(|z| foot + z * sheet)
            .filter(|at| (self.read(*at) < 0.0) != (self.read(*at + sheet) < 0.0))
            .collect()
    }

    /// Follows the surface through all its cells, filling points where parts
    /// touch; returns whether that changed a cell already met.
    fn follow(&mut self, start: usize, shell: &mut Shell) -> bool {
        for at in shell.cells.drain(..) {
            self.numbers[at] = NOT_MET;
        }
        let strides = self.strides();
        let mut filled = false;
        self.meet(start, shell);
        let mut next = 0;
        while let Some(at) = shell.cells.get(next).copied() {
            next += 1;
            for corner in corners(at, strides) {
                self.read(corner);
            }
            while let Some(point) = self.touching(at, strides) {
                self.values[point] = -1e-3 * self.cell as f32;
                filled = true;
            }
            for (axis, stride) in strides.into_iter().enumerate() {
                let (u, v) = (strides[(axis + 1) % 3], strides[(axis + 2) % 3]);
                for (face, beyond) in [(at, at.wrapping_sub(stride)), (at + stride, at + stride)] {
                    let first = self.inner(face);
                    if [u, v, u + v].iter().any(|o| self.inner(face + o) != first) {
                        self.meet(beyond, shell);
                    }
                }
            }
        }
        filled
    }

    fn meet(&mut self, at: usize, shell: &mut Shell) {
        if self.numbers[at] == NOT_MET {
            self.numbers[at] = shell.cells.len() as u32;
            shell.cells.push(at);
        }
    }

    /// The outer point to fill in the cell at `at`, when parts touch there.
    fn touching(&self, at: usize, strides: [usize; 3]) -> Option<usize> {
        let nearer = |a: usize, b: usize| {
            if self.values[b] < self.values[a] {
                b
            } else {
                a
            }
        };
        for axis in 0..3 {
            let (u, v, w) = (
                strides[(axis + 1) % 3],
                strides[(axis + 2) % 3],
                strides[axis],
            );
            for face in [at, at + w] {
                let [a, b, c, d] = [face, face + u, face + u + v, face + v];
                let [ia, ib] = [self.inner(a), self.inner(b)];
                if ia != ib && ia == self.inner(c) && ib == self.inner(d) {
                    return Some(if ia { nearer(b, d) } else { nearer(a, c) });
                }
            }
        }
        let corner = corners(at, strides);
        let n_inner = corner.iter().filter(|c| self.inner(**c)).count();
        if n_inner != 2 && n_inner != 6 {
            return None;
        }
        for n in 0..4 {
            let (one, other) = (corner[n], corner[7 - n]);
            if self.inner(one) != self.inner(other) || self.inner(one) != (n_inner == 2) {
                continue;
            }
            return if n_inner == 6 {
                Some(nearer(one, other))
            } else {
                (0..8)
                    .filter(|m| *m != n && *m != 7 - n)
                    .map(|m| corner[m])
                    .reduce(nearer)
            };
        }
        None
    }

    /// One vertex a cell, in the middle of the crossings on its edges; a quad round every crossed edge.
    fn net(&self, shell: &Shell) -> Mesh {
        let strides = self.strides();
        let vertices_m: Vec<DVec3> = shell.cells.iter().map(|at| self.vertex(*at)).collect();
        let mut triangles = Vec::with_capacity(2 * vertices_m.len());
        for at in &shell.cells {
            for axis in 0..3 {
                let (u, v) = (strides[(axis + 1) % 3], strides[(axis + 2) % 3]);
                let (from, to) = (self.inner(*at), self.inner(at + strides[axis]));
                if from == to {
                    continue;
                }
                let round = [*at, at - u, at - u - v, at - v].map(|cell| self.numbers[cell]);
                let [a, b, c, d] = if from {
                    round
                } else {
                    [round[3], round[2], round[1], round[0]]
                };
                let place = |n: u32| vertices_m[n as usize];
                if place(a).distance_squared(place(c)) < place(b).distance_squared(place(d)) {
                    triangles.extend([[a, b, c], [a, c, d]]);
                } else {
                    triangles.extend([[a, b, d], [b, c, d]]);
                }
            }
        }
        Mesh {
            vertices_m,
            triangles,
            colours: Vec::new(),
        }
    }

    fn vertex(&self, at: usize) -> DVec3 {
        let strides = self.strides();
        let corner = corners(at, strides);
        let (mut sum, mut n_crossings) = (DVec3::ZERO, 0.0);
        for (from, axis) in (0..8).flat_map(|n| (0..3).map(move |axis| (n, axis))) {
            if from >> axis & 1 == 1 {
                continue;
            }
            let (a, b) = (corner[from], corner[from | 1 << axis]);
            if self.inner(a) != self.inner(b) {
                let (va, vb) = (f64::from(self.values[a]), f64::from(self.values[b]));
                let mut crossing = corner_offset(from);
                crossing[axis] += va / (va - vb);
                sum += crossing;
                n_crossings += 1.0;
            }
        }
        self.place(at) + sum * (self.cell / f64::max(n_crossings, 1.0))
    }

    /// Slope of the field over a cell, from its corners.
    fn slope(&self, at: usize) -> DVec3 {
        let corner = corners(at, self.strides());
        let sum: DVec3 = (0..8)
            .map(|n| (corner_offset(n) * 2.0 - DVec3::ONE) * f64::from(self.values[corner[n]]))
            .sum();
        sum / (4.0 * self.cell)
    }

    fn volume(&self, shell: &Shell) -> f64 {
        let mesh = self.net(shell);
        (0..mesh.triangles.len())
            .map(|t| {
                let [a, b, c] = mesh.corners(t);
                a.dot(b.cross(c)) / 6.0
            })
            .sum()
    }
}

fn corners(at: usize, [x, y, z]: [usize; 3]) -> [usize; 8] {
    [0, x, y, x + y, z, x + z, y + z, x + y + z].map(|offset| at + offset)
}

fn corner_offset(n: usize) -> DVec3 {
    DVec3::new((n & 1) as f64, (n >> 1 & 1) as f64, (n >> 2) as f64)
}

/// Moves every vertex half way to the mean of its neighbours, along the surface only.
fn even_out(mesh: &mut Mesh, slopes: &[DVec3]) {
    let mut sums = vec![(DVec3::ZERO, 0.0); mesh.vertices_m.len()];
    for triangle in &mesh.triangles {
        for side in 0..3 {
            let (from, to) = (triangle[side] as usize, triangle[(side + 1) % 3]);
            sums[from].0 += mesh.vertices_m[to as usize];
            sums[from].1 += 1.0;
        }
    }
    for ((vertex, (sum, count)), slope) in mesh.vertices_m.iter_mut().zip(sums).zip(slopes) {
        if count > 0.0 {
            let way = 0.5 * (sum / count - *vertex);
            let normal = slope.normalize_or_zero();
            *vertex += way - normal * normal.dot(way);
        }
    }
}
