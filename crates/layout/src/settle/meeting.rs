//! How the engine asks where two shapes meet: our own manifolds for all pairs.

use glam::{DQuat, DVec3};
use rapier3d_f64::parry::{
    math::{Pose as Frame, Vector},
    query::{
        ClosestPoints, Contact, ContactManifold, ContactManifoldsWorkspace, NonlinearRigidMotion,
        PersistentQueryDispatcher, QueryDispatcher, ShapeCastHit, TrackedContact, Unsupported,
        details::{
            NormalConstraints, ShapeCastOptions, ShapeDistance, ShapeIntersection,
            TypedWorkspaceData, WorkspaceData,
        },
    },
    shape::{PackedFeatureId, Shape},
};

use super::{
    barrier::Barrier,
    prepared::Solid,
    probe::{self, Near, Side},
    shapes::{BarrierShape, Cloud, Lump, PartShape},
    touch::{self, Touch},
};

/// Most touches that one pair of shapes hands to the solver.
const MOST_TOUCHES: usize = 16;
/// Touches that the solver takes from one manifold.
const PER_MANIFOLD: usize = 4;
/// Touches of one manifold have normals within this cosine (1.8°) of each other.
const SAME_NORMAL: f64 = 0.9995;

/// A touch this near to an old one goes on with its forces, m.
const SAME_TOUCH_M: f64 = 3e-4;

/// Answers where pieces meet each other and barriers.
pub(crate) struct Meeting;

/// What is remembered of a pair.
#[derive(Clone, Default)]
struct PairMemory {
    /// Last normal of two convex parts, where the search for the next starts.
    normal: Option<DVec3>,
    /// Samples of two pieces that were near.
    near: Option<Near>,
    /// Points of a piece that were near a barrier.
    near_barrier: Option<NearBarrier>,
    /// The last relative pose.
    last: Option<Frame>,
}

/// Surfaces farther apart than this many times the last step's motion, and
/// [`AT_LEAST_M`], do not meet in the next step.
const MOTIONS: f64 = 3.0;
/// How near surfaces are always heard of, m: five times the fall of the first step.
const AT_LEAST_M: f64 = 5e-5;

impl PairMemory {
    /// How near surfaces must be to be heard of now, m.
    fn reach_m(&mut self, pos12: &Frame, g1: &dyn Shape, g2: &dyn Shape, most_m: f64) -> f64 {
        let (now, ball) = match ball(g2) {
            Some(ball) => (*pos12, Some(ball)),
            None => (pos12.inverse(), ball(g1)),
        };
        let moved = self
            .last
            .replace(now)
            .zip(ball)
            .map(|(last, (middle, radius))| {
                let turn = (last.rotation.inverse() * now.rotation).xyz().length();
                let way = last
                    .transform_point(middle)
                    .distance(now.transform_point(middle));
                way + 2.0 * turn * radius
            });
        moved.map_or(most_m, |moved| (MOTIONS * moved + AT_LEAST_M).min(most_m))
    }
}

/// Middle and radius of a ball round what moves of a shape.
fn ball(shape: &dyn Shape) -> Option<(DVec3, f64)> {
    shape
        .as_shape::<Cloud>()
        .map(|cloud| (cloud.solid.centre_m(), cloud.solid.radius_m()))
        .or_else(|| side(shape).map(|side| side.ball()))
}

impl WorkspaceData for PairMemory {
    fn as_typed_workspace_data(&self) -> TypedWorkspaceData<'_> {
        TypedWorkspaceData::Custom
    }

    fn clone_dyn(&self) -> Box<dyn WorkspaceData> {
        Box::new(self.clone())
    }
}

/// What of a piece a shape stands for, where it stands for one.
fn side(shape: &dyn Shape) -> Option<Side<'_>> {
    shape
        .as_shape::<PartShape>()
        .map(|s| Side::Part(&s.part))
        .or_else(|| shape.as_shape::<Lump>().map(|s| Side::Lump(&s.solid)))
}

/// The manifolds of two pieces, in the frame of the first.
fn pieces(
    pos12: &Frame,
    first: Side,
    second: Side,
    reach_m: f64,
    memory: &mut PairMemory,
) -> Vec<(DVec3, Vec<Touch>)> {
    if let (Side::Part(a), Side::Part(b)) = (first, second) {
        let patch = touch::between(&a.polyhedron, &b.polyhedron, pos12, reach_m, memory.normal);
        let Some(patch) = patch else {
            return Vec::new();
        };
        memory.normal = Some(patch.normal);
        let chosen = touch::carry(&patch.touches, patch.normal, DQuat::IDENTITY, MOST_TOUCHES);
        return grouped(chosen.into_iter().map(|i| (patch.touches[i], patch.normal)));
    }
    let found = probe::touches(first, second, pos12, reach_m, &mut memory.near);
    grouped(probe::carrying(&found).into_iter())
}

/// Touches in manifolds of one normal, those that touch now apart from those that
/// may touch next: a manifold's friction acts in the middle of its points, and
/// points that carry nothing would draw it off the place that does.
fn grouped(touches: impl Iterator<Item = (Touch, DVec3)>) -> Vec<(DVec3, Vec<Touch>)> {
    let touches: Vec<(Touch, DVec3)> = touches.collect();
    let deepest = touches.iter().map(|t| t.0.gap_m).fold(f64::MAX, f64::min);
    let now = |touch: &Touch| touch.gap_m <= deepest.max(0.0) + touch::BAND_M;
    let mut groups: Vec<(DVec3, Vec<Touch>)> = Vec::new();
    for (touch, normal) in touches {
        let room = groups.iter_mut().find(|(n, group)| {
            group.len() < PER_MANIFOLD
                && n.dot(normal) >= SAME_NORMAL
                && now(&group[0]) == now(&touch)
        });
        match room {
            Some((_, group)) => group.push(touch),
            None => groups.push((normal, vec![touch])),
        }
    }
    groups
}

fn memory_of(workspace: &mut Option<ContactManifoldsWorkspace>) -> &mut PairMemory {
    let known = workspace
        .as_ref()
        .is_some_and(|w| w.0.downcast_ref::<PairMemory>().is_some());
    if !known {
        *workspace = None;
    }
    let slot =
        workspace.get_or_insert_with(|| ContactManifoldsWorkspace(Box::new(PairMemory::default())));
    #[expect(clippy::expect_used, reason = "the lines above put a PairMemory there")]
    slot.0
        .downcast_mut::<PairMemory>()
        .expect("a pair's memory is always a PairMemory")
}

/// A piece's points that were near a barrier when it was at a pose.
#[derive(Clone)]
struct NearBarrier {
    pose: Frame,
    points: Vec<u32>,
}

/// Points farther off than this are not asked again until the piece has moved
/// half as far, m.
const SLACK_M: f64 = 4e-3;
/// On uneven ground a gap can change faster than the piece moves: the gap square
/// to one triangle becomes that to another.
const UNEVEN_SHARE: f64 = 0.3;

impl NearBarrier {
    fn found(piece_in_tank: &Frame, points: &[DVec3], barrier: &Barrier) -> Self {
        let near = |i: &u32| {
            let in_tank = piece_in_tank.transform_point(points[*i as usize]);
            // Over the top of a pane as well: the piece may sink behind it.
            barrier.gap_unbounded(in_tank).0 <= SLACK_M
        };
        Self {
            pose: *piece_in_tank,
            points: (0..points.len() as u32).filter(near).collect(),
        }
    }

    fn holds(&self, now: &Frame, solid: &Solid, uneven: bool) -> bool {
        let turn = (self.pose.rotation.inverse() * now.rotation).xyz().length();
        let centre = |frame: &Frame| frame.transform_point(solid.centre_m());
        let moved = centre(&self.pose).distance(centre(now)) + 2.0 * turn * solid.radius_m();
        // The other half is for the reach.
        moved < if uneven { UNEVEN_SHARE } else { 1.0 } * 0.5 * SLACK_M
    }
}

/// The manifolds of a piece on a barrier; `piece_in_tank` is the piece's frame.
fn on_barrier(
    piece_in_tank: &Frame,
    cloud: &Cloud,
    barrier: &Barrier,
    reach_m: f64,
    memory: &mut PairMemory,
) -> Vec<(DVec3, Vec<Touch>)> {
    let solid = &cloud.solid;
    let uneven = barrier.is_uneven();
    let points = if uneven {
        solid.samples_m()
    } else {
        solid.hull_m()
    };
    let near = match memory.near_barrier.take() {
        Some(near) if near.holds(piece_in_tank, solid, uneven) => near,
        _ => NearBarrier::found(piece_in_tank, points, barrier),
    };
    let (mut touches, mut normals) = (Vec::new(), Vec::new());
    for index in &near.points {
        let in_tank = piece_in_tank.transform_point(points[*index as usize]);
        let Some((gap_m, normal)) = barrier.gap(in_tank) else {
            continue;
        };
        if gap_m <= reach_m {
            touches.push(Touch {
                on_first: in_tank - normal * gap_m,
                on_second: in_tank,
                gap_m,
                feature: u64::from(*index),
            });
            normals.push(normal);
        }
    }
    memory.near_barrier = Some(near);
    if touches.is_empty() {
        return Vec::new();
    }
    let mean = normals.iter().sum::<DVec3>().normalize_or(DVec3::Z);
    let chosen = touch::carry(&touches, mean, piece_in_tank.rotation, MOST_TOUCHES);
    grouped(chosen.into_iter().map(|i| (touches[i], normals[i])))
}

/// One manifold's normals and touches, in the frames of its two shapes.
struct Local {
    n1: DVec3,
    n2: DVec3,
    touches: Vec<Touch>,
}

/// From the first shape's frame into both; `flipped` swaps the two.
fn in_local_frames(pos12: &Frame, groups: Vec<(DVec3, Vec<Touch>)>, flipped: bool) -> Vec<Local> {
    groups
        .into_iter()
        .map(|(normal, mut touches)| {
            for touch in &mut touches {
                touch.on_second = pos12.inverse_transform_point(touch.on_second);
            }
            let n2 = pos12.rotation.inverse() * -normal;
            if flipped {
                for touch in &mut touches {
                    std::mem::swap(&mut touch.on_first, &mut touch.on_second);
                }
                Local {
                    n1: n2,
                    n2: normal,
                    touches,
                }
            } else {
                Local {
                    n1: normal,
                    n2,
                    touches,
                }
            }
        })
        .collect()
}

/// Puts new manifolds in place of the old, each touch keeping what the solver
/// knew of the same feature.
fn replace<M: Default + Clone, C: Default + Copy>(
    manifolds: &mut Vec<ContactManifold<M, C>>,
    fresh: Vec<Local>,
) {
    let mut old: Vec<TrackedContact<C>> = manifolds.iter().flat_map(|m| m.points.clone()).collect();
    manifolds.resize_with(fresh.len(), ContactManifold::new);
    for (manifold, local) in manifolds.iter_mut().zip(fresh) {
        manifold.local_n1 = local.n1;
        manifold.local_n2 = local.n2;
        manifold.points.clear();
        for touch in &local.touches {
            let (fid1, fid2) = (
                PackedFeatureId((touch.feature >> 32) as u32),
                PackedFeatureId(touch.feature as u32),
            );
            let mut point =
                TrackedContact::new(touch.on_first, touch.on_second, fid1, fid2, touch.gap_m);
            let same = old
                .iter()
                .position(|o| o.fid1 == fid1 && o.fid2 == fid2)
                .or_else(|| nearest(&old, touch.on_first));
            if let Some(same) = same {
                // Each old touch hands its forces on once.
                point.data = old.swap_remove(same).data;
            }
            manifold.points.push(point);
        }
    }
}

/// The old touch nearest to a place on the first shape, within [`SAME_TOUCH_M`].
fn nearest<C>(old: &[TrackedContact<C>], place: DVec3) -> Option<usize> {
    (0..old.len())
        .map(|i| (old[i].local_p1.distance_squared(place), i))
        .filter(|(square, _)| *square < SAME_TOUCH_M * SAME_TOUCH_M)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, i)| i)
}

impl<M: Default + Clone, C: Default + Copy> PersistentQueryDispatcher<M, C> for Meeting {
    fn contact_manifolds(
        &self,
        pos12: &Frame,
        g1: &dyn Shape,
        g2: &dyn Shape,
        prediction: f64,
        manifolds: &mut Vec<ContactManifold<M, C>>,
        workspace: &mut Option<ContactManifoldsWorkspace>,
    ) -> Result<(), Unsupported> {
        // A pair with a memory is sorted anew at every step, as it must be when the
        // number of its manifolds changes.
        let memory = memory_of(workspace);
        let reach_m = memory.reach_m(pos12, g1, g2, prediction);
        if let (Some(first), Some(second)) = (side(g1), side(g2)) {
            let groups = pieces(pos12, first, second, reach_m, memory);
            replace(manifolds, in_local_frames(pos12, groups, false));
            return Ok(());
        }
        let (groups, frame, flipped) = if let (Some(shape), Some(cloud)) =
            (g1.as_shape::<BarrierShape>(), g2.as_shape::<Cloud>())
        {
            (
                on_barrier(pos12, cloud, &shape.barrier, reach_m, memory),
                *pos12,
                false,
            )
        } else if let (Some(cloud), Some(shape)) =
            (g1.as_shape::<Cloud>(), g2.as_shape::<BarrierShape>())
        {
            let frame = pos12.inverse();
            (
                on_barrier(&frame, cloud, &shape.barrier, reach_m, memory),
                frame,
                true,
            )
        } else {
            return Err(Unsupported);
        };
        replace(manifolds, in_local_frames(&frame, groups, flipped));
        Ok(())
    }

    fn contact_manifold_convex_convex(
        &self,
        _: &Frame,
        _: &dyn Shape,
        _: &dyn Shape,
        _: Option<&dyn NormalConstraints>,
        _: Option<&dyn NormalConstraints>,
        _: f64,
        _: &mut ContactManifold<M, C>,
    ) -> Result<(), Unsupported> {
        Err(Unsupported)
    }
}

/// Nothing but manifolds is ever asked of this dispatcher.
impl QueryDispatcher for Meeting {
    fn intersection_test(
        &self,
        _: &Frame,
        _: &dyn Shape,
        _: &dyn Shape,
    ) -> Result<ShapeIntersection, Unsupported> {
        Err(Unsupported)
    }

    fn distance(
        &self,
        _: &Frame,
        _: &dyn Shape,
        _: &dyn Shape,
    ) -> Result<ShapeDistance, Unsupported> {
        Err(Unsupported)
    }

    fn contact(
        &self,
        _: &Frame,
        _: &dyn Shape,
        _: &dyn Shape,
        _: f64,
    ) -> Result<Option<Contact>, Unsupported> {
        Err(Unsupported)
    }

    fn closest_points(
        &self,
        _: &Frame,
        _: &dyn Shape,
        _: &dyn Shape,
        _: f64,
    ) -> Result<ClosestPoints, Unsupported> {
        Err(Unsupported)
    }

    fn cast_shapes(
        &self,
        _: &Frame,
        _: Vector,
        _: &dyn Shape,
        _: &dyn Shape,
        _: ShapeCastOptions,
    ) -> Result<Option<ShapeCastHit>, Unsupported> {
        Err(Unsupported)
    }

    fn cast_shapes_nonlinear(
        &self,
        _: &NonlinearRigidMotion,
        _: &dyn Shape,
        _: &NonlinearRigidMotion,
        _: &dyn Shape,
        _: f64,
        _: f64,
        _: bool,
    ) -> Result<Option<ShapeCastHit>, Unsupported> {
        Err(Unsupported)
    }
}
