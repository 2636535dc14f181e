//! What `scape.settle` answers.

use glam::DVec3;
use method::{Basis, Caution, Equation};
use schemars::JsonSchema;
use serde::Serialize;
use solid::Pose;

use crate::settle::{Scene, Settled, SettledPiece};

/// How the pieces of a tank stand.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SettleOutput {
    /// The pieces, in the order given.
    pieces: Vec<PieceOutput>,
    /// Water that the pieces displace, litres.
    displaced_water_l: f64,
    /// Water level with everything in place, mm; null without water.
    water_level_mm: Option<f64>,
    /// Mass of all pieces, kg.
    solid_mass_kg: f64,
    /// What the pieces press on base and ground together, square to the base, N.
    base_force_n: f64,
    /// Steps of 1 ms done.
    iterations: usize,
    /// What to look at.
    cautions: Vec<Caution>,
    /// Where each figure comes from.
    basis: Vec<Basis>,
}

/// One piece.
#[derive(Debug, Clone, Serialize, JsonSchema)]
struct PieceOutput {
    /// Its id.
    id: String,
    /// Where it lies.
    pose: PoseOutput,
    /// How far its centre of mass moved, mm.
    moved_mm: f64,
    /// Through which angle it turned, °.
    turned_deg: f64,
    /// Whether it lies still and its contacts can hold it.
    at_rest: bool,
    /// How far gravity can turn before its group has no equilibrium, °; null
    /// when nothing holds it, as for a float.
    tip_angle_deg: Option<f64>,
    /// Present friction over the least with which its group stands; null when
    /// it needs none.
    slide_margin: Option<f64>,
    /// Net push upwards when held wholly under water, N; positive when it would rise.
    lift_when_held_under_n: f64,
    /// Stone, under water too, that just holds it down, kg; negative when it
    /// sinks by itself.
    ballast_stone_kg: f64,
    /// Depth of its lowest point below the level, mm; null when it does not float.
    draft_mm: Option<f64>,
    /// Forces on it.
    contacts: Vec<ContactOutput>,
    /// Where it presses on what, and how hard.
    patches: Vec<PatchOutput>,
}

/// Place and turn.
#[derive(Debug, Clone, Serialize, JsonSchema)]
struct PoseOutput {
    /// Centre of mass in the tank frame, mm.
    centre_mm: [f64; 3],
    /// Unit quaternion [w, x, y, z], w ≥ 0, that takes piece axes into tank axes.
    quaternion: [f64; 4],
}

/// A force on a piece.
#[derive(Debug, Clone, Serialize, JsonSchema)]
struct ContactOutput {
    /// What exerts it: a piece's id, `ground`, `base`, `wall_left`, `wall_right`,
    /// `wall_front` or `wall_back`.
    with: String,
    /// Where, mm.
    point_mm: [f64; 3],
    /// The force on the piece, N.
    force_n: [f64; 3],
}

/// A patch on which a piece presses.
#[derive(Debug, Clone, Serialize, JsonSchema)]
struct PatchOutput {
    /// What it presses on.
    with: String,
    /// Area of the outline of the contact points, at least 1 cm².
    area_cm2: f64,
    /// Mean pressure, kPa.
    pressure_kpa: f64,
}

/// The core's result in the contract's units.
pub(super) fn output(
    scene: &Scene,
    settled: &Settled,
    cautions: Vec<Caution>,
    equations: &[Equation],
) -> SettleOutput {
    SettleOutput {
        pieces: scene
            .bodies
            .iter()
            .zip(&settled.pieces)
            .map(|(body, piece)| piece_output(scene, &body.id, piece))
            .collect(),
        displaced_water_l: settled.displaced_water_m3 * 1e3,
        water_level_mm: settled.water_level_m.map(|level| level * 1e3),
        solid_mass_kg: settled.solid_mass_kg,
        base_force_n: plain(settled.base_force_n),
        iterations: settled.steps,
        cautions,
        basis: equations
            .iter()
            .map(|e| Basis::new(e.quantity, e.relation, e.source))
            .collect(),
    }
}

/// No negative zero: it would print as `-0`.
fn plain(value: f64) -> f64 {
    value + 0.0
}

fn vector(v: DVec3) -> [f64; 3] {
    v.to_array().map(plain)
}

fn pose_output(pose: &Pose) -> PoseOutput {
    let q = pose.turn;
    PoseOutput {
        centre_mm: vector(pose.centre_m * 1e3),
        quaternion: [q.w, q.x, q.y, q.z].map(plain),
    }
}

fn piece_output(scene: &Scene, id: &str, piece: &SettledPiece) -> PieceOutput {
    PieceOutput {
        id: id.to_owned(),
        pose: pose_output(&piece.pose),
        moved_mm: piece.moved_m * 1e3,
        turned_deg: piece.turned_rad.to_degrees(),
        at_rest: piece.at_rest,
        tip_angle_deg: piece.tip_angle_rad.map(f64::to_degrees),
        slide_margin: piece.slide_margin,
        lift_when_held_under_n: piece.lift_when_held_under_n,
        ballast_stone_kg: piece.ballast_stone_kg,
        draft_mm: piece.draft_m.map(|draft| draft * 1e3),
        contacts: piece
            .contacts
            .iter()
            .map(|contact| ContactOutput {
                with: contact.with.name(&scene.bodies),
                point_mm: vector(contact.point_m * 1e3),
                force_n: vector(contact.force_n),
            })
            .collect(),
        patches: piece
            .patches
            .iter()
            .map(|patch| PatchOutput {
                with: patch.with.name(&scene.bodies),
                area_cm2: patch.area_m2 * 1e4,
                pressure_kpa: patch.pressure_pa * 1e-3,
            })
            .collect(),
    }
}
