//! How much a mesh encloses that is not closed.
//!
//! The winding number says of every place how surely it is inside. It is asked
//! on a grid that is fine where the surface or the boundary is, and coarse
//! elsewhere.

use fast_surface_nets::ndshape::{RuntimeShape, Shape};
use fast_surface_nets::{SurfaceNetsBuffer, surface_nets};
use glam::{DMat3, DVec3};
use rayon::prelude::*;

use crate::winding::Winding;
use crate::{Mesh, Moments};

/// Cells along the grid's side where it is finest: 2 to this power.
const FINEST: u32 = 7;
/// Cells along the grid's side where it is coarsest: 2 to this power.
const COARSEST: u32 = 3;
/// A cell whose winding number is nearer to a half than this is refined: the
/// smaller a cell clear of the surface, the less the number changes across it.
const UNSURE: [f64; FINEST as usize] = [0.4, 0.4, 0.4, 0.4, 0.4, 0.3, 0.2];
/// Empty cells kept round the grid so that its surface is closed.
const MARGIN: usize = 2;

/// What a mesh that is not closed most likely encloses.
#[derive(Debug, Clone)]
pub(super) struct OpenBody {
    /// Integrals over the winding numbers of at least a half.
    pub(super) moments: Moments,
    /// Half the volume between winding numbers 0.25 and 0.75, plus the change
    /// that halving the cell made, m³.
    pub(super) volume_error_m3: f64,
    /// A closed surface round it.
    pub(super) surface: Mesh,
}

/// Sums over cells; all about the grid's middle.
#[derive(Debug, Clone, Copy)]
struct Sums {
    volume: f64,
    first: DVec3,
    second: DMat3,
    coarse_volume: f64,
    unsure_volume: f64,
}

impl Sums {
    const ZERO: Self = Self {
        volume: 0.0,
        first: DVec3::ZERO,
        second: DMat3::ZERO,
        coarse_volume: 0.0,
        unsure_volume: 0.0,
    };

    fn add(&mut self, at: DVec3, cell_m: f64, share: f64) {
        let volume = share * cell_m.powi(3);
        self.volume += volume;
        self.first += at * volume;
        let own = DMat3::from_diagonal(DVec3::splat(cell_m * cell_m / 12.0));
        self.second += (DMat3::from_cols(at * at.x, at * at.y, at * at.z) + own) * volume;
    }

    fn join(&mut self, other: &Self) {
        self.volume += other.volume;
        self.first += other.first;
        self.second += other.second;
        self.coarse_volume += other.coarse_volume;
        self.unsure_volume += other.unsure_volume;
    }
}

/// A block of finest cells with one value, or one of them.
#[derive(Debug, Clone, Copy)]
struct Block {
    corner: [u32; 3],
    n_cells: u32,
    value: f32,
}

struct Grid<'a> {
    winding: Winding<'a>,
    middle: DVec3,
    side_m: f64,
}

/// Counts what `mesh` most likely encloses.
pub(super) fn enclosed(mesh: &Mesh) -> OpenBody {
    let (low, high) = mesh.bounds().unwrap_or((DVec3::ZERO, DVec3::ZERO));
    let grid = Grid {
        winding: Winding::new(mesh),
        middle: 0.5 * (low + high),
        // The boundary can bulge out of a hole by a share of the hole's width.
        side_m: 1.25 * (high - low).max_element(),
    };
    let n = 1_u32 << COARSEST;
    let parts: Vec<(Sums, Vec<Block>)> = (0..n * n * n)
        .into_par_iter()
        .map(|i| {
            let mut sums = Sums::ZERO;
            let mut blocks = Vec::new();
            let cell = [i % n, i / n % n, i / (n * n)];
            grid.visit(cell, COARSEST, &mut sums, &mut blocks);
            (sums, blocks)
        })
        .collect();
    let mut sums = Sums::ZERO;
    parts.iter().for_each(|part| sums.join(&part.0));
    OpenBody {
        moments: moments(&sums, grid.middle),
        volume_error_m3: 0.5 * sums.unsure_volume + (sums.volume - sums.coarse_volume).abs(),
        surface: grid.surface(parts.iter().flat_map(|part| &part.1)),
    }
}

fn moments(sums: &Sums, middle: DVec3) -> Moments {
    let offset = if sums.volume > 0.0 {
        sums.first / sums.volume
    } else {
        DVec3::ZERO
    };
    let outer = DMat3::from_cols(offset * offset.x, offset * offset.y, offset * offset.z);
    let central = sums.second - outer * sums.volume;
    let trace = central.x_axis.x + central.y_axis.y + central.z_axis.z;
    Moments {
        volume_m3: sums.volume,
        centre_m: middle + offset,
        inertia_m5: DMat3::from_diagonal(DVec3::splat(trace)) - central,
    }
}

impl Grid<'_> {
    fn cell_m(&self, level: u32) -> f64 {
        self.side_m / f64::from(1_u32 << level)
    }

    /// Middle of a cell about the grid's middle.
    fn place(&self, cell: [u32; 3], level: u32) -> DVec3 {
        let at = DVec3::from_array(cell.map(|c| f64::from(c) + 0.5)) * self.cell_m(level);
        at - DVec3::splat(0.5 * self.side_m)
    }

    fn visit(&self, cell: [u32; 3], level: u32, sums: &mut Sums, blocks: &mut Vec<Block>) {
        let cell_m = self.cell_m(level);
        let at = self.place(cell, level);
        let point = self.middle + at;
        let w = self.winding.at(point);
        let distance_m = self.winding.distance_m(point, cell_m);
        let side = if w >= 0.5 { 1.0 } else { -1.0 };
        // A surface that cuts the cell parts it about where its distance says.
        let share = (0.5 + side * distance_m.min(0.5 * cell_m) / cell_m).clamp(0.0, 1.0);
        if level + 1 == FINEST {
            sums.coarse_volume += share * cell_m.powi(3);
        }
        let has_surface = distance_m < cell_m;
        let is_unsure = |unsure: &f64| (w - 0.5).abs() < *unsure;
        let is_refined =
            level < FINEST && (has_surface || UNSURE.get(level as usize).is_some_and(is_unsure));
        if is_refined {
            for i in 0..8 {
                let child = std::array::from_fn(|k| 2 * cell[k] + (i >> k & 1));
                self.visit(child, level + 1, sums, blocks);
            }
            return;
        }
        if level + 1 < FINEST {
            sums.coarse_volume += share * cell_m.powi(3);
        }
        sums.add(at, cell_m, share);
        if (w - 0.5).abs() < 0.25 {
            sums.unsure_volume += cell_m.powi(3);
        }
        // A distance to the boundary: the surface's, or the one that the winding
        // number's slope suggests where there is no surface.
        let reach_m = distance_m.min((w - 0.5).abs() * self.side_m);
        let n_cells = 1 << (FINEST - level);
        #[expect(
            clippy::cast_possible_truncation,
            reason = "only for a surface between cells"
        )]
        blocks.push(Block {
            corner: cell.map(|c| c * n_cells),
            n_cells,
            value: (-side * reach_m / self.cell_m(FINEST)) as f32,
        });
    }

    /// A closed surface between the cells inside and outside.
    ///
    /// # Source
    /// S. F. F. Gibson, Constrained elastic surface nets, MICCAI (1998).
    fn surface<'b>(&self, blocks: impl Iterator<Item = &'b Block>) -> Mesh {
        let n = (1_usize << FINEST) + 2 * MARGIN;
        let mut values = vec![1.0_f32; n * n * n];
        for block in blocks {
            let [x, y, z] = block.corner.map(|c| c as usize + MARGIN);
            let width = block.n_cells as usize;
            for k in z..z + width {
                for j in y..y + width {
                    let row = (k * n + j) * n;
                    values[row + x..row + x + width].fill(block.value);
                }
            }
        }
        let side = u32::try_from(n).unwrap_or(u32::MAX);
        let shape = RuntimeShape::<u32, 3>::new([side; 3]);
        let mut buffer = SurfaceNetsBuffer::default();
        debug_assert_eq!(shape.size() as usize, values.len());
        surface_nets(&values, &shape, [0; 3], [side - 1; 3], &mut buffer);
        let margin = f64::from(u32::try_from(MARGIN).unwrap_or(0)) - 0.5;
        let vertices_m = buffer
            .positions
            .iter()
            .map(|p| {
                let cells = DVec3::from_array(p.map(f64::from)) - margin;
                self.middle + cells * self.cell_m(FINEST) - 0.5 * self.side_m
            })
            .collect();
        let triangles = buffer
            .indices
            .chunks_exact(3)
            .map(|t| [t[0], t[1], t[2]])
            .collect();
        let mut surface = Mesh {
            vertices_m,
            triangles,
            colours: Vec::new(),
        };
        if Moments::of(&surface).volume_m3 < 0.0 {
            surface.triangles.iter_mut().for_each(|t| t.swap(1, 2));
        }
        surface
    }
}
