//! Which colours a piece is painted with.

use glam::DVec3;

use super::Form;

/// A colour as red, green and blue from 0 to 1 on the sRGB scale.
pub(super) type Colour = DVec3;

/// The colours of one sort of stone or wood, as sRGB bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Palette {
    /// Most of the surface.
    pub body: [u8; 3],
    /// Cracks, seams and the lee of ledges.
    pub deep: [u8; 3],
    /// Crests, worn edges and fresh breaks.
    pub pale: [u8; 3],
    /// Bands, veins and films of rust; bark on wood.
    pub stain: [u8; 3],
    /// Lichen on stone, algae and bleached patches on wood.
    pub growth: [u8; 3],
}

impl Palette {
    /// The colours that go with a form unless others are asked for.
    #[must_use]
    pub fn of(form: Form) -> Self {
        let [body, deep, pale, stain, growth] = match form {
            Form::Rounded => [0x7d7b76, 0x4b4a48, 0xb9b4a9, 0x8d7a66, 0x9aa08a],
            Form::Bedded => [0x9a7f62, 0x4a3b2e, 0xcdb693, 0x8a5a3a, 0x8f9479],
            Form::Fissured => [0x74787a, 0x2f3233, 0xb4b5b0, 0x82735d, 0x737a66],
            Form::Columnar => [0x55565a, 0x2b2b2d, 0x84827e, 0x775a45, 0x8d9188],
            Form::Roots | Form::Arch => [0x6d4f37, 0x2e2017, 0xa98562, 0x463225, 0x8e8270],
            Form::Stump => [0x5f4634, 0x291d15, 0xa07c59, 0x3d2b20, 0x7d7a5f],
            Form::Stick => [0x7a5d43, 0x3a2a1e, 0xb39571, 0x513b2b, 0x94897a],
        }
        .map(|hex: u32| [(hex >> 16) as u8, (hex >> 8) as u8, hex as u8]);
        Self {
            body,
            deep,
            pale,
            stain,
            growth,
        }
    }
}

/// A palette made ready for mixing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Paint {
    pub(super) body: Colour,
    pub(super) deep: Colour,
    pub(super) pale: Colour,
    pub(super) stain: Colour,
    pub(super) growth: Colour,
}

impl From<&Palette> for Paint {
    fn from(palette: &Palette) -> Self {
        let colour = |bytes: [u8; 3]| DVec3::from_array(bytes.map(f64::from)) / 255.0;
        Self {
            body: colour(palette.body),
            deep: colour(palette.deep),
            pale: colour(palette.pale),
            stain: colour(palette.stain),
            growth: colour(palette.growth),
        }
    }
}

pub(super) fn bytes(colour: Colour) -> [u8; 3] {
    colour
        .to_array()
        .map(|channel| (channel.clamp(0.0, 1.0) * 255.0).round() as u8)
}
