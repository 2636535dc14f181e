//! What is seen through the front glass, nearer things over further ones.

use super::View;
use crate::documents::contours::HeightGrid;
use crate::documents::drawing::hatch::Hatch;
use crate::documents::drawing::hidden::{Cover, split};
use crate::documents::drawing::pen::Dash;
use crate::documents::drawing::place::{self, Wanted};
use crate::documents::drawing::{Area, Drawing, Ink, Pen, Ring, Weight, grain, symbols};
use crate::documents::setting_out::description::{Kind, PieceOutline, SettingOut};
use glam::DVec2;

/// The tank from the back to the front, nearer things over further ones.
pub(super) fn draw(drawing: &mut Drawing, description: &SettingOut, view: &View) {
    let mut pieces: Vec<&PieceOutline> = description.pieces.iter().collect();
    pieces.sort_by(|a, b| {
        b.depth_mm
            .total_cmp(&a.depth_mm)
            .then(a.order.cmp(&b.order))
    });
    draw_water(drawing, description, view);
    let rows = description.ground.as_ref().map_or(0, |g| g.n_y);
    let mut next = pieces.iter().peekable();
    // Ground rows and pieces in turn, the furthest first.
    for j in (0..rows).rev() {
        let Some(grid) = &description.ground else {
            break;
        };
        let depth = grid.origin_mm.y + j as f64 * grid.cell_mm;
        while let Some(piece) = next.next_if(|p| p.depth_mm > depth) {
            draw_piece(drawing, piece, view);
        }
        draw_ground_row(drawing, grid, j, description, view);
    }
    for piece in next {
        draw_piece(drawing, piece, view);
    }
    if let Some(grid) = &description.ground {
        draw_cut_ground(drawing, grid, description, view);
    }
    draw_buried(drawing, &pieces, description, view);
    draw_glass(drawing, description, view);
    draw_numbers(drawing, description, view);
}

fn draw_piece(drawing: &mut Drawing, piece: &PieceOutline, view: &View) {
    let rings: Vec<Ring> = piece
        .front_mm
        .iter()
        .map(|r| view.ring(r))
        .filter(|r| r.len() >= 3)
        .collect();
    let ink = if piece.stands {
        Ink::GRAPHITE
    } else {
        Ink::WARM
    };
    drawing.rings(None, Some(Ink::PAPER), &rings);
    let hairline = Pen::solid(Weight::Hairline, Ink::PALE);
    let strands = match piece.kind {
        Kind::Stone => {
            let angle_deg = if piece.order.is_multiple_of(2) {
                45.0
            } else {
                60.0
            };
            Hatch {
                angle_deg,
                spacing_mm: 2.2,
                shift_mm: 0.7 * piece.order as f64,
            }
            .strands(&rings, &[])
        }
        Kind::Wood => grain::strands(&rings, &[], 1.6),
    };
    drawing.strands(hairline, strands);
    drawing.rings(Some(Pen::solid(Weight::Medium, ink)), None, &rings);
}

/// The top of the ground at one row of the grid, within the glass.
fn profile(grid: &HeightGrid, j: usize, length_mm: f64) -> Vec<DVec2> {
    let depth = grid.origin_mm.y + j as f64 * grid.cell_mm;
    profile_at(grid, depth, length_mm)
}

fn profile_at(grid: &HeightGrid, depth_mm: f64, length_mm: f64) -> Vec<DVec2> {
    let n = (length_mm / grid.cell_mm).ceil().max(1.0) as usize;
    let point = |i: usize| {
        let x = (i as f64 * grid.cell_mm).min(length_mm);
        DVec2::new(x, grid.height_mm(DVec2::new(x, depth_mm)).max(0.0))
    };
    (0..=n).map(point).collect()
}

fn below(profile: &[DVec2]) -> Ring {
    let mut ring = profile.to_vec();
    if let (Some(first), Some(last)) = (profile.first(), profile.last()) {
        ring.push(DVec2::new(last.x, 0.0));
        ring.push(DVec2::new(first.x, 0.0));
    }
    ring
}

/// A row of ground hides what is behind it; each eighth row is drawn, lightly.
fn draw_ground_row(
    drawing: &mut Drawing,
    grid: &HeightGrid,
    j: usize,
    description: &SettingOut,
    view: &View,
) {
    let profile = profile(grid, j, description.glass.inside_mm.x);
    let on_sheet =
        |ring: &[DVec2]| -> Ring { ring.iter().map(|p| view.on_sheet(p.x, p.y)).collect() };
    drawing.rings(None, Some(Ink::PAPER), &[on_sheet(&below(&profile))]);
    let last = grid.n_y - 1;
    let every = (grid.n_y / 8).max(1);
    if j == last || j.is_multiple_of(every) && j > 0 {
        let ink = if j == last { Ink::GREY } else { Ink::FAINT };
        let weight = if j == last {
            Weight::Thin
        } else {
            Weight::Hairline
        };
        drawing.polyline(Pen::solid(weight, ink), on_sheet(&profile));
    }
}

/// The ground at the front glass, as if cut there.
fn draw_cut_ground(
    drawing: &mut Drawing,
    grid: &HeightGrid,
    description: &SettingOut,
    view: &View,
) {
    let profile = profile_at(grid, 0.0, description.glass.inside_mm.x);
    let ring: Ring = below(&profile)
        .iter()
        .map(|p| view.on_sheet(p.x, p.y))
        .collect();
    let rings = [ring];
    drawing.rings(None, Some(Ink::PAPER), &rings);
    let hatch = Hatch {
        angle_deg: 135.0,
        spacing_mm: 1.6,
        shift_mm: 0.0,
    };
    drawing.strands(
        Pen::solid(Weight::Hairline, Ink::GREY),
        hatch.strands(&rings, &[]),
    );
    let line = profile.iter().map(|p| view.on_sheet(p.x, p.y)).collect();
    drawing.polyline(Pen::solid(Weight::Medium, Ink::GRAPHITE), line);
}

/// What of a piece lies below the ground at its own depth, dashed.
fn draw_buried(
    drawing: &mut Drawing,
    pieces: &[&PieceOutline],
    description: &SettingOut,
    view: &View,
) {
    let Some(grid) = &description.ground else {
        return;
    };
    for piece in pieces {
        let profile = profile_at(grid, piece.depth_mm, description.glass.inside_mm.x);
        let mut cover = below(&profile);
        // Only what lies above the base is drawn.
        cover.iter_mut().for_each(|p| p.y = p.y.max(0.0));
        let cover = [cover
            .iter()
            .map(|p| view.on_sheet(p.x, p.y))
            .collect::<Ring>()];
        let rings: Vec<Ring> = piece
            .front_mm
            .iter()
            .map(|r| view.ring(r))
            .filter(|r| r.len() >= 3)
            .collect();
        let covers = [Cover::new(&cover)];
        let parts = split(&rings, &covers);
        let ink = if piece.stands { Ink::GREY } else { Ink::WARM };
        drawing.strands(
            Pen::dashed(Weight::Hairline, ink, Dash::Hidden),
            parts.hidden,
        );
    }
}

fn draw_water(drawing: &mut Drawing, description: &SettingOut, view: &View) {
    let Some(water) = description.glass.water_line_mm else {
        return;
    };
    let (a, b) = (
        view.on_sheet(0.0, water),
        view.on_sheet(description.glass.inside_mm.x, water),
    );
    let pen = Pen::solid(Weight::Fine, Ink::WATER);
    drawing.line(pen, a, b);
    // Three strokes of falling length under the line: the surface of a liquid.
    let middle = a + (b - a) * 0.06;
    for (k, half) in [3.0, 2.0, 1.0].into_iter().enumerate() {
        let at = middle + DVec2::new(0.0, 0.9 * (k + 1) as f64);
        drawing.line(
            Pen::solid(Weight::Thin, Ink::WATER),
            at - DVec2::X * half,
            at + DVec2::X * half,
        );
    }
    drawing.level_mark(
        middle - DVec2::Y * 0.1,
        2.6,
        Pen::solid(Weight::Thin, Ink::WATER),
    );
}

fn draw_glass(drawing: &mut Drawing, description: &SettingOut, view: &View) {
    let glass = &description.glass;
    let (length, height, wall) = (glass.inside_mm.x, glass.inside_mm.z, glass.wall_mm);
    let rectangle = |x0: f64, z0: f64, x1: f64, z1: f64| {
        Area::new(view.on_sheet(x0, z0), view.on_sheet(x1, z1))
    };
    let panes = [
        rectangle(-wall, 0.0, 0.0, height),
        rectangle(length, 0.0, length + wall, height),
        rectangle(-wall, -glass.base_mm, length + wall, 0.0),
    ];
    let hatch = Hatch {
        angle_deg: 45.0,
        spacing_mm: 1.2,
        shift_mm: 0.0,
    };
    for pane in panes {
        if pane.size().min_element() > 0.0 {
            drawing.rectangle(None, Some(Ink::PAPER), pane);
            drawing.strands(
                Pen::solid(Weight::Hairline, Ink::PALE),
                hatch.strands(&[pane.ring()], &[]),
            );
            drawing.rectangle(Some(Pen::solid(Weight::Medium, Ink::GRAPHITE)), None, pane);
        }
    }
    let inside = rectangle(0.0, 0.0, length, height);
    drawing.rectangle(Some(Pen::solid(Weight::Thin, Ink::GRAPHITE)), None, inside);
    let chain = Pen::dashed(Weight::Thin, Ink::GREY, Dash::Chain);
    let middle = length / 2.0;
    let reach = DVec2::new(0.0, 4.0);
    drawing.line(
        chain,
        view.on_sheet(middle, -glass.base_mm) + reach,
        view.on_sheet(middle, height) - reach,
    );
}

fn draw_numbers(drawing: &mut Drawing, description: &SettingOut, view: &View) {
    let height_mm = 2.2;
    let size = DVec2::splat(2.0 * symbols::circle_radius_mm(height_mm));
    let rings_of = |p: &PieceOutline| -> Vec<Ring> {
        p.front_mm
            .iter()
            .map(|r| view.ring(r))
            .filter(|r| r.len() >= 3)
            .collect()
    };
    let mut pieces: Vec<&PieceOutline> = description.pieces.iter().collect();
    pieces.sort_by_key(|p| p.order);
    let wanted: Vec<Wanted> = pieces
        .iter()
        .map(|p| Wanted {
            under: nearer(p, &pieces).map(rings_of).collect(),
            ..Wanted::on(rings_of(p), size, 12.0)
        })
        .collect();
    let glass = description.glass.inside_mm;
    let ground = place::Ground {
        within: Some(Area::new(
            view.on_sheet(0.0, 0.0),
            view.on_sheet(glass.x, glass.z),
        )),
        outlines: wanted.iter().flat_map(|w| w.rings.clone()).collect(),
        ..place::Ground::default()
    };
    for (placed, piece) in place::place(&wanted, &ground).iter().zip(pieces) {
        let ink = if piece.stands {
            Ink::GRAPHITE
        } else {
            Ink::WARM
        };
        if let Some(to) = placed.leader_to {
            drawing.line(Pen::solid(Weight::Thin, ink), placed.area.middle(), to);
        }
        drawing.numbered_circle(placed.area.middle(), piece.order, height_mm, ink);
    }
}

/// What stands in front of a piece.
fn nearer<'a>(
    piece: &'a PieceOutline,
    all: &'a [&PieceOutline],
) -> impl Iterator<Item = &'a PieceOutline> {
    all.iter()
        .copied()
        .filter(|other| other.depth_mm < piece.depth_mm)
}
