//! How far a point is from the surface of a piece, and which way is out.

use glam::DVec3;
use rayon::prelude::*;
use solid::{Mesh, bvh::Bvh};

/// Nodes along the longest side.
const NODES: f64 = 56.0;
/// Nodes are not closer than this, m.
const LEAST_CELL_M: f64 = 5e-4;
/// Nodes within so many cells of the surface know their distance,
const BAND_CELLS: f64 = 2.0;
/// and within so far, m.
const BAND_M: f64 = 4.5e-3;
/// Stands for a distance beyond the band.
const FAR: f32 = f32::MAX;

/// Signed distances to a closed surface at the nodes of a grid, near that surface.
///
/// Exact at the nodes and on flat surfaces, linear between; a sharp edge is
/// rounded by about a third of a cell.
#[derive(Debug, Clone)]
pub(crate) struct DistanceField {
    low: DVec3,
    cell_m: f64,
    n: [usize; 3],
    distances_m: Vec<f32>,
}

impl DistanceField {
    /// Measures the distances round a closed mesh.
    pub fn of(mesh: &Mesh, bvh: &Bvh) -> Option<Self> {
        let (low, high) = mesh.bounds()?;
        let cell_m = ((high - low).max_element() / NODES).max(LEAST_CELL_M);
        let band_cells = BAND_CELLS.max(BAND_M / cell_m);
        let margin = DVec3::splat((band_cells + 1.0) * cell_m);
        let low = low - margin;
        let spans = (high + margin - low) / cell_m;
        let n = spans.to_array().map(|s| s.ceil() as usize + 1);
        let mut field = Self {
            low,
            cell_m,
            n,
            distances_m: Vec::new(),
        };
        let near = field.near_surface(mesh, band_cells);
        let known: Vec<f32> = near
            .par_iter()
            .map(|node| {
                let point = field.place(*node as usize);
                let distance = bvh
                    .closest(point, f64::INFINITY)
                    .map_or(0.0, |c| c.distance_m);
                let signed = if bvh.contains(point) {
                    -distance
                } else {
                    distance
                };
                signed as f32
            })
            .collect();
        field.distances_m = vec![FAR; n[0] * n[1] * n[2]];
        for (node, distance) in near.iter().zip(known) {
            field.distances_m[*node as usize] = distance;
        }
        field.fill_inside();
        Some(field)
    }

    fn place(&self, node: usize) -> DVec3 {
        let [nx, ny, _] = self.n;
        self.low
            + self.cell_m
                * DVec3::new(
                    (node % nx) as f64,
                    (node / nx % ny) as f64,
                    (node / (nx * ny)) as f64,
                )
    }

    /// Nodes in the boxes round the triangles, widened by the band; rising.
    fn near_surface(&self, mesh: &Mesh, band_cells: f64) -> Vec<u32> {
        let [nx, ny, nz] = self.n;
        let mut marked = vec![false; nx * ny * nz];
        let band = DVec3::splat(band_cells);
        for t in 0..mesh.triangles.len() {
            let corners = mesh.corners(t).map(|c| (c - self.low) / self.cell_m);
            for [a, b, c] in small(corners) {
                let first = (a.min(b).min(c) - band).ceil().max(DVec3::ZERO);
                let last = (a.max(b).max(c) + band).floor();
                for k in first.z as usize..=(last.z as usize).min(nz - 1) {
                    for j in first.y as usize..=(last.y as usize).min(ny - 1) {
                        let row = (k * ny + j) * nx;
                        let to = (last.x as usize).min(nx - 1);
                        marked[row + first.x as usize..=row + to].fill(true);
                    }
                }
            }
        }
        (0..marked.len() as u32)
            .filter(|node| marked[*node as usize])
            .collect()
    }

    /// Nodes beyond the band on the inside are marked so, row by row.
    fn fill_inside(&mut self) {
        let nx = self.n[0];
        for row in self.distances_m.chunks_mut(nx) {
            let mut inside = false;
            for distance in row {
                if *distance == FAR {
                    if inside {
                        *distance = -FAR;
                    }
                } else {
                    inside = *distance < 0.0;
                }
            }
        }
    }

    /// Signed distance of a point in the piece frame, m, and the way out;
    /// `None` away from the surface.
    pub fn at(&self, point: DVec3) -> Option<(f64, DVec3)> {
        let place = (point - self.low) / self.cell_m;
        let floor = place.floor();
        if !(place.cmpge(DVec3::ZERO).all()) {
            return None;
        }
        let (i, j, k) = (floor.x as usize, floor.y as usize, floor.z as usize);
        let [nx, ny, nz] = self.n;
        if i + 1 >= nx || j + 1 >= ny || k + 1 >= nz {
            return None;
        }
        let first = (k * ny + j) * nx + i;
        let mut d = [0.0; 8];
        for (corner, value) in d.iter_mut().enumerate() {
            let node = first + (corner & 1) + (corner >> 1 & 1) * nx + (corner >> 2) * nx * ny;
            let distance = self.distances_m[node];
            if distance.abs() == FAR {
                return None;
            }
            *value = f64::from(distance);
        }
        let f = place - floor;
        let mix = |a: f64, b: f64, t: f64| a + t * (b - a);
        let along_x = [0, 2, 4, 6].map(|c| mix(d[c], d[c + 1], f.x));
        let along_y = [
            mix(along_x[0], along_x[1], f.y),
            mix(along_x[2], along_x[3], f.y),
        ];
        let slopes_x = [0, 2, 4, 6].map(|c| d[c + 1] - d[c]);
        let gradient = DVec3::new(
            mix(
                mix(slopes_x[0], slopes_x[1], f.y),
                mix(slopes_x[2], slopes_x[3], f.y),
                f.z,
            ),
            mix(along_x[1] - along_x[0], along_x[3] - along_x[2], f.z),
            along_y[1] - along_y[0],
        );
        let out = gradient.try_normalize()?;
        Some((mix(along_y[0], along_y[1], f.z), out))
    }
}

/// Pieces of a triangle (in cells) whose boxes are not much larger than they are.
fn small([a, b, c]: [DVec3; 3]) -> Vec<[DVec3; 3]> {
    let mut open = vec![[a, b, c]];
    let mut done = Vec::new();
    while let Some([a, b, c]) = open.pop() {
        let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
        if longest <= 3.0 {
            done.push([a, b, c]);
        } else {
            let (ab, bc, ca) = (0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a));
            open.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
        }
    }
    done
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_s_face_is_met_exactly() {
        let mesh = Mesh::cuboid(DVec3::new(0.1, 0.06, 0.05));
        let field = DistanceField::of(&mesh, &Bvh::build(&mesh)).expect("a box has a size");
        for above in [-0.003, 0.0007, 0.0031] {
            let (distance, out) = field
                .at(DVec3::new(0.013, -0.004, 0.025 + above))
                .expect("near the top");
            assert!((distance - above).abs() < 1e-8, "{distance} for {above}");
            assert!(out.distance(DVec3::Z) < 1e-5);
        }
        assert_eq!(field.at(DVec3::new(0.0, 0.0, 0.2)), None);
    }
}
