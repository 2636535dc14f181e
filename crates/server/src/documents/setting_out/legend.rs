//! The control square, the legend and the notes of a setting-out sheet.

use super::CONTROL_MM;
use crate::documents::drawing::hatch::Hatch;
use crate::documents::drawing::pen::Dash;
use crate::documents::drawing::{
    Across, Area, Drawing, Ink, Lettering, Pen, Text, Up, Weight, grain,
};
use crate::documents::units::Units;
use glam::DVec2;

const NOTE: Lettering = Lettering::plain(2.2);
const SMALL: Lettering = Lettering::plain(1.8).inked(Ink::GREY);

/// Draws the control square with its upper left corner at `at`.
pub(super) fn control_square(drawing: &mut Drawing, at: DVec2) {
    let square = Area::new(at, at + CONTROL_MM);
    drawing.rectangle(Some(Pen::solid(Weight::Fine, Ink::GRAPHITE)), None, square);
    let tick = Pen::solid(Weight::Thin, Ink::GREY);
    for k in 1..10 {
        let size = if k == 5 { 3.5 } else { 2.0 };
        let along = f64::from(k) * 10.0;
        drawing.line(
            tick,
            at + DVec2::new(along, CONTROL_MM),
            at + DVec2::new(along, CONTROL_MM - size),
        );
        drawing.line(
            tick,
            at + DVec2::new(0.0, along),
            at + DVec2::new(size, along),
        );
    }
    let head = Lettering::bold(3.5);
    let left = at.x + 12.0;
    drawing.text(Text::new(
        DVec2::new(left, at.y + 16.0),
        "Control square",
        head,
    ));
    let words = "100 mm × 100 mm (3 15/16 in). Print at 100 %, “actual size”; never “fit to page”. \
                 Measure both sides with a steel rule before you cut or lay anything. \
                 If either side is not 100 mm, this print is not full size: don’t build on it.";
    for (i, line) in NOTE.wrapped(words, CONTROL_MM - 22.0).iter().enumerate() {
        let y = at.y + 24.0 + i as f64 * NOTE.leading_mm();
        drawing.text(Text::new(DVec2::new(left, y), line, NOTE));
    }
}

/// Draws a bar of 100 mm with its left end at `at`.
pub(super) fn control_bar(drawing: &mut Drawing, at: DVec2, upright: bool) {
    let along = if upright { -DVec2::Y } else { DVec2::X };
    let across = if upright { DVec2::X } else { DVec2::Y };
    let pen = Pen::solid(Weight::Thin, Ink::GRAPHITE);
    drawing.line(pen, at, at + along * CONTROL_MM);
    for k in 0..=10 {
        let size = if k % 10 == 0 {
            1.6
        } else if k == 5 {
            1.2
        } else {
            0.7
        };
        let foot = at + along * f64::from(k) * 10.0;
        drawing.line(pen, foot - across * size, foot + across * size);
    }
}

/// A line of the legend: draws its sample within the area.
type Sample = fn(&mut Drawing, Area);

/// Draws the legend; the cross is left out when nothing is `joined`.
pub(super) fn legend(drawing: &mut Drawing, at: DVec2, width_mm: f64, units: Units, joined: bool) {
    let rows: [(Sample, String); 9] = [
        (
            |d, a| line(d, a, Pen::solid(Weight::Thick, Ink::GRAPHITE)),
            "inside of the glass".into(),
        ),
        (
            |d, a| line(d, a, Pen::dashed(Weight::Thin, Ink::GREY, Dash::Chain)),
            "middle of the tank".into(),
        ),
        (stone, "stone, seen from above".into()),
        (wood, "wood, seen from above".into()),
        (
            |d, a| line(d, a, Pen::dashed(Weight::Thin, Ink::GRAPHITE, Dash::Hidden)),
            "outline under another piece".into(),
        ),
        (patch, "where it rests, with its tag".into()),
        (
            |d, a| line(d, a, Pen::solid(Weight::Thin, Ink::GREY)),
            format!(
                "height of the ground, {} apart",
                units.length(super::plan::CONTOUR_STEP_MM)
            ),
        ),
        (
            |d, a| d.numbered_circle(a.middle(), 1, 2.2, Ink::GRAPHITE),
            "order of placing".into(),
        ),
        (
            |d, a| d.register_cross(a.middle(), 2.8, Ink::GREY),
            "lay cross on cross when joining".into(),
        ),
    ];
    drawing.text(Text::new(
        at + DVec2::new(0.0, 3.0),
        "Legend",
        Lettering::bold(2.5),
    ));
    let mut y = at.y + 6.0;
    let shown = rows.len() - usize::from(!joined);
    for (sample, words) in rows.into_iter().take(shown) {
        sample(drawing, Area::at(at.x, y, 18.0, 6.0));
        for (i, words) in NOTE.wrapped(&words, width_mm - 22.0).iter().enumerate() {
            let place = DVec2::new(at.x + 22.0, y + 3.0 + i as f64 * NOTE.leading_mm());
            drawing.text(Text::new(place, words, NOTE).anchored(Across::Left, Up::Middle));
            y += if i > 0 { NOTE.leading_mm() } else { 0.0 };
        }
        y += 7.4;
    }
    let words = "Heights are above the inside of the base.";
    drawing.text(Text::new(
        DVec2::new(at.x, y + 2.0),
        SMALL.fitted(words, width_mm),
        SMALL,
    ));
}

fn line(drawing: &mut Drawing, area: Area, pen: Pen) {
    let y = area.middle().y;
    drawing.line(pen, DVec2::new(area.min.x, y), DVec2::new(area.max.x, y));
}

fn stone(drawing: &mut Drawing, area: Area) {
    let hatch = Hatch {
        angle_deg: 45.0,
        spacing_mm: 2.5,
        shift_mm: 0.0,
    };
    let area = area.grown(-0.4);
    drawing.strands(
        Pen::solid(Weight::Hairline, Ink::PALE),
        hatch.strands(&[area.ring()], &[]),
    );
    drawing.rectangle(Some(Pen::solid(Weight::Medium, Ink::GRAPHITE)), None, area);
}

fn wood(drawing: &mut Drawing, area: Area) {
    let area = area.grown(-0.4);
    drawing.strands(
        Pen::solid(Weight::Hairline, Ink::PALE),
        grain::strands(&[area.ring()], &[], 1.0),
    );
    drawing.rectangle(Some(Pen::solid(Weight::Medium, Ink::GRAPHITE)), None, area);
}

fn patch(drawing: &mut Drawing, area: Area) {
    let area = Area::round(area.middle(), DVec2::new(10.0, 5.0));
    let hatch = Hatch {
        angle_deg: 135.0,
        spacing_mm: 0.9,
        shift_mm: 0.0,
    };
    drawing.strands(
        Pen::solid(Weight::Thin, Ink::GRAPHITE),
        hatch.strands(&[area.ring()], &[]),
    );
    drawing.rectangle(Some(Pen::solid(Weight::Fine, Ink::GRAPHITE)), None, area);
}
