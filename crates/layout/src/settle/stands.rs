//! How the pieces stand once they lie still.

use glam::DVec3;
use solid::Pose;

use super::{
    STILL_M_S,
    barrier::Barrier,
    buoyancy::{self, Surface},
    contacts::{self, Contact},
    equilibrium::{self, Forces, Island, Load},
    margins::{self, IN_BALANCE, Tip},
    patches::{self, Patch},
    scene::{Body, GRAVITY_M_S2, Scene, Support},
    water,
    world::World,
};

/// Everything that a settling gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// The pieces, in the scene's order.
    pub pieces: Vec<SettledPiece>,
    /// Water that the pieces displace, m³.
    pub displaced_water_m3: f64,
    /// Level of the water above the middle of the base, m.
    pub water_level_m: Option<f64>,
    /// Mass of all pieces, kg.
    pub solid_mass_kg: f64,
    /// What the pieces press on base and ground, square to the base, N.
    pub base_force_n: f64,
    /// Steps done.
    pub steps: usize,
}

/// How one piece stands.
#[derive(Debug, Clone, PartialEq)]
pub struct SettledPiece {
    /// Where it lies.
    pub pose: Pose,
    /// How far its centre of mass moved, m.
    pub moved_m: f64,
    /// Through which angle it turned, rad.
    pub turned_rad: f64,
    /// Whether it lies still and its contacts can hold it.
    pub at_rest: bool,
    /// The greatest imbalance of its group, as a share of a piece's weight.
    pub imbalance: f64,
    /// Least angle through which gravity can turn before the group it touches
    /// has no equilibrium, rad; `None` when nothing holds it, as for a float.
    pub tip_angle_rad: Option<f64>,
    /// Which body of its group goes first then.
    pub tips_first: Option<usize>,
    /// Present friction over the least with which the group stands; `None` when
    /// it needs none.
    pub slide_margin: Option<f64>,
    /// Net push upwards when held wholly under water, N.
    pub lift_when_held_under_n: f64,
    /// Stone, under water too, that would just hold it down, kg; negative when
    /// it sinks by itself.
    pub ballast_stone_kg: f64,
    /// Depth of its lowest point below the level when it floats, m.
    pub draft_m: Option<f64>,
    /// Volume under water, m³.
    pub submerged_m3: f64,
    /// Forces on it.
    pub contacts: Vec<ContactForce>,
    /// Patches on which it presses.
    pub patches: Vec<Patch>,
}

/// A force on a piece at one point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ContactForce {
    /// What exerts it.
    pub with: Support,
    /// Where, tank frame, m.
    pub point_m: DVec3,
    /// The force on the piece, tank frame, N.
    pub force_n: DVec3,
}

/// What one island's balance gave.
struct Verdict {
    forces: Option<Forces>,
    tip: Option<Tip>,
    slide_margin: Option<f64>,
}

/// Where the pieces are, what touches, and what the water carries.
struct State {
    poses: Vec<Pose>,
    contacts: Vec<Contact>,
    surface: Option<Surface>,
    wet_m3: Vec<f64>,
    loads: Vec<Load>,
}

impl State {
    fn of(scene: &Scene, barriers: &[Barrier], world: &World) -> Self {
        let poses: Vec<Pose> = (0..scene.bodies.len()).map(|i| world.pose(i)).collect();
        let surface = Surface::of(scene);
        let (wet_m3, loads) = (0..poses.len())
            .map(|i| load(scene, i, &poses[i], surface.as_ref()))
            .unzip();
        Self {
            contacts: contacts::find(scene, barriers, &poses),
            poses,
            surface,
            wet_m3,
            loads,
        }
    }
}

/// Whether the contacts can hold every piece where the world has it now.
pub(crate) fn all_held(scene: &Scene, barriers: &[Barrier], world: &World) -> bool {
    let state = State::of(scene, barriers, world);
    let down = scene.tank.down();
    equilibrium::islands(&state.loads, &state.contacts)
        .iter()
        .all(|island| {
            equilibrium::hold(island, down, 1.0).is_some_and(|f| f.imbalance <= IN_BALANCE)
        })
}

/// Judges the pieces where the world has them now.
pub(crate) fn judge(scene: &Scene, barriers: &[Barrier], world: &World) -> Settled {
    let State {
        poses,
        contacts: found,
        surface,
        wet_m3: wet,
        loads,
    } = State::of(scene, barriers, world);
    let speeds: Vec<f64> = (0..poses.len()).map(|i| world.speed_m_s(i)).collect();
    let down = scene.tank.down();
    let mut pieces: Vec<SettledPiece> = (0..poses.len())
        .map(|i| unheld(scene, i, poses[i], wet[i], surface.as_ref()))
        .collect();
    for island in equilibrium::islands(&loads, &found) {
        let verdict = verdict(&island, down);
        for body in &island.bodies {
            apply(&mut pieces[*body], &island, &verdict, speeds[*body]);
        }
        forces(&mut pieces, &island, &verdict);
    }
    for piece in &mut pieces {
        piece.patches = patches_of(piece, &found);
        if let (Some(_), Some(surface)) = (piece.draft_m, surface.as_ref()) {
            let held = piece.contacts.iter().any(|c| c.force_n.length() > 0.0);
            let above = surface.above_m(piece.pose.centre_m);
            if held && above < -1.0 {
                piece.draft_m = None;
            }
        }
    }
    Settled {
        displaced_water_m3: wet.iter().sum(),
        water_level_m: scene.water.map(|w| w.level_m),
        solid_mass_kg: scene.bodies.iter().map(|b| b.mass_kg).sum(),
        base_force_n: base_force_n(&pieces),
        steps: world.steps,
        pieces,
    }
}

fn submerged(scene: &Scene, index: usize, pose: &Pose, surface: Option<&Surface>) -> (f64, DVec3) {
    let body = &scene.bodies[index];
    surface.map_or((0.0, pose.centre_m), |surface| {
        let wet = buoyancy::submerged(body, body.solid.mesh(), pose, surface);
        (wet.volume_m3, wet.centre_m)
    })
}

/// The volume of a body under water, m³, and what acts on it beside contacts.
fn load(scene: &Scene, index: usize, pose: &Pose, surface: Option<&Surface>) -> (f64, Load) {
    let body = &scene.bodies[index];
    let (volume, centre) = submerged(scene, index, pose, surface);
    let density = scene.water.map_or(0.0, |w| w.density_kg_m3);
    let load = Load {
        centre_m: pose.centre_m,
        weight_n: body.mass_kg * GRAVITY_M_S2,
        lift_n: density * volume * GRAVITY_M_S2,
        lift_arm_m: centre - pose.centre_m,
        radius_m: body.solid.radius_m(),
    };
    (volume, load)
}

/// Density of the water that a piece is judged against: the scene's, or else
/// fresh water at 20 °C.
fn reference_water_kg_m3(scene: &Scene) -> f64 {
    scene
        .water
        .map_or_else(|| water::density_kg_m3(20.0, 0.0), |w| w.density_kg_m3)
}

/// A piece as it lies, before its contacts are known.
fn unheld(
    scene: &Scene,
    index: usize,
    pose: Pose,
    submerged_m3: f64,
    surface: Option<&Surface>,
) -> SettledPiece {
    let body = &scene.bodies[index];
    let water = reference_water_kg_m3(scene);
    let volume = body.solid.volume_m3();
    let turn = pose.turn * body.pose.turn.inverse();
    SettledPiece {
        pose,
        moved_m: pose.centre_m.distance(body.pose.centre_m),
        turned_rad: 2.0 * turn.xyz().length().atan2(turn.w.abs()),
        at_rest: false,
        imbalance: f64::INFINITY,
        tip_angle_rad: None,
        tips_first: None,
        slide_margin: None,
        lift_when_held_under_n: (water * volume - body.mass_kg) * GRAVITY_M_S2,
        ballast_stone_kg: ballast_kg(body, water, scene.ballast_density_kg_m3),
        draft_m: surface.and_then(|s| floating_draft_m(body, &pose, submerged_m3, s)),
        submerged_m3,
        contacts: Vec::new(),
        patches: Vec::new(),
    }
}

/// Stone that would just hold a body down.
///
/// # Equation
/// V(ρ_w − ρ)/(1 − ρ_w/ρ_stone): the lift of the body over the net weight of a
/// kilogram of stone under water.
fn ballast_kg(body: &Body, water: f64, stone: f64) -> f64 {
    body.solid.volume_m3() * (water - body.density_kg_m3()) / (1.0 - water / stone)
}

/// The draft of a body that breaks the surface and that water alone could carry.
fn floating_draft_m(body: &Body, pose: &Pose, submerged_m3: f64, surface: &Surface) -> Option<f64> {
    let volume = body.solid.volume_m3();
    let breaks = submerged_m3 > 0.0 && submerged_m3 < volume * (1.0 - 1e-9);
    (breaks && body.density_kg_m3() < surface.density_kg_m3)
        .then(|| buoyancy::draft_m(body, pose, surface))
}

fn verdict(island: &Island, down: DVec3) -> Verdict {
    let forces = equilibrium::hold(island, down, 1.0);
    let stands = forces.as_ref().is_some_and(|f| f.imbalance <= IN_BALANCE);
    Verdict {
        tip: stands.then(|| margins::tip(island, down)).flatten(),
        slide_margin: margins::slide_margin(island, down),
        forces,
    }
}

fn apply(piece: &mut SettledPiece, island: &Island, verdict: &Verdict, speed_m_s: f64) {
    piece.imbalance = verdict.forces.as_ref().map_or(1.0, |f| f.imbalance);
    let stands = piece.imbalance <= IN_BALANCE;
    piece.at_rest = stands && speed_m_s < STILL_M_S;
    piece.slide_margin = verdict.slide_margin;
    piece.tip_angle_rad = match &verdict.tip {
        Some(tip) => Some(tip.angle_rad),
        None if stands => None,
        None => Some(0.0),
    };
    piece.tips_first = verdict
        .tip
        .as_ref()
        .and_then(|tip| island.bodies.get(tip.first).copied());
}

/// Hands each contact's force to the piece that is held and, turned round, to
/// the piece that holds.
fn forces(pieces: &mut [SettledPiece], island: &Island, verdict: &Verdict) {
    for (c, contact) in island.contacts.iter().enumerate() {
        let force_n = verdict
            .forces
            .as_ref()
            .map_or(DVec3::ZERO, |f| f.at_contacts_n[c]);
        let force = ContactForce {
            with: contact.by,
            point_m: contact.point_m,
            force_n,
        };
        pieces[contact.body].contacts.push(force);
        if let Support::Piece(other) = contact.by {
            pieces[other].contacts.push(ContactForce {
                with: Support::Piece(contact.body),
                force_n: -force_n,
                ..force
            });
        }
    }
}

fn patches_of(piece: &SettledPiece, found: &[Contact]) -> Vec<Patch> {
    let mut with: Vec<Support> = piece.contacts.iter().map(|c| c.with).collect();
    with.sort_unstable();
    with.dedup();
    with.into_iter()
        .map(|with| {
            let touches: Vec<_> = piece
                .contacts
                .iter()
                .filter(|c| c.with == with)
                .map(|c| (c.point_m, normal_at(found, c), c.force_n))
                .collect();
            patches::patch(with, &touches)
        })
        .collect()
}

/// The normal of the contact that a force came from, towards the piece it acts on.
fn normal_at(found: &[Contact], force: &ContactForce) -> DVec3 {
    found
        .iter()
        .find(|c| c.point_m == force.point_m)
        .map_or(DVec3::Z, |c| {
            if force.force_n.dot(c.normal) < 0.0 {
                -c.normal
            } else {
                c.normal
            }
        })
}

fn base_force_n(pieces: &[SettledPiece]) -> f64 {
    pieces
        .iter()
        .flat_map(|p| &p.contacts)
        .filter(|c| matches!(c.with, Support::Base | Support::Ground))
        .map(|c| c.force_n.z)
        .sum()
}
