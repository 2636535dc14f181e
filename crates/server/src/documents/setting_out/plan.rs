//! The plan at full size, in its own frame: the tank frame with y turned down,
//! so that the back of the tank is at the top of the paper.

use super::description::{ContactPatch, Glass, Kind, PieceOutline, SettingOut};
use super::{glass_lines, labels};
use crate::documents::contours::Contour;
use crate::documents::drawing::hatch::Hatch;
use crate::documents::drawing::hidden::{Cover, split};
use crate::documents::drawing::pen::Dash;
use crate::documents::drawing::{Area, Drawing, Ink, Pen, Ring, Strand, Weight, area, grain};
use glam::DVec2;

/// Paper round the outside of the glass, for rulers and names of the sides.
const BORDER_MM: f64 = 15.0;
/// Outlines are drawn with as few points as keep them this true.
const TRUE_TO_MM: f64 = 0.05;
/// Distance of contours.
pub(super) const CONTOUR_STEP_MM: f64 = 10.0;

/// From the tank frame to the plan's.
pub(super) fn on_plan(place: DVec2) -> DVec2 {
    DVec2::new(place.x, -place.y)
}

/// What the plan covers.
pub(super) fn area(glass: &Glass) -> Area {
    outside(glass).grown(BORDER_MM)
}

pub(super) fn inside(glass: &Glass) -> Area {
    Area::new(DVec2::ZERO, on_plan(glass.inside_mm.truncate()))
}

pub(super) fn outside(glass: &Glass) -> Area {
    inside(glass).grown(glass.wall_mm)
}

/// A piece with its rings brought into the plan's frame.
pub(super) struct Laid<'a> {
    pub piece: &'a PieceOutline,
    pub rings: Vec<Ring>,
}

/// The pieces in the plan's frame, the lowest top first.
pub(super) fn laid(description: &SettingOut) -> Vec<Laid<'_>> {
    let ring = |r: &Ring| {
        let turned: Ring = r.iter().map(|&p| on_plan(p)).collect();
        area::simplified(&turned, TRUE_TO_MM)
    };
    let mut laid: Vec<Laid> = (description.pieces.iter())
        .map(|piece| Laid {
            piece,
            rings: piece
                .plan_mm
                .iter()
                .map(ring)
                .filter(|r| r.len() >= 3)
                .collect(),
        })
        .collect();
    laid.sort_by(|a, b| {
        a.piece
            .top_mm
            .total_cmp(&b.piece.top_mm)
            .then(a.piece.order.cmp(&b.piece.order))
    });
    laid
}

/// The whole plan. Labels keep off the `seams` where they can.
pub(super) fn draw(description: &SettingOut, seams: &[Area]) -> Drawing {
    let mut drawing = Drawing::new();
    let laid = laid(description);
    let contours = contours(description);
    draw_contours(&mut drawing, &contours);
    glass_lines::draw_glass(&mut drawing, &description.glass);
    draw_hatching(&mut drawing, &laid);
    draw_outlines(&mut drawing, &laid, 1.0);
    draw_patches(&mut drawing, &laid);
    // Over the pieces: one that reaches through the glass must not hide them.
    glass_lines::draw_rulers(&mut drawing, &description.glass, description.units);
    glass_lines::draw_names_of_sides(&mut drawing, &description.glass, seams);
    labels::draw(&mut drawing, description, &laid, &contours, seams);
    drawing
}

/// The ground's contours within the glass.
fn contours(description: &SettingOut) -> Vec<Contour> {
    let Some(grid) = &description.ground else {
        return vec![];
    };
    let inner = inside(&description.glass);
    let within = |line: Contour| {
        let points: Vec<DVec2> = line.points.into_iter().map(on_plan).collect();
        let part = move |points| Contour {
            height_mm: line.height_mm,
            points,
        };
        inner.clip_polyline(&points).into_iter().map(part)
    };
    grid.contours(CONTOUR_STEP_MM)
        .into_iter()
        .flat_map(within)
        .collect()
}

fn draw_contours(drawing: &mut Drawing, contours: &[Contour]) {
    for line in contours {
        let main = is_main(line);
        let (weight, ink) = if main {
            (Weight::Thin, Ink::GREY)
        } else {
            (Weight::Hairline, Ink::PALE)
        };
        drawing.polyline(Pen::solid(weight, ink), line.points.clone());
    }
}

/// Every fifth contour is drawn stronger.
fn is_main(line: &Contour) -> bool {
    (line.height_mm / CONTOUR_STEP_MM).round() as i64 % 5 == 0
}

fn covers_above<'a>(laid: &'a [Laid], i: usize) -> Vec<&'a [Ring]> {
    laid[i + 1..].iter().map(|l| l.rings.as_slice()).collect()
}

fn draw_hatching(drawing: &mut Drawing, laid: &[Laid]) {
    for one in laid {
        drawing.rings(None, Some(Ink::PAPER), &one.rings);
    }
    let pen = Pen::solid(Weight::Hairline, Ink::PALE);
    for (i, one) in laid.iter().enumerate() {
        let covers = covers_above(laid, i);
        drawing.strands(pen, hatching(one, i, &covers, 1.0));
    }
}

/// Light hatching: parallel lines for stone, strokes along the grain for wood.
pub(super) fn hatching(one: &Laid, i: usize, covers: &[&[Ring]], scale: f64) -> Vec<Strand> {
    match one.piece.kind {
        Kind::Stone => {
            let angle_deg = if i.is_multiple_of(2) { 45.0 } else { 60.0 };
            let hatch = Hatch {
                angle_deg,
                spacing_mm: 5.0 * scale,
                shift_mm: 1.7 * i as f64,
            };
            hatch.strands(&one.rings, covers)
        }
        Kind::Wood => grain::strands(&one.rings, covers, 4.0 * scale),
    }
}

pub(super) fn draw_outlines(drawing: &mut Drawing, laid: &[Laid], strength: f64) {
    let weight = if strength < 1.0 {
        Weight::Thin
    } else {
        Weight::Medium
    };
    for (i, one) in laid.iter().enumerate() {
        let ink = if one.piece.stands {
            Ink::GRAPHITE
        } else {
            Ink::WARM
        };
        let covers: Vec<Cover> = laid[i + 1..].iter().map(|l| Cover::new(&l.rings)).collect();
        let parts = split(&one.rings, &covers);
        drawing.strands(Pen::dashed(Weight::Thin, ink, Dash::Hidden), parts.hidden);
        drawing.strands(Pen::solid(weight, ink), parts.seen);
    }
}

fn draw_patches(drawing: &mut Drawing, laid: &[Laid]) {
    for one in laid {
        for patch in &one.piece.contacts {
            let rings: Vec<Ring> = patch_rings(patch);
            let hatch = Hatch {
                angle_deg: 135.0,
                spacing_mm: 0.9,
                shift_mm: 0.0,
            };
            let strands = hatch.strands(&rings, &[]);
            drawing.strands(Pen::solid(Weight::Thin, Ink::GRAPHITE), strands);
            drawing.rings(Some(Pen::solid(Weight::Fine, Ink::GRAPHITE)), None, &rings);
        }
    }
}

pub(super) fn patch_rings(patch: &ContactPatch) -> Vec<Ring> {
    patch
        .rings_mm
        .iter()
        .map(|r| r.iter().map(|&p| on_plan(p)).collect())
        .collect()
}

pub(super) fn bounds_of(rings: &[Ring]) -> Option<Area> {
    Area::of_points(rings.iter().flatten().copied())
}
