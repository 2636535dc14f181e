//! The dimension lines and levels of the front elevation.

use super::{MOST_TOPS, View, right_mm};
use crate::documents::drawing::dimension::{Dimension, Level, Style, spread};
use crate::documents::drawing::{Drawing, Ink};
use crate::documents::setting_out::description::{PieceOutline, SettingOut};
use glam::DVec2;

pub(super) fn draw_dimensions(drawing: &mut Drawing, description: &SettingOut, view: &View) {
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
pub(super) fn draw_tops(
    drawing: &mut Drawing,
    description: &SettingOut,
    view: &View,
    least_y: f64,
) {
    let glass = &description.glass;
    let units = description.units;
    let room = right_mm(units) - 15.0;
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
            let lettering = Style::ORDINARY.lettering;
            let top = format!(" top {}", units.dimension(piece.top_mm));
            let tag = lettering.fitted(&piece.tag, room - lettering.width_mm(&top));
            let ink = if piece.stands {
                Ink::GRAPHITE
            } else {
                Ink::WARM
            };
            levels.push((view.on_sheet(peak.x, peak.y), format!("{tag}{top}"), ink));
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
        let words = style.lettering.fitted(&words, room);
        let level = Level {
            from,
            knee_at_mm: right + 3.0,
            words_at_mm: right + 9.0,
            words_y_mm,
            words,
            line: if outside { ink } else { Ink::GREY },
        };
        drawing.level(style, &level);
    }
}
