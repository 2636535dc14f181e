//! What `scape.ground` answers.

use glam::DVec3;
use method::{Basis, Caution, Equation, Severity};
use schemars::JsonSchema;
use serde::Serialize;

use super::input::{GroundInput, MaterialInput};
use crate::ground::{GroundResult, GroundSurface, MaterialVolume};

/// The output of `scape.ground`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GroundOutput {
    /// Each material, in the order given.
    pub materials: Vec<MaterialOutput>,
    /// Each bed, in the order given.
    pub beds: Vec<BedOutput>,
    /// Heights of the top; pieces don't cut it.
    pub top: TopOutput,
    /// Litres of water that fill the tank to its depth: free water and water in the gaps of the ground.
    pub water_l: f64,
    /// Water above the ground and round the pieces, L.
    pub free_water_l: f64,
    /// Water in the gaps of ground whose grain density is known, L.
    pub pore_water_l: f64,
    /// Volume of the parts of all pieces below the ground's top, L.
    pub buried_l: f64,
    /// Each piece, in the order given.
    pub pieces: Vec<PieceOutput>,
    /// Slopes over the angle of repose, the largest first.
    pub slopes: Vec<SlopeOutput>,
    /// Sum of the known prices, in the user's currency; null when none is known.
    pub price: Option<f64>,
    /// What must be said beside it.
    pub cautions: Vec<Caution>,
    /// Where the figures come from.
    pub basis: Vec<Basis>,
}

/// How much of a material is laid.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MaterialOutput {
    /// Its name.
    pub name: String,
    /// Volume as laid, without the buried parts of pieces, L.
    pub volume_l: f64,
    /// Mass as laid, kg.
    pub mass_kg: f64,
    /// Whole bags; null when it isn't sold in bags.
    pub bags: Option<u64>,
    /// Price of the bags, or of the litres; null when not known.
    pub price: Option<f64>,
}

/// How much of a bed is laid.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BedOutput {
    /// Name of its material.
    pub material: String,
    /// Volume as laid, without the buried parts of pieces, L.
    pub volume_l: f64,
    /// Volume of the parts of pieces in it, L.
    pub buried_l: f64,
    /// Area where it fell below what lies beneath it and was cut, cm².
    pub cut_area_cm2: f64,
    /// Furthest that it fell below what lies beneath it, mm.
    pub cut_depth_mm: f64,
}

/// Heights of the ground's top.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TopOutput {
    /// Distance between neighbouring nodes, mm.
    pub cell_mm: f64,
    /// Nodes along x, from the left glass.
    pub nx: usize,
    /// Nodes along y, from the front glass.
    pub ny: usize,
    /// ny rows of nx heights above the base, mm; the first row lies at the front glass.
    pub heights_mm: Vec<Vec<f64>>,
}

/// One piece in the ground and the water.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PieceOutput {
    /// Its tag or name.
    pub id: String,
    /// Volume below the ground's top, L.
    pub buried_l: f64,
    /// Volume below the water's level, the buried part included, L.
    pub submerged_l: f64,
    /// Its deepest point below the ground's top, mm; 0 when it doesn't reach in.
    pub depth_in_ground_mm: f64,
}

/// A place in plan.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PlaceOutput {
    /// From the left glass, mm.
    pub x_mm: f64,
    /// From the front glass, mm.
    pub y_mm: f64,
}

/// A slope over the angle of repose.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SlopeOutput {
    /// The material.
    pub material: String,
    /// Middle of the stretch.
    pub place: PlaceOutput,
    /// Steepest slope in it, deg.
    pub slope_deg: f64,
    /// Angle of repose, deg.
    pub repose_deg: f64,
    /// Area in plan, cm².
    pub area_cm2: f64,
}

/// Writes a result in the units of the output.
pub fn output(
    input: &GroundInput,
    result: &GroundResult,
    ids: &[String],
    cautions: Vec<Caution>,
    equations: &[Equation],
) -> GroundOutput {
    let materials: Vec<MaterialOutput> = input
        .materials
        .iter()
        .zip(&result.materials)
        .map(|(material, volume)| material_output(material, volume))
        .collect();
    let prices: Vec<f64> = materials.iter().filter_map(|m| m.price).collect();
    let water = &result.water;
    GroundOutput {
        price: (!prices.is_empty()).then(|| prices.iter().sum()),
        materials,
        beds: beds(input, result),
        top: top(&result.top),
        water_l: water.total_m3() * 1e3,
        free_water_l: water.free_m3 * 1e3,
        pore_water_l: water.pore_m3 * 1e3,
        buried_l: result.pieces.iter().map(|p| p.buried_m3() * 1e3).sum(),
        pieces: result
            .pieces
            .iter()
            .zip(ids)
            .map(|(piece, id)| PieceOutput {
                id: id.clone(),
                buried_l: piece.buried_m3() * 1e3,
                submerged_l: piece.submerged_m3 * 1e3,
                depth_in_ground_mm: piece.deepest_m * 1e3,
            })
            .collect(),
        slopes: result
            .slopes
            .iter()
            .map(|slope| SlopeOutput {
                material: input.materials[slope.material].name.clone(),
                place: PlaceOutput {
                    x_mm: slope.middle_m.x * 1e3,
                    y_mm: slope.middle_m.y * 1e3,
                },
                slope_deg: slope.slope_rad.to_degrees(),
                repose_deg: slope.repose_rad.to_degrees(),
                area_cm2: slope.area_m2 * 1e4,
            })
            .collect(),
        cautions,
        basis: equations
            .iter()
            .map(|e| Basis::new(e.quantity, e.relation, e.source))
            .collect(),
    }
}

fn material_output(material: &MaterialInput, volume: &MaterialVolume) -> MaterialOutput {
    let volume_l = volume.volume_m3 * 1e3;
    MaterialOutput {
        name: material.name.clone(),
        volume_l,
        mass_kg: volume.mass_kg,
        bags: volume.n_bags,
        price: material
            .price
            .map(|price| price * volume.n_bags.map_or(volume_l, |bags| bags as f64)),
    }
}

fn beds(input: &GroundInput, result: &GroundResult) -> Vec<BedOutput> {
    let volumes = input.beds.iter().zip(&result.beds).enumerate();
    volumes
        .map(|(k, (bed, volume))| {
            let buried_m3: f64 = result.pieces.iter().map(|p| p.in_bed_m3[k]).sum();
            BedOutput {
                material: bed.material.clone(),
                volume_l: (volume.volume_m3 - buried_m3).max(0.0) * 1e3,
                buried_l: buried_m3 * 1e3,
                cut_area_cm2: volume.cut_area_m2 * 1e4,
                cut_depth_mm: volume.cut_depth_m * 1e3,
            }
        })
        .collect()
}

fn top(surface: &GroundSurface) -> TopOutput {
    TopOutput {
        cell_mm: surface.cell_m * 1e3,
        nx: surface.nx,
        ny: surface.ny,
        heights_mm: surface
            .heights_m
            .chunks(surface.nx)
            .map(|row| row.iter().map(|h| h * 1e3).collect())
            .collect(),
    }
}

/// Pieces that reach past a pane or the base by over 1 mm, as far as it is not glass that they are in.
pub fn through_glass(result: &GroundResult, ids: &[String], inside_m: DVec3) -> Vec<Caution> {
    const OVER_M: f64 = 1e-3;
    let mut all = Vec::new();
    for (piece, id) in result.pieces.iter().zip(ids) {
        let (low, high) = piece.box_m;
        for (past_m, what) in [
            (-low.x, "the left glass"),
            (high.x - inside_m.x, "the right glass"),
            (-low.y, "the front glass"),
            (high.y - inside_m.y, "the back glass"),
            (-low.z, "the base"),
        ] {
            if past_m > OVER_M {
                all.push(Caution::new(
                    "through_glass",
                    Severity::Danger,
                    format!(
                        "{id} reaches {:.1} mm through {what}; what lies outside is not counted",
                        past_m * 1e3
                    ),
                ));
            }
        }
    }
    all
}

/// A sum of prices in which one is missing.
pub fn price_cautions(materials: &[MaterialInput]) -> Vec<Caution> {
    if materials.iter().all(|m| m.price.is_none()) {
        return Vec::new();
    }
    materials
        .iter()
        .filter(|material| material.price.is_none())
        .map(|material| {
            Caution::new(
                "price_missing",
                Severity::Note,
                format!("{} has no price and is not in the sum", material.name),
            )
        })
        .collect()
}
