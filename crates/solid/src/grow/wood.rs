//! Roots, arches, stumps and sticks: how the limbs lie, and the grain and bark on them.

use std::f64::consts::{PI, TAU};

use glam::DVec3;

use super::Form;
use super::body::{Body, Spot, soft_max};
use super::chance::Chance;
use super::limb::{Beside, Habit, Limb, Limbs};
use super::noise::{Noise, bump, mix, ramp};
use super::palette::{Colour, Paint};

pub(super) struct Wood {
    limbs: Limbs,
    heart: DVec3,
    /// Where the trunk was broken off: height, and how ragged.
    broken: Option<(f64, f64)>,
    /// Radius of the hollow down the trunk, if it has one.
    hollow: f64,
    twist: f64,
    grain: Noise,
    broad: Noise,
    paint: Paint,
}

impl Wood {
    pub(super) fn new(form: Form, seed: u64, paint: Paint) -> Self {
        let mut chance = Chance::new(seed);
        let (mut broken, mut hollow) = (None, 0.0);
        let limbs = match form {
            Form::Arch => arch(&mut chance),
            Form::Stump => {
                broken = Some((chance.within(0.16, 0.3), chance.within(0.03, 0.09)));
                hollow = if chance.happens(0.5) {
                    chance.within(0.04, 0.07)
                } else {
                    0.0
                };
                stump(&mut chance)
            }
            Form::Stick => stick(&mut chance),
            _ => roots(&mut chance),
        };
        let heart = limbs[0].at(if form == Form::Stump { 0.0 } else { 0.5 }).0;
        Self {
            limbs: Limbs::new(&limbs),
            heart,
            broken,
            hollow,
            twist: chance.within(-5.0, 5.0),
            grain: Noise::new(chance.next()),
            broad: Noise::new(chance.next()),
            paint,
        }
    }

    /// Where on a limb's grain a place lies; the grain winds about the limb.
    fn grain_at(&self, beside: &Beside) -> DVec3 {
        let turn = self.twist * beside.along;
        let (sin, cos) = turn.sin_cos();
        let round = beside.round;
        DVec3::new(
            round.x * cos - round.y * sin,
            round.x * sin + round.y * cos,
            0.055 * beside.along / beside.radius.max(0.02)
                + 0.9 * beside.along
                + 31.7 * f64::from(beside.limb),
        )
    }

    /// Furrows along the grain, in parts of the radius.
    fn furrows(&self, beside: &Beside) -> f64 {
        let g = self.grain_at(beside);
        let at = DVec3::new(g.x, g.y, g.z * 3.0);
        let wide = (0.55 - self.grain.crests(at * DVec3::new(1.7, 1.7, 1.0))) * 0.16;
        let fine = (0.6
            - self
                .grain
                .crests(at * DVec3::new(3.6, 3.6, 1.6) + DVec3::splat(5.0)))
            * 0.10;
        wide + fine
    }

    /// How much bark is left on a place, 0 to 1.
    fn bark(&self, p: DVec3) -> f64 {
        ramp(0.12, 0.3, self.broad.rough(p * 3.0 + DVec3::splat(21.0), 3))
    }

    /// Blends what two limbs say where they meet.
    fn blended(first: &Beside, second: Option<&Beside>, of: impl Fn(&Beside) -> f64) -> f64 {
        let own = of(first);
        match second {
            Some(other) if other.distance - first.distance < 0.02 => {
                let share = 0.5 * ramp(0.02, 0.0, other.distance - first.distance);
                mix(own, of(other), share)
            }
            _ => own,
        }
    }
}

fn bent_down(way: DVec3, down: f64) -> DVec3 {
    (way - DVec3::Z * down).normalize_or(way)
}

/// Lets branches grow from a limb, and from those again.
fn branch_out(
    chance: &mut Chance,
    limbs: &mut Vec<Limb>,
    parent: usize,
    n: usize,
    reach: f64,
    generations: usize,
) {
    for _ in 0..n {
        let fraction = chance.within(0.25, 0.85);
        let (from, way, radius) = limbs[parent].at(fraction);
        let off = chance.direction();
        let off = (off - way * off.dot(way)).normalize_or(way.any_orthonormal_vector());
        let towards = (way + off * chance.within(0.35, 0.95)).normalize_or(way);
        let start = radius * chance.within(0.55, 0.8);
        let habit = Habit {
            length: reach * chance.within(0.45, 1.0) * (1.1 - 0.6 * fraction),
            radii: [start.max(0.011), TIP],
            wind: 6.5,
            pull: DVec3::ZERO,
        };
        limbs.push(Limb::grow(chance, from, towards, &habit));
        let own = limbs.len() - 1;
        if generations > 1 {
            let n = chance.count(0, 2);
            branch_out(chance, limbs, own, n, 0.55 * reach, generations - 1);
        }
    }
}

/// A knot with many roots that spread, sink and fork.
fn roots(chance: &mut Chance) -> Vec<Limb> {
    let lean = chance.direction() * DVec3::new(1.0, 1.0, 0.3);
    let thick = chance.within(0.045, 0.07);
    let trunk = Habit {
        length: chance.within(0.14, 0.24),
        radii: [thick, 0.8 * thick],
        wind: 2.0,
        pull: DVec3::ZERO,
    };
    let mut limbs = vec![Limb::grow(
        chance,
        DVec3::ZERO,
        lean + DVec3::Z * 0.6,
        &trunk,
    )];
    let n_roots = chance.count(5, 9);
    let turn = chance.within(0.0, TAU);
    let flat = chance.within(0.45, 0.8);
    for n in 0..n_roots {
        let angle = turn + TAU * (n as f64 + chance.within(-0.3, 0.3)) / n_roots as f64;
        let rise = chance.within(-0.35, 0.55);
        let way = DVec3::new(angle.cos(), flat * angle.sin(), rise).normalize();
        let habit = Habit {
            length: chance.within(0.4, 0.85),
            radii: [thick * chance.within(0.42, 0.8), TIP],
            wind: 5.5,
            pull: DVec3::new(0.0, 0.0, chance.within(-1.6, 0.3)),
        };
        let (from, _, _) = limbs[0].at(chance.within(0.0, 0.7));
        limbs.push(Limb::grow(chance, from, way, &habit));
        let own = limbs.len() - 1;
        let forks = chance.count(1, 3);
        branch_out(chance, &mut limbs, own, forks, 0.34, 2);
    }
    limbs
}

/// A bow between two feet, with a branch or two and roots at one foot.
fn arch(chance: &mut Chance) -> Vec<Limb> {
    let (height, thick) = (chance.within(0.26, 0.42), chance.within(0.034, 0.055));
    let skew = chance.within(-0.35, 0.35);
    let (mut points, mut radii) = (Vec::new(), Vec::new());
    let wave = [chance.within(0.0, TAU), chance.within(0.0, TAU)];
    let (mut swell, n_points) = (0.0, 40);
    for n in 0..=n_points {
        let t = f64::from(n) / f64::from(n_points);
        let angle = PI * t;
        let rise = angle.sin().powf(0.8);
        points.push(DVec3::new(
            -0.46 * angle.cos() + skew * 0.22 * rise + 0.02 * (9.0 * t + wave[0]).sin(),
            0.055 * (5.0 * t + wave[1]).sin() + 0.02 * (13.0 * t + wave[0]).sin(),
            height * rise + 0.018 * (11.0 * t + wave[1]).sin(),
        ));
        swell = 0.7 * swell + 0.08 * chance.within(-1.0, 1.0);
        radii.push(thick * mix(1.15, 0.45, t) * (1.0 + swell));
    }
    let mut limbs = vec![Limb {
        points,
        radii,
        melt: thick,
    }];
    for _ in 0..chance.count(3, 5) {
        let angle = chance.within(0.5, 1.5) * PI;
        let way = DVec3::new(angle.cos(), angle.sin(), chance.within(-0.5, 0.25));
        let habit = Habit {
            length: chance.within(0.1, 0.24),
            radii: [0.6 * thick, TIP],
            wind: 4.0,
            pull: -DVec3::Z * 1.2,
        };
        let (from, _, _) = limbs[0].at(chance.within(0.02, 0.12));
        limbs.push(Limb::grow(chance, from, way, &habit));
    }
    let n_branches = chance.count(2, 4);
    branch_out(chance, &mut limbs, 0, n_branches, 0.3, 2);
    limbs
}

/// The foot of a trunk with buttresses that run out into roots.
fn stump(chance: &mut Chance) -> Vec<Limb> {
    let thick = chance.within(0.13, 0.18);
    let trunk = Habit {
        length: 0.42,
        radii: [1.08 * thick, 0.8 * thick],
        wind: 0.6,
        pull: DVec3::ZERO,
    };
    let mut limbs = vec![Limb::grow(chance, DVec3::ZERO, DVec3::Z, &trunk)];
    let n_roots = chance.count(5, 8);
    let turn = chance.within(0.0, TAU);
    for n in 0..n_roots {
        let angle = turn + TAU * (n as f64 + chance.within(-0.25, 0.25)) / n_roots as f64;
        let out = DVec3::new(angle.cos(), angle.sin(), 0.0);
        let habit = Habit {
            length: chance.within(0.3, 0.46),
            radii: [thick * chance.within(0.4, 0.62), 0.011],
            wind: 3.0,
            pull: DVec3::new(0.0, 0.0, 2.6),
        };
        let from = out * 0.62 * thick + DVec3::Z * chance.within(0.05, 0.13);
        limbs.push(Limb::grow(chance, from, bent_down(out, 1.1), &habit));
        let own = limbs.len() - 1;
        limbs[own].melt = 0.06;
        let forks = chance.count(0, 2);
        branch_out(chance, &mut limbs, own, forks, 0.24, 1);
    }
    limbs
}

/// One slender branch with a few forks.
fn stick(chance: &mut Chance) -> Vec<Limb> {
    let thick = chance.within(0.02, 0.034);
    let habit = Habit {
        length: 1.0,
        radii: [thick, TIP],
        wind: 1.7,
        pull: DVec3::ZERO,
    };
    let mut limbs = vec![Limb::grow(
        chance,
        DVec3::new(-0.5, 0.0, 0.0),
        DVec3::X,
        &habit,
    )];
    let n_branches = chance.count(2, 5);
    branch_out(chance, &mut limbs, 0, n_branches, 0.34, 2);
    limbs
}

/// Radius of the thinnest tips: a little over one cell.
const TIP: f64 = 0.0078;

impl Body for Wood {
    fn bounds(&self) -> (DVec3, DVec3) {
        self.limbs.bounds()
    }

    fn heart(&self) -> DVec3 {
        self.heart
    }

    fn distance(&self, point: DVec3) -> f64 {
        let (even, first, second) = self.limbs.beside(point);
        let mut whole = even;
        if even < 0.05 {
            let furrow = Self::blended(&first, second.as_ref(), |b| {
                self.furrows(b) * b.radius.min(0.07)
            });
            let lumps = 0.006 * self.broad.rough(point * 9.0, 2);
            whole += furrow + lumps - 0.004 * self.bark(point);
        }
        if let Some((height, ragged)) = self.broken {
            let fibre = self
                .grain
                .rough(DVec3::new(point.x * 14.0, point.y * 14.0, point.z * 2.0), 2);
            let slant = 0.3 * point.x + 0.12 * point.y;
            let foot = -0.035 - point.z + 0.03 * self.broad.rough(point * 5.0, 3);
            whole = soft_max(whole, foot, 0.03);
            whole = soft_max(whole, point.z - height - slant - ragged * fibre, 0.008);
            if self.hollow > 0.0 {
                let wide = self.hollow * (1.0 + 0.3 * self.broad.at(point * 8.0));
                let bore = wide - (point.x * point.x + point.y * point.y).sqrt();
                whole = soft_max(whole, bore.min(point.z - 0.06), 0.02);
            }
        }
        whole
    }

    fn colour(&self, spot: &Spot) -> Colour {
        let p = spot.point;
        let paint = &self.paint;
        let (_, first, second) = self.limbs.beside(p);
        let streak = Self::blended(&first, second.as_ref(), |b| {
            let g = self.grain_at(b);
            self.grain
                .rough(DVec3::new(g.x * 3.4, g.y * 3.4, g.z * 2.0), 3)
        });
        let furrow = Self::blended(&first, second.as_ref(), |b| self.furrows(b));
        let bark = self.bark(p);
        let mut colour = paint.body.lerp(paint.stain, 0.75 * bark);
        colour *= 1.0 + 0.28 * streak + 0.10 * self.broad.rough(p * 6.0, 3);
        colour = colour.lerp(paint.deep, 0.65 * ramp(0.02, 0.12, furrow));
        colour = colour.lerp(
            paint.pale,
            0.4 * ramp(-0.02, -0.1, furrow) * (1.0 - 0.6 * bark),
        );
        let bleached = ramp(
            -0.05,
            0.5,
            self.broad.rough(p * 2.2 + DVec3::splat(66.0), 3) + 0.25 * spot.normal.z,
        );
        colour = colour.lerp(paint.growth, 0.4 * bleached * (1.0 - bark));
        let tip = ramp(0.02, 0.008, first.radius);
        colour = colour.lerp(paint.pale, 0.35 * tip);
        if let Some((height, _)) = self.broken {
            let slant = 0.3 * p.x + 0.12 * p.y;
            let split = ramp(-0.08, -0.02, p.z - height - slant) * ramp(0.2, 0.7, spot.normal.z);
            let rings = 0.5 + 0.5 * (TAU * 26.0 * (p.x * p.x + p.y * p.y).sqrt()).sin();
            colour = colour.lerp(paint.pale * mix(0.8, 1.0, rings), 0.6 * split);
        }
        colour = colour.lerp(paint.deep, 0.75 * ramp(0.75, 0.1, spot.openness));
        colour * mix(0.8, 1.04, spot.openness) * (1.0 - 0.15 * bump(spot.normal.z + 1.0, 0.4))
    }
}
