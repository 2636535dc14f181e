//! What a person must know of how the pieces stand.

use method::{Caution, Severity};

use crate::settle::{Body, Scene, Settled, SettledPiece, Support};

/// A piece that moved further than this is not where it was put, m. Source: the
/// bound that layouts of the search must keep; common practice, no source.
const MOVED_M: f64 = 0.01;
/// A piece that turned further than this does not lie as it was put, rad: 5°.
const TURNED_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;
/// A piece that tips sooner is easily knocked over, rad: 5°; common practice, no source.
const TIPS_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;
/// Friction with less to spare is not to be relied on; common practice, no source.
const SLIDES: f64 = 1.25;
/// Pressure on glass that calls for a mat under the piece, Pa; common practice, no source.
const PRESSES_PA: f64 = 50e3;
/// A pane that carries more than this is leant on, N.
const LEANS_N: f64 = 0.5;
/// Heavier pieces want two people or a lift, kg. Guideline for lifting near the
/// body at waist height: HSE, Manual handling, L23 (typed from memory).
const HEAVY_KG: f64 = 25.0;

/// All cautions, piece by piece.
pub(super) fn cautions(scene: &Scene, settled: &Settled) -> Vec<Caution> {
    let mut cautions = Vec::new();
    for (body, piece) in scene.bodies.iter().zip(&settled.pieces) {
        rest(scene, body, piece, &mut cautions);
        margins(scene, body, piece, &mut cautions);
        water(scene, body, piece, &mut cautions);
        glass(scene, body, piece, &mut cautions);
        if body.mass_kg > HEAVY_KG {
            cautions.push(Caution::new(
                "heavy_lift",
                Severity::Danger,
                format!(
                    "{} weighs {:.1} kg: lift it with two people or an aid, over a padded base; \
                     local rules for manual handling come first.",
                    body.id, body.mass_kg
                ),
            ));
        }
    }
    cautions
}

fn rest(scene: &Scene, body: &Body, piece: &SettledPiece, cautions: &mut Vec<Caution>) {
    let mut say = |code, severity, text| cautions.push(Caution::new(code, severity, text));
    if !piece.at_rest {
        say(
            "not_at_rest",
            Severity::Danger,
            format!(
                "{} does not come to rest where it lies; its forces are the nearest to a balance \
                 and leave {:.1} % of a weight over. Don't rely on them.",
                body.id,
                100.0 * piece.imbalance.min(10.0)
            ),
        );
    }
    if piece.moved_m > MOVED_M || piece.turned_rad > TURNED_RAD {
        let onto: Vec<String> = piece
            .patches
            .iter()
            .map(|p| p.with.name(&scene.bodies))
            .collect();
        say(
            "does_not_stay",
            Severity::Caution,
            format!(
                "{} does not stay where it was put: it moves {:.0} mm and turns {:.0}°, and ends on {}.",
                body.id,
                piece.moved_m * 1e3,
                piece.turned_rad.to_degrees(),
                if onto.is_empty() {
                    "nothing".to_owned()
                } else {
                    onto.join(", ")
                }
            ),
        );
    }
}

fn margins(scene: &Scene, body: &Body, piece: &SettledPiece, cautions: &mut Vec<Caution>) {
    if !piece.at_rest {
        return;
    }
    if let Some(tip) = piece.tip_angle_rad
        && tip < TIPS_RAD
    {
        let first = piece
            .tips_first
            .and_then(|i| scene.bodies.get(i))
            .map_or(&body.id, |b| &b.id);
        cautions.push(Caution::new(
            "tips_easily",
            Severity::Caution,
            format!(
                "{} tips when the tank leans by {:.1}°; {first} goes first. Wedge or glue it.",
                body.id,
                tip.to_degrees()
            ),
        ));
    }
    if let Some(margin) = piece.slide_margin
        && margin < SLIDES
    {
        cautions.push(Caution::new(
            "slides_easily",
            Severity::Caution,
            format!(
                "{} is held by friction with a margin of {margin:.2}; algae or a knock may let it slide.",
                body.id
            ),
        ));
    }
}

fn water(scene: &Scene, body: &Body, piece: &SettledPiece, cautions: &mut Vec<Caution>) {
    if let Some(draft_m) = piece.draft_m {
        cautions.push(Caution::new(
            "floats",
            Severity::Caution,
            format!(
                "{} floats with {:.0} mm under water; {:.2} kg of stone under water hold it down.",
                body.id,
                draft_m * 1e3,
                piece.ballast_stone_kg
            ),
        ));
    } else if piece.lift_when_held_under_n > 0.0 {
        cautions.push(Caution::new(
            "would_rise",
            if scene.water.is_some() {
                Severity::Caution
            } else {
                Severity::Note
            },
            format!(
                "{} is lighter than water: it pulls upwards with {:.1} N when covered and wants {:.2} kg of stone.",
                body.id, piece.lift_when_held_under_n, piece.ballast_stone_kg
            ),
        ));
    }
}

fn glass(scene: &Scene, body: &Body, piece: &SettledPiece, cautions: &mut Vec<Caution>) {
    for patch in &piece.patches {
        let force_n = patch.pressure_pa * patch.area_m2;
        if patch.with.is_wall() && force_n > LEANS_N {
            cautions.push(Caution::new(
                "leans_on_glass",
                Severity::Danger,
                format!(
                    "{} leans on {} with {force_n:.1} N over {:.1} cm². A pane carries the water \
                     already: keep stone and wood off the glass.",
                    body.id,
                    patch.with.name(&scene.bodies),
                    patch.area_m2 * 1e4
                ),
            ));
        }
        if patch.with == Support::Base && patch.pressure_pa > PRESSES_PA {
            cautions.push(Caution::new(
                "presses_on_base",
                Severity::Danger,
                format!(
                    "{} presses on the bare base with {:.0} kPa over {:.1} cm²; lay a mat under it \
                     and ask the maker of the tank what the base may carry.",
                    body.id,
                    patch.pressure_pa * 1e-3,
                    patch.area_m2 * 1e4
                ),
            ));
        }
    }
}
