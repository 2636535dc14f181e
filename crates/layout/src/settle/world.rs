//! How the pieces move from step to step.

use std::sync::Arc;

use glam::{DMat3, DVec3};
use rapier3d_f64::{
    parry::math::Pose as Frame,
    prelude::{
        CoefficientCombineRule, Collider, ColliderBuilder, FrictionModel, Group,
        IntegrationParameters, InteractionGroups, InteractionTestMode, MassProperties, NarrowPhase,
        PhysicsWorld, RigidBodyBuilder, RigidBodyHandle, SharedShape, SpringCoefficients,
    },
};
use solid::Pose;

use super::{
    barrier::Barrier,
    buoyancy,
    meeting::Meeting,
    rim,
    scene::{Body, GRAVITY_M_S2, Scene},
    shapes::{BarrierShape, Cloud, Lump, PartShape},
};

/// Length of a step, s.
pub(crate) const STEP_S: f64 = 1e-3;
/// Steps over which a speed is taken.
pub(crate) const MARK_STEPS: usize = 10;
/// How near two surfaces must be for the solver to hear of them, m.
const REACH_M: f64 = 2e-3;
/// The engine's tolerances scale with this length: a tenth of a metre is a piece.
const LENGTH_UNIT_M: f64 = 0.1;
/// Fastest that an overlap is pushed apart, m/s.
const PUSH_APART_M_S: f64 = 0.1;
/// Natural frequency of a contact, Hz, and its damping ratio. Both are far above
/// what a step resolves, so that a contact is rigid (a body sinks in by g/ω², 0.01 µm,
/// and its normal force is softened by 1/(2 ζ ω h), under 0.1 ‰) and what has sunk in
/// is lifted out at ω/2ζ, 3 times a second. Ten times as quick, the lifting by tenths
/// of a µm at each new corner keeps a pebble rocking for ever; at the engine's own
/// 30 Hz a stone lies 0.1 mm deep.
const FIRMNESS_HZ: f64 = 5000.0;
const DAMPING: f64 = 5000.0;
/// Solver substeps of a step.
const SUBSTEPS: usize = 4;
/// Steps in which gravity grows to its full size.
const RAMP_STEPS: usize = 100;
/// Rate at which rolling and rocking lose speed, 1/s: stones on ground and on each
/// other do, and a rounded one on the base would else rock for a minute. What
/// slides loses nothing by it, and what topples only topples later.
const ROLLING_LOSS_1_S: f64 = 4.0;
/// Rate at which a body wholly under water loses speed, 1/s. It only decides how
/// soon a float comes to rest, not where.
const WATER_DRAG_1_S: f64 = 4.0;

const PARTS: Group = Group::GROUP_1;
const CLOUDS: Group = Group::GROUP_2;
const BARRIERS: Group = Group::GROUP_3;

/// The moving pieces.
pub(crate) struct World {
    engine: PhysicsWorld,
    handles: Vec<RigidBodyHandle>,
    marked: Vec<Pose>,
    speeds_m_s: Vec<f64>,
    /// Steps done.
    pub steps: usize,
}

impl World {
    /// Sets the scene up at the bodies' poses.
    pub fn new(scene: &Scene, barriers: &[Barrier]) -> Self {
        let mut engine = PhysicsWorld {
            gravity: scene.tank.down() * GRAVITY_M_S2,
            integration_parameters: parameters(),
            narrow_phase: NarrowPhase::with_query_dispatcher(Meeting),
            ..PhysicsWorld::default()
        };
        for barrier in barriers {
            let shape = BarrierShape {
                barrier: Arc::new(barrier.clone()),
                bounds: barrier.bounds(&scene.tank, REACH_M),
            };
            engine.colliders.insert(collider(
                SharedShape(Arc::new(shape)),
                barrier.friction,
                (BARRIERS, CLOUDS),
            ));
        }
        for strip in rim::strips(scene) {
            engine.colliders.insert(collider(
                SharedShape(Arc::new(PartShape {
                    part: Arc::new(strip),
                })),
                scene.tank.wall_friction,
                (PARTS, PARTS),
            ));
        }
        let handles = scene
            .bodies
            .iter()
            .map(|body| insert(&mut engine, body))
            .collect();
        Self {
            engine,
            handles,
            marked: scene.bodies.iter().map(|b| b.pose.canonical()).collect(),
            speeds_m_s: vec![f64::INFINITY; scene.bodies.len()],
            steps: 0,
        }
    }

    /// One step of [`STEP_S`].
    pub fn step(&mut self, scene: &Scene) {
        let share = ramp(self.steps);
        self.engine.gravity = scene.tank.down() * (GRAVITY_M_S2 * share);
        if scene.water.is_some() {
            self.push_up(scene, share);
        }
        self.engine.step();
        self.steps += 1;
        if self.steps.is_multiple_of(MARK_STEPS) {
            self.mark(scene);
        }
    }

    /// Buoyancy and drag for the coming step.
    fn push_up(&mut self, scene: &Scene, gravity_share: f64) {
        let Some(surface) = buoyancy::Surface::of(scene) else {
            return;
        };
        for (body, handle) in scene.bodies.iter().zip(&self.handles) {
            let rigid = &mut self.engine.bodies[*handle];
            let pose = pose_of(rigid.position());
            let wet = buoyancy::submerged(body, body.solid.coarse(), &pose, &surface);
            rigid.reset_forces(false);
            rigid.reset_torques(false);
            let wet_share = (wet.volume_m3 / body.solid.volume_m3()).clamp(0.0, 1.0);
            rigid.set_linear_damping(WATER_DRAG_1_S * wet_share);
            rigid.set_angular_damping(ROLLING_LOSS_1_S + WATER_DRAG_1_S * wet_share);
            if wet.volume_m3 > 0.0 {
                let lift = wet.lift_n(&surface) * gravity_share;
                rigid.add_force_at_point(lift, wet.centre_m, false);
            }
        }
    }

    /// Where body `index` is now.
    pub fn pose(&self, index: usize) -> Pose {
        pose_of(self.engine.bodies[self.handles[index]].position())
    }

    /// Speed of the fastest point of body `index`, at most, m/s: the mean over the
    /// last [`MARK_STEPS`], so that the solver's trembling of a piece that is
    /// wedged on many sides, a few µm from step to step, is no motion.
    pub fn speed_m_s(&self, index: usize) -> f64 {
        self.speeds_m_s[index]
    }

    /// Notes where the bodies are and how fast they came here.
    fn mark(&mut self, scene: &Scene) {
        let poses: Vec<Pose> = (0..scene.bodies.len()).map(|i| self.pose(i)).collect();
        let span_s = MARK_STEPS as f64 * STEP_S;
        for (i, body) in scene.bodies.iter().enumerate() {
            let (now, then) = (&poses[i], &self.marked[i]);
            let turn = 2.0 * (now.turn * then.turn.inverse()).xyz().length();
            let way = now.centre_m.distance(then.centre_m) + turn * body.solid.radius_m();
            self.speeds_m_s[i] = way / span_s;
        }
        self.marked = poses;
    }
}

/// Gravity's share at a step: it grows from nothing, so that a stack that stands
/// on a knife's edge finds its forces without a jolt.
fn ramp(step: usize) -> f64 {
    let t = ((step + 1) as f64 / RAMP_STEPS as f64).min(1.0);
    t * t * (3.0 - 2.0 * t)
}

fn pose_of(frame: &Frame) -> Pose {
    Pose {
        centre_m: frame.translation,
        turn: frame.rotation,
    }
    .canonical()
}

fn parameters() -> IntegrationParameters {
    IntegrationParameters {
        dt: STEP_S,
        length_unit: LENGTH_UNIT_M,
        normalized_prediction_distance: REACH_M / LENGTH_UNIT_M,
        normalized_max_corrective_velocity: PUSH_APART_M_S / LENGTH_UNIT_M,
        num_solver_iterations: SUBSTEPS,
        contact_softness: SpringCoefficients::new(FIRMNESS_HZ, DAMPING),
        static_contact_softness: SpringCoefficients::new(FIRMNESS_HZ, DAMPING),
        // One friction force and one twist for each manifold. With one force for
        // each point, the points of a sliding box pull against each other
        // sideways and 4 % of the friction is lost.
        friction_model: FrictionModel::Simplified,
        contact_clustering: false,
        contact_recycling: false,
        max_ccd_substeps: 0,
        ..IntegrationParameters::default()
    }
}

fn collider(shape: SharedShape, friction: f64, (own, meets): (Group, Group)) -> Collider {
    ColliderBuilder::new(shape)
        .density(0.0)
        .friction(friction)
        .friction_combine_rule(CoefficientCombineRule::Min)
        .restitution(0.0)
        .collision_groups(InteractionGroups::new(own, meets, InteractionTestMode::And))
        .build()
}

fn insert(engine: &mut PhysicsWorld, body: &Body) -> RigidBodyHandle {
    let frame = Frame::from_parts(body.pose.centre_m, body.pose.turn);
    let inertia: DMat3 = body.inertia_kg_m2();
    let rigid = RigidBodyBuilder::dynamic()
        .pose(frame)
        .can_sleep(false)
        .angular_damping(ROLLING_LOSS_1_S)
        .additional_mass_properties(MassProperties::with_inertia_matrix(
            DVec3::ZERO,
            body.mass_kg,
            inertia,
        ))
        .build();
    let handle = engine.bodies.insert(rigid);
    let from_piece = Frame::from_translation(-body.solid.centre_m());
    let met: Vec<SharedShape> = if body.solid.field().is_some() {
        let solid = Arc::clone(&body.solid);
        vec![SharedShape(Arc::new(Lump { solid }))]
    } else {
        let parts = body.solid.parts().iter();
        parts
            .map(|part| {
                let part = Arc::new(part.clone());
                SharedShape(Arc::new(PartShape { part }))
            })
            .collect()
    };
    let shapes = met
        .into_iter()
        .map(|shape| (shape, (PARTS, PARTS)))
        .chain([(
            SharedShape(Arc::new(Cloud {
                solid: Arc::clone(&body.solid),
            })),
            (CLOUDS, BARRIERS),
        )]);
    for (shape, groups) in shapes {
        let mut collider = collider(shape, body.friction, groups);
        // Taken as relative to the parent when it is inserted.
        collider.set_position(from_piece);
        engine
            .colliders
            .insert_with_parent(collider, handle, &mut engine.bodies);
    }
    handle
}
