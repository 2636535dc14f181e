//! Where is the ground steeper than its material holds?

use glam::DVec2;

use super::laid::Laid;
use super::plan::GroundPlan;

/// The least area over which a slope must hold to be called one, m².
pub const LEAST_AREA_M2: f64 = 4e-4;

/// A stretch of one material that is steeper than its angle of repose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteepStretch {
    /// Which material, by its place in the plan.
    pub material: usize,
    /// Middle of the stretch in plan, m.
    pub middle_m: DVec2,
    /// Where it is steepest, m.
    pub steepest_at_m: DVec2,
    /// Steepest slope in it, rad.
    pub slope_rad: f64,
    /// Angle of repose of the material, rad.
    pub repose_rad: f64,
    /// Its area in plan, without what pieces take up, m².
    pub area_m2: f64,
}

/// All stretches of at least [`LEAST_AREA_M2`], the largest first.
///
/// A cell's slope is the larger of its two triangles'; its material is that of
/// the topmost bed at its highest node, for that is what slides down. Cells join
/// over their sides. `covered_m2` is the area of each cell that pieces take up at
/// the ground's top; a cell that is covered by more than half is held by them.
#[must_use]
pub fn steep(laid: &Laid, plan: &GroundPlan, covered_m2: &[f64]) -> Vec<SteepStretch> {
    let grid = &laid.grid;
    let cells: Vec<Option<Steep>> = (0..grid.n_cells())
        .map(|cell| {
            let (i, j) = (cell % (grid.nx - 1), cell / (grid.nx - 1));
            let covered = covered_m2.get(cell).copied().unwrap_or(0.0);
            Steep::of(laid, plan, i, j, covered)
        })
        .collect();
    let mut seen = vec![false; cells.len()];
    let mut stretches = Vec::new();
    for start in 0..cells.len() {
        if let Some(first) = cells[start]
            && !seen[start]
        {
            let stretch = gather(laid, plan, &cells, &mut seen, start, first.material);
            // The slack lets sixteen cells of 5 mm be 4 cm².
            if stretch.area_m2 >= LEAST_AREA_M2 * (1.0 - 1e-9) {
                stretches.push(stretch);
            }
        }
    }
    stretches.sort_by(|a, b| b.area_m2.total_cmp(&a.area_m2));
    stretches
}

#[derive(Debug, Clone, Copy)]
struct Steep {
    material: usize,
    slope_rad: f64,
    area_m2: f64,
    middle_m: DVec2,
}

impl Steep {
    fn of(laid: &Laid, plan: &GroundPlan, i: usize, j: usize, covered_m2: f64) -> Option<Self> {
        /// A slope is over the angle of repose from this much on, rad.
        const SLACK_RAD: f64 = 1e-9;
        let grid = &laid.grid;
        let (low, high) = (grid.place_m(i, j), grid.place_m(i + 1, j + 1));
        let size = high - low;
        let nodes = [
            grid.node(i, j),
            grid.node(i + 1, j),
            grid.node(i, j + 1),
            grid.node(i + 1, j + 1),
        ];
        let [a, b, c, d] = nodes.map(|node| laid.top_m[node]);
        let near = DVec2::new(b - a, c - a) / size;
        let far = DVec2::new(d - c, d - b) / size;
        let slope_rad = near.length().max(far.length()).atan();
        let highest = nodes.into_iter().reduce(|best, node| {
            if laid.top_m[node] > laid.top_m[best] {
                node
            } else {
                best
            }
        })?;
        let material = laid.beds[laid.top_bed[highest]?].material;
        let area_m2 = size.x * size.y - covered_m2;
        let is_steep = slope_rad > plan.materials[material].angle_of_repose_rad + SLACK_RAD;
        (is_steep && area_m2 > 0.5 * size.x * size.y).then_some(Self {
            material,
            slope_rad,
            area_m2,
            middle_m: 0.5 * (low + high),
        })
    }
}

/// The stretch of one material round a cell.
fn gather(
    laid: &Laid,
    plan: &GroundPlan,
    cells: &[Option<Steep>],
    seen: &mut [bool],
    start: usize,
    material: usize,
) -> SteepStretch {
    let (width, height) = (laid.grid.nx - 1, laid.grid.ny - 1);
    let mut stretch = SteepStretch {
        material,
        middle_m: DVec2::ZERO,
        steepest_at_m: DVec2::ZERO,
        slope_rad: 0.0,
        repose_rad: plan.materials[material].angle_of_repose_rad,
        area_m2: 0.0,
    };
    let mut waiting = vec![start];
    seen[start] = true;
    while let Some(cell) = waiting.pop() {
        let Some(steep) = cells[cell] else { continue };
        stretch.area_m2 += steep.area_m2;
        stretch.middle_m += steep.middle_m * steep.area_m2;
        if steep.slope_rad > stretch.slope_rad {
            stretch.slope_rad = steep.slope_rad;
            stretch.steepest_at_m = steep.middle_m;
        }
        let (i, j) = (cell % width, cell / width);
        let beside = [
            (i > 0).then(|| cell - 1),
            (i + 1 < width).then(|| cell + 1),
            (j > 0).then(|| cell - width),
            (j + 1 < height).then(|| cell + width),
        ];
        for next in beside.into_iter().flatten() {
            if !seen[next] && cells[next].is_some_and(|s| s.material == material) {
                seen[next] = true;
                waiting.push(next);
            }
        }
    }
    stretch.middle_m /= stretch.area_m2;
    stretch
}
