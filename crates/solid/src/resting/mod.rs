//! How a piece lies by itself on a level floor, and how likely each way is.

mod facet_chances;
mod support;

use glam::{DQuat, DVec2, DVec3};
use rayon::prelude::*;

use crate::hull::Hull;
use crate::outline::{Contours, View, least_rectangle, plan_hull};
use crate::{Mesh, Pose};

/// Poses less likely than this are not listed.
const LEAST_PROBABILITY: f64 = 0.005;
/// No more poses than this are listed.
const MOST_POSES: usize = 24;
/// Poses whose floor directions differ by no more than this are one group.
const GROUP_RAD: f64 = 8.0 * std::f64::consts::PI / 180.0;

/// All the ways in which a piece lies still on a level floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Resting {
    /// The likelier poses, likeliest first.
    pub poses: Vec<RestingPose>,
    /// Probability of all poses that are not listed.
    pub other_probability: f64,
}

/// One way in which a piece lies still.
///
/// The lying frame: z up, the floor at `-centre_height_m` below the centre of
/// mass, x along the longer side of the smallest rectangle round the plan; of
/// the two ways to do so, the one that turns the piece through the smaller angle.
#[derive(Debug, Clone, PartialEq)]
pub struct RestingPose {
    /// Takes piece axes into lying axes; w ≥ 0.
    pub turn: DQuat,
    /// Share of random drops that end in this pose, 0 to 1.
    pub probability: f64,
    /// Poses within 8° of the likeliest of their group carry the same number, from 1; the likeliest of all is in group 1.
    pub group: usize,
    /// Least tilt of the floor that tips the piece over, radians.
    pub tip_angle_rad: f64,
    /// Area of the support polygon, square metres.
    pub support_m2: f64,
    /// The support polygon in lying axes about the foot of the centre of mass, anticlockwise, metres.
    pub support_polygon_m: Vec<DVec2>,
    /// Area of the plan outline: what the piece covers seen from above, square metres.
    pub footprint_m2: f64,
    /// Longer side of the smallest rectangle round the plan, metres (along x).
    pub width_m: f64,
    /// Shorter side of that rectangle, metres (along y).
    pub depth_m: f64,
    /// Height of the piece as it lies, metres.
    pub height_m: f64,
    /// Height of the centre of mass over the floor, metres.
    pub centre_height_m: f64,
    /// Unit vector that points to the floor, in piece axes.
    pub down_in_piece: DVec3,
}

/// The resting poses of a rigid body with the given hull and centre of mass.
///
/// The chance that a facet is the first to meet the floor is its solid angle
/// from the centre over 4π. When the foot of the centre lies outside the
/// facet, the piece rolls over the edge that the foot lies furthest beyond,
/// and that facet's chance goes to the one across, until a facet holds.
/// `mesh` gives the plan outline; the hull has to be its own.
///
/// # Accuracy
/// The chances are those of a slow drop without bounce or slip.
///
/// # Source
/// K. Goldberg, B. V. Mirtich, Y. Zhuang, J. Craig, B. R. Carlisle, J. Canny,
/// Part pose statistics: estimators and experiments, IEEE Transactions on
/// Robotics and Automation 15 (1999).
#[must_use]
pub fn resting_poses(hull: &Hull, centre_m: DVec3, mesh: &Mesh) -> Resting {
    let chances = facet_chances::chances(hull, centre_m);
    let stable: Vec<usize> = likeliest_first(&chances);
    let groups = groups(hull, &stable);
    let listed: Vec<usize> = stable
        .iter()
        .copied()
        .filter(|facet| chances[*facet] >= LEAST_PROBABILITY)
        .take(MOST_POSES)
        .collect();
    let contours = Contours::of(mesh);
    let poses: Vec<RestingPose> = listed
        .par_iter()
        .enumerate()
        .map(|(place, &facet)| RestingPose {
            probability: chances[facet],
            group: groups[place],
            ..pose(hull, facet, centre_m, &contours)
        })
        .collect();
    let shown: f64 = poses.iter().map(|pose| pose.probability).sum();
    Resting {
        poses,
        other_probability: (1.0 - shown).max(0.0),
    }
}

/// Facets with a chance, by falling chance; of equal ones, the first.
fn likeliest_first(chances: &[f64]) -> Vec<usize> {
    let mut stable: Vec<usize> = (0..chances.len()).filter(|f| chances[*f] > 0.0).collect();
    stable.sort_by(|a, b| chances[*b].total_cmp(&chances[*a]).then(a.cmp(b)));
    stable
}

/// The group of each facet: the likeliest that is in none yet takes in all within 8° of it.
fn groups(hull: &Hull, facets: &[usize]) -> Vec<usize> {
    let mut leaders: Vec<DVec3> = Vec::new();
    facets
        .iter()
        .map(|&facet| {
            let normal = hull.facets[facet].normal;
            let near = |leader: &DVec3| leader.angle_between(normal) <= GROUP_RAD;
            leaders.iter().position(near).unwrap_or_else(|| {
                leaders.push(normal);
                leaders.len() - 1
            }) + 1
        })
        .collect()
}

/// All of a pose but its chance and group.
fn pose(hull: &Hull, facet: usize, centre_m: DVec3, contours: &Contours) -> RestingPose {
    let down = hull.facets[facet].normal;
    let upright = DQuat::from_rotation_arc(down, DVec3::NEG_Z);
    let rectangle = least_rectangle(&plan_hull(&hull.vertices_m, upright));
    let turn = [0.0, std::f64::consts::PI]
        .map(|half| DQuat::from_rotation_z(half - rectangle.angle_rad) * upright)
        .map(canonical)
        .into_iter()
        .max_by(|a, b| a.w.total_cmp(&b.w))
        .unwrap_or(upright);
    let (low, high) = hull.extent(down);
    let centre_height_m = high - down.dot(centre_m);
    let foot = (turn * centre_m).truncate();
    let support = support::polygon(hull, facet, turn);
    let distance_m = support::least_distance_inside(&support, foot);
    RestingPose {
        turn,
        probability: 0.0,
        group: 0,
        tip_angle_rad: distance_m.max(0.0).atan2(centre_height_m),
        support_m2: crate::outline::signed_area_m2(&support),
        support_polygon_m: support.iter().map(|p| *p - foot).collect(),
        footprint_m2: contours.area_m2(turn, View::PLAN),
        width_m: rectangle.width_m,
        depth_m: rectangle.depth_m,
        height_m: high - low,
        centre_height_m,
        down_in_piece: down,
    }
}

fn canonical(turn: DQuat) -> DQuat {
    let pose = Pose {
        centre_m: DVec3::ZERO,
        turn,
    };
    pose.canonical().turn
}
