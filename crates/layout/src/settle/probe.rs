//! Where two pieces touch when one of them is no convex body: by the points of
//! each at the surface of the other.

use glam::DVec3;
use parry3d_f64::math::Pose as Frame;

use super::{
    parts::Part,
    prepared::Solid,
    sampling::Samples,
    touch::{Touch, carry},
};

/// Samples farther off than twice this are not asked again until the pair has moved
/// so far, m; the other half is for the reach.
const SLACK_M: f64 = 2e-3;
/// Touches whose normals are within this cosine (20°) form one patch.
const ONE_PATCH: f64 = 0.94;
/// Most touches of one patch.
const MOST_OF_PATCH: usize = 8;
/// Most touches of one pair.
const MOST: usize = 40;

/// One of two pieces that may touch.
#[derive(Clone, Copy)]
pub(crate) enum Side<'a> {
    /// A convex part.
    Part(&'a Part),
    /// A piece met as a distance field.
    Lump(&'a Solid),
}

impl Side<'_> {
    fn samples(&self) -> &Samples {
        match self {
            Self::Part(part) => &part.samples,
            Self::Lump(solid) => solid.samples(),
        }
    }

    /// Middle and radius of a ball round the piece.
    pub fn ball(&self) -> (DVec3, f64) {
        let (low, high) = match self {
            Self::Part(part) => (part.low, part.high),
            Self::Lump(solid) => solid.bounds(),
        };
        (0.5 * (low + high), 0.5 * low.distance(high))
    }

    /// A point is at least so far from the surface, m.
    fn at_least(&self, point: DVec3) -> f64 {
        match self {
            Self::Part(part) => part.above(point).0.abs(),
            Self::Lump(solid) => solid.field().map_or(0.0, |f| f.at_least(point)),
        }
    }

    /// How far a point of the piece frame is outside, m, and the way out; `None`
    /// where it is far.
    fn distance(&self, point: DVec3) -> Option<(f64, DVec3)> {
        match self {
            Self::Part(part) => Some(part.above(point)),
            Self::Lump(solid) => solid.field()?.at(point),
        }
    }
}

/// Samples that were near at a relative pose.
#[derive(Debug, Clone)]
pub(crate) struct Near {
    pose: Frame,
    of_first: Vec<u32>,
    of_second: Vec<u32>,
}

impl Near {
    fn found(first: Side, second: Side, second_in_first: &Frame) -> Self {
        let within = 2.0 * SLACK_M;
        let close = |samples: &Samples, into: &dyn Fn(DVec3) -> DVec3, other: Side| {
            let near = samples
                .groups
                .iter()
                .filter(|group| other.at_least(into(group.middle)) <= group.radius_m + within);
            near.flat_map(|group| group.from..group.to)
                .filter(|i| {
                    let p = into(samples.points_m[*i as usize]);
                    other.distance(p).is_some_and(|(gap, _)| gap <= within)
                })
                .collect()
        };
        Self {
            of_first: close(
                first.samples(),
                &|p| second_in_first.inverse_transform_point(p),
                second,
            ),
            of_second: close(
                second.samples(),
                &|p| second_in_first.transform_point(p),
                first,
            ),
            pose: *second_in_first,
        }
    }

    /// Whether no sample can have come within reach unseen.
    fn holds(&self, second: Side, now: &Frame) -> bool {
        // Half the chord of a turn by θ is r sin(θ/2); what is near lies in the
        // second's ball or just outside it.
        let turn = (self.pose.rotation.inverse() * now.rotation).xyz().length();
        let (middle, radius) = second.ball();
        let way = self
            .pose
            .transform_point(middle)
            .distance(now.transform_point(middle));
        way + 2.0 * turn * (radius + 2.0 * SLACK_M) < SLACK_M
    }
}

/// All touches of two pieces within reach, each with its normal, in the frame of
/// the first; `near` is looked up again when the pair has moved.
pub(crate) fn touches(
    first: Side,
    second: Side,
    second_in_first: &Frame,
    reach_m: f64,
    near: &mut Option<Near>,
) -> Vec<(Touch, DVec3)> {
    let known = match near.take() {
        Some(known) if known.holds(second, second_in_first) => known,
        _ => Near::found(first, second, second_in_first),
    };
    let mut touches = Vec::new();
    for i in &known.of_second {
        let p = second_in_first.transform_point(second.samples().points_m[*i as usize]);
        if let Some((gap_m, out)) = first.distance(p)
            && gap_m <= reach_m
        {
            let touch = Touch {
                on_first: p - out * gap_m,
                on_second: p,
                gap_m,
                feature: (5 << 60) | u64::from(*i),
            };
            touches.push((touch, out));
        }
    }
    for i in &known.of_first {
        let p = first.samples().points_m[*i as usize];
        if let Some((gap_m, out)) = second.distance(second_in_first.inverse_transform_point(p))
            && gap_m <= reach_m
        {
            let normal = -(second_in_first.rotation * out);
            let touch = Touch {
                on_first: p,
                on_second: p + normal * gap_m,
                gap_m,
                feature: (6 << 60) | u64::from(*i),
            };
            touches.push((touch, normal));
        }
    }
    *near = Some(known);
    touches
}

/// The touches that carry: of each patch of about one normal its outline.
pub(crate) fn carrying(touches: &[(Touch, DVec3)]) -> Vec<(Touch, DVec3)> {
    let mut order: Vec<usize> = (0..touches.len()).collect();
    order.sort_by(|a, b| {
        touches[*a]
            .0
            .gap_m
            .total_cmp(&touches[*b].0.gap_m)
            .then(a.cmp(b))
    });
    let mut patches: Vec<Vec<usize>> = Vec::new();
    for i in order {
        let patch = patches
            .iter_mut()
            .find(|p| touches[p[0]].1.dot(touches[i].1) > ONE_PATCH);
        match patch {
            Some(patch) => patch.push(i),
            None => patches.push(vec![i]),
        }
    }
    let mut chosen = Vec::new();
    for patch in &mut patches {
        patch.sort_unstable();
        let of_patch: Vec<Touch> = patch.iter().map(|i| touches[*i].0).collect();
        let normal = patch
            .iter()
            .map(|i| touches[*i].1)
            .sum::<DVec3>()
            .normalize_or(touches[patch[0]].1);
        let kept = carry(&of_patch, normal, glam::DQuat::IDENTITY, MOST_OF_PATCH);
        chosen.extend(kept.into_iter().map(|k| touches[patch[k]]));
    }
    chosen.truncate(MOST);
    chosen
}
