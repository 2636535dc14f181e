//! Do the pieces stay where they were put, and how firmly?

use std::{ops::ControlFlow, sync::Arc};

use glam::DVec3;
use layout::{
    LayoutError,
    ground::GroundError,
    settle::{
        self, Body, GroundForm, Progress, Scene, Settled, SettledPiece, water::density_kg_m3,
    },
};
use method::{Caution, Certainty, Figure};
use rayon::prelude::*;
use serde::Serialize;

use super::{
    key::Key,
    memo::Memo,
    reckon::{InGround, pose_key},
};
use crate::{
    Layout, Piece, Placed, Tag,
    findings::{
        AboveRim, AboveWater, Finding, Floats, Moved, Slides, ThroughGlass, Tips, Unsettled,
    },
};

/// Density of the stone that holds wood down, kg/m³: the default of `scape.settle`.
const BALLAST_DENSITY_KG_M3: f64 = 2650.0;

/// How one piece stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceStands {
    /// The piece.
    pub tag: Tag,
    /// Whether it is at rest where it was put: nothing was found that spoils it.
    pub stands: bool,
    /// Whether it came to rest at all.
    pub at_rest: bool,
    /// Pose after settling.
    #[serde(serialize_with = "as_pose")]
    pub settled: solid::Pose,
    /// How far its centre moved on settling, mm.
    pub moved: Figure,
    /// How far it turned on settling, deg.
    pub turned: Figure,
    /// Least angle through which it can be tipped before it falls, deg; none when it doesn't rest.
    pub tip_angle: Option<Figure>,
    /// Present friction over the least friction that holds it; none when no friction is needed.
    pub slide_margin: Option<Figure>,
    /// Upward force when it is held under water, N.
    pub lift_when_held_under: Figure,
    /// Stone that must be tied to it so that it sinks, kg; none when it sinks.
    pub ballast_stone: Option<Figure>,
}

/// The group *Stands*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stands {
    /// Every piece, in the order of placing; none when the layout could not be settled.
    pub pieces: Vec<PieceStands>,
    /// What settling gave, for drawings: contacts, patches and forces.
    #[serde(skip)]
    pub settled: Option<Arc<Settled>>,
    /// What was found, in the order of placing.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}

/// Writes a pose as methods do: `centre_mm` and `quaternion`.
fn as_pose<S: serde::Serializer>(pose: &solid::Pose, serializer: S) -> Result<S::Ok, S::Error> {
    use serde::ser::SerializeStruct;
    let mut fields = serializer.serialize_struct("Pose", 2)?;
    fields.serialize_field("centre_mm", &(pose.centre_m * 1e3).to_array())?;
    let q = pose.turn;
    fields.serialize_field("quaternion", &[q.w, q.x, q.y, q.z])?;
    fields.end()
}

/// Reckons the group: settles the layout and judges every piece; nothing when
/// `progress` breaks it off.
pub(super) fn reckon(
    layout: &Layout,
    in_ground: &InGround,
    memo: &mut Memo,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Option<Stands>, GroundError> {
    let key = stands_key(layout, in_ground);
    if let Some(kept) = memo.stands.kept(&key) {
        return Ok(Some(kept));
    }
    prepare(layout, memo);
    memo.counts.n_stands += 1;
    let mut findings = by_place(layout, in_ground);
    let settled = match scene(layout, in_ground)? {
        Ok(scene) => match settle::settle(&scene, progress) {
            Err(LayoutError::Stopped) => return Ok(None),
            settled => settled.map_err(|error| refused(layout, &error)),
        },
        Err(unsettled) => Err(unsettled),
    };
    let (pieces, settled) = match settled {
        Ok(settled) => (
            judged(layout, &settled, &mut findings),
            Some(Arc::new(settled)),
        ),
        Err(unsettled) => {
            // A piece through the glass was found where it is put; settling refuses it for that.
            let known = findings
                .iter()
                .any(|f| matches!(f, Finding::ThroughGlass(t) if Some(t.tag) == unsettled.tag));
            if !known {
                findings.push(Finding::Unsettled(unsettled));
            }
            (Vec::new(), None)
        }
    };
    let stands = Stands {
        pieces,
        settled,
        cautions: findings.iter().map(Finding::caution).collect(),
        findings,
    };
    memo.stands.keep(key, stands.clone());
    Ok(Some(stands))
}

fn stands_key(layout: &Layout, in_ground: &InGround) -> Key {
    let s = &layout.surroundings;
    let mut key = Key::default()
        .key(&in_ground.laid_key)
        .number(layout.tank.water_line_m)
        .number(s.base_friction)
        .number(s.wall_friction)
        .number(s.ground_friction)
        .number(s.temperature_c)
        .number(s.salinity_g_kg);
    for placed in &layout.placed {
        let piece = &placed.piece;
        key = key
            .key(&pose_key(placed))
            .text(&piece.tag().to_string())
            .number(piece.mass().mass_kg)
            .count(piece.mass().certainty as u64)
            .number(piece.material().friction);
    }
    key
}

/// Prepares the solids that were not prepared before, side by side.
fn prepare(layout: &Layout, memo: &mut Memo) {
    let mut missing: Vec<&Piece> = Vec::new();
    for placed in &layout.placed {
        let shape = placed.piece.shape();
        let print = shape.fingerprint();
        if !shape.is_prepared() && missing.iter().all(|p| p.shape().fingerprint() != print) {
            missing.push(&placed.piece);
        }
    }
    memo.counts.n_solids += missing.len();
    missing.par_iter().for_each(|piece| {
        // A solid that can't be prepared is told when its body is made.
        let _ = piece.shape().solid();
    });
}

/// The layout as settling wants it, or why a piece can't be settled.
fn scene(layout: &Layout, in_ground: &InGround) -> Result<Result<Scene, Unsettled>, GroundError> {
    let inside = layout.tank.inside_m();
    let s = &layout.surroundings;
    let ground = if in_ground.laid.highest_m > 0.0 {
        Some(settle::Ground {
            friction: s.ground_friction,
            form: GroundForm::Heights(in_ground.laid.surface()?),
        })
    } else {
        None
    };
    let bodies: Result<Vec<Body>, Unsettled> = layout.placed.iter().map(body).collect();
    Ok(bodies.map(|bodies| Scene {
        tank: settle::Tank {
            length_m: inside.x,
            width_m: inside.y,
            height_m: inside.z,
            base_friction: s.base_friction,
            wall_friction: s.wall_friction,
            tilt_x_rad: 0.0,
            tilt_y_rad: 0.0,
        },
        ground,
        water: (layout.tank.water_line_m > 0.0).then(|| settle::Water {
            level_m: layout.tank.water_line_m,
            density_kg_m3: density_kg_m3(s.temperature_c, s.salinity_g_kg),
        }),
        bodies,
        ballast_density_kg_m3: BALLAST_DENSITY_KG_M3,
    }))
}

fn body(placed: &Placed) -> Result<Body, Unsettled> {
    let piece = &placed.piece;
    let refuse = |reason: String| Unsettled {
        tag: Some(piece.tag()),
        reason,
        hint: "scan it again; the scan must close".to_owned(),
    };
    let solid = match piece.shape().solid() {
        Ok(solid) => Arc::clone(solid),
        Err(error) => return Err(refuse(error.to_string())),
    };
    Ok(Body {
        id: piece.tag().to_string(),
        solid,
        mass_kg: piece.mass().mass_kg,
        friction: piece.material().friction,
        pose: placed.pose.canonical(),
        bedded: placed.bedded,
    })
}

fn refused(layout: &Layout, error: &LayoutError) -> Unsettled {
    Unsettled {
        tag: error
            .body()
            .and_then(|body| layout.placed.get(body))
            .map(|placed| placed.piece.tag()),
        reason: error.to_string(),
        hint: error.hint(),
    }
}

/// Findings that follow from where a piece is put, before anything is let go.
fn by_place(layout: &Layout, in_ground: &InGround) -> Vec<Finding> {
    let inside_m: DVec3 = layout.tank.inside_m();
    let mut findings = Vec::new();
    for (placed, share) in layout.placed.iter().zip(&in_ground.shares) {
        let (tag, (low_m, high_m)) = (placed.piece.tag(), share.box_m);
        let through = ThroughGlass::check(tag, low_m, high_m, inside_m);
        findings.extend(through.into_iter().map(Finding::ThroughGlass));
        findings.extend(AboveRim::check(tag, high_m.z, inside_m.z).map(Finding::AboveRim));
        let water = AboveWater::check(tag, high_m.z, layout.tank.water_line_m);
        findings.extend(water.map(Finding::AboveWater));
    }
    findings
}

/// Every piece's figures; what is found is added to `findings`.
fn judged(layout: &Layout, settled: &Settled, findings: &mut Vec<Finding>) -> Vec<PieceStands> {
    layout
        .placed
        .iter()
        .zip(&settled.pieces)
        .map(|(placed, piece)| {
            let found = found(placed, piece);
            let tag = placed.piece.tag();
            let spoilt = |finding: &Finding| match finding {
                Finding::ThroughGlass(through) => through.tag == tag,
                _ => false,
            };
            let stands =
                !found.iter().any(Finding::spoils_standing) && !findings.iter().any(spoilt);
            findings.extend(found);
            figures(placed, piece, stands)
        })
        .collect()
}

fn found(placed: &Placed, piece: &SettledPiece) -> Vec<Finding> {
    let tag = placed.piece.tag();
    let fell_mm = (placed.pose.centre_m.z - piece.pose.centre_m.z) * 1e3;
    let moved = Moved::check(
        tag,
        piece.moved_m * 1e3,
        fell_mm,
        piece.turned_rad.to_degrees(),
    );
    let lift_n = piece.lift_when_held_under_n;
    let floats = Floats::check(tag, lift_n, piece.ballast_stone_kg).map(Finding::Floats);
    let mut found: Vec<Finding> = moved.map(Finding::Moved).into_iter().collect();
    if piece.at_rest {
        let tips = piece
            .tip_angle_rad
            .and_then(|angle| Tips::check(tag, angle.to_degrees()));
        let slides = piece.slide_margin.and_then(|m| Slides::check(tag, m));
        found.extend(tips.map(Finding::Tips));
        found.extend(slides.map(Finding::Slides));
    } else if found.is_empty() {
        found.push(Finding::Unsettled(Unsettled {
            tag: Some(tag),
            reason: "nothing holds it where it came to lie".to_owned(),
            hint: "bed it, wedge it, or tie it to what holds".to_owned(),
        }));
    }
    found.extend(floats);
    found
}

fn figures(placed: &Placed, piece: &SettledPiece, stands: bool) -> PieceStands {
    const SETTLING: &str =
        "rigid bodies with Coulomb friction under gravity and buoyancy, until at rest";
    const BALANCE: &str = "static balance of the contacts at rest (linear program)";
    let estimated = |value: f64, unit: &str, relation: &str, source: &str| {
        Figure::new(value, unit, Certainty::Estimated, relation, source)
    };
    let lift_certainty = placed.piece.mass().certainty.max(Certainty::Estimated);
    let lift_n = piece.lift_when_held_under_n;
    PieceStands {
        tag: placed.piece.tag(),
        stands,
        at_rest: piece.at_rest,
        settled: piece.pose,
        moved: estimated(
            piece.moved_m * 1e3,
            "mm",
            "from where it was put to where it rests",
            SETTLING,
        ),
        turned: estimated(
            piece.turned_rad.to_degrees(),
            "deg",
            "from how it was put to how it rests",
            SETTLING,
        ),
        tip_angle: piece.tip_angle_rad.filter(|_| piece.at_rest).map(|angle| {
            estimated(
                angle.to_degrees(),
                "deg",
                "least turn of gravity for which no balance exists; contacts only push",
                BALANCE,
            )
        }),
        slide_margin: piece.slide_margin.filter(|m| m.is_finite()).map(|margin| {
            Figure::new(
                margin,
                "",
                Certainty::Assumed,
                "assumed friction ÷ the least friction for which a balance exists",
                BALANCE,
            )
        }),
        lift_when_held_under: Figure::new(
            lift_n,
            "N",
            lift_certainty,
            "(density of water × volume − mass) × g",
            "Archimedes' principle",
        ),
        ballast_stone: (lift_n > 0.0).then(|| {
            Figure::new(
                piece.ballast_stone_kg,
                "kg",
                lift_certainty,
                format!(
                    "volume × (ρ water − ρ piece) ÷ (1 − ρ water ÷ {BALLAST_DENSITY_KG_M3} kg/m³)"
                ),
                "Archimedes' principle; the stone is under water too",
            )
        }),
    }
}
