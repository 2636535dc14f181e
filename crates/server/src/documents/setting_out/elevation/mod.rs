//! The front elevation to scale, with dimension lines.

mod front;
mod measures;

use super::description::SettingOut;
use super::title_block;
use crate::documents::drawing::{Area, Drawing, Ring, Sheet, area, title_block as block};
use crate::documents::paper::Paper;
use crate::documents::units::Units;
use glam::DVec2;

const MARGIN_MM: f64 = 10.0;
/// Paper for dimensions on the left, above and below the tank.
const LEFT_MM: f64 = 34.0;
const ABOVE_MM: f64 = 10.0;
const BELOW_MM: f64 = 26.0;
/// Scales in use, the largest first.
const SCALES: [f64; 8] = [1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0];
/// Tops of no more pieces than this are dimensioned.
const MOST_TOPS: usize = 12;
const TRUE_TO_MM: f64 = 0.1;

/// Paper for the levels on the right; inches in brackets need more.
fn right_mm(units: Units) -> f64 {
    match units {
        Units::Metric | Units::Us => 54.0,
        Units::Both => 62.0,
    }
}

/// Where and how large the tank's front is drawn.
struct View {
    origin: DVec2,
    scale: f64,
}

impl View {
    /// From x to the right and z upwards in the tank to the sheet.
    fn on_sheet(&self, x_mm: f64, z_mm: f64) -> DVec2 {
        self.origin + DVec2::new(x_mm, -z_mm) / self.scale
    }

    fn ring(&self, ring: &[DVec2]) -> Ring {
        area::simplified(ring, TRUE_TO_MM * self.scale)
            .into_iter()
            .map(|p| self.on_sheet(p.x, p.y))
            .collect()
    }
}

pub(super) fn sheet(description: &SettingOut, paper: Paper, n: usize, of: usize) -> Sheet {
    let (short, long) = paper.sides_mm().unwrap_or((297.0, 420.0));
    let scale_on = |size: DVec2| fitting_scale(description, size, title_mm(description, size));
    let (upright, across) = (DVec2::new(short, long), DVec2::new(long, short));
    let size = if scale_on(upright) < scale_on(across) {
        upright
    } else {
        across
    };
    let scale = scale_on(size);
    let words = scale_words(scale);
    let title = title_block(
        description,
        "Setting-out sheet: front elevation",
        &words,
        n,
        of,
    );
    let inner = size.x - 2.0 * MARGIN_MM;
    let title_mm = block::height_mm(&title, inner);
    let room = drawing_room(size, title_mm, description.units);
    let glass = &description.glass;
    let outside = DVec2::new(
        glass.inside_mm.x + 2.0 * glass.wall_mm,
        glass.inside_mm.z + glass.base_mm,
    ) / scale;
    let left = room.middle().x - outside.x / 2.0 + glass.wall_mm / scale;
    let foot = room.middle().y + outside.y / 2.0 - glass.base_mm / scale;
    let view = View {
        origin: DVec2::new(left, foot),
        scale,
    };
    let mut drawing = Drawing::new();
    front::draw(&mut drawing, description, &view);
    measures::draw_dimensions(&mut drawing, description, &view);
    measures::draw_tops(
        &mut drawing,
        description,
        &view,
        room.min.y - ABOVE_MM + 4.0,
    );
    drawing.title_block(
        DVec2::new(MARGIN_MM, size.y - MARGIN_MM - title_mm),
        inner,
        &title,
    );
    Sheet {
        width_mm: size.x,
        height_mm: size.y,
        name: "Front elevation".into(),
        drawing,
    }
}

fn scale_words(scale: f64) -> String {
    format!("1:{scale}")
}

fn title_mm(description: &SettingOut, size: DVec2) -> f64 {
    let title = title_block(description, "", "1:2.5", 100, 100);
    block::height_mm(&title, size.x - 2.0 * MARGIN_MM)
}

fn drawing_room(size: DVec2, title_mm: f64, units: Units) -> Area {
    Area::new(
        DVec2::new(MARGIN_MM + LEFT_MM, MARGIN_MM + ABOVE_MM),
        DVec2::new(
            size.x - MARGIN_MM - right_mm(units),
            size.y - MARGIN_MM - title_mm - BELOW_MM,
        ),
    )
}

/// The largest scale in use at which the front fits, as the number it divides by.
fn fitting_scale(description: &SettingOut, size: DVec2, title_mm: f64) -> f64 {
    let room = drawing_room(size, title_mm, description.units).size();
    let glass = &description.glass;
    let front = DVec2::new(
        glass.inside_mm.x + 2.0 * glass.wall_mm,
        glass.inside_mm.z + glass.base_mm,
    );
    let needed = (front / room).max_element();
    SCALES
        .into_iter()
        .find(|s| *s >= needed)
        .unwrap_or(SCALES[SCALES.len() - 1])
}
