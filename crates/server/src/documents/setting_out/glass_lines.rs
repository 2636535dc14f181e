//! The glass in plan, its middle lines, rulers along it and the names of its sides.

use super::description::Glass;
use super::plan::{inside, outside};
use crate::documents::drawing::hatch::Hatch;
use crate::documents::drawing::pen::Dash;
use crate::documents::drawing::{Across, Area, Drawing, Ink, Lettering, Pen, Text, Up, Weight};
use crate::documents::units::Units;
use glam::DVec2;

const SMALL: Lettering = Lettering::plain(1.8).inked(Ink::GREY);

pub(super) fn draw_glass(drawing: &mut Drawing, glass: &Glass) {
    let (inner, outer) = (inside(glass), outside(glass));
    if glass.wall_mm > 0.0 {
        let hatch = Hatch {
            angle_deg: 45.0,
            spacing_mm: 4.0,
            shift_mm: 0.0,
        };
        let strands = hatch.strands(&[outer.ring(), inner.ring()], &[]);
        drawing.strands(Pen::solid(Weight::Hairline, Ink::PALE), strands);
        drawing.rectangle(Some(Pen::solid(Weight::Medium, Ink::GRAPHITE)), None, outer);
    }
    drawing.rectangle(Some(Pen::solid(Weight::Thick, Ink::GRAPHITE)), None, inner);
    let chain = Pen::dashed(Weight::Thin, Ink::GREY, Dash::Chain);
    let (middle, reach) = (inner.middle(), outer.grown(4.0));
    drawing.line(
        chain,
        DVec2::new(middle.x, reach.min.y),
        DVec2::new(middle.x, reach.max.y),
    );
    drawing.line(
        chain,
        DVec2::new(reach.min.x, middle.y),
        DVec2::new(reach.max.x, middle.y),
    );
}

/// Ticks outside the glass, counted from the inside left front corner.
pub(super) fn draw_rulers(drawing: &mut Drawing, glass: &Glass, units: Units) {
    // Every 10 mm, numbered every 100; or every inch, numbered every sixth.
    let (step, numbered) = match units {
        Units::Us => (25.4, 6),
        Units::Metric | Units::Both => (10.0, 10),
    };
    let outer = outside(glass);
    let pen = Pen::solid(Weight::Hairline, Ink::GREY);
    for (length, along, sides) in [
        (
            glass.inside_mm.x,
            DVec2::X,
            [(outer.max.y, DVec2::Y), (outer.min.y, -DVec2::Y)],
        ),
        (
            glass.inside_mm.y,
            -DVec2::Y,
            [(outer.min.x, -DVec2::X), (outer.max.x, DVec2::X)],
        ),
    ] {
        for k in 0..=(length / step + 1e-6).floor() as usize {
            let main = k % numbered == 0;
            let size = if main {
                3.0
            } else if k % 5 == 0 && numbered == 10 {
                2.0
            } else {
                1.2
            };
            for (edge, out) in sides {
                let foot = along * (k as f64 * step) + out.abs() * edge;
                drawing.line(pen, foot, foot + out * size);
                if main {
                    let words = if units == Units::Us {
                        format!("{k}″")
                    } else {
                        format!("{}", k * 10)
                    };
                    let at = foot + out * 4.2;
                    let text = match (out.x, out.y) {
                        (x, _) if x < 0.0 => {
                            Text::new(at, words, SMALL).anchored(Across::Right, Up::Middle)
                        }
                        (x, _) if x > 0.0 => {
                            Text::new(at, words, SMALL).anchored(Across::Left, Up::Middle)
                        }
                        (_, y) if y > 0.0 => {
                            Text::new(at, words, SMALL).anchored(Across::Middle, Up::Top)
                        }
                        _ => Text::new(at, words, SMALL).anchored(Across::Middle, Up::Line),
                    };
                    drawing.text(text);
                }
            }
        }
    }
}

/// The names of the four sides, once between any two seams.
pub(super) fn draw_names_of_sides(drawing: &mut Drawing, glass: &Glass, seams: &[Area]) {
    let outer = outside(glass);
    let front = Lettering::bold(3.5);
    let other = Lettering::plain(2.5).inked(Ink::GREY);
    for x in middles(
        outer.min.x,
        outer.max.x,
        seams,
        |a| (a.min.x, a.max.x),
        front.width_mm("FRONT GLASS"),
    ) {
        let text = Text::new(DVec2::new(x, outer.max.y + 8.2), "FRONT GLASS", front);
        on_paper(drawing, text.anchored(Across::Middle, Up::Top));
        let text = Text::new(DVec2::new(x, outer.min.y - 8.4), "Back glass", other);
        on_paper(drawing, text.anchored(Across::Middle, Up::Line));
    }
    for y in middles(
        outer.min.y,
        outer.max.y,
        seams,
        |a| (a.min.y, a.max.y),
        other.width_mm("Right glass"),
    ) {
        for (x, words) in [
            (outer.min.x - 10.5, "Left glass"),
            (outer.max.x + 12.6, "Right glass"),
        ] {
            let text = Text::new(DVec2::new(x, y), words, other);
            on_paper(
                drawing,
                text.anchored(Across::Middle, Up::Line).turned(90.0),
            );
        }
    }
}

/// A name over whatever lies there.
fn on_paper(drawing: &mut Drawing, text: Text) {
    if let Some(bounds) = text.bounds() {
        drawing.rectangle(None, Some(Ink::PAPER), bounds.grown(0.8));
    }
    drawing.text(text);
}

/// Middles of the stretches between seams that are long enough for a name.
fn middles(
    from: f64,
    to: f64,
    seams: &[Area],
    span: impl Fn(&Area) -> (f64, f64),
    width_mm: f64,
) -> Vec<f64> {
    let crossing = seams
        .iter()
        .map(span)
        .filter(|(a, b)| b - a < (to - from) / 2.0 && *a > from && *b < to);
    let mut cuts: Vec<(f64, f64)> = crossing.collect();
    cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out = vec![];
    let mut start = from;
    for (a, b) in cuts.into_iter().chain([(to, to)]) {
        if a - start > width_mm + 4.0 {
            // Off the middle of the whole, where the centre line stands.
            let middle = (start + a) / 2.0;
            let clash = (middle - (from + to) / 2.0).abs() < width_mm / 2.0 + 2.0;
            let off = if clash {
                (width_mm / 2.0 + 12.0).min((a - start) / 2.0 - width_mm / 2.0 - 1.0)
            } else {
                0.0
            };
            out.push(middle + off);
        }
        start = b;
    }
    out
}
