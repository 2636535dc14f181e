//! The title block: whose drawing it is, of what, at which scale, which sheet.

use super::Drawing;
use super::area::Area;
use super::lettering::{Lettering, Text};
use super::pen::{Ink, Pen, Weight};
use glam::DVec2;

/// What stands in a title block.
#[derive(Debug, Clone, PartialEq)]
pub struct TitleBlock {
    /// Title of the drawing's subject.
    pub title: String,
    /// What kind of document it is.
    pub document: String,
    /// Named fields, such as scale, tank, date, sheet.
    pub fields: Vec<(String, String)>,
    /// A line of caution.
    pub caution: String,
    /// What must be seen before all else, beside the document's name; empty for nothing.
    pub alarm: String,
}

/// Height of a title block of the given width.
pub fn height_mm(block: &TitleBlock, width_mm: f64) -> f64 {
    HEAD_MM
        + field_rows(block, width_mm) as f64 * FIELD_MM
        + caution_lines(block, width_mm).len() as f64 * 3.4
        + 3.2
}

const HEAD_MM: f64 = 12.5;
const FIELD_MM: f64 = 8.0;
const PAD_MM: f64 = 2.0;
/// No lettering is smaller.
const SMALLEST_MM: f64 = 1.4;
const NARROWEST_FIELD_MM: f64 = 52.0;
const CAUTION: Lettering = Lettering::plain(1.8).inked(Ink::GREY);
const NAME: Lettering = Lettering::plain(1.6).inked(Ink::GREY);
const VALUE: Lettering = Lettering::plain(2.2);

/// As few rows as the width allows, each row as full as the others.
fn field_rows(block: &TitleBlock, width_mm: f64) -> usize {
    let most = ((width_mm / NARROWEST_FIELD_MM) as usize).max(1);
    block.fields.len().div_ceil(most).max(1)
}

fn columns(block: &TitleBlock, width_mm: f64) -> usize {
    block
        .fields
        .len()
        .div_ceil(field_rows(block, width_mm))
        .max(1)
}

fn caution_lines(block: &TitleBlock, width_mm: f64) -> Vec<String> {
    CAUTION.wrapped(&block.caution, width_mm - 2.0 * PAD_MM)
}

/// Lettering of a value, smaller where it would not fit its field, but legible.
fn shrunk(value: &str, room_mm: f64) -> Lettering {
    // A hair smaller than would just fit, for rounding.
    let height_mm = VALUE.height_mm * (0.999 * room_mm / VALUE.width_mm(value)).min(1.0);
    Lettering {
        height_mm: height_mm.max(SMALLEST_MM),
        ..VALUE
    }
}

impl Drawing {
    /// Draws a title block with its upper left corner at `at`.
    pub fn title_block(&mut self, at: DVec2, width_mm: f64, block: &TitleBlock) {
        let thin = Pen::solid(Weight::Thin, Ink::GRAPHITE);
        let frame = Area::new(at, at + DVec2::new(width_mm, height_mm(block, width_mm)));
        let inner = width_mm - 2.0 * PAD_MM;
        let document = Lettering::plain(1.8).inked(Ink::GREY);
        self.text(Text::new(
            at + DVec2::new(PAD_MM, 4.0),
            document.fitted(&block.document, inner),
            document,
        ));
        let alarm = Lettering::bold(2.5).inked(Ink::WARM);
        let named = document.width_mm(&block.document).min(inner) + 4.0;
        let place = at + DVec2::new(PAD_MM + named, 4.2);
        self.text(Text::new(
            place,
            alarm.fitted(&block.alarm, inner - named),
            alarm,
        ));
        let title = Lettering::bold(3.5);
        self.text(Text::new(
            at + DVec2::new(PAD_MM, 10.0),
            title.fitted(&block.title, inner),
            title,
        ));
        let n = columns(block, width_mm);
        let cell = width_mm / n as f64;
        for (i, (name, value)) in block.fields.iter().enumerate() {
            let corner =
                at + DVec2::new((i % n) as f64 * cell, HEAD_MM + (i / n) as f64 * FIELD_MM);
            if i % n > 0 {
                self.line(thin, corner, corner + DVec2::new(0.0, FIELD_MM));
            }
            let room = cell - 2.0 * PAD_MM + 0.5;
            self.text(Text::new(
                corner + DVec2::new(PAD_MM, 2.8),
                NAME.fitted(name, room),
                NAME,
            ));
            let lettering = shrunk(value, room);
            let place = corner + DVec2::new(PAD_MM, 6.5);
            self.text(Text::new(place, lettering.fitted(value, room), lettering));
        }
        let rows = field_rows(block, width_mm);
        for row in 0..=rows {
            let y = frame.min.y + HEAD_MM + row as f64 * FIELD_MM;
            self.line(thin, DVec2::new(frame.min.x, y), DVec2::new(frame.max.x, y));
        }
        let top = frame.min.y + HEAD_MM + rows as f64 * FIELD_MM;
        for (i, line) in caution_lines(block, width_mm).iter().enumerate() {
            let y = top + 3.6 + i as f64 * 3.4;
            self.text(Text::new(
                DVec2::new(frame.min.x + PAD_MM, y),
                line,
                CAUTION,
            ));
        }
        self.rectangle(Some(Pen::solid(Weight::Medium, Ink::GRAPHITE)), None, frame);
    }
}
