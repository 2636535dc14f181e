//! Page one of a tiled setting-out sheet: control square, legend, assembly key.

use super::description::SettingOut;
use super::tiles::{Tile, Tiling};
use super::{CONTROL_MM, OVERLAP_MM, legend, plan, title_block};
use crate::documents::drawing::place::{self, Wanted};
use crate::documents::drawing::{
    Across, Area, Drawing, Ink, Lettering, Pen, Ring, Sheet, Text, Up, Weight, title_block as block,
};
use glam::DVec2;

const MARGIN_MM: f64 = 10.0;
const NOTE: Lettering = Lettering::plain(2.2);

pub(super) fn sheet(description: &SettingOut, tiling: &Tiling, n_sheets: usize) -> Sheet {
    let (width_mm, height_mm) = (tiling.paper_mm.min_element(), tiling.paper_mm.max_element());
    let mut drawing = Drawing::new();
    let inner = width_mm - 2.0 * MARGIN_MM;
    let corner = DVec2::splat(MARGIN_MM);
    legend::control_square(&mut drawing, corner);
    let beside = corner + DVec2::new(CONTROL_MM + 8.0, 0.0);
    legend::legend(
        &mut drawing,
        beside,
        inner - CONTROL_MM - 8.0,
        description.units,
        tiling.len() > 1,
    );
    let title = title_block(
        description,
        "Setting-out sheet: key and control square",
        "1:1 on the tiles",
        1,
        n_sheets,
    );
    let title_mm = block::height_mm(&title, inner);
    drawing.title_block(
        DVec2::new(MARGIN_MM, height_mm - MARGIN_MM - title_mm),
        inner,
        &title,
    );
    let top = MARGIN_MM + CONTROL_MM + 8.0;
    let bottom = height_mm - MARGIN_MM - title_mm - 5.0;
    let notes_mm = draw_notes(&mut drawing, DVec2::new(MARGIN_MM, top), inner, tiling);
    let room = Area::new(
        DVec2::new(MARGIN_MM, top + notes_mm),
        DVec2::new(width_mm - MARGIN_MM, bottom),
    );
    draw_key(&mut drawing, room, description, tiling);
    Sheet {
        width_mm,
        height_mm,
        name: "Key".into(),
        drawing,
    }
}

fn draw_notes(drawing: &mut Drawing, at: DVec2, width_mm: f64, tiling: &Tiling) -> f64 {
    drawing.text(Text::new(
        at + DVec2::new(0.0, 3.0),
        "How the sheets are joined",
        Lettering::bold(2.5),
    ));
    let count = tiling.len();
    let words = if count == 1 {
        "The whole plan is on one sheet. Lay it under or beside the tank, front glass to front glass.".to_owned()
    } else {
        format!(
            "{count} sheets, row A at the back, numbered from the left. Neighbours share {OVERLAP_MM:.0} mm: cut one of \
             them along the dotted line, lay it on the other so that cross lies on cross, and tape. Check the joined \
             plan against the tank’s inside length and width before you lay the first stone."
        )
    };
    let lines = NOTE.wrapped(&words, width_mm);
    for (i, line) in lines.iter().enumerate() {
        let y = at.y + 8.5 + i as f64 * NOTE.leading_mm();
        drawing.text(Text::new(DVec2::new(at.x, y), line, NOTE));
    }
    8.5 + lines.len() as f64 * NOTE.leading_mm() + 2.0
}

/// A small plan of all tiles with the pieces and their numbers.
fn draw_key(drawing: &mut Drawing, room: Area, description: &SettingOut, tiling: &Tiling) {
    let whole = tiling.whole();
    let scale = (room.size() / whole.size()).min_element();
    let top = DVec2::new(room.middle().x, room.min.y + whole.size().y * scale / 2.0);
    let on_key = |p: DVec2| top + (p - whole.middle()) * scale;
    let pen = Pen::solid(Weight::Thin, Ink::PALE);
    let tiles = tiling.tiles();
    for tile in &tiles {
        let area = joined(tile, tiling);
        drawing.rectangle(
            Some(pen),
            None,
            Area::new(on_key(area.min), on_key(area.max)),
        );
    }
    let glass = plan::inside(&description.glass);
    drawing.rectangle(
        Some(Pen::solid(Weight::Medium, Ink::GRAPHITE)),
        None,
        Area::new(on_key(glass.min), on_key(glass.max)),
    );
    let laid: Vec<plan::Laid> = plan::laid(description)
        .into_iter()
        .map(|l| plan::Laid {
            rings: l
                .rings
                .iter()
                .map(|r| r.iter().map(|&p| on_key(p)).collect())
                .collect(),
            ..l
        })
        .collect();
    plan::draw_outlines(drawing, &laid, 0.5);
    let taken = draw_tile_labels(drawing, &tiles, tiling, on_key);
    draw_numbers(
        drawing,
        &laid,
        taken,
        Area::new(on_key(glass.min), on_key(glass.max)),
    );
    let front = on_key(DVec2::new(glass.middle().x, glass.max.y)) + DVec2::new(0.0, 1.2);
    let words = Lettering::bold(1.8);
    let text = Text::new(front, "front glass", words).anchored(Across::Middle, Up::Top);
    if let Some(bounds) = text.bounds() {
        drawing.rectangle(None, Some(Ink::PAPER), bounds.grown(0.6));
    }
    drawing.text(text);
}

/// A tile up to the middles of what it shares.
fn joined(tile: &Tile, tiling: &Tiling) -> Area {
    let mut area = tile.area;
    let half = OVERLAP_MM / 2.0;
    if tile.column > 0 {
        area.min.x += half
    }
    if tile.column + 1 < tiling.columns {
        area.max.x -= half
    }
    if tile.row > 0 {
        area.min.y += half
    }
    if tile.row + 1 < tiling.rows {
        area.max.y -= half
    }
    area
}

fn draw_tile_labels(
    drawing: &mut Drawing,
    tiles: &[Tile],
    tiling: &Tiling,
    on_key: impl Fn(DVec2) -> DVec2,
) -> Vec<Area> {
    let lettering = Lettering::bold(3.0).inked(Ink::GREY);
    tiles
        .iter()
        .filter_map(|tile| {
            let corner = on_key(joined(tile, tiling).min) + DVec2::new(1.5, 1.5);
            let text = Text::new(corner, &tile.label, lettering).anchored(Across::Left, Up::Top);
            let bounds = text.bounds();
            drawing.text(text);
            bounds
        })
        .collect()
}

fn draw_numbers(drawing: &mut Drawing, laid: &[plan::Laid], taken: Vec<Area>, within: Area) {
    let height_mm = 1.8;
    let size = DVec2::splat(2.0 * crate::documents::drawing::symbols::circle_radius_mm(height_mm));
    let wanted: Vec<Wanted> = (laid.iter().enumerate())
        .map(|(i, l)| Wanted {
            under: laid[i + 1..].iter().map(|l| l.rings.clone()).collect(),
            ..Wanted::on(l.rings.clone(), size, 8.0)
        })
        .collect();
    let outlines: Vec<Ring> = laid.iter().flat_map(|l| l.rings.clone()).collect();
    let ground = place::Ground {
        within: Some(within),
        taken,
        outlines,
        ..place::Ground::default()
    };
    for (placed, one) in place::place(&wanted, &ground).iter().zip(laid) {
        let ink = if one.piece.stands {
            Ink::GRAPHITE
        } else {
            Ink::WARM
        };
        if let Some(to) = placed.leader_to {
            drawing.line(Pen::solid(Weight::Hairline, ink), placed.area.middle(), to);
        }
        drawing.numbered_circle(placed.area.middle(), one.piece.order, height_mm, ink);
    }
}

/// The small key on every tile: the grid with one tile filled.
pub(super) fn small_key(drawing: &mut Drawing, room: Area, tiling: &Tiling, this: &Tile) {
    let whole = tiling.whole();
    let scale = (room.size() / whole.size()).min_element();
    let on_key = |p: DVec2| room.middle() + (p - whole.middle()) * scale;
    let pen = Pen::solid(Weight::Thin, Ink::GREY);
    for tile in tiling.tiles() {
        let area = joined(&tile, tiling);
        let fill = (tile.label == this.label).then_some(Ink::PALE);
        drawing.rectangle(
            Some(pen),
            fill,
            Area::new(on_key(area.min), on_key(area.max)),
        );
    }
}
