//! Fissured: a stone that water has eaten along its cracks.

use glam::{DQuat, DVec3};

use super::body::{Body, Spot, soft_max};
use super::chance::Chance;
use super::noise::{Noise, bump, mix, ramp};
use super::palette::{Colour, Paint};

struct Face {
    normal: DVec3,
    offset: f64,
}

/// A crack: a plane that wanders, with its depth and width.
struct Crack {
    face: Face,
    depth: f64,
    width: f64,
}

/// A hole right through.
struct Hole {
    through: DVec3,
    way: DVec3,
    radius: f64,
}

pub(super) struct Fissured {
    half: DVec3,
    faces: Vec<Face>,
    cracks: Vec<Crack>,
    holes: Vec<Hole>,
    flutes: DQuat,
    broad: Noise,
    fine: Noise,
    paint: Paint,
}

impl Fissured {
    pub(super) fn new(seed: u64, paint: Paint) -> Self {
        let mut chance = Chance::new(seed);
        let half = DVec3::new(0.47, chance.within(0.24, 0.36), chance.within(0.24, 0.4));
        let faces = (0..chance.count(9, 14))
            .map(|_| {
                let normal = chance.direction();
                let support = (normal * half).length();
                Face {
                    normal,
                    offset: support * chance.within(0.68, 0.98),
                }
            })
            .collect();
        let strike = chance.direction();
        let cracks = (0..chance.count(3, 6))
            .map(|n| {
                let normal = (strike * if n % 3 == 2 { 0.2 } else { 1.3 } + chance.direction())
                    .normalize_or(DVec3::X);
                Crack {
                    face: Face {
                        normal,
                        offset: (normal * half).length() * chance.within(-0.75, 0.75),
                    },
                    depth: chance.within(0.025, 0.085),
                    width: chance.within(0.008, 0.017),
                }
            })
            .collect();
        let holes = (0..chance.count(0, 3))
            .map(|_| {
                let mut way = chance.direction();
                way.x *= 0.35;
                Hole {
                    through: DVec3::new(
                        chance.within(-0.3, 0.3),
                        chance.within(-0.1, 0.1),
                        chance.within(-0.2, 0.2),
                    ),
                    way: way.normalize_or(DVec3::Y),
                    radius: chance.within(0.025, 0.06),
                }
            })
            .collect();
        Self {
            half,
            faces,
            cracks,
            holes,
            flutes: DQuat::from_rotation_arc(chance.direction(), DVec3::Z),
            broad: Noise::new(chance.next()),
            fine: Noise::new(chance.next()),
            paint,
        }
    }

    fn bent(&self, p: DVec3) -> DVec3 {
        let at = p * 2.4;
        p + 0.055
            * DVec3::new(
                self.broad.at(at + DVec3::splat(5.3)),
                self.broad.at(at + DVec3::splat(17.9)),
                self.broad.at(at + DVec3::splat(29.1)),
            )
    }

    /// How far the nearest cracks take the surface in, and how open they are, 0 to 1.
    fn cracked(&self, p: DVec3) -> f64 {
        let wander = 0.07 * self.broad.rough(p * 3.4 + DVec3::splat(61.0), 3);
        let spread = 0.55 + 0.9 * (0.5 + self.broad.at(p * 3.0 + DVec3::splat(71.0)));
        self.cracks
            .iter()
            .map(|crack| {
                let off = crack.face.normal.dot(p) - crack.face.offset + wander;
                crack.depth * spread * bump(off, crack.width * (0.6 + 0.6 * spread))
            })
            .fold(0.0, f64::max)
    }

    /// Pits of two sizes: how far they take the surface in.
    fn pitted(&self, p: DVec3) -> f64 {
        let large = self.fine.cells(p * 5.2 + DVec3::splat(0.37));
        let small = self.fine.cells(p * 12.5 + DVec3::splat(4.9));
        let deep = if large.lot < 0.4 {
            0.055 * bump(large.nearest, 0.34)
        } else {
            0.0
        };
        let fine = if small.lot < 0.45 {
            0.016 * bump(small.nearest, 0.33)
        } else {
            0.0
        };
        deep + fine
    }

    /// Flutes that run down the weathered side: crests between furrows.
    fn fluted(&self, p: DVec3) -> f64 {
        let q = self.flutes * p;
        let along = DVec3::new(q.x * 8.0, q.y * 8.0, q.z * 2.2) + DVec3::splat(13.0);
        0.026 * (0.6 - self.fine.crests(along)) + 0.012 * (0.6 - self.fine.crests(along * 2.1))
    }
}

impl Body for Fissured {
    fn bounds(&self) -> (DVec3, DVec3) {
        let reach = self.half + DVec3::splat(0.11);
        (-reach, reach)
    }

    fn distance(&self, point: DVec3) -> f64 {
        let p = self.bent(point);
        let mut even =
            (p / self.half).length().max(0.0) * self.half.min_element() - self.half.min_element();
        for face in &self.faces {
            even = soft_max(even, face.normal.dot(p) - face.offset, 0.05);
        }
        for hole in &self.holes {
            let from = p - hole.through;
            let off = (from - hole.way * hole.way.dot(from)).length();
            even = soft_max(even, hole.radius - off, 0.05);
        }
        if !(-0.26..=0.08).contains(&even) {
            return even;
        }
        let coarse = 0.020 * self.broad.rough(point * 6.0, 2);
        let grit = 0.005 * self.fine.rough(point * 19.0, 2);
        even + coarse + grit + self.fluted(point) + self.pitted(point) + self.cracked(point)
    }

    fn colour(&self, spot: &Spot) -> Colour {
        let p = spot.point;
        let paint = &self.paint;
        let mottle = self.broad.rough(p * 4.5 + DVec3::splat(90.0), 4);
        let mut colour = paint.body * (1.0 + 0.2 * mottle);
        let vein = bump(self.broad.rough(p * 3.1 + DVec3::splat(140.0), 3), 0.05);
        colour = colour.lerp(paint.pale, 0.5 * vein);
        let film = ramp(0.05, 0.5, self.broad.rough(p * 2.0 + DVec3::splat(50.0), 3));
        colour = colour.lerp(paint.stain, 0.55 * film);
        colour *= 1.0 + 0.13 * self.fine.at(p * 25.0);
        colour = colour.lerp(paint.pale, 0.6 * ramp(1.0, 1.2, spot.openness));
        let lichen = ramp(0.2, 0.5, self.fine.rough(p * 4.4 + DVec3::splat(33.0), 4));
        colour = colour.lerp(paint.growth, 0.45 * lichen * ramp(-0.1, 0.7, spot.normal.z));
        colour.lerp(paint.deep, 0.85 * ramp(0.9, 0.1, spot.openness))
            * mix(0.72, 1.02, spot.openness)
    }
}
