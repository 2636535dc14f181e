//! Line weights, dashes and inks.
//!
//! Widths are those of the ISO 128-2 series (0.13, 0.18, 0.25, 0.35, 0.5,
//! 0.7 mm); dashes are multiples of the line's width as in that standard's
//! table of line elements (typed from memory), the long ones shortened so that
//! they read on a small sheet.

/// A line's width.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// 0.13 mm: hatching, contours.
    Hairline,
    /// 0.18 mm: dimension, centre and leader lines.
    Thin,
    /// 0.25 mm: hidden outlines, frames of tables.
    Fine,
    /// 0.35 mm: outlines.
    Medium,
    /// 0.5 mm: what one measures from.
    Thick,
}

impl Weight {
    /// Width in millimetres.
    pub fn mm(self) -> f64 {
        match self {
            Self::Hairline => 0.13,
            Self::Thin => 0.18,
            Self::Fine => 0.25,
            Self::Medium => 0.35,
            Self::Thick => 0.5,
        }
    }
}

/// How a line is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dash {
    /// Not at all.
    Solid,
    /// Short dashes: what lies hidden behind something.
    Hidden,
    /// Long dashes and dots: centre lines.
    Chain,
    /// Dots: a guide that is no edge of anything.
    Dotted,
}

impl Dash {
    /// Lengths drawn and skipped in turn, in millimetres; empty for a solid line.
    pub fn lengths_mm(self, weight: Weight) -> Vec<f64> {
        let d = weight.mm();
        match self {
            Self::Solid => vec![],
            Self::Hidden => vec![12.0 * d, 4.0 * d],
            Self::Chain => vec![48.0 * d, 6.0 * d, 2.0 * d, 6.0 * d],
            Self::Dotted => vec![2.0 * d, 6.0 * d],
        }
    }
}

/// A colour in sRGB.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ink(pub u8, pub u8, pub u8);

impl Ink {
    /// Outlines and lettering.
    pub const GRAPHITE: Self = Self(0x26, 0x29, 0x2d);
    /// Secondary lines and notes.
    pub const GREY: Self = Self(0x63, 0x68, 0x6e);
    /// Hatching and contours.
    pub const PALE: Self = Self(0x9a, 0x9f, 0xa5);
    /// Rules of tables and grounds of frames.
    pub const FAINT: Self = Self(0xd3, 0xd6, 0xd9);
    /// The water line.
    pub const WATER: Self = Self(0x0b, 0x4f, 0x7d);
    /// What needs a person.
    pub const WARM: Self = Self(0xa8, 0x4e, 0x00);
    /// The ground of what needs a person.
    pub const WARM_PALE: Self = Self(0xfb, 0xf0, 0xe3);
    /// Paper, to cover what lies beneath.
    pub const PAPER: Self = Self(0xff, 0xff, 0xff);
}

/// What a line is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pen {
    /// Its width.
    pub weight: Weight,
    /// How it is broken.
    pub dash: Dash,
    /// Its colour.
    pub ink: Ink,
}

impl Pen {
    /// A solid line.
    pub const fn solid(weight: Weight, ink: Ink) -> Self {
        Self {
            weight,
            dash: Dash::Solid,
            ink,
        }
    }

    /// A broken line.
    pub const fn dashed(weight: Weight, ink: Ink, dash: Dash) -> Self {
        Self { weight, dash, ink }
    }
}
