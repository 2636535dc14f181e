//! The ground before any piece is in it: each bed's volume and top.

use glam::DVec2;
use rayon::prelude::*;

use super::bed_surface::BedSurface;
use super::check;
use super::clip::{Plane, area_and_middle, keep, moment};
use super::error::GroundError;
use super::facet::{Facet, facets};
use super::grid::Grid;
use super::plan::{Bed, By, GroundPlan};
use super::region::RegionCells;
use super::surface::GroundSurface;

/// A bed, sampled at the nodes of the grid.
#[derive(Debug, Clone)]
pub struct LaidBed {
    /// Which material, by its place in the plan.
    pub material: usize,
    /// What the values stand for.
    pub by: By,
    /// Where it lies.
    pub region: RegionCells,
    /// Thickness or height of its own surface at every node, m.
    pub values_m: Vec<f64>,
}

/// How much of a bed there is, and where it had to be cut.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct BedVolume {
    /// Volume, the buried parts of pieces included, m³.
    pub volume_m3: f64,
    /// Integral of its thickness times the place in plan, m⁴: volume times middle.
    pub moment_m4: DVec2,
    /// Area in plan where the bed fell below what lies beneath it, m².
    pub cut_area_m2: f64,
    /// Furthest that it fell below what lies beneath it, m.
    pub cut_depth_m: f64,
    /// Furthest that it fell below the base, m.
    pub below_base_m: f64,
}

/// Ground that was laid, before any piece is in it.
#[derive(Debug, Clone)]
pub struct Laid {
    /// The grid.
    pub grid: Grid,
    /// The beds, in order from below.
    pub beds: Vec<LaidBed>,
    /// Volume of each bed.
    pub volumes: Vec<BedVolume>,
    /// Height of the top at each node, m.
    pub top_m: Vec<f64>,
    /// The topmost bed at each node, where there is one.
    pub top_bed: Vec<Option<usize>>,
    /// Greatest height of the top, m; a bed that runs between nodes counts too.
    pub highest_m: f64,
}

impl Laid {
    /// Lays the beds of a plan over the inside of a tank.
    ///
    /// # Equation
    /// On each of a cell's triangles a bed's own surface v is the plane through
    /// its three nodes. Laid by thickness its top is h + max(v, 0), by top it is
    /// max(v, h), h being the top beneath; outside its region it is h. Triangles
    /// are cut where a region's side or the line v = 0 or v = h passes, so the
    /// volumes are exact for the facetted body.
    ///
    /// # Errors
    /// When the plan, the inside or the cell make no ground.
    pub fn new(plan: &GroundPlan, inside_m: DVec2, cell_m: f64) -> Result<Self, GroundError> {
        let grid = Grid::new(inside_m, cell_m)?;
        check::plan(plan, inside_m)?;
        let beds: Vec<LaidBed> = plan
            .beds
            .par_iter()
            .map(|bed| LaidBed {
                material: bed.material,
                by: bed.by,
                region: RegionCells::new(&bed.region, &grid),
                values_m: sample(bed, &grid),
            })
            .collect();
        let mut laid = Self {
            volumes: vec![BedVolume::default(); beds.len()],
            top_m: vec![0.0; grid.n_nodes()],
            top_bed: vec![None; grid.n_nodes()],
            highest_m: 0.0,
            grid,
            beds,
        };
        for bed in 0..laid.beds.len() {
            laid.raise_nodes(bed);
        }
        (laid.volumes, laid.highest_m) = laid.integrate();
        Ok(laid)
    }

    /// The top as the height field that settling stands on.
    ///
    /// # Errors
    /// Only when a height is not finite, which a checked plan never gives.
    pub fn surface(&self) -> Result<GroundSurface, GroundError> {
        let (nx, ny) = (self.grid.nx, self.grid.ny);
        GroundSurface::new(self.grid.cell_m, nx, ny, self.top_m.clone())
    }

    /// Volume of ground below a level, the buried parts of pieces included, for each bed, m³.
    #[must_use]
    pub fn below_m3(&self, level_m: f64) -> Vec<f64> {
        if self.highest_m <= level_m {
            return self.volumes.iter().map(|v| v.volume_m3).collect();
        }
        let level = Plane::level(level_m);
        self.sum_rows(|facet, sums: &mut Vec<f64>| {
            let mut beneath = 0.0;
            for (bed, top) in facet.tops[1..].iter().enumerate() {
                let under = facet.integral_m3(level) - positive_m3(facet, level.less(*top));
                sums[bed] += under - beneath;
                beneath = under;
            }
        })
    }

    /// Sums over all facets, row by row, in a fixed order.
    fn sum_rows(&self, add: impl Fn(&Facet, &mut Vec<f64>) + Sync) -> Vec<f64> {
        let rows: Vec<Vec<f64>> = (0..self.grid.ny - 1)
            .into_par_iter()
            .map(|j| {
                let mut sums = vec![0.0; self.beds.len()];
                for i in 0..self.grid.nx - 1 {
                    for facet in facets(self, i, j, |_, _| {}) {
                        add(&facet, &mut sums);
                    }
                }
                sums
            })
            .collect();
        let mut total = vec![0.0; self.beds.len()];
        for row in rows {
            total
                .iter_mut()
                .zip(row)
                .for_each(|(sum, part)| *sum += part);
        }
        total
    }

    fn raise_nodes(&mut self, bed: usize) {
        let LaidBed {
            by,
            region,
            values_m,
            ..
        } = &self.beds[bed];
        for j in 0..self.grid.ny {
            for i in 0..self.grid.nx {
                let node = self.grid.node(i, j);
                let top = match by {
                    By::Thickness => self.top_m[node] + values_m[node],
                    By::Top => values_m[node],
                };
                if top > self.top_m[node] && region.covers_node(&self.grid, i, j) {
                    self.top_m[node] = top;
                    self.top_bed[node] = Some(bed);
                }
            }
        }
    }

    /// Volume of each bed, and the greatest height of any.
    fn integrate(&self) -> (Vec<BedVolume>, f64) {
        let rows: Vec<(Vec<BedVolume>, f64)> = (0..self.grid.ny - 1)
            .into_par_iter()
            .map(|j| {
                let mut row = vec![BedVolume::default(); self.beds.len()];
                let mut highest_m = 0.0_f64;
                for i in 0..self.grid.nx - 1 {
                    facets(self, i, j, |bed, facet| {
                        row[bed].add(facet, self.grid.place_m(i, j), self.beds[bed].by);
                        highest_m = highest_m.max(facet.greatest_m(facet.top()));
                    });
                }
                (row, highest_m)
            })
            .collect();
        let mut total = vec![BedVolume::default(); self.beds.len()];
        let mut highest_m = 0.0_f64;
        for (row, highest_in_row_m) in rows {
            highest_m = highest_m.max(highest_in_row_m);
            for (sum, part) in total.iter_mut().zip(row) {
                sum.volume_m3 += part.volume_m3;
                sum.moment_m4 += part.moment_m4;
                sum.cut_area_m2 += part.cut_area_m2;
                sum.cut_depth_m = sum.cut_depth_m.max(part.cut_depth_m);
                sum.below_base_m = sum.below_base_m.max(part.below_base_m);
            }
        }
        (total, highest_m)
    }
}

impl BedVolume {
    /// Adds a facet on which the bed was just laid.
    fn add(&mut self, facet: &Facet, origin_m: DVec2, by: By) {
        /// A bed that falls by less than this was meant to end there, m.
        const MEANT_M: f64 = 1e-6;
        if let [.., below, top] = facet.tops[..] {
            let thickness = top.less(below);
            let volume_m3 = facet.integral_m3(thickness);
            self.volume_m3 += volume_m3;
            self.moment_m4 += origin_m * volume_m3 + moment(&facet.corners_m, thickness);
            let depth = facet.greatest_m(facet.cut);
            if depth > MEANT_M {
                self.cut_area_m2 += area_and_middle(&facet.corners_m).0;
                self.cut_depth_m = self.cut_depth_m.max(depth);
                if by == By::Top {
                    let under_base = facet.greatest_m(facet.cut.less(below));
                    self.below_base_m = self.below_base_m.max(under_base);
                }
            }
        }
    }
}

/// Integral over a facet of the positive part of a plane, m³.
fn positive_m3(facet: &Facet, plane: Plane) -> f64 {
    let mut kept = Vec::new();
    keep(&facet.corners_m, |p| plane.at(p), &mut kept);
    let (area, middle) = area_and_middle(&kept);
    area * plane.at(middle)
}

fn sample(bed: &Bed, grid: &Grid) -> Vec<f64> {
    let surface = BedSurface::new(&bed.points);
    let mut values = Vec::with_capacity(grid.n_nodes());
    let mut hint = 0;
    for j in 0..grid.ny {
        for i in 0..grid.nx {
            values.push(surface.value_m(grid.place_m(i, j), &mut hint));
        }
    }
    values
}
