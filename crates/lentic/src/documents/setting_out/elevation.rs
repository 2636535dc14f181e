//! The front elevation to scale, with dimension lines.

use super::description::{Kind, PieceOutline, SettingOut};
use super::title_block;
use crate::documents::contours::HeightGrid;
use crate::documents::drawing::dimension::{Dimension, Level, Style, spread};
use crate::documents::drawing::hatch::Hatch;
use crate::documents::drawing::pen::Dash;
use crate::documents::drawing::place::{self, Wanted};
use crate::documents::drawing::{
    Area, Drawing, Ink, Pen, Ring, Sheet, Weight, area, grain, symbols, title_block as block,
};
use crate::documents::paper::Paper;
use glam::DVec2;

const MARGIN_MM: f64 = 10.0;
/// Paper for dimensions on the left, above, on the right and below the tank.
const LEFT_MM: f64 = 34.0;
const ABOVE_MM: f64 = 10.0;
const RIGHT_MM: f64 = 54.0;
const BELOW_MM: f64 = 26.0;
/// Scales in use, the largest first.
const SCALES: [f64; 8] = [1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 25.0, 50.0];
/// Tops of no more pieces than this are dimensioned.
const MOST_TOPS: usize = 12;
const TRUE_TO_MM: f64 = 0.1;

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
    let room = drawing_room(size, title_mm);
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
    draw_front(&mut drawing, description, &view);
    draw_dimensions(&mut drawing, description, &view);
    draw_tops(
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

fn drawing_room(size: DVec2, title_mm: f64) -> Area {
    Area::new(
        DVec2::new(MARGIN_MM + LEFT_MM, MARGIN_MM + ABOVE_MM),
        DVec2::new(
            size.x - MARGIN_MM - RIGHT_MM,
            size.y - MARGIN_MM - title_mm - BELOW_MM,
        ),
    )
}

/// The largest scale in use at which the front fits, as the number it divides by.
fn fitting_scale(description: &SettingOut, size: DVec2, title_mm: f64) -> f64 {
    let room = drawing_room(size, title_mm).size();
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

/// The tank from the back to the front, nearer things over further ones.
fn draw_front(drawing: &mut Drawing, description: &SettingOut, view: &View) {
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
            let angle_deg = if piece.order % 2 == 0 { 45.0 } else { 60.0 };
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
    if j == last || j % every == 0 && j > 0 {
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
        let covers = [crate::documents::drawing::hidden::Cover::new(&cover)];
        let parts = crate::documents::drawing::hidden::split(&rings, &covers);
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
            rings: rings_of(p),
            size,
            reach_mm: 12.0,
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

fn draw_dimensions(drawing: &mut Drawing, description: &SettingOut, view: &View) {
    let glass = &description.glass;
    let (length, height, wall) = (glass.inside_mm.x, glass.inside_mm.z, glass.wall_mm);
    let style = Style::ORDINARY;
    let words = |mm: f64| description.units.dimension(mm);
    let left = view.on_sheet(-wall, 0.0).x;
    let foot = view.on_sheet(0.0, -glass.base_mm).y;
    let upright = |x: f64, z0: f64, z1: f64, line_at_mm: f64, ink: Ink| {
        let d = Dimension {
            from: DVec2::new(x, view.on_sheet(0.0, z0).y),
            to: DVec2::new(x, view.on_sheet(0.0, z1).y),
            upright: true,
            line_at_mm,
            words: words(z1 - z0),
        };
        (style.inked(ink), d)
    };
    let level = |x0: f64, x1: f64, line_at_mm: f64| Dimension {
        from: DVec2::new(view.on_sheet(x0, 0.0).x, foot),
        to: DVec2::new(view.on_sheet(x1, 0.0).x, foot),
        upright: false,
        line_at_mm,
        words: words(x1 - x0),
    };
    drawing.dimension(style, &level(0.0, length, foot + 10.0));
    if wall > 0.0 {
        drawing.dimension(style, &level(-wall, length + wall, foot + 18.0));
    }
    let mut uprights = vec![];
    if let Some(water) = glass.water_line_mm {
        uprights.push(upright(left, 0.0, water, left - 9.0, Ink::WATER));
    }
    uprights.push(upright(left, 0.0, height, left - 18.0, Ink::GRAPHITE));
    if glass.base_mm > 0.0 {
        uprights.push(upright(
            left,
            -glass.base_mm,
            height,
            left - 27.0,
            Ink::GRAPHITE,
        ));
    }
    for (style, dimension) in uprights {
        drawing.dimension(style, &dimension);
    }
}

/// Tops of pieces, the ground at the front and at the back, and the water
/// line, as levels on the right.
fn draw_tops(drawing: &mut Drawing, description: &SettingOut, view: &View, least_y: f64) {
    let glass = &description.glass;
    let units = description.units;
    let mut levels: Vec<(DVec2, String, Ink)> = vec![];
    if let Some(water) = glass.water_line_mm {
        let at = view.on_sheet(glass.inside_mm.x + glass.wall_mm, water);
        levels.push((
            at,
            format!("water line {}", units.dimension(water)),
            Ink::WATER,
        ));
    }
    if let Some(grid) = &description.ground {
        let at = |depth: f64| grid.height_mm(DVec2::new(glass.inside_mm.x, depth));
        for (name, z) in [
            ("ground at back", at(glass.inside_mm.y)),
            ("ground at front", at(0.0)),
        ] {
            let from = view.on_sheet(glass.inside_mm.x + glass.wall_mm, z);
            levels.push((from, format!("{name} {}", units.dimension(z)), Ink::GREY));
        }
    }
    let mut pieces: Vec<&PieceOutline> = description.pieces.iter().collect();
    pieces.sort_by(|a, b| b.top_mm.total_cmp(&a.top_mm).then(a.order.cmp(&b.order)));
    for piece in pieces.into_iter().take(MOST_TOPS) {
        if let Some(peak) = piece
            .front_mm
            .iter()
            .flatten()
            .copied()
            .max_by(|a, b| a.y.total_cmp(&b.y))
        {
            let tag = Style::ORDINARY.lettering.fitted(&piece.tag, 24.0);
            let ink = if piece.stands {
                Ink::GRAPHITE
            } else {
                Ink::WARM
            };
            levels.push((
                view.on_sheet(peak.x, peak.y),
                format!("{tag} top {}", units.dimension(piece.top_mm)),
                ink,
            ));
        }
    }
    let right = view.on_sheet(glass.inside_mm.x + glass.wall_mm, 0.0).x;
    let wanted: Vec<f64> = levels.iter().map(|(at, ..)| at.y).collect();
    let most = view.on_sheet(0.0, -glass.base_mm).y + 4.0;
    let places = spread(&wanted, 4.6, least_y, most);
    for ((from, words, ink), words_y_mm) in levels.into_iter().zip(places) {
        let outside = from.x >= right - 1e-9;
        let style = Style::ORDINARY.inked(ink);
        let style = Style {
            gap_mm: if outside { 1.0 } else { 0.4 },
            ..style
        };
        let words = style.lettering.fitted(&words, RIGHT_MM - 16.0);
        let level = Level {
            from,
            knee_at_mm: right + 3.0,
            words_at_mm: right + 9.0,
            words_y_mm,
            words,
        };
        drawing.level(style, &level);
    }
}
