//! What ground does it take, and will it stay?

use std::sync::Arc;

use layout::ground::{GroundError, GroundResult, GroundSurface, build, cautions};
use method::{Caution, Certainty, Figure};
use serde::Serialize;

use super::{key::Key, memo::Memo, reckon::InGround};
use crate::{Layout, findings, findings::Finding};

/// How much of one material is laid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MaterialLaid {
    /// The material.
    pub name: String,
    /// Volume as laid, without the buried parts of pieces, L.
    pub volume: Figure,
    /// Mass as laid, kg.
    pub mass: Figure,
    /// Whole bags to buy, where it is sold in bags.
    pub bags: Option<Figure>,
}

/// A stretch of ground steeper than its material holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlidingSlope {
    /// The material.
    pub material: String,
    /// Middle of the stretch in plan, mm from the left and front glass.
    pub place_mm: [f64; 2],
    /// Steepest slope in it, deg.
    pub slope: Figure,
    /// Angle of repose of the material, deg.
    pub repose: Figure,
    /// Its area in plan, cm².
    pub area: Figure,
}

/// The group *Ground*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ground {
    /// Every material, in the order of the plan.
    pub materials: Vec<MaterialLaid>,
    /// Parts of pieces below the ground's top, L.
    pub buried: Figure,
    /// Slopes that will slide.
    pub slopes: Vec<SlidingSlope>,
    /// Heights of the top, for drawing.
    #[serde(skip)]
    pub top: Option<Arc<GroundSurface>>,
    /// Material that lies open at each node of the top, by its number in the plan.
    #[serde(skip)]
    pub open_material: Arc<[Option<usize>]>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}

/// Reckons the group; pieces that don't reach into the ground don't count.
pub(super) fn reckon(
    layout: &Layout,
    in_ground: &InGround,
    memo: &mut Memo,
) -> Result<Ground, GroundError> {
    let touching = || in_ground.shares.iter().filter(|s| s.reaches_in());
    let mut key = Key::default()
        .key(&in_ground.laid_key)
        .number(layout.tank.water_line_m);
    for material in &layout.ground.materials {
        key = key.count(material.certainty as u64);
    }
    for (placed, share) in layout.placed.iter().zip(&in_ground.shares) {
        if share.reaches_in() {
            key = key
                .key(&super::reckon::pose_key(placed))
                .text(&placed.piece.tag().to_string());
        }
    }
    if let Some(kept) = memo.ground.kept(&key) {
        return Ok(kept);
    }
    let inside_m = layout.tank.inside_m();
    let shares = touching().map(|share| (**share).clone()).collect();
    let result = build::gather(
        &in_ground.plan,
        &in_ground.laid,
        inside_m,
        shares,
        layout.tank.water_line_m,
    )?;
    memo.counts.n_ground += 1;
    let ground = group(layout, in_ground, result);
    memo.ground.keep(key, ground.clone());
    Ok(ground)
}

fn group(layout: &Layout, in_ground: &InGround, result: GroundResult) -> Ground {
    let materials: Vec<MaterialLaid> = (0..layout.ground.materials.len())
        .map(|k| laid(layout, &result, k))
        .collect();
    let slopes = slopes(in_ground, &result);
    let findings: Vec<Finding> = slopes
        .iter()
        .map(|slope| {
            Finding::SlidingSlope(findings::SlidingSlope {
                material: slope.material.clone(),
                place_mm: slope.place_mm,
                slope_deg: slope.slope.value,
                repose_deg: slope.repose.value,
                area_cm2: slope.area.value,
            })
        })
        .collect();
    let mut said = cautions::beds(&in_ground.plan, &result);
    said.extend(cautions::level(&result, layout.tank.water_line_m));
    said.extend(not_bedded(layout, in_ground));
    said.extend(findings.iter().map(Finding::caution));
    let buried_m3: f64 = result
        .pieces
        .iter()
        .map(layout::ground::Share::buried_m3)
        .sum();
    Ground {
        materials,
        buried: Figure::new(
            buried_m3 * 1e3,
            "L",
            Certainty::Estimated,
            "closed meshes cut exactly by the ground's top",
            "divergence theorem",
        ),
        slopes,
        top: Some(Arc::new(result.top)),
        open_material: in_ground
            .laid
            .top_bed
            .iter()
            .map(|bed| bed.map(|b| in_ground.plan.beds[b].material))
            .collect(),
        findings,
        cautions: said,
    }
}

fn laid(layout: &Layout, result: &GroundResult, k: usize) -> MaterialLaid {
    let (material, volume) = (&layout.ground.materials[k], &result.materials[k]);
    let certainty = material.certainty.max(Certainty::Estimated);
    MaterialLaid {
        name: material.material.name.clone(),
        volume: Figure::new(
            volume.volume_m3 * 1e3,
            "L",
            Certainty::Estimated,
            "beds as drawn, two triangles a cell, less the buried parts of pieces",
            "closed form of the facetted body",
        ),
        mass: Figure::new(
            volume.mass_kg,
            "kg",
            certainty,
            format!(
                "volume × {:.0} kg/m³ of bulk",
                material.material.bulk_density_kg_m3
            ),
            "bulk density as stated in the layout",
        ),
        bags: volume
            .n_bags
            .zip(material.material.bag_m3)
            .map(|(bags, bag_m3)| {
                Figure::new(
                    bags as f64,
                    "bags",
                    Certainty::Estimated,
                    format!("volume ÷ {} L, rounded up", bag_m3 * 1e3),
                    "common practice, no source",
                )
            }),
    }
}

fn slopes(in_ground: &InGround, result: &GroundResult) -> Vec<SlidingSlope> {
    let figure = |value: f64, unit: &str, relation: &str, source: &str| {
        Figure::new(value, unit, Certainty::Estimated, relation, source)
    };
    result
        .slopes
        .iter()
        .map(|slope| SlidingSlope {
            material: in_ground.plan.materials[slope.material].name.clone(),
            place_mm: (slope.middle_m * 1e3).to_array(),
            slope: figure(
                slope.slope_rad.to_degrees(),
                "deg",
                "steepest of the cells' triangles",
                "atan of the gradient",
            ),
            repose: figure(
                slope.repose_rad.to_degrees(),
                "deg",
                "of the material",
                "angle of repose as stated in the layout",
            ),
            area: figure(
                slope.area_m2 * 1e4,
                "cm²",
                "plan area of joined cells, without what pieces take up",
                "least area of 4 cm²: common practice, no source",
            ),
        })
        .collect()
}

/// Pieces that reach into the ground without being bedded.
fn not_bedded(layout: &Layout, in_ground: &InGround) -> Vec<Caution> {
    layout
        .placed
        .iter()
        .zip(&in_ground.shares)
        .filter(|(placed, share)| !placed.bedded && share.deepest_m > cautions::OVERLAP_M)
        .map(|(placed, share)| cautions::not_bedded(&placed.piece.tag().to_string(), share))
        .collect()
}
