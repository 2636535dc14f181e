//! What do the stand and the floor carry, and where does it bear?

use glam::DVec2;
use layout::settle::water::density_kg_m3;
use method::{Caution, Certainty, Figure, Severity};
use serde::Serialize;

use super::{Ground, Water, key::Key, memo::Memo, reckon::InGround};
use crate::{
    Layout, PieceKind,
    findings::{Finding, FloorLoad, Heavy, MassMissing},
};

/// The group *Weight*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weight {
    /// The empty tank, kg.
    pub empty_tank: Figure,
    /// The water, kg.
    pub water: Figure,
    /// The ground as laid, without its water, kg.
    pub ground: Figure,
    /// The stone, kg.
    pub stone: Figure,
    /// The wood, kg, as it was taken in.
    pub wood: Figure,
    /// All of it, kg.
    pub total: Figure,
    /// Centre of mass in plan from the left glass's inner face, mm.
    pub centre_x: Figure,
    /// Centre of mass in plan from the front glass's inner face, mm.
    pub centre_y: Figure,
    /// What was found.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}

/// Reckons the group.
pub(super) fn reckon(
    layout: &Layout,
    in_ground: &InGround,
    ground: &Ground,
    water: &Water,
    memo: &mut Memo,
) -> Weight {
    let tank = &layout.tank;
    let tank_key = Key::default()
        .place(tank.outside_m)
        .number(tank.wall_m)
        .number(tank.base_m)
        .maybe(tank.empty_mass_kg);
    let empty_tank = memo
        .empty_tank
        .get(tank_key.clone(), &mut memo.counts.n_empty_tank, || {
            tank.empty_mass()
        });
    let mut key = tank_key
        .key(&in_ground.laid_key)
        .number(tank.water_line_m)
        .number(layout.surroundings.temperature_c)
        .number(layout.surroundings.salinity_g_kg)
        .number(water.water.value)
        .numbers(ground.materials.iter().map(|m| &m.mass.value));
    for material in &layout.ground.materials {
        key = key.count(material.certainty as u64);
    }
    for (placed, share) in layout.placed.iter().zip(&in_ground.shares) {
        let mass = placed.piece.mass();
        key = key
            .text(&placed.piece.tag().to_string())
            .number(mass.mass_kg)
            .count(mass.certainty as u64)
            .number(placed.piece.material().density_kg_m3)
            .place(placed.pose.centre_m)
            .number(share.submerged_m3)
            .numbers(&share.in_bed_m3);
    }
    memo.weight.get(key, &mut memo.counts.n_weight, || {
        group(layout, in_ground, ground, water, empty_tank)
    })
}

fn group(
    layout: &Layout,
    in_ground: &InGround,
    ground: &Ground,
    water: &Water,
    empty_tank: Figure,
) -> Weight {
    let rho = density_kg_m3(
        layout.surroundings.temperature_c,
        layout.surroundings.salinity_g_kg,
    );
    let water_mass = Figure::new(
        water.water.value * 1e-3 * rho,
        "kg",
        Certainty::Estimated,
        format!(
            "litres × {rho:.1} kg/m³ at {} °C",
            layout.surroundings.temperature_c
        ),
        "F. J. Millero, A. Poisson, International one-atmosphere equation of state of seawater (1981)",
    );
    let ground_mass = sum(
        "beds without the water in their gaps",
        ground.materials.iter().map(|m| &m.mass),
    );
    let stone = pieces(layout, PieceKind::Stone, "stones");
    let wood = pieces(
        layout,
        PieceKind::Wood,
        "wood as it was taken in; soaked wood weighs more",
    );
    let total = sum(
        "empty tank + water + ground + stone + wood",
        [&empty_tank, &water_mass, &ground_mass, &stone, &wood],
    );
    let centre_m = centre_in_plan_m(layout, in_ground, empty_tank.value, rho);
    let centre = |value_m: f64| {
        Figure::new(
            value_m * 1e3,
            "mm",
            total.certainty,
            "Σ mass × place ÷ Σ mass; buried parts taken at their piece's centre of mass",
            "definition of the centre of mass",
        )
    };
    let mut findings: Vec<Finding> = layout
        .placed
        .iter()
        .flat_map(|placed| {
            let piece = &placed.piece;
            [
                Heavy::check(piece.tag(), piece.mass().mass_kg).map(Finding::Heavy),
                MassMissing::check(piece).map(Finding::MassMissing),
            ]
        })
        .flatten()
        .collect();
    let outside = layout.tank.outside_m;
    findings.extend(FloorLoad::check(total.value, outside.x * outside.y).map(Finding::FloorLoad));
    let mut cautions: Vec<Caution> = findings.iter().map(Finding::caution).collect();
    cautions.extend(gaps(in_ground, layout, rho));
    Weight {
        empty_tank,
        water: water_mass,
        ground: ground_mass,
        stone,
        wood,
        centre_x: centre(centre_m.x),
        centre_y: centre(centre_m.y),
        total,
        findings,
        cautions,
    }
}

/// The sum of masses; as certain as the least certain that weighs anything.
fn sum<'a>(relation: &str, parts: impl IntoIterator<Item = &'a Figure>) -> Figure {
    let (mut value, mut certainty) = (0.0, Certainty::Measured);
    for part in parts {
        value += part.value;
        if part.value != 0.0 {
            certainty = certainty.max(part.certainty);
        }
    }
    Figure::new(value, "kg", certainty, relation, "sum of masses")
}

fn pieces(layout: &Layout, kind: PieceKind, relation: &str) -> Figure {
    let masses: Vec<Figure> = layout
        .placed
        .iter()
        .filter(|placed| placed.piece.kind() == kind)
        .map(|placed| placed.piece.mass_figure())
        .collect();
    sum(relation, &masses)
}

/// Where all of it bears in plan, m from the left and front glass.
///
/// # Equation
/// Σ m x / Σ m over glass (at the middle), pieces, ground and water. The water's
/// first moment is that of the full box less what ground and pieces displace;
/// buried parts are taken at their piece's centre of mass, and the gaps of a bed
/// that rises out of the water as evenly wet.
fn centre_in_plan_m(layout: &Layout, in_ground: &InGround, glass_kg: f64, rho_kg_m3: f64) -> DVec2 {
    let laid = &in_ground.laid;
    let level_m = layout.tank.water_line_m;
    let middle_m = layout.tank.middle_in_plan_m();
    let (mut mass, mut moment) = (0.0, DVec2::ZERO);
    let mut add = |kg: f64, at_m: DVec2| {
        mass += kg;
        moment += at_m * kg;
    };
    add(glass_kg, middle_m);
    add(layout.tank.plan_area_m2() * level_m * rho_kg_m3, middle_m);
    for (placed, share) in layout.placed.iter().zip(&in_ground.shares) {
        let at_m = placed.pose.centre_m.truncate();
        add(placed.piece.mass().mass_kg, at_m);
        add(-share.in_free_water_m3() * rho_kg_m3, at_m);
    }
    let wet_m3 = laid.below_m3(level_m);
    for (k, bed) in laid.beds.iter().enumerate() {
        let volume = &laid.volumes[k];
        if volume.volume_m3 <= 0.0 {
            continue;
        }
        let material = &in_ground.plan.materials[bed.material];
        let bulk = material.bulk_density_kg_m3;
        let gaps = material
            .grain_density_kg_m3
            .map_or(0.0, |grain| 1.0 - bulk / grain);
        let bed_at_m = volume.moment_m4 / volume.volume_m3;
        add(volume.volume_m3 * bulk, bed_at_m);
        add(-wet_m3[k] * (1.0 - gaps) * rho_kg_m3, bed_at_m);
        for (placed, share) in layout.placed.iter().zip(&in_ground.shares) {
            let at_m = placed.pose.centre_m.truncate();
            add(-share.in_bed_m3[k] * bulk, at_m);
            add(-share.wet_in_bed_m3[k] * gaps * rho_kg_m3, at_m);
        }
    }
    moment / mass
}

/// Water in gaps that are not known weighs at most what the ground's volume of water does.
fn gaps(in_ground: &InGround, layout: &Layout, rho_kg_m3: f64) -> Option<Caution> {
    let wet_m3 = in_ground.laid.below_m3(layout.tank.water_line_m);
    let unknown_m3: f64 = in_ground
        .laid
        .beds
        .iter()
        .zip(wet_m3)
        .filter(|(bed, _)| {
            in_ground.plan.materials[bed.material]
                .grain_density_kg_m3
                .is_none()
        })
        .map(|(_, wet)| wet)
        .sum();
    (unknown_m3 > 0.0).then(|| {
        Caution::new(
            "gaps_unknown",
            Severity::Caution,
            format!(
                "the water in the gaps of {:.1} L of ground is not in the total; it weighs under {:.1} kg: give the grain density",
                unknown_m3 * 1e3,
                unknown_m3 * rho_kg_m3
            ),
        )
    })
}
