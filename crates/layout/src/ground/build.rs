//! What ground does a layout take, what is buried in it, and how much water is left?

use glam::DVec3;
use rayon::prelude::*;

use super::error::GroundError;
use super::laid::{BedVolume, Laid};
use super::plan::{GroundPlan, PlacedSolid};
use super::share::{Share, share};
use super::slopes::{SteepStretch, steep};
use super::surface::GroundSurface;

/// How much of a material is laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaterialVolume {
    /// Volume as laid, without the buried parts of pieces, m³.
    pub volume_m3: f64,
    /// Mass as laid, kg.
    pub mass_kg: f64,
    /// Whole bags that hold that volume, where it is sold in bags.
    pub n_bags: Option<u64>,
}

/// The water in a tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterVolume {
    /// What the tank would hold to that depth with nothing in it, m³.
    pub bare_m3: f64,
    /// Water above the ground and round the pieces, m³.
    pub free_m3: f64,
    /// Water in the gaps of the ground, of the materials whose grain density is known, m³.
    pub pore_m3: f64,
    /// Wet ground whose gaps are not known, m³.
    pub gaps_unknown_in_m3: f64,
    /// Volume of pieces under water and above the ground, m³.
    pub pieces_m3: f64,
}

impl WaterVolume {
    /// All water that is known of, m³.
    #[must_use]
    pub fn total_m3(&self) -> f64 {
        self.free_m3 + self.pore_m3
    }
}

/// Ground, pieces and water of one tank.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundResult {
    /// Height field of the top, as laid; bedded pieces don't cut it.
    pub top: GroundSurface,
    /// Each material, in the order of the plan.
    pub materials: Vec<MaterialVolume>,
    /// Each bed, in order from below, the buried parts of pieces included.
    pub beds: Vec<BedVolume>,
    /// Each piece, in the order given.
    pub pieces: Vec<Share>,
    /// The water.
    pub water: WaterVolume,
    /// Slopes over the angle of repose, the largest first.
    pub slopes: Vec<SteepStretch>,
    /// Greatest height of the ground above the base, m.
    pub highest_m: f64,
    /// How far the ground stands above the rim, m; zero or less when it doesn't.
    pub above_rim_m: f64,
}

/// Lays the ground, sinks the pieces into it and fills the tank.
///
/// # Errors
/// When the plan, the inside, the cell or a piece make no sense.
pub fn build(
    plan: &GroundPlan,
    inside_m: DVec3,
    pieces: &[PlacedSolid<'_>],
    water_depth_m: f64,
    cell_m: f64,
) -> Result<GroundResult, GroundError> {
    check_water(water_depth_m)?;
    let laid = Laid::new(plan, inside_m.truncate(), cell_m)?;
    let shares: Vec<Share> = pieces
        .par_iter()
        .enumerate()
        .map(|(k, piece)| share(&laid, k, piece, water_depth_m))
        .collect::<Result<_, _>>()?;
    gather(plan, &laid, inside_m, shares, water_depth_m)
}

/// Holds a water depth to what a depth is.
///
/// # Errors
/// When it is negative or not finite.
pub fn check_water(water_depth_m: f64) -> Result<(), GroundError> {
    if water_depth_m.is_finite() && water_depth_m >= 0.0 {
        Ok(())
    } else {
        Err(GroundError::Water { water_depth_m })
    }
}

/// Puts together what was laid and each piece's share in it.
///
/// The shares must be of this ground and this depth of water.
///
/// # Errors
/// When the height field can't be made.
pub fn gather(
    plan: &GroundPlan,
    laid: &Laid,
    inside_m: DVec3,
    pieces: Vec<Share>,
    water_depth_m: f64,
) -> Result<GroundResult, GroundError> {
    let top = laid.surface()?;
    Ok(GroundResult {
        materials: materials(plan, laid, &pieces),
        beds: laid.volumes.clone(),
        water: water(plan, laid, &pieces, water_depth_m),
        slopes: steep(laid, plan, &covered(laid, &pieces)),
        top,
        pieces,
        highest_m: laid.highest_m,
        above_rim_m: laid.highest_m - inside_m.z,
    })
}

/// Volume of each material without the buried parts of pieces, its mass and its bags.
#[must_use]
pub fn materials(plan: &GroundPlan, laid: &Laid, pieces: &[Share]) -> Vec<MaterialVolume> {
    /// Rounding of sums may not cost a bag.
    const SLACK: f64 = 1e-9;
    plan.materials
        .iter()
        .enumerate()
        .map(|(k, material)| {
            let volume_m3: f64 = laid
                .beds
                .iter()
                .enumerate()
                .filter(|(_, bed)| bed.material == k)
                .map(|(bed, _)| {
                    let buried: f64 = pieces.iter().map(|piece| piece.in_bed_m3[bed]).sum();
                    laid.volumes[bed].volume_m3 - buried
                })
                .sum();
            // Pieces that overlap each other in the ground could take more than there is.
            let volume_m3 = volume_m3.max(0.0);
            MaterialVolume {
                volume_m3,
                mass_kg: volume_m3 * material.bulk_density_kg_m3,
                n_bags: material
                    .bag_m3
                    .map(|bag| (volume_m3 / bag - SLACK).ceil().max(0.0) as u64),
            }
        })
        .collect()
}

/// The water that fills the tank to a depth.
///
/// # Equation
/// free = A d − ground below d − pieces below d and above the ground;
/// in the gaps: Σ (1 − ρ_bulk/ρ_grain) × wet volume of each bed without pieces.
#[must_use]
pub fn water(plan: &GroundPlan, laid: &Laid, pieces: &[Share], water_depth_m: f64) -> WaterVolume {
    let inside = laid.grid.inside_m;
    let bare_m3 = inside.x * inside.y * water_depth_m;
    let wet_m3 = laid.below_m3(water_depth_m);
    let pieces_m3: f64 = pieces.iter().map(Share::in_free_water_m3).sum();
    let mut water = WaterVolume {
        bare_m3,
        free_m3: bare_m3 - wet_m3.iter().sum::<f64>() - pieces_m3,
        pore_m3: 0.0,
        gaps_unknown_in_m3: 0.0,
        pieces_m3,
    };
    for (k, bed) in laid.beds.iter().enumerate() {
        let buried: f64 = pieces.iter().map(|piece| piece.wet_in_bed_m3[k]).sum();
        let wet = (wet_m3[k] - buried).max(0.0);
        let material = &plan.materials[bed.material];
        match material.grain_density_kg_m3 {
            Some(grain) => water.pore_m3 += wet * (1.0 - material.bulk_density_kg_m3 / grain),
            None => water.gaps_unknown_in_m3 += wet,
        }
    }
    water
}

/// Area of each cell's ground top that pieces take up, m².
fn covered(laid: &Laid, pieces: &[Share]) -> Vec<f64> {
    let mut covered = vec![0.0; laid.grid.n_cells()];
    for (cell, area) in pieces.iter().flat_map(|piece| &piece.covered_m2) {
        covered[*cell] += area;
    }
    covered
}
