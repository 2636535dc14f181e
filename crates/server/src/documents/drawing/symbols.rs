//! Small symbols: arrowheads, numbered circles, register crosses, levels.

use super::Drawing;
use super::area::Ring;
use super::lettering::{Across, Lettering, Text, Up};
use super::pen::{Ink, Pen, Weight};
use glam::DVec2;

/// Length of an arrowhead over its width (ISO 129-1 shows slender closed heads).
const ARROW_SLENDERNESS: f64 = 3.0;

/// A circle as a ring, true to a hundredth of a millimetre up to 30 mm radius.
pub fn circle(middle: DVec2, radius_mm: f64) -> Ring {
    (0..96)
        .map(|i| {
            middle + DVec2::from_angle(f64::from(i) * std::f64::consts::TAU / 96.0) * radius_mm
        })
        .collect()
}

impl Drawing {
    /// A filled arrowhead whose tip is at `tip` and that points along `direction`.
    pub fn arrowhead(&mut self, tip: DVec2, direction: DVec2, length_mm: f64, ink: Ink) {
        let along = direction.normalize_or_zero() * length_mm;
        let across = along.perp() / (2.0 * ARROW_SLENDERNESS);
        self.rings(
            None,
            Some(ink),
            &[vec![tip, tip - along + across, tip - along - across]],
        );
    }

    /// A number in a circle.
    pub fn numbered_circle(&mut self, middle: DVec2, number: usize, height_mm: f64, ink: Ink) {
        let words = number.to_string();
        let lettering = Lettering::bold(height_mm).inked(ink);
        self.rings(
            Some(Pen::solid(Weight::Medium, ink)),
            Some(Ink::PAPER),
            &[circle(middle, circle_radius_mm(height_mm))],
        );
        self.text(Text::new(middle, words, lettering).anchored(Across::Middle, Up::Middle));
    }

    /// A cross in a circle, to lay two sheets over each other.
    pub fn register_cross(&mut self, middle: DVec2, radius_mm: f64, ink: Ink) {
        let pen = Pen::solid(Weight::Thin, ink);
        self.rings(Some(pen), None, &[circle(middle, radius_mm * 0.6)]);
        for arm in [DVec2::X, DVec2::Y] {
            self.line(pen, middle - arm * radius_mm, middle + arm * radius_mm);
        }
    }

    /// The open triangle that stands on a level line.
    pub fn level_mark(&mut self, foot: DVec2, size_mm: f64, pen: Pen) {
        let half = size_mm / 2.0;
        let top = foot.y - size_mm * 0.866;
        let corners = vec![
            foot,
            DVec2::new(foot.x - half, top),
            DVec2::new(foot.x + half, top),
        ];
        self.rings(Some(pen), Some(Ink::PAPER), &[corners]);
    }
}

/// Radius of a numbered circle whose figures have this height.
pub fn circle_radius_mm(height_mm: f64) -> f64 {
    height_mm * 1.25
}
