//! What must be said beside a ground.

use method::{Caution, Severity};

use super::build::GroundResult;
use super::plan::{By, GroundPlan, PlacedSolid};
use super::share::Share;

/// The most slopes that are told one by one.
const MOST_TOLD: usize = 12;
/// How far a piece that isn't bedded may reach into the ground, m: as in settling.
pub const OVERLAP_M: f64 = 1e-3;

/// All cautions of a ground; `ids` names the pieces in their order.
#[must_use]
pub fn cautions(
    plan: &GroundPlan,
    result: &GroundResult,
    pieces: &[PlacedSolid<'_>],
    ids: &[String],
    water_depth_m: f64,
) -> Vec<Caution> {
    let mut all = beds(plan, result);
    all.extend(slopes(plan, result));
    all.extend(level(result, water_depth_m));
    for ((piece, share), id) in pieces.iter().zip(&result.pieces).zip(ids) {
        if !piece.bedded && share.deepest_m > OVERLAP_M {
            all.push(not_bedded(id, share));
        }
    }
    if result.water.gaps_unknown_in_m3 > 0.0 {
        all.push(Caution::new(
            "gaps_unknown",
            Severity::Note,
            format!(
                "the grain density of {:.1} L of wet ground is not known; the water in its gaps is not counted",
                result.water.gaps_unknown_in_m3 * 1e3
            ),
        ));
    }
    all
}

/// A piece that reaches into the ground without being bedded.
#[must_use]
pub fn not_bedded(id: &str, share: &Share) -> Caution {
    Caution::new(
        "not_bedded",
        Severity::Caution,
        format!(
            "{id} reaches {:.1} mm into the ground but is not bedded; it is counted as buried: bed it, or lift it",
            share.deepest_m * 1e3
        ),
    )
}

/// Where beds fell below what lies beneath them, or came to nothing.
#[must_use]
pub fn beds(plan: &GroundPlan, result: &GroundResult) -> Vec<Caution> {
    let mut all = Vec::new();
    for (k, (bed, volume)) in plan.beds.iter().zip(&result.beds).enumerate() {
        let what = format!("bed {k} ({})", plan.materials[bed.material].name);
        if volume.cut_area_m2 > 0.0 {
            let beneath = match bed.by {
                By::Thickness => "has a thickness below zero, at the least",
                By::Top => "falls below what lies beneath it, at the most by",
            };
            all.push(Caution::new(
                "bed_cut",
                Severity::Note,
                format!(
                    "{what} {beneath} {:.1} mm, over {:.1} cm²; it was cut there",
                    match bed.by {
                        By::Thickness => -volume.cut_depth_m * 1e3,
                        By::Top => volume.cut_depth_m * 1e3,
                    },
                    volume.cut_area_m2 * 1e4
                ),
            ));
        }
        if volume.below_base_m > 0.0 {
            all.push(Caution::new(
                "bed_below_glass",
                Severity::Caution,
                format!(
                    "{what} falls up to {:.1} mm below the glass; it was cut there",
                    volume.below_base_m * 1e3
                ),
            ));
        }
        if volume.volume_m3 <= 0.0 {
            all.push(Caution::new(
                "bed_empty",
                Severity::Note,
                format!("{what} comes to nothing"),
            ));
        }
    }
    all
}

/// Slopes that will slide.
#[must_use]
pub fn slopes(plan: &GroundPlan, result: &GroundResult) -> Vec<Caution> {
    let mut all: Vec<Caution> = result
        .slopes
        .iter()
        .take(MOST_TOLD)
        .map(|slope| {
            Caution::new(
                "slope_slides",
                Severity::Caution,
                format!(
                    "{} near {:.0} mm from the left and {:.0} mm from the front slopes up to {:.1}° over {:.1} cm²; it holds up to {:.1}°: lower the bank or hold it with stone",
                    plan.materials[slope.material].name,
                    slope.middle_m.x * 1e3,
                    slope.middle_m.y * 1e3,
                    slope.slope_rad.to_degrees(),
                    slope.area_m2 * 1e4,
                    slope.repose_rad.to_degrees()
                ),
            )
        })
        .collect();
    if result.slopes.len() > MOST_TOLD {
        all.push(Caution::new(
            "slope_slides",
            Severity::Caution,
            format!(
                "{} more smaller slopes are over their angle of repose",
                result.slopes.len() - MOST_TOLD
            ),
        ));
    }
    all
}

/// Ground above the rim or the water.
#[must_use]
pub fn level(result: &GroundResult, water_depth_m: f64) -> Option<Caution> {
    let top_m = result.highest_m;
    if result.above_rim_m > 0.0 {
        Some(Caution::new(
            "ground_above_rim",
            Severity::Caution,
            format!(
                "the ground stands up to {:.1} mm above the rim",
                result.above_rim_m * 1e3
            ),
        ))
    } else if top_m > water_depth_m {
        Some(Caution::new(
            "ground_above_water",
            Severity::Note,
            format!(
                "the ground stands up to {:.1} mm above the water",
                (top_m - water_depth_m) * 1e3
            ),
        ))
    } else {
        None
    }
}
