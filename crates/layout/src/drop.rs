//! At which height does a piece touch what lies below when it is let down vertically?

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};
use solid::{
    Mesh, Pose,
    bvh::{Bvh, Instance, Instances, Placement, Ray},
};

use crate::ground::GroundSurface;

/// Distance between the places where gaps are looked at, m.
const COARSE_M: f64 = 2e-3;
/// Distance between the places round the closest ones, m.
const FINE_M: f64 = 1e-4;
/// How many of the closest places are looked at finely.
const N_FINE: usize = 24;
/// Above and below everything that can lie in a tank, m.
const FAR_M: f64 = 100.0;

/// A piece's mesh with its tree, as rays need it.
#[derive(Debug, Clone)]
pub struct Form {
    /// The closed mesh, piece frame.
    pub mesh: Arc<Mesh>,
    /// Its tree.
    pub bvh: Arc<Bvh>,
    /// Centre of mass in the piece frame, m.
    pub centre_in_piece_m: DVec3,
}

impl Form {
    /// Builds the tree of a mesh.
    #[must_use]
    pub fn new(mesh: Arc<Mesh>, centre_in_piece_m: DVec3) -> Self {
        Self {
            bvh: Arc::new(Bvh::build(&mesh)),
            mesh,
            centre_in_piece_m,
        }
    }

    pub(crate) fn placed(&self, pose: Pose) -> Placed {
        let placement = Placement::of_pose(pose, self.centre_in_piece_m);
        Placed {
            vertices_m: self
                .mesh
                .vertices_m
                .iter()
                .map(|v| placement.point(*v))
                .collect(),
            seen: Instances::new(&[Instance {
                bvh: Arc::clone(&self.bvh),
                placement,
            }]),
        }
    }
}

pub(crate) struct Placed {
    pub(crate) vertices_m: Vec<DVec3>,
    pub(crate) seen: Instances,
}

/// Where and how a piece is let down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// Turn that takes piece axes into tank axes.
    pub turn: DQuat,
    /// Where the middle of the upright box round its plan outline goes, m.
    pub middle_m: DVec2,
    /// How deep its lowest point sits in the ground, m.
    pub bury_m: f64,
    /// How far above its touching place it is let go, m.
    pub lift_m: f64,
}

/// What lies in a tank already, in the order of placing.
#[derive(Default)]
pub struct Below<'a> {
    /// Top of the ground, where there is any; the base is at height 0.
    pub ground: Option<&'a GroundSurface>,
    pieces: Vec<Placed>,
}

impl<'a> Below<'a> {
    /// A tank with nothing in it but its ground.
    #[must_use]
    pub fn new(ground: Option<&'a GroundSurface>) -> Self {
        Self {
            ground,
            pieces: Vec::new(),
        }
    }

    pub(crate) fn pieces(&self) -> &[Placed] {
        &self.pieces
    }

    /// Puts a piece where it lies.
    pub fn put(&mut self, form: &Form, pose: Pose) {
        self.pieces.push(form.placed(pose));
    }

    /// Lets a piece down: the pose in which it just touches what lies below it.
    ///
    /// It is let down along the vertical from above everything, so that it can't
    /// slip under an overhang. A buried piece goes `bury_m` further into the
    /// ground, but never into another piece or the base.
    ///
    /// # Accuracy
    /// Corners over faces are met exactly, edges over edges to about 0.1 mm.
    #[must_use]
    pub fn let_down(&self, form: &Form, aim: &Aim) -> Pose {
        let start = Pose {
            centre_m: DVec3::ZERO,
            turn: aim.turn,
        }
        .canonical();
        let turned = form.placed(start);
        let (low, high) = box_round(&turned.vertices_m);
        let shift = aim.middle_m - 0.5 * (low + high).truncate();
        let falling = form.placed(Pose {
            centre_m: shift.extend(0.0),
            ..start
        });
        let (low, high) = box_round(&falling.vertices_m);
        let on_base = -low.z;
        let on_ground = self.ground.map_or(f64::NEG_INFINITY, |ground| {
            let nodes = nodes_under(ground, low, high);
            let meets =
                |place: DVec2| lower(&falling.seen, place).map(|z| ground.height_m(place) - z);
            let corners = falling
                .vertices_m
                .iter()
                .map(|v| ground.height_m(v.truncate()) - v.z);
            let over_nodes = nodes.into_iter().filter_map(meets);
            corners.chain(over_nodes).fold(f64::NEG_INFINITY, f64::max)
        });
        let on_pieces = self
            .pieces
            .iter()
            .map(|lying| height_over(&falling, (low, high), lying))
            .fold(f64::NEG_INFINITY, f64::max);
        let height = on_base.max(on_ground - aim.bury_m).max(on_pieces) + aim.lift_m;
        Pose {
            centre_m: shift.extend(height),
            ..start
        }
    }
}

/// How far `falling` must be lifted to touch `lying` from above.
fn height_over(falling: &Placed, (low, high): (DVec3, DVec3), lying: &Placed) -> f64 {
    let (other_low, other_high) = box_round(&lying.vertices_m);
    let (least, most) = (
        low.truncate().max(other_low.truncate()),
        high.truncate().min(other_high.truncate()),
    );
    if least.cmpgt(most).any() {
        return f64::NEG_INFINITY;
    }
    let within = |v: &&DVec3| {
        let place = v.truncate();
        place.cmpge(least).all() && place.cmple(most).all()
    };
    let gap = |place: DVec2| Some(upper(&lying.seen, place)? - lower(&falling.seen, place)?);
    let from_corners = falling
        .vertices_m
        .iter()
        .filter(within)
        .filter_map(|v| upper(&lying.seen, v.truncate()).map(|z| z - v.z));
    let to_corners = lying
        .vertices_m
        .iter()
        .filter(within)
        .filter_map(|v| lower(&falling.seen, v.truncate()).map(|z| v.z - z));
    let corners = from_corners
        .chain(to_corners)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut coarse: Vec<(f64, DVec2)> = grid(least, most, COARSE_M)
        .filter_map(|place| gap(place).map(|z| (z, place)))
        .collect();
    coarse.sort_by(|a, b| b.0.total_cmp(&a.0));
    let fine = coarse
        .iter()
        .take(N_FINE)
        .flat_map(|(_, place)| {
            let half = DVec2::splat(0.5 * COARSE_M);
            grid(*place - half, *place + half, FINE_M)
        })
        .filter_map(gap)
        .fold(f64::NEG_INFINITY, f64::max);
    corners
        .max(fine)
        .max(coarse.first().map_or(f64::NEG_INFINITY, |c| c.0))
}

pub(crate) fn grid(least: DVec2, most: DVec2, step_m: f64) -> impl Iterator<Item = DVec2> {
    let n = ((most - least) / step_m).ceil().max(DVec2::ONE);
    let step = (most - least) / n;
    let (nx, ny) = (n.x as usize, n.y as usize);
    (0..=ny).flat_map(move |j| (0..=nx).map(move |i| least + step * DVec2::new(i as f64, j as f64)))
}

fn nodes_under(ground: &GroundSurface, low: DVec3, high: DVec3) -> Vec<DVec2> {
    let range = |least: f64, most: f64, n: usize| {
        let first = (least / ground.cell_m).floor().clamp(0.0, (n - 1) as f64) as usize;
        let last = (most / ground.cell_m).ceil().clamp(0.0, (n - 1) as f64) as usize;
        first..=last
    };
    let columns = range(low.x, high.x, ground.nx);
    range(low.y, high.y, ground.ny)
        .flat_map(|j| {
            columns
                .clone()
                .map(move |i| DVec2::new(i as f64, j as f64) * ground.cell_m)
        })
        .collect()
}

/// The upper surface at a place of the plan.
pub(crate) fn upper(seen: &Instances, place: DVec2) -> Option<f64> {
    let ray = vertical(place.extend(FAR_M), -1.0);
    seen.first_hit(&ray).map(|hit| FAR_M - hit.hit.distance_m)
}

/// The lower surface at a place of the plan.
pub(crate) fn lower(seen: &Instances, place: DVec2) -> Option<f64> {
    let ray = vertical(place.extend(-FAR_M), 1.0);
    seen.first_hit(&ray).map(|hit| hit.hit.distance_m - FAR_M)
}

fn vertical(origin_m: DVec3, up: f64) -> Ray {
    Ray {
        origin_m,
        direction: DVec3::new(0.0, 0.0, up),
        least_m: 0.0,
        most_m: 2.0 * FAR_M,
    }
}

pub(crate) fn box_round(points: &[DVec3]) -> (DVec3, DVec3) {
    points
        .iter()
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| {
            (low.min(*p), high.max(*p))
        })
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_4;

    use super::*;

    fn cuboid(x: f64, y: f64, z: f64) -> Form {
        Form::new(Arc::new(Mesh::cuboid(DVec3::new(x, y, z))), DVec3::ZERO)
    }

    fn aim(x: f64, y: f64) -> Aim {
        Aim {
            turn: DQuat::IDENTITY,
            middle_m: DVec2::new(x, y),
            bury_m: 0.0,
            lift_m: 0.0,
        }
    }

    fn check(got: Pose, height_m: f64, within_m: f64) {
        let z = got.centre_m.z;
        assert!((z - height_m).abs() < within_m, "{z}, wanted {height_m}");
    }

    #[test]
    fn a_block_lies_on_the_base_and_a_second_on_it() {
        let (low, high) = (cuboid(0.2, 0.1, 0.04), cuboid(0.05, 0.05, 0.06));
        let mut below = Below::new(None);
        let pose = below.let_down(&low, &aim(0.3, 0.2));
        check(pose, 0.02, 1e-12);
        below.put(&low, pose);
        check(below.let_down(&high, &aim(0.32, 0.2)), 0.07, 1e-12);
        check(below.let_down(&high, &aim(0.6, 0.2)), 0.03, 1e-12);
    }

    #[test]
    fn crossed_edges_meet() {
        // Two square bars on their edges, one across the other: each is √2/2 sides high.
        let bar = cuboid(0.3, 0.05, 0.05);
        let roll = DQuat::from_rotation_x(FRAC_PI_4);
        let mut below = Below::new(None);
        let first = Aim {
            turn: roll,
            ..aim(0.3, 0.2)
        };
        let pose = below.let_down(&bar, &first);
        below.put(&bar, pose);
        let across = Aim {
            turn: DQuat::from_rotation_z(0.9) * roll,
            ..aim(0.3, 0.2)
        };
        let half = 0.5 * 0.05 * 2.0_f64.sqrt();
        check(below.let_down(&bar, &across), 3.0 * half, 1.5e-4);
    }

    #[test]
    fn a_buried_block_sits_in_the_ground_but_not_in_the_base() {
        let ground = GroundSurface::level(DVec2::new(0.6, 0.4), 0.005, 0.05).expect("a grid");
        let block = cuboid(0.1, 0.1, 0.06);
        let below = Below::new(Some(&ground));
        let buried = |bury_m| Aim {
            bury_m,
            ..aim(0.3, 0.2)
        };
        check(below.let_down(&block, &buried(0.0)), 0.08, 1e-12);
        check(below.let_down(&block, &buried(0.02)), 0.06, 1e-12);
        check(below.let_down(&block, &buried(0.3)), 0.03, 1e-12);
    }
}
