//! What branches are made of: tapering, winding limbs and the distance to them.

use glam::{DVec2, DVec3};

use super::chance::Chance;

/// One stretch of a limb between two places of its line.
#[derive(Debug, Clone)]
struct Stretch {
    limb: u32,
    from: DVec3,
    to: DVec3,
    radii: [f64; 2],
    /// Length of the limb's line up to `from`.
    along: f64,
    /// Carried along the limb without twisting; with `across` it spans the section.
    side: DVec3,
    across: DVec3,
}

/// A limb while it is drawn: its line, and how thick it is along it.
#[derive(Debug, Clone)]
pub(super) struct Limb {
    pub(super) points: Vec<DVec3>,
    pub(super) radii: Vec<f64>,
    /// Width over which it melts into the limbs it meets.
    pub(super) melt: f64,
}

/// How a limb grows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Habit {
    pub(super) length: f64,
    pub(super) radii: [f64; 2],
    /// How strongly it winds.
    pub(super) wind: f64,
    /// Pull towards a direction, for each unit of length.
    pub(super) pull: DVec3,
}

impl Limb {
    /// Lets a limb grow from a place in a direction.
    pub(super) fn grow(chance: &mut Chance, from: DVec3, towards: DVec3, habit: &Habit) -> Self {
        let n_steps = ((habit.length / 0.028).ceil() as usize).max(4);
        let step = habit.length / n_steps as f64;
        let (mut at, mut way) = (from, towards.normalize_or(DVec3::X));
        let mut turning = chance.direction() * habit.wind;
        let (mut points, mut radii) = (vec![at], vec![habit.radii[0]]);
        let mut swell = 0.0;
        for n in 1..=n_steps {
            turning = turning * 0.86 + chance.direction() * (0.55 * habit.wind);
            way = (way + (turning + habit.pull) * step).normalize_or(way);
            at += way * step;
            points.push(at);
            swell = 0.75 * swell + 0.09 * chance.within(-1.0, 1.0);
            let t = n as f64 / n_steps as f64;
            let taper = habit.radii[0] + (habit.radii[1] - habit.radii[0]) * t.powf(0.8);
            radii.push((taper * (1.0 + swell)).max(0.7 * habit.radii[1]));
        }
        Self {
            points,
            radii,
            melt: 1.1 * habit.radii[0],
        }
    }

    /// Place, direction and radius at a fraction of the line.
    pub(super) fn at(&self, fraction: f64) -> (DVec3, DVec3, f64) {
        let last = self.points.len() - 1;
        let n = ((fraction * last as f64) as usize).min(last - 1);
        let way = (self.points[n + 1] - self.points[n]).normalize_or(DVec3::X);
        (self.points[n], way, self.radii[n])
    }
}

/// Where a place lies beside a limb.
#[derive(Debug, Clone, Copy)]
pub(super) struct Beside {
    /// Distance to the limb's surface.
    pub(super) distance: f64,
    /// Length of the line up to the foot of the place.
    pub(super) along: f64,
    /// Direction across the limb, in its own section.
    pub(super) round: DVec2,
    pub(super) radius: f64,
    pub(super) limb: u32,
}

/// Many limbs that melt into each other, sorted into boxes for speed.
pub(super) struct Limbs {
    stretches: Vec<Stretch>,
    melts: Vec<f64>,
    low: DVec3,
    high: DVec3,
    /// Boxes along each axis.
    boxes: [usize; 3],
    /// For each box, the stretches that matter to places in it, by limb.
    near: Vec<Vec<u32>>,
}

const BOX: f64 = 0.05;

impl Limbs {
    pub(super) fn new(limbs: &[Limb]) -> Self {
        let stretches = stretches(limbs);
        let (mut low, mut high) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
        for limb in limbs {
            for (point, radius) in limb.points.iter().zip(&limb.radii) {
                low = low.min(*point - DVec3::splat(1.4 * radius + 0.03));
                high = high.max(*point + DVec3::splat(1.4 * radius + 0.03));
            }
        }
        let boxes = ((high - low) / BOX)
            .ceil()
            .to_array()
            .map(|n| (n as usize).max(1));
        let mut limbs = Self {
            stretches,
            melts: limbs.iter().map(|limb| limb.melt).collect(),
            low,
            high,
            boxes,
            near: Vec::new(),
        };
        limbs.near = limbs.sorted();
        limbs
    }

    pub(super) fn bounds(&self) -> (DVec3, DVec3) {
        (self.low, self.high)
    }

    /// For each box the stretches within reach of the nearest, first for groups of boxes.
    fn sorted(&self) -> Vec<Vec<u32>> {
        const GROUP: usize = 4;
        let all: Vec<u32> = (0..self.stretches.len() as u32).collect();
        let groups = self.boxes.map(|n| n.div_ceil(GROUP));
        let mut near = vec![Vec::new(); self.boxes.iter().product()];
        for group in 0..groups.iter().product::<usize>() {
            let corner = [
                group % groups[0] * GROUP,
                group / groups[0] % groups[1] * GROUP,
                group / (groups[0] * groups[1]) * GROUP,
            ];
            let wide = self.in_reach(&all, corner, GROUP as f64);
            for n in 0..GROUP * GROUP * GROUP {
                let at = [
                    corner[0] + n % GROUP,
                    corner[1] + n / GROUP % GROUP,
                    corner[2] + n / (GROUP * GROUP),
                ];
                if (0..3).all(|axis| at[axis] < self.boxes[axis]) {
                    near[at[0] + self.boxes[0] * (at[1] + self.boxes[1] * at[2])] =
                        self.in_reach(&wide, at, 1.0);
                }
            }
        }
        near
    }

    fn in_reach(&self, among: &[u32], corner: [usize; 3], edge_boxes: f64) -> Vec<u32> {
        let edge = edge_boxes * BOX;
        let middle =
            self.low + DVec3::from_array(corner.map(|n| n as f64 * BOX)) + DVec3::splat(0.5 * edge);
        let distances: Vec<f64> = among
            .iter()
            .map(|n| self.stretches[*n as usize].beside(middle).distance)
            .collect();
        let least = distances.iter().copied().fold(f64::INFINITY, f64::min);
        let reach = least + edge * 3_f64.sqrt() + 0.06;
        among
            .iter()
            .zip(&distances)
            .filter(|(_, distance)| **distance <= reach)
            .map(|(n, _)| *n)
            .collect()
    }

    fn near(&self, p: DVec3) -> &[u32] {
        let at = ((p - self.low) / BOX).to_array();
        let mut index = [0; 3];
        for axis in 0..3 {
            index[axis] = (at[axis].max(0.0) as usize).min(self.boxes[axis] - 1);
        }
        &self.near[index[0] + self.boxes[0] * (index[1] + self.boxes[1] * index[2])]
    }

    /// The distance to all limbs melted together, and where the place lies beside the nearest two.
    pub(super) fn beside(&self, p: DVec3) -> (f64, Beside, Option<Beside>) {
        let mut whole: Option<f64> = None;
        let (mut first, mut second): (Option<Beside>, Option<Beside>) = (None, None);
        let mut current: Option<Beside> = None;
        let mut close = |found: Beside| {
            let melt = self.melts[found.limb as usize].min(0.06);
            whole = Some(whole.map_or(found.distance, |so_far| {
                super::body::soft_min(so_far, found.distance, melt)
            }));
            if first.is_none_or(|f| found.distance < f.distance) {
                second = first;
                first = Some(found);
            } else if second.is_none_or(|s| found.distance < s.distance) {
                second = Some(found);
            }
        };
        for n in self.near(p) {
            let found = self.stretches[*n as usize].beside(p);
            match current {
                Some(best) if best.limb == found.limb => {
                    if found.distance < best.distance {
                        current = Some(found);
                    }
                }
                Some(best) => {
                    close(best);
                    current = Some(found);
                }
                None => current = Some(found),
            }
        }
        if let Some(best) = current {
            close(best);
        }
        let nearest = first.unwrap_or(Beside {
            distance: 1.0,
            along: 0.0,
            round: DVec2::X,
            radius: 1.0,
            limb: 0,
        });
        (whole.unwrap_or(1.0), nearest, second)
    }
}

fn stretches(limbs: &[Limb]) -> Vec<Stretch> {
    let mut stretches = Vec::new();
    for (number, limb) in limbs.iter().enumerate() {
        let first = (limb.points[1] - limb.points[0]).normalize_or(DVec3::X);
        let mut side = first.any_orthonormal_vector();
        let mut along = 0.0;
        for n in 0..limb.points.len() - 1 {
            let (from, to) = (limb.points[n], limb.points[n + 1]);
            let way = (to - from).normalize_or(DVec3::X);
            side = (side - way * side.dot(way)).normalize_or(way.any_orthonormal_vector());
            stretches.push(Stretch {
                limb: number as u32,
                from,
                to,
                radii: [limb.radii[n], limb.radii[n + 1]],
                along,
                side,
                across: way.cross(side),
            });
            along += from.distance(to);
        }
    }
    stretches
}

impl Stretch {
    fn beside(&self, p: DVec3) -> Beside {
        let way = self.to - self.from;
        let from = p - self.from;
        let t = (from.dot(way) / way.length_squared()).clamp(0.0, 1.0);
        let off = from - way * t;
        let radius = self.radii[0] + (self.radii[1] - self.radii[0]) * t;
        Beside {
            distance: off.length() - radius,
            along: self.along + way.length() * t,
            round: DVec2::new(off.dot(self.side), off.dot(self.across)).normalize_or(DVec2::X),
            radius,
            limb: self.limb,
        }
    }
}
