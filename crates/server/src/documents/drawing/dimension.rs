//! Dimension lines: extension lines, a line with arrowheads, a number.
//!
//! Proportions follow the habits of ISO 129-1: extension lines leave a small
//! gap at the object and pass the dimension line a little; the number stands
//! above the line, readable from below or from the right; where it doesn't fit
//! between the arrowheads they point inwards from outside.

use super::Drawing;
use super::lettering::{Across, Lettering, Text, Up};
use super::pen::{Ink, Pen, Weight};
use glam::DVec2;

/// How dimensions are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Lettering of the number.
    pub lettering: Lettering,
    /// Length of arrowheads.
    pub arrow_mm: f64,
    /// Gap between object and extension line.
    pub gap_mm: f64,
    /// How far the extension line passes the dimension line.
    pub beyond_mm: f64,
}

impl Style {
    /// For ordinary sheets.
    pub const ORDINARY: Self = Self {
        lettering: Lettering::plain(2.5),
        arrow_mm: 2.5,
        gap_mm: 1.0,
        beyond_mm: 1.5,
    };

    fn pen(self) -> Pen {
        Pen::solid(Weight::Thin, self.lettering.ink)
    }

    /// The same in another colour.
    #[must_use]
    pub fn inked(self, ink: Ink) -> Self {
        Self {
            lettering: self.lettering.inked(ink),
            ..self
        }
    }
}

/// A distance between two points, along x or along y of the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// First point measured.
    pub from: DVec2,
    /// Second point measured.
    pub to: DVec2,
    /// Whether the distance along y is measured.
    pub upright: bool,
    /// Where the dimension line lies: y of a level one, x of an upright one.
    pub line_at_mm: f64,
    /// What stands on it.
    pub words: String,
}

impl Drawing {
    /// Draws a dimension.
    pub fn dimension(&mut self, style: Style, dimension: &Dimension) {
        let d = dimension;
        let foot = |p: DVec2| {
            if d.upright {
                DVec2::new(d.line_at_mm, p.y)
            } else {
                DVec2::new(p.x, d.line_at_mm)
            }
        };
        let (a, b) = (foot(d.from), foot(d.to));
        for (object, end) in [(d.from, a), (d.to, b)] {
            let out = (end - object).normalize_or_zero();
            if (end - object).length() > style.gap_mm {
                self.line(
                    style.pen(),
                    object + out * style.gap_mm,
                    end + out * style.beyond_mm,
                );
            }
        }
        let along = (b - a).normalize_or_zero();
        let room = a.distance(b) - 2.0 * style.arrow_mm;
        let inside = room >= style.arrow_mm * 0.8;
        let turn_deg = if d.upright { 90.0 } else { 0.0 };
        self.dimension_line(style, a, b, inside);
        let width = style.lettering.width_mm(&d.words);
        let middle = (a + b) / 2.0;
        let up = if d.upright { -DVec2::X } else { -DVec2::Y };
        let lift = up * 0.9;
        if width <= a.distance(b) - 1.0 {
            let text = Text::new(middle + lift, &d.words, style.lettering);
            self.text(text.anchored(Across::Middle, Up::Line).turned(turn_deg));
        } else {
            // Beyond the second point, in the direction of reading.
            let read = if d.upright { -DVec2::Y } else { DVec2::X };
            let far = if along.dot(read) >= 0.0 { b } else { a };
            let at = far + read * (style.arrow_mm * 2.0 + 0.8) + lift;
            self.text(Text::new(at, &d.words, style.lettering).turned(turn_deg));
        }
    }

    fn dimension_line(&mut self, style: Style, a: DVec2, b: DVec2, inside: bool) {
        let along = (b - a).normalize_or_zero();
        let ink = style.lettering.ink;
        let tail = along * style.arrow_mm * 2.0;
        if inside {
            self.line(style.pen(), a, b);
            self.arrowhead(a, -along, style.arrow_mm, ink);
            self.arrowhead(b, along, style.arrow_mm, ink);
        } else {
            self.line(style.pen(), a - tail, b + tail);
            self.arrowhead(a, along, style.arrow_mm, ink);
            self.arrowhead(b, -along, style.arrow_mm, ink);
        }
    }
}

/// Places for labels along a line so that none is nearer to the next than
/// `distance_mm`, each as near as may be to where it was wanted, all within
/// `least..=most` as far as they fit. Returned in the order of `wanted`.
pub fn spread(wanted: &[f64], distance_mm: f64, least: f64, most: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|&a, &b| wanted[a].total_cmp(&wanted[b]).then(a.cmp(&b)));
    // Pool adjacent violators: blocks of touching labels share one shift.
    let mut blocks: Vec<(f64, usize)> = vec![];
    for (rank, &i) in order.iter().enumerate() {
        let mut block = (wanted[i] - rank as f64 * distance_mm, 1);
        while let Some(&(mean, count)) = blocks.last() {
            if mean <= block.0 {
                break;
            }
            blocks.pop();
            let both = count + block.1;
            block = (
                (mean * count as f64 + block.0 * block.1 as f64) / both as f64,
                both,
            );
        }
        blocks.push(block);
    }
    let room = most - wanted.len().saturating_sub(1) as f64 * distance_mm;
    let bases = blocks
        .iter()
        .flat_map(|&(base, count)| std::iter::repeat_n(base, count));
    let mut places = vec![0.0; wanted.len()];
    for ((rank, &i), base) in order.iter().enumerate().zip(bases) {
        places[i] = base.min(room).max(least) + rank as f64 * distance_mm;
    }
    places
}

/// The ordinate of a level: an extension line, a knee and the words at its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Where the level is taken.
    pub from: DVec2,
    /// Where the knee begins, as x.
    pub knee_at_mm: f64,
    /// Where the words begin, as x; right of the knee or left of it.
    pub words_at_mm: f64,
    /// The height on the sheet at which the words stand.
    pub words_y_mm: f64,
    /// The words.
    pub words: String,
    /// What the line is drawn with; the words have the style's colour.
    pub line: Ink,
}

impl Drawing {
    /// Draws the ordinate of a level.
    pub fn level(&mut self, style: Style, level: &Level) {
        let rightwards = level.words_at_mm >= level.from.x;
        let sign = if rightwards { 1.0 } else { -1.0 };
        let knee = DVec2::new(level.knee_at_mm, level.from.y);
        let end = DVec2::new(level.words_at_mm, level.words_y_mm);
        let start = level.from + DVec2::new(sign * style.gap_mm, 0.0);
        let mut points = vec![start, knee, end];
        points.push(end + DVec2::new(sign * 2.0, 0.0));
        let pen = Pen::solid(Weight::Hairline, level.line);
        self.polyline(pen, points);
        self.rings(
            None,
            Some(level.line),
            &[super::symbols::circle(start, 0.5)],
        );
        let across = if rightwards {
            Across::Left
        } else {
            Across::Right
        };
        let at = end + DVec2::new(sign * 3.0, 0.0);
        self.text(Text::new(at, &level.words, style.lettering).anchored(across, Up::Middle));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn spread_labels_keep_their_distance_and_order(
            wanted in proptest::collection::vec(-200.0..200.0_f64, 1..20)
        ) {
            let places = spread(&wanted, 5.0, -300.0, 300.0);
            for i in 0..wanted.len() {
                for j in 0..wanted.len() {
                    if wanted[i] < wanted[j] {
                        prop_assert!(places[j] - places[i] >= 5.0 - 1e-9);
                    }
                }
            }
        }
    }

    #[test]
    fn labels_with_room_stay_where_they_were_wanted() {
        assert_eq!(
            spread(&[30.0, 10.0, 20.0], 5.0, 0.0, 50.0),
            [30.0, 10.0, 20.0]
        );
    }
}
