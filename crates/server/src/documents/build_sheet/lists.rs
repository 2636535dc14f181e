//! Pictures, pieces, ground, the reckoning and the cautions of a build sheet.

use super::description::{BuildSheet, NotePicture, PieceLine};
use super::flow::Flow;
use super::{Group, Note};
use crate::documents::drawing::table::{Cell, Column, Table};
use crate::documents::drawing::{
    Across, Area, Ink, Lettering, Mark, Pen, Picture, Text, Up, Weight,
};
use crate::documents::units::{Units, whole};
use glam::DVec2;
use method::Severity;

const CAPTION: Lettering = Lettering::plain(1.8).inked(Ink::GREY);
/// No picture is higher.
const PICTURE_MM: f64 = 88.0;
/// Pictures are drawn lower than that, but no lower than this, to share a sheet.
const LOWEST_PICTURE_MM: f64 = 62.0;
/// Paper for a picture's caption and the space below it.
const CAPTION_MM: f64 = 7.0;

/// The pictures, one below the other, each as wide as the sheet allows.
pub(super) fn pictures(flow: &mut Flow, pictures: &[NotePicture]) {
    let share = flow.room_mm() / pictures.len().max(1) as f64 - CAPTION_MM;
    let highest = if share >= LOWEST_PICTURE_MM {
        share.min(PICTURE_MM)
    } else {
        PICTURE_MM
    };
    for picture in pictures {
        let ratio = f64::from(picture.height_px) / f64::from(picture.width_px);
        let width = flow.width_mm().min(highest / ratio);
        let height = width * ratio;
        flow.need(height + CAPTION_MM - 1e-6);
        let x = flow.left() + (flow.width_mm() - width) / 2.0;
        let area = Area::at(x, flow.y, width, height);
        flow.drawing.marks.push(Mark::Picture(Picture {
            area,
            width_px: picture.width_px,
            height_px: picture.height_px,
            rgb: picture.rgb.clone(),
        }));
        flow.drawing
            .rectangle(Some(Pen::solid(Weight::Hairline, Ink::GREY)), None, area);
        let at = DVec2::new(area.middle().x, area.max.y + 1.6);
        let words = CAPTION.fitted(&picture.caption, flow.width_mm());
        flow.drawing
            .text(Text::new(at, words, CAPTION).anchored(Across::Middle, Up::Top));
        flow.y += height + CAPTION_MM;
    }
}

/// The pieces in the order of placing.
pub(super) fn pieces(flow: &mut Flow, description: &BuildSheet) {
    if description.pieces.is_empty() {
        return;
    }
    let units = description.units;
    flow.heading("Pieces, in the order of placing", 16.0);
    let table = pieces_table(flow.width_mm(), units);
    let rows: Vec<Vec<Cell>> = description
        .pieces
        .iter()
        .map(|p| piece_row(p, units))
        .collect();
    flow.table(&table, &rows);
    let unit = match units {
        Units::Metric => "mm",
        Units::Us => "inches to 1/16",
        Units::Both => "mm (inches to 1/16)",
    };
    let note = format!(
        "Lengths in {unit}. Place: middle of the piece from the inside of the left and of the front glass. Turn: \
         anticlockwise seen from above. Base and top: lowest and highest point above the inside of the base."
    );
    flow.paragraph(&note, 0.0, Ink::GREY);
}

fn pieces_table(width_mm: f64, units: Units) -> Table {
    // Shares of the width, wider numbers where two units stand in a cell.
    let both = units == Units::Both;
    let shares: [(&str, f64, bool); 10] = [
        ("", 5.0, true),
        ("Tag", 15.0, false),
        ("Material", if both { 17.0 } else { 23.0 }, false),
        ("Mass", if both { 19.0 } else { 17.0 }, true),
        ("Width × depth × height", 27.0, true),
        ("Place: left | front", if both { 22.0 } else { 20.0 }, true),
        ("Turn, pose", 17.0, true),
        ("Bury", if both { 13.0 } else { 10.0 }, true),
        ("Base – top", if both { 22.0 } else { 18.0 }, true),
        ("Rests on", 20.0, false),
    ];
    let gutter_mm = 2.2;
    let whole: f64 = shares.iter().map(|s| s.1).sum();
    let scale = (width_mm - gutter_mm * (shares.len() - 1) as f64) / whole;
    let columns = shares.map(|(head, share, to_right)| Column {
        head: head.to_owned(),
        width_mm: share * scale,
        to_right,
    });
    Table {
        gutter_mm,
        height_mm: 1.9,
        ..Table::new(columns.to_vec())
    }
}

fn piece_row(piece: &PieceLine, units: Units) -> Vec<Cell> {
    let ink = if piece.stands {
        Ink::GRAPHITE
    } else {
        Ink::WARM
    };
    let length = |mm: f64| units.dimension(mm);
    let [width, depth, height] = piece.size_mm.map(length);
    let separator = if units == Units::Both { "\n" } else { " " };
    let tag = if piece.stands {
        piece.tag.clone()
    } else {
        format!("{}\ndoes not stand", piece.tag)
    };
    let turn = format!("{}°\n{}", whole(piece.turn_deg), piece.pose);
    let bury = if piece.bury_mm > 0.0 {
        length(piece.bury_mm)
    } else {
        "–".to_owned()
    };
    let words = [
        piece.order.to_string(),
        tag,
        piece.material.clone(),
        piece.mass.words(units),
        format!("{width}{separator}× {depth}{separator}× {height}"),
        format!(
            "{}{separator}| {}",
            length(piece.at_mm[0]),
            length(piece.at_mm[1])
        ),
        turn.trim().to_owned(),
        bury,
        format!(
            "{}{separator}– {}",
            length(piece.base_mm),
            length(piece.top_mm)
        ),
        piece.rests_on.join(", "),
    ];
    let cell = |(i, words): (usize, String)| {
        let cell = Cell::new(words).inked(ink);
        if i == 1 { cell.bold() } else { cell }
    };
    words.into_iter().enumerate().map(cell).collect()
}

/// The ground materials.
pub(super) fn ground(flow: &mut Flow, description: &BuildSheet) {
    if description.ground.is_empty() {
        return;
    }
    let units = description.units;
    flow.heading("Ground, in the order of filling", 16.0);
    let width = flow.width_mm() - 4.0 * 3.0;
    let table = Table::new(vec![
        Column::numbers("", width * 0.05),
        Column::words("Material", width * 0.35),
        Column::numbers("Volume as laid", width * 0.23),
        Column::numbers("Mass", width * 0.23),
        Column::numbers("Bags", width * 0.14),
    ]);
    let row = |(i, line): (usize, &super::GroundLine)| {
        let bags = line
            .bags
            .as_ref()
            .map_or("–".to_owned(), |b| whole(b.value.ceil()));
        vec![
            Cell::new((i + 1).to_string()),
            Cell::new(&line.name).bold(),
            Cell::new(line.volume.words(units)),
            Cell::new(line.mass.words(units)),
            Cell::new(bags),
        ]
    };
    let rows: Vec<Vec<Cell>> = description.ground.iter().enumerate().map(row).collect();
    flow.table(&table, &rows);
}

/// The reckoning, group by group.
pub(super) fn groups(flow: &mut Flow, description: &BuildSheet) {
    if description.groups.is_empty() {
        return;
    }
    flow.heading("Reckoning", 24.0);
    flow.paragraph(
        "≈ is estimated; (assumed) was never measured: check it before you rely on it.",
        0.0,
        Ink::GREY,
    );
    flow.y += 1.5;
    for group in &description.groups {
        draw_group(flow, group);
    }
}

fn draw_group(flow: &mut Flow, group: &Group) {
    let width = flow.width_mm() - 3.0;
    let table = Table::new(vec![
        Column::words(&group.name, width * 0.42),
        Column::words("", width * 0.58),
    ]);
    let row = |line: &super::Line| {
        let ink = if line.warm { Ink::WARM } else { Ink::GRAPHITE };
        vec![Cell::new(&line.name), Cell::new(&line.words).inked(ink)]
    };
    let rows: Vec<Vec<Cell>> = group.lines.iter().map(row).collect();
    flow.table(&table, &rows);
    flow.y += 1.0;
}

/// The cautions, the gravest first.
pub(super) fn cautions(flow: &mut Flow, cautions: &[Note]) {
    if cautions.is_empty() {
        return;
    }
    flow.heading("Cautions", 10.0);
    for note in cautions {
        let grave = note.severity == Severity::Danger;
        let ink = if grave { Ink::WARM } else { Ink::GRAPHITE };
        flow.need(flow.paragraph_mm(&note.words, 6.0).min(40.0));
        let mark = if grave { "!" } else { "–" };
        let at = flow.corner() + DVec2::new(1.0, 2.1);
        flow.drawing
            .text(Text::new(at, mark, Lettering::bold(2.1).inked(ink)));
        flow.paragraph(&note.words, 6.0, ink);
        flow.y += 1.2;
    }
}
