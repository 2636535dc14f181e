//! How the engine asks where two shapes meet: our own manifolds for all pairs.

use std::sync::{
    Arc,
    atomic::{AtomicBool, Ordering},
};

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
    shape::{ConvexPolyhedron, PackedFeatureId, Shape},
};

use super::{
    barrier::Barrier,
    bedding,
    scene::Support,
    shapes::{BarrierShape, Cloud},
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

/// Answers where a part meets a part and where a piece meets a barrier.
pub(crate) struct Meeting {
    /// True until the first step is done: overlaps found now were there at the start.
    pub starting: Arc<AtomicBool>,
}

/// What is remembered of a pair of parts.
#[derive(Clone)]
struct PairMemory {
    /// How far the parts may overlap because they did at the start: convex parts
    /// stand proud of the true surface, and a piece that rests exactly must not
    /// be pushed off by that. It only ever shrinks.
    allowance_m: f64,
    /// Last normal, where the search for the next starts.
    normal: Option<DVec3>,
}

impl WorkspaceData for PairMemory {
    fn as_typed_workspace_data(&self) -> TypedWorkspaceData<'_> {
        TypedWorkspaceData::Custom
    }

    fn clone_dyn(&self) -> Box<dyn WorkspaceData> {
        Box::new(self.clone())
    }
}

impl Meeting {
    fn parts<M: Default + Clone, C: Default + Copy>(
        &self,
        pos12: &Frame,
        first: &ConvexPolyhedron,
        second: &ConvexPolyhedron,
        reach_m: f64,
        manifolds: &mut Vec<ContactManifold<M, C>>,
        workspace: &mut Option<ContactManifoldsWorkspace>,
    ) {
        let starting = self.starting.load(Ordering::Relaxed);
        let memory = memory_of(workspace);
        let patch = touch::between(first, second, pos12, reach_m, memory.normal);
        let Some(mut patch) = patch else {
            memory.allowance_m = 0.0;
            replace(manifolds, Vec::new());
            return;
        };
        let overlap = patch.touches.iter().map(|t| -t.gap_m).fold(0.0, f64::max);
        memory.allowance_m = if starting {
            overlap
        } else {
            memory.allowance_m.min(overlap)
        };
        memory.normal = Some(patch.normal);
        for touch in &mut patch.touches {
            touch.gap_m += memory.allowance_m;
        }
        let chosen = touch::carry(&patch.touches, patch.normal, DQuat::IDENTITY, MOST_TOUCHES);
        let groups = chosen
            .chunks(PER_MANIFOLD)
            .map(|indices| {
                let touches = indices.iter().map(|i| patch.touches[*i]).collect();
                (patch.normal, touches)
            })
            .collect();
        replace(manifolds, in_local_frames(pos12, groups, false));
    }
}

fn memory_of(workspace: &mut Option<ContactManifoldsWorkspace>) -> &mut PairMemory {
    let known = workspace
        .as_ref()
        .is_some_and(|w| w.0.downcast_ref::<PairMemory>().is_some());
    if !known {
        *workspace = None;
    }
    let slot = workspace.get_or_insert_with(|| {
        ContactManifoldsWorkspace(Box::new(PairMemory {
            allowance_m: 0.0,
            normal: None,
        }))
    });
    #[expect(clippy::expect_used, reason = "the lines above put a PairMemory there")]
    slot.0
        .downcast_mut::<PairMemory>()
        .expect("a pair's memory is always a PairMemory")
}

/// The manifolds of a piece on a barrier; `piece_in_tank` is the piece's frame.
fn on_barrier(
    piece_in_tank: &Frame,
    cloud: &Cloud,
    barrier: &Barrier,
    reach_m: f64,
) -> Vec<(DVec3, Vec<Touch>)> {
    let solid = &cloud.solid;
    let points = if barrier.is_uneven() {
        solid.samples_m()
    } else {
        solid.hull_m()
    };
    let (mut touches, mut normals) = (Vec::new(), Vec::new());
    for (index, point) in points.iter().enumerate() {
        let in_tank = piece_in_tank.transform_point(*point);
        let bed = cloud
            .carried_at
            .as_deref()
            .filter(|_| barrier.support == Support::Ground);
        let met = match bed {
            Some(heights) => bedding::gap(heights, index, in_tank, barrier),
            None => barrier.gap(in_tank),
        };
        let Some((gap_m, normal)) = met else {
            continue;
        };
        if gap_m <= reach_m {
            touches.push(Touch {
                on_first: in_tank - normal * gap_m,
                on_second: in_tank,
                gap_m,
                feature: index as u64,
            });
            normals.push(normal);
        }
    }
    if touches.is_empty() {
        return Vec::new();
    }
    let mean = normals.iter().sum::<DVec3>().normalize_or(DVec3::Z);
    let chosen = touch::carry(&touches, mean, piece_in_tank.rotation, MOST_TOUCHES);
    let mut groups: Vec<(DVec3, Vec<Touch>)> = Vec::new();
    for i in chosen {
        let room = groups.iter_mut().find(|(normal, group)| {
            group.len() < PER_MANIFOLD && normal.dot(normals[i]) >= SAME_NORMAL
        });
        match room {
            Some((_, group)) => group.push(touches[i]),
            None => groups.push((normals[i], vec![touches[i]])),
        }
    }
    groups
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
    let old: Vec<TrackedContact<C>> = manifolds.iter().flat_map(|m| m.points.clone()).collect();
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
                .find(|o| o.fid1 == fid1 && o.fid2 == fid2)
                .or_else(|| nearest(&old, touch.on_first));
            if let Some(same) = same {
                point.data = same.data;
            }
            manifold.points.push(point);
        }
    }
}

/// The old touch nearest to a place on the first shape, within [`SAME_TOUCH_M`].
fn nearest<C>(old: &[TrackedContact<C>], place: DVec3) -> Option<&TrackedContact<C>> {
    old.iter()
        .map(|o| (o.local_p1.distance_squared(place), o))
        .filter(|(square, _)| *square < SAME_TOUCH_M * SAME_TOUCH_M)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, o)| o)
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
        if let (Some(first), Some(second)) = (g1.as_convex_polyhedron(), g2.as_convex_polyhedron())
        {
            self.parts(pos12, first, second, prediction, manifolds, workspace);
            return Ok(());
        }
        let (groups, frame, flipped) = if let (Some(shape), Some(cloud)) =
            (g1.as_shape::<BarrierShape>(), g2.as_shape::<Cloud>())
        {
            (
                on_barrier(pos12, cloud, &shape.barrier, prediction),
                *pos12,
                false,
            )
        } else if let (Some(cloud), Some(shape)) =
            (g1.as_shape::<Cloud>(), g2.as_shape::<BarrierShape>())
        {
            let frame = pos12.inverse();
            (
                on_barrier(&frame, cloud, &shape.barrier, prediction),
                frame,
                true,
            )
        } else {
            return Err(Unsupported);
        };
        // A pair with a memory is sorted anew at every step, as it must be when the
        // number of its manifolds changes.
        memory_of(workspace);
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
