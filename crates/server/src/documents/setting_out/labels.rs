//! The labels of the plan: tags, order, heights, turns, and contour heights.

use super::description::{ContactPatch, PieceOutline, SettingOut};
use super::plan::{Laid, bounds_of, inside, patch_rings};
use crate::documents::contours::Contour;
use crate::documents::drawing::place::{self, Placed, Wanted};
use crate::documents::drawing::{
    Across, Area, Drawing, Ink, Lettering, Pen, Ring, Text, Up, Weight, area, symbols,
};
use crate::documents::units::{Units, whole};
use glam::DVec2;

const TAG: Lettering = Lettering::bold(3.5);
const NOTE: Lettering = Lettering::plain(2.2);
const PATCH: Lettering = Lettering::bold(1.8);
const SMALL: Lettering = Lettering::plain(1.8).inked(Ink::GREY);
const CIRCLE_MM: f64 = 3.0;

/// The lines of a piece's label.
fn label_lines(piece: &PieceOutline, units: Units) -> [String; 2] {
    let heights = format!(
        "base {}  top {}",
        units.dimension(piece.base_mm),
        units.dimension(piece.top_mm)
    );
    [heights, format!("turn {}°", whole(piece.turn_deg))]
}

/// A piece's label never grows wider than this.
const WIDEST_TAG_MM: f64 = 60.0;

fn label_size(piece: &PieceOutline, units: Units) -> DVec2 {
    let circle = 2.0 * symbols::circle_radius_mm(CIRCLE_MM);
    let tag = TAG.width_mm(&TAG.fitted(&piece.tag, WIDEST_TAG_MM)) + circle + 2.0;
    let notes = label_lines(piece, units).map(|l| NOTE.width_mm(&l));
    DVec2::new(
        notes[0].max(notes[1]).max(tag) + 2.0,
        circle + 2.0 * NOTE.leading_mm() + 1.6,
    )
}

pub(super) fn draw(
    drawing: &mut Drawing,
    description: &SettingOut,
    laid: &[Laid],
    contours: &[Contour],
    seams: &[Area],
) {
    let wanted = wanted_labels(description, laid);
    let inner = inside(&description.glass);
    let mut ground = place::Ground {
        within: Some(inner.grown(-1.0)),
        outlines: laid.iter().flat_map(|l| l.rings.clone()).collect(),
        ..place::Ground::default()
    };
    for one in laid {
        for patch in &one.piece.contacts {
            ground
                .dear
                .extend(bounds_of(&patch_rings(patch)).map(|a| (a.grown(1.0), 0.6)));
        }
    }
    ground.dear.extend(seams.iter().map(|s| (*s, 0.5)));
    let middle = inner.middle();
    let centre_lines = [
        Area::new(
            DVec2::new(middle.x - 0.5, inner.min.y),
            DVec2::new(middle.x + 0.5, inner.max.y),
        ),
        Area::new(
            DVec2::new(inner.min.x, middle.y - 0.5),
            DVec2::new(inner.max.x, middle.y + 0.5),
        ),
    ];
    ground.dear.extend(centre_lines.map(|a| (a, 0.5)));
    let placed = place::place(&wanted, &ground);
    let (pieces, patches) = placed.split_at(laid.len());
    let patch_tags: Vec<(&PieceOutline, &ContactPatch)> = laid
        .iter()
        .flat_map(|l| l.piece.contacts.iter().map(move |c| (l.piece, c)))
        .collect();
    for (placed, (piece, patch)) in patches.iter().zip(&patch_tags) {
        draw_patch_label(drawing, placed, piece, patch);
    }
    for (placed, one) in pieces.iter().zip(laid) {
        draw_label(drawing, placed, one.piece, description.units);
    }
    ground
        .taken
        .extend(placed.iter().map(|p| p.area.grown(1.0)));
    draw_contour_heights(drawing, contours, laid, &ground, description.units);
}

fn wanted_labels(description: &SettingOut, laid: &[Laid]) -> Vec<Wanted> {
    let pieces = laid.iter().enumerate().map(|(i, one)| Wanted {
        under: laid[i + 1..].iter().map(|l| l.rings.clone()).collect(),
        ..Wanted::on(
            one.rings.clone(),
            label_size(one.piece, description.units),
            30.0,
        )
    });
    let patches = laid.iter().flat_map(|one| {
        one.piece.contacts.iter().map(|patch| {
            let size = DVec2::new(PATCH.width_mm(&patch_words(one.piece, patch)) + 1.2, 3.2);
            Wanted::beside(patch_rings(patch), size, 8.0)
        })
    });
    pieces.chain(patches).collect()
}

/// What stands beside a patch: the piece, and what it lies on unless the ground.
fn patch_words(piece: &PieceOutline, patch: &ContactPatch) -> String {
    let words = match patch.with.as_str() {
        "ground" | "base" => piece.tag.clone(),
        other => format!("{} on {other}", piece.tag),
    };
    PATCH.fitted(&words, WIDEST_TAG_MM)
}

fn draw_patch_label(
    drawing: &mut Drawing,
    placed: &Placed,
    piece: &PieceOutline,
    patch: &ContactPatch,
) {
    leader(drawing, placed);
    drawing.rectangle(None, Some(Ink::PAPER), placed.area);
    let text = Text::new(placed.area.middle(), patch_words(piece, patch), PATCH);
    drawing.text(text.anchored(Across::Middle, Up::Middle));
}

fn leader(drawing: &mut Drawing, placed: &Placed) {
    let Some(to) = placed.leader_to else { return };
    let from = to.clamp(placed.area.min, placed.area.max);
    drawing.line(Pen::solid(Weight::Thin, Ink::GRAPHITE), from, to);
    drawing.rings(None, Some(Ink::GRAPHITE), &[symbols::circle(to, 0.6)]);
}

fn draw_label(drawing: &mut Drawing, placed: &Placed, piece: &PieceOutline, units: Units) {
    let ink = if piece.stands {
        Ink::GRAPHITE
    } else {
        Ink::WARM
    };
    leader(drawing, placed);
    drawing.rectangle(None, Some(Ink::PAPER), placed.area);
    let radius = symbols::circle_radius_mm(CIRCLE_MM);
    let corner = placed.area.min + 0.8;
    let middle = corner + radius;
    drawing.numbered_circle(middle, piece.order, CIRCLE_MM, ink);
    let tag = TAG.inked(ink);
    let at = middle + DVec2::new(radius + 1.6, 0.0);
    drawing.text(
        Text::new(at, tag.fitted(&piece.tag, WIDEST_TAG_MM), tag)
            .anchored(Across::Left, Up::Middle),
    );
    for (i, line) in label_lines(piece, units).iter().enumerate() {
        let y = corner.y + 2.0 * radius + (i + 1) as f64 * NOTE.leading_mm() - 0.8;
        drawing.text(Text::new(DVec2::new(corner.x, y), line, NOTE.inked(ink)));
    }
}

/// Heights on the contours, in gaps of the line, clear of labels and pieces.
fn draw_contour_heights(
    drawing: &mut Drawing,
    contours: &[Contour],
    laid: &[Laid],
    ground: &place::Ground,
    units: Units,
) {
    let mut taken = ground.taken.clone();
    for line in contours {
        let words = units.dimension(line.height_mm);
        let width = SMALL.width_mm(&words) + 1.2;
        let mut since = f64::MAX;
        for pair in line.points.windows(2) {
            since += pair[0].distance(pair[1]);
            let at = pair[1];
            if since < 220.0 {
                continue;
            }
            let along = pair[1] - pair[0];
            let turn_deg = upright_turn(along);
            let reach = Area::round(at, DVec2::splat(width.max(3.0)));
            let free = ground.within.is_none_or(|w| w.holds(reach))
                && !taken.iter().any(|t| t.touches(reach))
                && !laid.iter().any(|l| near_rings(&l.rings, reach));
            if free {
                let axis = DVec2::from_angle(-turn_deg.to_radians());
                let gap: Ring = Area::round(DVec2::ZERO, DVec2::new(width, 2.4))
                    .ring()
                    .into_iter()
                    .map(|p| at + axis.rotate(p))
                    .collect();
                drawing.rings(None, Some(Ink::PAPER), &[gap]);
                drawing.text(
                    Text::new(at, &words, SMALL)
                        .anchored(Across::Middle, Up::Middle)
                        .turned(turn_deg),
                );
                taken.push(reach.grown(2.0));
                since = 0.0;
            }
        }
    }
}

fn near_rings(rings: &[Ring], reach: Area) -> bool {
    bounds_of(rings).is_some_and(|b| b.touches(reach))
        && (reach
            .ring()
            .into_iter()
            .chain([reach.middle()])
            .any(|p| area::within_rings(rings, p))
            || rings.iter().flatten().any(|p| reach.has(*p)))
}

/// The turn of text along a direction so that it is not upside down.
fn upright_turn(along: DVec2) -> f64 {
    let turn = (-along.y).atan2(along.x).to_degrees();
    if turn > 90.0 {
        turn - 180.0
    } else if turn <= -90.0 {
        turn + 180.0
    } else {
        turn
    }
}
