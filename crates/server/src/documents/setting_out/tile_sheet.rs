//! One tile of the plan on its sheet of paper.

use super::description::SettingOut;
use super::tiles::{MARGIN_MM, STRIP_MM, Tile, Tiling};
use super::{key, legend};
use crate::documents::drawing::{Area, Drawing, Ink, Lettering, Pen, Sheet, Text, Weight};
use glam::DVec2;

const NOTE: Lettering = Lettering::plain(2.2);
const SMALL: Lettering = Lettering::plain(1.8).inked(Ink::GREY);

pub(super) fn sheet(
    description: &SettingOut,
    tiling: &Tiling,
    tile: &Tile,
    plan: &Drawing,
    n_sheets: usize,
) -> Sheet {
    let mut drawing = Drawing::new();
    let opening = Area::new(
        DVec2::splat(MARGIN_MM),
        DVec2::splat(MARGIN_MM) + tiling.tile_mm,
    );
    let origin = opening.min - tile.area.min;
    drawing.window(opening, origin, plan);
    drawing.window(opening, origin, &tiling.register_marks());
    draw_crop_marks(&mut drawing, opening);
    let n = tile.row * tiling.columns + tile.column + 2;
    draw_strip(&mut drawing, description, tiling, tile, (n, n_sheets));
    Sheet {
        width_mm: tiling.paper_mm.x,
        height_mm: tiling.paper_mm.y,
        name: format!("Tile {}", tile.label),
        drawing,
    }
}

fn draw_crop_marks(drawing: &mut Drawing, opening: Area) {
    let pen = Pen::solid(Weight::Thin, Ink::GRAPHITE);
    for corner in opening.ring() {
        let out = (corner - opening.middle()).signum();
        for arm in [DVec2::X, DVec2::Y] {
            let away = out * arm;
            drawing.line(pen, corner + away, corner + away * 5.0);
        }
    }
    drawing.rectangle(
        Some(Pen::solid(Weight::Hairline, Ink::FAINT)),
        None,
        opening,
    );
}

fn draw_strip(
    drawing: &mut Drawing,
    description: &SettingOut,
    tiling: &Tiling,
    tile: &Tile,
    (n, of): (usize, usize),
) {
    let (left, right) = (MARGIN_MM, tiling.paper_mm.x - MARGIN_MM);
    let top = tiling.paper_mm.y - STRIP_MM + 7.0;
    let label = Lettering::bold(8.0);
    drawing.text(Text::new(DVec2::new(left, top + 9.0), &tile.label, label));
    drawing.text(Text::new(
        DVec2::new(left, top + 14.5),
        format!("sheet {n} of {of}"),
        NOTE,
    ));
    key::small_key(
        drawing,
        Area::at(left + 26.0, top, 36.0, 15.0),
        tiling,
        tile,
    );
    let bar = DVec2::new(left + 70.0, top + 2.0);
    legend::control_bar(drawing, bar, false);
    legend::control_bar(
        drawing,
        DVec2::new(MARGIN_MM / 2.0 + 1.0, tiling.paper_mm.y - STRIP_MM - 20.0),
        true,
    );
    let below = bar + DVec2::new(0.0, 5.6);
    let room = right - below.x;
    let note =
        "These bars measure 100 mm when printed at 100 %. Check them, and the square on sheet 1.";
    drawing.text(Text::new(below, SMALL.fitted(note, room), SMALL));
    let title = Lettering::bold(2.5);
    drawing.text(Text::new(
        below + DVec2::new(0.0, 5.0),
        title.fitted(&description.title, room),
        title,
    ));
    let alarm = Lettering::bold(2.2).inked(Ink::WARM);
    let words = alarm.fitted(&description.alarm(), room);
    drawing.text(Text::new(below + DVec2::new(0.0, 12.8), words, alarm));
    let what = format!("Setting-out sheet, plan, scale 1:1 · {}", description.date);
    drawing.text(Text::new(
        below + DVec2::new(0.0, 9.2),
        NOTE.fitted(&what, room),
        NOTE,
    ));
}
