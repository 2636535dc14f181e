//! How far a point is from the surface of a piece, and which way is out.

use glam::DVec3;
use rayon::prelude::*;
use solid::{Mesh, bvh::Bvh};

/// Cells across the mean thickness, 4 V/A: the diameter of a stick.
const CELLS_ACROSS: f64 = 6.0;
/// Cells along the longest side: at least and at most.
const CELLS_ALONG: (f64, f64) = (56.0, 320.0);
/// Cells are not smaller than this, m.
const LEAST_CELL_M: f64 = 5e-4;
/// Nodes within so many cells of the surface know their distance,
const BAND_CELLS: f64 = 2.0;
/// and within so far, m.
const BAND_M: f64 = 4.5e-3;
/// Cells along a block. A block has a node more along each side, which it shares
/// with the next block, so that a cell is looked up in one block.
const BLOCK: usize = 8;
/// Nodes of a block.
const BLOCK_NODES: usize = (BLOCK + 1) * (BLOCK + 1) * (BLOCK + 1);
/// A block that was not needed.
const NO_BLOCK: u32 = u32::MAX;
/// Stands for a distance beyond the band.
const FAR: f32 = f32::MAX;

/// Signed distances to a closed surface at the nodes of a grid, kept in blocks
/// near that surface alone.
///
/// Exact at the nodes and on flat surfaces, linear between; a sharp edge is
/// rounded by about a third of a cell.
#[derive(Debug, Clone)]
pub(crate) struct DistanceField {
    low: DVec3,
    cell_m: f64,
    n_blocks: [usize; 3],
    places: Vec<u32>,
    blocks: Vec<Vec<f32>>,
    rough: Rough,
}

/// Distances, without sign, at the nodes of a coarse grid over the whole box.
#[derive(Debug, Clone)]
struct Rough {
    low: DVec3,
    high: DVec3,
    cell_m: f64,
    n: [usize; 3],
    distances_m: Vec<f32>,
}

/// Cells of the coarse grid along the longest side.
const ROUGH_CELLS: f64 = 14.0;

impl Rough {
    fn of(low: DVec3, high: DVec3, bvh: &Bvh) -> Self {
        let cell_m = (high - low).max_element() / ROUGH_CELLS;
        let n = ((high - low) / cell_m)
            .to_array()
            .map(|s| s.ceil() as usize + 1);
        let distances_m = (0..n[1] * n[2])
            .into_par_iter()
            .flat_map_iter(|row| {
                let (j, k) = ((row % n[1]) as f64, (row / n[1]) as f64);
                let mut within = f64::INFINITY;
                (0..n[0])
                    .map(|i| {
                        let point = low + cell_m * DVec3::new(i as f64, j, k);
                        let near = bvh.closest(point, within);
                        let distance = near.map_or(0.0, |c| c.distance_m);
                        within = distance + cell_m * (1.0 + 1e-9);
                        distance as f32
                    })
                    .collect::<Vec<f32>>()
            })
            .collect();
        Self {
            low,
            high,
            cell_m,
            n,
            distances_m,
        }
    }

    /// A point is at least so far from the surface: no distance changes by more
    /// than the way gone.
    fn at_least(&self, point: DVec3) -> f64 {
        let inside = point.clamp(self.low, self.high);
        let beyond = point.distance(inside);
        let place = ((inside - self.low) / self.cell_m).round();
        let [i, j, k] = [place.x as usize, place.y as usize, place.z as usize];
        let node = (k.min(self.n[2] - 1) * self.n[1] + j.min(self.n[1] - 1)) * self.n[0]
            + i.min(self.n[0] - 1);
        let at_node = self.low + self.cell_m * place;
        let distance = f64::from(self.distances_m[node]);
        (distance - point.distance(at_node)).max(beyond)
    }
}

impl DistanceField {
    /// Measures the distances round a closed mesh of the given volume.
    pub fn of(mesh: &Mesh, volume_m3: f64, bvh: &Bvh) -> Option<Self> {
        let (low, high) = mesh.bounds()?;
        let long = (high - low).max_element();
        let thickness = 4.0 * volume_m3 / mesh.area_m2().max(f64::MIN_POSITIVE);
        let cell_m = (thickness / CELLS_ACROSS)
            .clamp(long / CELLS_ALONG.1, long / CELLS_ALONG.0)
            .max(LEAST_CELL_M);
        let band_cells = BAND_CELLS.max(BAND_M / cell_m);
        let margin = DVec3::splat((band_cells + 1.0) * cell_m);
        let spans = (high - low + 2.0 * margin) / (cell_m * BLOCK as f64);
        let n_blocks = spans.to_array().map(|s| s.ceil().max(1.0) as usize);
        let mut field = Self {
            low: low - margin,
            cell_m,
            n_blocks,
            places: vec![NO_BLOCK; n_blocks.iter().product()],
            blocks: Vec::new(),
            rough: Rough::of(low, high, bvh),
        };
        let near = field.near_surface(mesh, band_cells);
        for (k, block) in near.iter().enumerate() {
            field.places[*block] = k as u32;
        }
        field.blocks = near
            .par_iter()
            .map(|block| field.measured(*block, bvh, band_cells * cell_m))
            .collect();
        Some(field)
    }

    /// Blocks in the boxes round the triangles, widened by the band; rising.
    fn near_surface(&self, mesh: &Mesh, band_cells: f64) -> Vec<usize> {
        let [nx, ny, nz] = self.n_blocks;
        let mut marked = vec![false; nx * ny * nz];
        let band = DVec3::splat(band_cells);
        let block = |v: f64, n: usize| ((v / BLOCK as f64).floor().max(0.0) as usize).min(n - 1);
        for t in 0..mesh.triangles.len() {
            let corners = mesh.corners(t).map(|c| (c - self.low) / self.cell_m);
            for [a, b, c] in small(corners) {
                let first = a.min(b).min(c) - band;
                let last = a.max(b).max(c) + band;
                for k in block(first.z, nz)..=block(last.z, nz) {
                    for j in block(first.y, ny)..=block(last.y, ny) {
                        let row = (k * ny + j) * nx;
                        marked[row + block(first.x, nx)..=row + block(last.x, nx)].fill(true);
                    }
                }
            }
        }
        (0..marked.len()).filter(|b| marked[*b]).collect()
    }

    /// The nodes of one block.
    fn measured(&self, block: usize, bvh: &Bvh, band_m: f64) -> Vec<f32> {
        let [nx, ny, _] = self.n_blocks;
        let first = DVec3::new(
            (block % nx) as f64,
            (block / nx % ny) as f64,
            (block / (nx * ny)) as f64,
        ) * BLOCK as f64;
        let n = BLOCK + 1;
        let mut nodes: Vec<f64> = Vec::with_capacity(BLOCK_NODES);
        for node in 0..BLOCK_NODES {
            let place = first
                + DVec3::new(
                    (node % n) as f64,
                    (node / n % n) as f64,
                    (node / (n * n)) as f64,
                );
            let point = self.low + self.cell_m * place;
            let before = [(node % n, 1), (node / n % n, n), (node / (n * n), n * n)];
            let neighbours: Vec<f64> = before
                .into_iter()
                .filter(|(index, _)| *index > 0)
                .map(|(_, step)| nodes[node - step])
                .filter(|d| d.is_finite())
                .collect();
            // No distance changes by more than the way gone: from a neighbour's it
            // is known how far to look, and where the two together are more than
            // the way between, the surface does not pass there and the side is the same.
            let within = neighbours
                .iter()
                .map(|d| d.abs() + self.cell_m * (1.0 + 1e-9))
                .fold(band_m, f64::min);
            nodes.push(bvh.closest(point, within).map_or(f64::INFINITY, |near| {
                let distance = near.distance_m;
                let same = neighbours
                    .iter()
                    .find(|d| d.abs() + distance > self.cell_m * (1.0 + 1e-6));
                let inside = same.map_or_else(|| bvh.contains(point), |d| *d < 0.0);
                if inside { -distance } else { distance }
            }));
        }
        nodes
            .into_iter()
            .map(|d| if d.is_finite() { d as f32 } else { FAR })
            .collect()
    }

    /// The distances at the corners of the cell that holds a place in cells, and
    /// the place within it.
    fn cell(&self, place: DVec3) -> Option<([f64; 8], DVec3)> {
        if !place.cmpge(DVec3::ZERO).all() {
            return None;
        }
        let floor = place.floor();
        let at = [floor.x as usize, floor.y as usize, floor.z as usize];
        let [nx, ny, nz] = self.n_blocks;
        let [i, j, k] = at.map(|c| c / BLOCK);
        if i >= nx || j >= ny || k >= nz {
            return None;
        }
        let block = self.places[(k * ny + j) * nx + i];
        let nodes = self.blocks.get(block as usize)?;
        let n = BLOCK + 1;
        let [x, y, z] = at.map(|c| c % BLOCK);
        let first = (z * n + y) * n + x;
        let mut distances = [0.0; 8];
        for (corner, value) in distances.iter_mut().enumerate() {
            let node = first + (corner & 1) + (corner >> 1 & 1) * n + (corner >> 2) * n * n;
            if nodes[node] == FAR {
                return None;
            }
            *value = f64::from(nodes[node]);
        }
        Some((distances, place - floor))
    }

    /// A point of the piece frame is at least so far from the surface, m.
    pub fn at_least(&self, point: DVec3) -> f64 {
        self.rough.at_least(point)
    }

    /// Signed distance of a point in the piece frame, m, and the way out;
    /// `None` away from the surface.
    pub fn at(&self, point: DVec3) -> Option<(f64, DVec3)> {
        let (d, f) = self.cell((point - self.low) / self.cell_m)?;
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
        let field = DistanceField::of(&mesh, 0.3e-3, &Bvh::build(&mesh)).expect("a box has a size");
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
