//! Where pieces come to rest, and how safely.
//!
//! [`settle`] lets rigid bodies go in a tank and steps them until they lie still,
//! then solves one static balance on the final contacts for forces and margins.
//! Solver impulses are never reported.

mod barrier;
mod bedding;
pub mod buoyancy;
mod contacts;
mod distance;
mod equilibrium;
mod field;
mod margins;
mod meeting;
mod overlap;
mod parts;
mod patches;
pub mod prepared;
mod probe;
mod rim;
mod sampling;
pub mod scene;
mod shapes;
mod stands;
mod touch;
pub mod water;
mod world;

use std::ops::ControlFlow;

use barrier::Barrier;
pub use overlap::ALLOWED_M;
pub use parts::Part;
pub use patches::{LEAST_AREA_M2, Patch};
pub use prepared::{NotSolid, Solid};
pub use scene::{Body, GRAVITY_M_S2, Ground, GroundForm, Progress, Scene, Support, Tank, Water};
pub use stands::{ContactForce, Settled, SettledPiece};
use world::{MARK_STEPS, STEP_S, World};

use crate::LayoutError;

/// A piece is still while its fastest point is slower than this, m/s.
pub const STILL_M_S: f64 = 2e-3;
/// How long all pieces must be still to be at rest, s.
pub const STILL_FOR_S: f64 = 0.25;
/// Longest simulated time, s; what still moves then is reported as moving.
pub const LONGEST_S: f64 = 15.0;
/// Simulated time between two calls of `progress`, s.
pub const FRAME_S: f64 = 0.04;
/// How long pieces that look still but have no balance are watched, s.
const WATCHED_S: f64 = 2.0;

/// Lets the bodies of a scene go until they rest, and judges how they stand.
///
/// `progress` is called at the start and every [`FRAME_S`], and may stop it. Speeds
/// are means over 10 ms.
///
/// # Errors
/// When pieces overlap at the start, reach through the glass, the ground is
/// no surface, or `progress` breaks off.
pub fn settle(
    scene: &Scene,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Settled, LayoutError> {
    let ground = bedding::hollowed(scene)?;
    let barriers = Barrier::of_tank(&scene.tank, ground.as_ref());
    overlap::check(scene, &barriers)?;
    let mut world = World::new(scene, &barriers);
    let steps_still = (STILL_FOR_S / STEP_S).round() as usize;
    let most = (LONGEST_S / STEP_S).round() as usize;
    let steps_a_frame = (FRAME_S / STEP_S).round() as usize;
    let (mut still, mut watched) = (0, 0);
    let mut fastest = 0.0;
    loop {
        if world.steps.is_multiple_of(steps_a_frame) {
            let now = Progress {
                poses: (0..scene.bodies.len()).map(|i| world.pose(i)).collect(),
                steps: world.steps,
                simulated_s: world.steps as f64 * STEP_S,
                fastest_m_s: fastest,
            };
            if progress(now).is_break() {
                return Err(LayoutError::Stopped);
            }
        }
        for _ in 0..MARK_STEPS {
            world.step(scene);
        }
        fastest = fastest_m_s(&world, scene.bodies.len());
        still = if fastest < STILL_M_S {
            still + MARK_STEPS
        } else {
            0
        };
        if still == 0 {
            watched = 0;
        } else if still >= steps_still && still % steps_still < MARK_STEPS {
            watched += 1;
            let long = f64::from(watched) * STILL_FOR_S >= WATCHED_S;
            if long || stands::all_held(scene, &barriers, &world) {
                return Ok(stands::judge(scene, &barriers, &world));
            }
        }
        if world.steps >= most {
            return Ok(stands::judge(scene, &barriers, &world));
        }
    }
}

fn fastest_m_s(world: &World, n_bodies: usize) -> f64 {
    (0..n_bodies)
        .map(|i| world.speed_m_s(i))
        .fold(0.0, f64::max)
}
