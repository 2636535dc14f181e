//! What a surface looks like closer than its mesh: grain, fibre, roughness.

use glam::Vec3;

use super::noise;
use super::scene::{Item, Surface};

/// One layer of noise.
struct Layer {
    /// Size of a lump, m.
    lump_m: f32,
    /// Greatest change of the colour, as a share of it.
    shade: f32,
    /// Greatest slope of the relief.
    slope: f32,
}

const STONE: [Layer; 3] = [
    layer(0.012, 0.09, 0.10),
    layer(0.0042, 0.09, 0.16),
    layer(0.0015, 0.08, 0.20),
];
const WOOD: [Layer; 2] = [layer(0.0036, 0.10, 0.14), layer(0.0013, 0.09, 0.16)];
const PLANT: [Layer; 1] = [layer(0.004, 0.10, 0.10)];
/// Fibres run this many times further along the mesh's longest axis.
const FIBRE_STRETCH: f32 = 7.0;

const fn layer(lump_m: f32, shade: f32, slope: f32) -> Layer {
    Layer {
        lump_m,
        shade,
        slope,
    }
}

/// Colour and normal (in the mesh) with the surface's own detail.
///
/// Detail finer than `footprint_m`, a pixel's width there, fades out.
pub fn of(
    item: &Item,
    point_in_mesh: Vec3,
    normal: Vec3,
    colour: Vec3,
    footprint_m: f32,
) -> (Vec3, Vec3) {
    let point = Point {
        place: point_in_mesh,
        normal,
        colour,
        footprint_m,
        salt: item.salt,
    };
    match item.surface {
        Surface::Stone => point.lumpy(&STONE, Vec3::ONE),
        Surface::Wood => point.lumpy(&WOOD, item.fibre()),
        Surface::Plant => point.lumpy(&PLANT, Vec3::ONE),
        Surface::Ground { grain_m } => point.grainy(grain_m as f32),
        Surface::Plain | Surface::Glass | Surface::Water => (colour, normal),
    }
}

impl Item {
    /// Shrinks places along the mesh's longest axis.
    fn fibre(&self) -> Vec3 {
        let mut stretch = Vec3::ONE;
        stretch[self.long_axis] = 1.0 / FIBRE_STRETCH;
        stretch
    }
}

struct Point {
    place: Vec3,
    normal: Vec3,
    colour: Vec3,
    footprint_m: f32,
    salt: u32,
}

impl Point {
    /// How much of a detail of a size is left at this footprint.
    fn seen(&self, size_m: f32) -> f32 {
        (size_m / (2.0 * self.footprint_m) - 0.5).clamp(0.0, 1.0)
    }

    fn lumpy(&self, layers: &[Layer], stretch: Vec3) -> (Vec3, Vec3) {
        let (mut shade, mut slope) = (1.0, Vec3::ZERO);
        for (i, layer) in layers.iter().enumerate() {
            let seen = self.seen(layer.lump_m);
            if seen == 0.0 {
                continue;
            }
            let salt = self.salt.wrapping_mul(16).wrapping_add(i as u32);
            let at = self.place * stretch / layer.lump_m;
            let (value, rise) = noise::smooth(at, salt);
            shade += layer.shade * seen * value;
            slope += rise * stretch * (layer.slope * seen);
        }
        let along = slope - self.normal * self.normal.dot(slope);
        let normal = (self.normal - along).normalize_or(self.normal);
        (self.colour * shade, normal)
    }

    fn grainy(&self, grain_m: f32) -> (Vec3, Vec3) {
        let grain_m = grain_m.clamp(2e-4, 0.05);
        // Unlike lumps, grains stay worth showing until they fill half a pixel.
        let seen = self.seen(2.0 * grain_m);
        // Beyond that, loose patches are what is left of grain.
        let (patch, _) = noise::smooth(self.place / (9.0 * grain_m).max(0.012), self.salt);
        let broad = 1.0 + 0.05 * patch;
        if seen == 0.0 {
            return (self.colour * broad, self.normal);
        }
        let grain = noise::grain(self.place / grain_m, self.salt);
        let seam = (grain.margin * 5.0).min(1.0);
        let [light, hue, _] = grain.draws;
        let own = 0.72 + 0.56 * light;
        let shade = own * (0.55 + 0.45 * seam);
        let warmth = Vec3::new(1.0 + 0.05 * (hue - 0.5), 1.0, 1.0 - 0.09 * (hue - 0.5));
        let colour = self.colour * broad;
        let round = self.normal + grain.offset * (0.9 * seen);
        let normal = round.normalize_or(self.normal);
        // A grain's mean shade is about 0.93: fading in keeps the bed's tone.
        let toned = colour * warmth * (shade / 0.93);
        (colour.lerp(toned, seen), normal)
    }
}
