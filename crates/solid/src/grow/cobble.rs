//! Rounded: a cobble that a river has rolled.

use glam::{DQuat, DVec3};

use super::body::{Body, Spot, ellipsoid, soft_max};
use super::chance::Chance;
use super::noise::{Noise, bump, mix, ramp};
use super::palette::{Colour, Paint};

/// A worn-off face: the outward normal and its distance from the middle.
struct Face {
    normal: DVec3,
    offset: f64,
}

pub(super) struct Cobble {
    half: DVec3,
    faces: Vec<Face>,
    /// How softly the faces meet.
    wear: f64,
    noise: Noise,
    grain: Noise,
    /// Direction of the bands in the stone, as the river found it.
    banding: DQuat,
    bands_per_unit: f64,
    band_strength: f64,
    veins: Vec<Face>,
    pitting: f64,
    paint: Paint,
}

impl Cobble {
    pub(super) fn new(seed: u64, paint: Paint) -> Self {
        let mut chance = Chance::new(seed);
        let half = DVec3::new(0.5, chance.within(0.31, 0.44), chance.within(0.2, 0.33));
        let faces = (0..chance.count(6, 10))
            .map(|_| {
                let normal = chance.direction();
                let support = (normal * half).length();
                Face {
                    normal,
                    offset: support * chance.within(0.76, 0.97),
                }
            })
            .collect();
        let veins = (0..chance.count(0, 3))
            .map(|_| Face {
                normal: chance.direction(),
                offset: chance.within(-0.2, 0.2),
            })
            .collect();
        Self {
            half,
            faces,
            wear: chance.within(0.1, 0.2),
            noise: Noise::new(chance.next()),
            grain: Noise::new(chance.next()),
            banding: DQuat::from_rotation_arc(DVec3::Z, chance.direction()),
            bands_per_unit: chance.within(5.0, 14.0),
            band_strength: chance.within(0.0, 0.55),
            veins,
            pitting: chance.within(0.002, 0.006),
            paint,
        }
    }

    /// How deep in a pit a place is, 0 to 1.
    fn pit(&self, p: DVec3) -> f64 {
        let cell = self.grain.cells(p * 13.0);
        if cell.lot < 0.35 {
            bump(cell.nearest, 0.28)
        } else {
            0.0
        }
    }

    /// How much of a vein a place is, 0 to 1.
    fn vein(&self, p: DVec3) -> f64 {
        self.veins
            .iter()
            .map(|vein| {
                let off = vein.normal.dot(p) - vein.offset + 0.05 * self.noise.rough(p * 3.0, 2);
                let width = 0.006 + 0.012 * (0.5 + self.grain.at(p * 4.0)).clamp(0.0, 1.0);
                bump(off, width)
            })
            .fold(0.0, f64::max)
    }
}

impl Body for Cobble {
    fn bounds(&self) -> (DVec3, DVec3) {
        let reach = self.half * 1.12 + DVec3::splat(0.06);
        (-reach, reach)
    }

    fn distance(&self, point: DVec3) -> f64 {
        let bend = DVec3::new(
            self.noise.at(point * 1.7 + DVec3::splat(3.1)),
            self.noise.at(point * 1.7 + DVec3::splat(11.7)),
            self.noise.at(point * 1.7 + DVec3::splat(23.9)),
        );
        let p = point + bend * 0.035;
        let mut even = ellipsoid(p, self.half);
        for face in &self.faces {
            even = soft_max(even, face.normal.dot(p) - face.offset, self.wear);
        }
        if even.abs() > 0.06 {
            return even;
        }
        let dents = 0.010 * self.noise.rough(point * 4.5, 2);
        let skin = 0.0022 * self.grain.rough(point * 16.0, 2);
        even + dents + skin + self.pitting * self.pit(point) - 0.003 * self.vein(point)
    }

    fn colour(&self, spot: &Spot) -> Colour {
        let p = spot.point;
        let paint = &self.paint;
        let warped = p + DVec3::splat(0.06 * self.noise.rough(p * 2.4, 3));
        let across = (self.banding * warped).z;
        let band = 0.5
            + 0.5
                * self
                    .noise
                    .at(DVec3::new(across * self.bands_per_unit, 0.3, 7.7))
                * 1.6;
        let mottle = self.noise.rough(p * 5.0 + DVec3::splat(40.0), 3);
        let mut colour = paint.body * (1.0 + 0.13 * mottle);
        let banded = paint.stain.lerp(paint.body, 0.25);
        colour = colour.lerp(banded, self.band_strength * ramp(0.35, 0.8, band));
        let speckle = self.grain.at(p * 27.0);
        colour = colour.lerp(paint.deep, 0.4 * ramp(0.15, 0.6, speckle));
        colour = colour.lerp(paint.pale, 0.45 * ramp(0.15, 0.6, -speckle));
        colour = colour.lerp(paint.pale * 1.12, 0.85 * self.vein(p));
        colour = colour.lerp(paint.deep, 0.35 * self.pit(p));
        let lichen = ramp(0.28, 0.5, self.noise.rough(p * 3.2 + DVec3::splat(80.0), 4));
        colour = colour.lerp(paint.growth, 0.4 * lichen * ramp(0.0, 0.6, spot.normal.z));
        colour * mix(0.72, 1.05, spot.openness)
    }
}
