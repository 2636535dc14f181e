//! Bedded: a block out of a ledge, with its layers, seams and broken edges.

use glam::{DMat3, DVec3};

use super::body::{Body, Spot, soft_max, soft_min};
use super::chance::Chance;
use super::noise::{Noise, bump, mix, ramp};
use super::palette::{Colour, Paint};

/// One side of a layer's plan: a joint or a break.
struct Side {
    normal: DVec3,
    offset: f64,
}

/// One layer of the stack.
struct Layer {
    middle: f64,
    half: f64,
    sides: Vec<Side>,
    /// How light or dark, -1 to 1.
    tone: f64,
    /// How far the layer's edge is worn back in the middle of its height.
    hollow: f64,
}

pub(super) struct Bedded {
    layers: Vec<Layer>,
    half: DVec3,
    rough: Noise,
    broad: Noise,
    lay_from_piece: DMat3,
    paint: Paint,
}

impl Bedded {
    pub(super) fn new(seed: u64, paint: Paint) -> Self {
        let mut chance = Chance::new(seed);
        let half = DVec3::new(0.46, chance.within(0.27, 0.38), chance.within(0.13, 0.26));
        let joints = joints(&mut chance, half);
        let (lean, turn) = (
            chance.within(-0.16, 0.16),
            chance.within(0.0, std::f64::consts::TAU),
        );
        Self {
            layers: layers(&mut chance, half, &joints),
            half,
            rough: Noise::new(chance.next()),
            broad: Noise::new(chance.next()),
            lay_from_piece: DMat3::from_axis_angle(
                DVec3::new(f64::cos(turn), f64::sin(turn), 0.0),
                lean,
            ),
            paint,
        }
    }

    /// The place in the frame of the layers, waves and all.
    fn laid(&self, point: DVec3) -> DVec3 {
        let mut p = self.lay_from_piece * point;
        p.z += 0.022 * self.broad.rough(DVec3::new(p.x, p.y, p.z * 0.4) * 2.2, 2);
        p
    }

    fn layer_at(&self, height: f64) -> usize {
        let found = self
            .layers
            .partition_point(|layer| layer.middle + layer.half < height);
        found.min(self.layers.len() - 1)
    }

    fn of_layer(&self, index: usize, p: DVec3) -> f64 {
        let layer = &self.layers[index];
        let own = DVec3::new(p.x, p.y, 0.35 * p.z) + DVec3::splat(3.7 * index as f64);
        let jag = 0.030 * self.broad.rough(own * 3.6, 2) + 0.008 * self.rough.rough(own * 11.0, 2);
        let up = (p.z - layer.middle) / layer.half;
        let worn = layer.hollow * (1.0 - up * up).max(0.0);
        let plan = layer
            .sides
            .iter()
            .map(|side| side.normal.dot(p) - side.offset)
            .reduce(|a, b| soft_max(a, b, 0.025))
            .unwrap_or(1.0);
        let flat = (p.z - layer.middle).abs() - layer.half;
        soft_max(plan + jag + worn, flat, 0.45 * layer.half.min(0.035))
    }

    /// Distance to the nearest seam between layers.
    fn seam(&self, height: f64) -> f64 {
        let layer = &self.layers[self.layer_at(height)];
        (layer.half - (height - layer.middle).abs()).abs()
    }
}

/// Two sets of joints at about a right angle, and a break or two across.
fn joints(chance: &mut Chance, half: DVec3) -> Vec<Side> {
    let skew = chance.within(-0.25, 0.25);
    let mut joints: Vec<Side> = (0..4)
        .map(|n| {
            let lean = if n % 2 == 0 { skew } else { 0.0 };
            let angle =
                f64::from(n) * std::f64::consts::FRAC_PI_2 + lean + chance.within(-0.12, 0.12);
            let reach = if n % 2 == 0 { half.x } else { half.y };
            Side {
                normal: DVec3::new(angle.cos(), angle.sin(), chance.within(-0.12, 0.12)),
                offset: reach * chance.within(0.92, 1.0),
            }
        })
        .collect();
    for _ in 0..chance.count(1, 3) {
        let angle = chance.within(0.0, std::f64::consts::TAU);
        let normal = DVec3::new(angle.cos(), angle.sin(), chance.within(-0.15, 0.15));
        let corner = (normal.x * half.x).abs() + (normal.y * half.y).abs();
        joints.push(Side {
            normal,
            offset: corner * chance.within(0.66, 0.85),
        });
    }
    joints
}

/// Layers from below; each keeps the joints but is broken back by its own measure.
fn layers(chance: &mut Chance, half: DVec3, joints: &[Side]) -> Vec<Layer> {
    let mut layers = Vec::new();
    let mut base = -half.z;
    let stepped = chance.direction();
    while base < half.z - 0.02 {
        let thick = if chance.happens(0.4) {
            chance.within(0.022, 0.04)
        } else {
            chance.within(0.05, 0.12)
        };
        let top = (base + thick).min(half.z);
        let middle = 0.5 * (base + top);
        let up = middle / half.z;
        let back = if chance.happens(0.25) { 0.05 } else { 0.0 } + chance.within(0.0, 0.035);
        let sides = joints
            .iter()
            .map(|joint| {
                let facing = joint.normal.dot(stepped);
                let step = (0.10 * facing * up).max(0.0)
                    + if up > 0.5 {
                        0.05 * facing.max(0.0)
                    } else {
                        0.0
                    };
                Side {
                    normal: joint.normal,
                    offset: joint.offset - back - step - chance.within(0.0, 0.025),
                }
            })
            .collect();
        layers.push(Layer {
            middle,
            half: 0.5 * (top - base),
            sides,
            tone: chance.within(-1.0, 1.0),
            hollow: if thick < 0.045 {
                chance.within(0.0, 0.02)
            } else {
                chance.within(-0.012, 0.008)
            },
        });
        base = top;
    }
    layers
}

impl Body for Bedded {
    fn bounds(&self) -> (DVec3, DVec3) {
        let reach = DVec3::new(self.half.x + 0.1, self.half.y + 0.14, self.half.z + 0.13);
        (-reach, reach)
    }

    fn distance(&self, point: DVec3) -> f64 {
        let p = self.laid(point);
        let at = self.layer_at(p.z);
        let from = at.saturating_sub(1);
        let to = (at + 1).min(self.layers.len() - 1);
        let block = (from..=to)
            .map(|index| self.of_layer(index, p))
            .reduce(|a, b| soft_min(a, b, 0.006))
            .unwrap_or(1.0);
        if block.abs() > 0.05 {
            return block;
        }
        let flat = DVec3::new(p.x, p.y, 1.7 * p.z);
        let grit = 0.0045 * self.rough.rough(flat * 9.0, 3);
        let seam = 0.010 * bump(self.seam(p.z), 0.006) * (0.6 + 0.8 * self.broad.at(p * 5.0));
        block + grit + seam
    }

    fn colour(&self, spot: &Spot) -> Colour {
        let p = self.laid(spot.point);
        let paint = &self.paint;
        let layer = &self.layers[self.layer_at(p.z)];
        let mottle = self.broad.rough(p * 4.0 + DVec3::splat(9.0), 4);
        let lamina = self.rough.at(DVec3::new(p.x * 1.5, p.y * 1.5, p.z * 28.0));
        let mut colour = if layer.tone > 0.0 {
            paint.body.lerp(paint.pale, 0.55 * layer.tone)
        } else {
            paint.body.lerp(paint.stain, -0.6 * layer.tone)
        };
        let upright = 1.0 - spot.normal.z.abs();
        colour *= 1.0 + 0.16 * mottle + 0.22 * lamina * ramp(0.2, 0.7, upright);
        let grain = self.rough.at(p * 25.0);
        colour *= 1.0 + 0.12 * grain;
        let rust = ramp(0.1, 0.55, self.broad.rough(p * 2.3 + DVec3::splat(31.0), 3));
        colour = colour.lerp(paint.stain * 1.1, 0.5 * rust);
        colour = colour.lerp(
            paint.deep,
            0.7 * bump(self.seam(p.z), 0.007) * ramp(0.3, 0.8, upright),
        );
        colour = colour.lerp(paint.pale, 0.5 * ramp(1.0, 1.15, spot.openness));
        let lichen = ramp(0.2, 0.45, self.rough.rough(p * 4.0 + DVec3::splat(57.0), 4));
        colour = colour.lerp(paint.growth, 0.5 * lichen * ramp(0.2, 0.9, spot.normal.z));
        colour.lerp(paint.deep * 0.8, 0.75 * ramp(0.75, 0.1, spot.openness))
            * mix(0.85, 1.03, spot.openness)
    }
}
