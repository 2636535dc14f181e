//! How high a piece stands, or reaches down, over each cell of a grid.

use glam::{DVec2, DVec3};

/// A grid of square cells in plan, rows along x from the left front.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// The left-front corner of the first cell, metres.
    pub origin_m: DVec2,
    /// Side of a cell, metres.
    pub cell_m: f64,
    /// Cells along x.
    pub nx: usize,
    /// Cells along y.
    pub ny: usize,
}

impl Grid {
    /// The middle of a cell, metres.
    #[must_use]
    pub fn middle_m(&self, ix: usize, iy: usize) -> DVec2 {
        self.origin_m + self.cell_m * DVec2::new(ix as f64 + 0.5, iy as f64 + 0.5)
    }
}

/// What one value of a cell stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sample {
    /// The surface over the cell's middle, exactly.
    Middle,
    /// The furthest that the surface reaches anywhere over the cell: the least
    /// height for a lower map, the greatest for an upper one.
    Furthest,
}

/// Heights over a grid; NaN where the piece isn't.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightMap {
    /// The cells.
    pub grid: Grid,
    /// Heights in metres, `iy * nx + ix`; NaN where nothing is.
    pub heights_m: Vec<f64>,
}

impl HeightMap {
    /// The lowest surface of a mesh over each cell; corners in the frame of the grid.
    #[must_use]
    pub fn lower(vertices_m: &[DVec3], triangles: &[[u32; 3]], grid: Grid, sample: Sample) -> Self {
        let flipped: Vec<DVec3> = vertices_m
            .iter()
            .map(|v| DVec3::new(v.x, v.y, -v.z))
            .collect();
        let mut map = Self::upper(&flipped, triangles, grid, sample);
        for height in &mut map.heights_m {
            *height = -*height;
        }
        map
    }

    /// The highest surface of a mesh over each cell; corners in the frame of the grid.
    #[must_use]
    pub fn upper(vertices_m: &[DVec3], triangles: &[[u32; 3]], grid: Grid, sample: Sample) -> Self {
        let mut map = Self {
            grid,
            heights_m: vec![f64::NAN; grid.nx * grid.ny],
        };
        let in_cells = |v: u32| {
            let p = vertices_m[v as usize];
            let q = (p.truncate() - grid.origin_m) / grid.cell_m;
            DVec3::new(q.x, q.y, p.z)
        };
        for triangle in triangles {
            let corners = triangle.map(in_cells);
            match sample {
                Sample::Middle => map.raise_middles(corners),
                Sample::Furthest => map.raise_cells(corners),
            }
        }
        map
    }

    /// The height over a cell, or `None` where the piece isn't.
    #[must_use]
    pub fn get(&self, ix: usize, iy: usize) -> Option<f64> {
        let height = *self.heights_m.get(iy * self.grid.nx + ix)?;
        (ix < self.grid.nx && !height.is_nan()).then_some(height)
    }

    fn raise(&mut self, ix: usize, iy: usize, z: f64) {
        let height = &mut self.heights_m[iy * self.grid.nx + ix];
        // f64::max passes over NaN.
        *height = height.max(z);
    }

    /// Raises the cells whose middles lie in the triangle, edges included.
    fn raise_middles(&mut self, [a, b, c]: [DVec3; 3]) {
        let (nx, ny) = (self.grid.nx, self.grid.ny);
        let low = a.min(b).min(c);
        let high = a.max(b).max(c);
        let normal = (b - a).cross(c - a);
        for iy in span(low.y - 0.5, high.y - 0.5, ny) {
            let y = iy as f64 + 0.5;
            let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
            for (p, q) in [(a, b), (b, c), (c, a)] {
                if let Some((left, right)) = crossing(p, q, y) {
                    from = from.min(left);
                    to = to.max(right);
                }
            }
            if from > to {
                continue;
            }
            for ix in span(from - 0.5, to - 0.5, nx) {
                let x = ix as f64 + 0.5;
                let z = if normal.z == 0.0 {
                    high.z
                } else {
                    a.z - (normal.x * (x - a.x) + normal.y * (y - a.y)) / normal.z
                };
                self.raise(ix, iy, z.clamp(low.z, high.z));
            }
        }
    }

    /// Raises every cell that the triangle touches to its highest point there.
    fn raise_cells(&mut self, corners: [DVec3; 3]) {
        let (nx, ny) = (self.grid.nx, self.grid.ny);
        let (low, high) = extent(&corners);
        for iy in touched(low.y, high.y, ny) {
            let row = clip(&corners, DVec3::Y, iy as f64);
            if row.is_empty() {
                continue;
            }
            let (low, high) = extent(&row);
            for ix in touched(low.x, high.x, nx) {
                let part = clip(&row, DVec3::X, ix as f64);
                let top = part.iter().map(|p| p.z).fold(f64::NAN, f64::max);
                self.raise(ix, iy, top);
            }
        }
    }
}

/// Whole numbers in `[from, to]` and under `n`.
fn span(from: f64, to: f64, n: usize) -> std::ops::Range<usize> {
    let first = from.ceil().max(0.0);
    let last = to.floor();
    if last.is_nan() || last < first {
        return 0..0;
    }
    first as usize..(last as usize + 1).min(n)
}

/// Cells under `n` that share more than an edge with `[from, to]`, or hold it.
fn touched(from: f64, to: f64, n: usize) -> std::ops::Range<usize> {
    if !(to >= 0.0 && from < n as f64) {
        return 0..0;
    }
    let first = from.max(0.0).floor() as usize;
    let end = (to.ceil() as usize).max(first + 1);
    first..end.min(n)
}

/// Where the edge meets the line at `y`, computed alike from both of its triangles.
fn crossing(p: DVec3, q: DVec3, y: f64) -> Option<(f64, f64)> {
    let (p, q) = if (p.y, p.x) <= (q.y, q.x) {
        (p, q)
    } else {
        (q, p)
    };
    if y < p.y || y > q.y {
        return None;
    }
    if p.y == q.y {
        return Some((p.x, q.x));
    }
    let x = p.x + (q.x - p.x) * ((y - p.y) / (q.y - p.y));
    Some((x, x))
}

fn extent(points: &[DVec3]) -> (DVec3, DVec3) {
    let none = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    points
        .iter()
        .fold(none, |(low, high), p| (low.min(*p), high.max(*p)))
}

/// The part of a convex polygon with `from ≤ axis·p ≤ from + 1`.
fn clip(points: &[DVec3], axis: DVec3, from: f64) -> Vec<DVec3> {
    let above = keep(points, |p| axis.dot(p) - from);
    keep(&above, |p| from + 1.0 - axis.dot(p))
}

/// The part of a convex polygon where `inside` is not negative.
fn keep(points: &[DVec3], inside: impl Fn(DVec3) -> f64) -> Vec<DVec3> {
    let mut kept = Vec::with_capacity(points.len() + 2);
    for (i, &p) in points.iter().enumerate() {
        let q = points[(i + 1) % points.len()];
        let (at_p, at_q) = (inside(p), inside(q));
        if at_p >= 0.0 {
            kept.push(p);
        }
        if (at_p > 0.0 && at_q < 0.0) || (at_p < 0.0 && at_q > 0.0) {
            kept.push(p.lerp(q, at_p / (at_p - at_q)));
        }
    }
    kept
}
