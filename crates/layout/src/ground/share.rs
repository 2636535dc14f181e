//! How much of a piece lies in each bed, and how much under water.
//!
//! Nothing is sampled: every triangle of the closed mesh is cut by the facets of
//! the ground that it lies over, and the column under the ground's top is added
//! where the triangle faces down and taken away where it faces up.

use std::ops::Range;

use glam::{DVec2, DVec3};

use super::clip::{Plane, keep, under};
use super::error::GroundError;
use super::facet::{Facet, facets};
use super::laid::Laid;
use super::plan::PlacedSolid;

/// One piece in the ground and the water.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Volume in each bed, in order from below, m³.
    pub in_bed_m3: Vec<f64>,
    /// The same below the water's level, m³.
    pub wet_in_bed_m3: Vec<f64>,
    /// Volume above the base and below the water's level, ground or not, m³.
    pub submerged_m3: f64,
    /// Deepest point below the ground's top, m; zero when it doesn't reach in.
    pub deepest_m: f64,
    /// Least and greatest corner of its box in the tank frame, m.
    pub box_m: (DVec3, DVec3),
    /// Area of ground top that it takes up, for each cell where it does, m².
    pub covered_m2: Vec<(usize, f64)>,
}

impl Share {
    /// Whether it reaches into the ground, by more than the rounding of a piece that lies on it.
    #[must_use]
    pub fn reaches_in(&self) -> bool {
        const ROUNDING_M: f64 = 1e-6;
        self.deepest_m > ROUNDING_M
    }

    /// Volume below the ground's top, m³.
    #[must_use]
    pub fn buried_m3(&self) -> f64 {
        self.in_bed_m3.iter().sum()
    }

    /// Volume under water and above the ground, m³.
    #[must_use]
    pub fn in_free_water_m3(&self) -> f64 {
        self.submerged_m3 - self.wet_in_bed_m3.iter().sum::<f64>()
    }
}

/// Places a piece in ground that was laid, under water of a given depth.
///
/// # Equation
/// V(below h) = −Σ_T s_T ∫_T max(0, h − z_T) dA over the plan of each triangle T,
/// with s = 1 where it faces up and −1 where it faces down: for a closed mesh the
/// parts above h cancel (divergence theorem for the field (0, 0, min(z − h, 0))).
///
/// # Errors
/// When the mesh has no volume or the pose is not finite; `piece` is named.
pub fn share(
    laid: &Laid,
    piece: usize,
    solid: &PlacedSolid<'_>,
    water_depth_m: f64,
) -> Result<Share, GroundError> {
    let refuse = |reason: &str| GroundError::Piece {
        piece,
        reason: reason.to_owned(),
    };
    if !(solid.pose.centre_m.is_finite() && solid.pose.turn.is_normalized()) {
        return Err(refuse("its pose is not a finite place and a unit turn"));
    }
    let corners: Vec<DVec3> = solid
        .mesh
        .vertices_m
        .iter()
        .map(|v| solid.pose.point_in_tank(*v, solid.centre_in_piece_m))
        .collect();
    if corners.is_empty() || corners.iter().any(|c| !c.is_finite()) {
        return Err(refuse("its mesh has no corners at finite places"));
    }
    let (low, high) = corners
        .iter()
        .fold((corners[0], corners[0]), |(low, high), c| {
            (low.min(*c), high.max(*c))
        });
    let triangles: Vec<[DVec3; 3]> = solid
        .mesh
        .triangles
        .iter()
        .map(|t| t.map(|v| corners[v as usize]))
        .collect();
    let mut share = Share {
        in_bed_m3: vec![0.0; laid.beds.len()],
        wet_in_bed_m3: vec![0.0; laid.beds.len()],
        submerged_m3: submerged_m3(laid, &triangles, water_depth_m),
        deepest_m: 0.0,
        box_m: (low, high),
        covered_m2: Vec::new(),
    };
    if laid.highest_m > low.z {
        let bins = Bins::new(laid, &triangles, low, high);
        for cell in 0..bins.n_cells() {
            share.add_cell(laid, &bins, cell, &triangles, water_depth_m);
        }
    }
    Ok(share)
}

impl Share {
    fn add_cell(
        &mut self,
        laid: &Laid,
        bins: &Bins,
        bin: usize,
        triangles: &[[DVec3; 3]],
        water_depth_m: f64,
    ) {
        let here = bins.triangles(bin);
        if here.is_empty() {
            return;
        }
        let (i, j) = bins.cell(bin);
        let origin = laid.grid.place_m(i, j);
        let mut column = Column::new(laid.beds.len());
        for facet in facets(laid, i, j, |_, _| {}) {
            let top_m = facet.greatest_m(facet.top());
            for &triangle in here {
                let corners = triangles[triangle as usize];
                if corners[0].z.min(corners[1].z).min(corners[2].z) < top_m {
                    column.add(
                        &facet,
                        corners.map(|c| c - origin.extend(0.0)),
                        water_depth_m,
                    );
                }
            }
        }
        self.deepest_m = self.deepest_m.max(column.deepest_m);
        let beds = column
            .below_m3
            .windows(2)
            .zip(column.wet_below_m3.windows(2));
        for (bed, (all, wet)) in beds.enumerate() {
            self.in_bed_m3[bed] += all[1] - all[0];
            self.wet_in_bed_m3[bed] += wet[1] - wet[0];
        }
        if column.covered_m2 > 0.0 {
            self.covered_m2
                .push((laid.grid.cell(i, j), column.covered_m2));
        }
    }
}

/// What the triangles over one cell add up to.
struct Column {
    /// Volume below the base, then below the top of each bed, m³.
    below_m3: Vec<f64>,
    wet_below_m3: Vec<f64>,
    covered_m2: f64,
    deepest_m: f64,
    clipped: [Vec<DVec3>; 2],
}

impl Column {
    fn new(n_beds: usize) -> Self {
        Self {
            below_m3: vec![0.0; n_beds + 1],
            wet_below_m3: vec![0.0; n_beds + 1],
            covered_m2: 0.0,
            deepest_m: 0.0,
            clipped: [Vec::new(), Vec::new()],
        }
    }

    fn add(&mut self, facet: &Facet, triangle: [DVec3; 3], water_depth_m: f64) {
        let [from, to] = &mut self.clipped;
        from.clear();
        from.extend(triangle);
        for (k, a) in facet.corners_m.iter().enumerate() {
            let b = facet.corners_m[(k + 1) % facet.corners_m.len()];
            keep(from, |p: DVec3| (b - *a).perp_dot(p.truncate() - *a), to);
            std::mem::swap(from, to);
            if from.len() < 3 {
                return;
            }
        }
        let corners = std::mem::take(from);
        let is_dry = facet.greatest_m(facet.top()) > water_depth_m;
        for (bed, top) in facet.tops.iter().enumerate() {
            let (area, volume) = under(&corners, *top);
            self.below_m3[bed] -= volume;
            self.wet_below_m3[bed] -= if is_dry {
                under_both(&corners, *top, water_depth_m)
            } else {
                volume
            };
            if bed + 1 == facet.tops.len() {
                self.covered_m2 -= area;
            }
        }
        let top = facet.top();
        for corner in &corners {
            let depth = top.at(corner.truncate()) - corner.z;
            self.deepest_m = self.deepest_m.max(depth);
        }
        self.clipped[0] = corners;
    }
}

/// Signed integral of max(0, min(top, level) − z), m³.
fn under_both(corners: &[DVec3], top: Plane, level_m: f64) -> f64 {
    let above = |p: DVec3| top.at(p.truncate()) - level_m;
    let mut part = Vec::new();
    keep(corners, |p| -above(p), &mut part);
    let where_top_is_lower = under(&part, top).1;
    // Where the two are the same, the part belongs to one of them only.
    if corners.iter().all(|c| above(*c) <= 0.0) {
        return where_top_is_lower;
    }
    keep(corners, above, &mut part);
    where_top_is_lower + under(&part, Plane::level(level_m)).1
}

/// Volume between the base and the water's level over the plan of the inside, m³.
fn submerged_m3(laid: &Laid, triangles: &[[DVec3; 3]], water_depth_m: f64) -> f64 {
    let inside = laid.grid.inside_m;
    let (level, base) = (Plane::level(water_depth_m), Plane::ZERO);
    let (mut from, mut to) = (Vec::new(), Vec::new());
    let mut volume = 0.0;
    for triangle in triangles {
        from.clear();
        from.extend(*triangle);
        let sides: [fn(DVec3, DVec2) -> f64; 4] = [
            |p, _| p.x,
            |p, inside| inside.x - p.x,
            |p, _| p.y,
            |p, inside| inside.y - p.y,
        ];
        for side in sides {
            if from.iter().any(|p| side(*p, inside) < 0.0) {
                keep(&from, |p| side(p, inside), &mut to);
                std::mem::swap(&mut from, &mut to);
            }
        }
        volume -= under(&from, level).1 - under(&from, base).1;
    }
    volume
}

/// Which triangles lie over which cells, for the cells under a piece.
struct Bins {
    columns: Range<usize>,
    rows: Range<usize>,
    starts: Vec<u32>,
    items: Vec<u32>,
}

impl Bins {
    fn new(laid: &Laid, triangles: &[[DVec3; 3]], low: DVec3, high: DVec3) -> Self {
        let grid = &laid.grid;
        let columns = grid.columns_over(low.x, high.x);
        let rows = grid.rows_over(low.y, high.y);
        let mut bins = Self {
            starts: vec![0; columns.len() * rows.len() + 1],
            items: Vec::new(),
            columns,
            rows,
        };
        let over = |t: &[DVec3; 3]| {
            let low = t[0].min(t[1]).min(t[2]);
            let high = t[0].max(t[1]).max(t[2]);
            (
                grid.columns_over(low.x, high.x),
                grid.rows_over(low.y, high.y),
            )
        };
        for triangle in triangles {
            let (columns, rows) = over(triangle);
            for j in rows {
                for i in columns.clone() {
                    let bin = bins.bin(i, j);
                    bins.starts[bin + 1] += 1;
                }
            }
        }
        for bin in 1..bins.starts.len() {
            bins.starts[bin] += bins.starts[bin - 1];
        }
        let mut next = bins.starts.clone();
        bins.items = vec![0; bins.starts.last().map_or(0, |n| *n as usize)];
        for (index, triangle) in (0_u32..).zip(triangles) {
            let (columns, rows) = over(triangle);
            for j in rows {
                for i in columns.clone() {
                    let bin = bins.bin(i, j);
                    bins.items[next[bin] as usize] = index;
                    next[bin] += 1;
                }
            }
        }
        bins
    }

    fn bin(&self, i: usize, j: usize) -> usize {
        (j - self.rows.start) * self.columns.len() + i - self.columns.start
    }

    fn n_cells(&self) -> usize {
        self.starts.len() - 1
    }

    fn cell(&self, bin: usize) -> (usize, usize) {
        let n = self.columns.len();
        (self.columns.start + bin % n, self.rows.start + bin / n)
    }

    fn triangles(&self, bin: usize) -> &[u32] {
        &self.items[self.starts[bin] as usize..self.starts[bin + 1] as usize]
    }
}
