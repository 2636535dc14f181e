//! Laying blocks one below the other, from sheet to sheet.

use super::BuildSheet;
use crate::documents::drawing::table::{Cell, HEAD_RULE, RULE, Row, Table};
use crate::documents::drawing::{
    Across, Area, Drawing, Ink, Lettering, Pen, Sheet, Text, Up, Weight,
};
use glam::DVec2;

const MARGIN_MM: f64 = 15.0;
const FOOT_MM: f64 = 9.0;
const BODY: Lettering = Lettering::plain(2.1);
const HEAD: Lettering = Lettering::bold(3.0);
const FOOT: Lettering = Lettering::plain(1.8).inked(Ink::GREY);

/// Sheets being filled from the top.
pub(super) struct Flow {
    size: DVec2,
    done: Vec<Drawing>,
    /// The sheet that is being filled.
    pub drawing: Drawing,
    /// Where the next block begins.
    pub y: f64,
    footer: [String; 2],
}

impl Flow {
    pub fn new(description: &BuildSheet) -> Self {
        let (short, long) = description.paper.sides_mm().unwrap_or((210.0, 297.0));
        Self {
            size: DVec2::new(short, long),
            done: vec![],
            drawing: Drawing::new(),
            y: MARGIN_MM,
            footer: [
                description.title.clone(),
                format!("Build sheet · {}", description.date),
            ],
        }
    }

    /// Left edge of what is written.
    pub fn left(&self) -> f64 {
        MARGIN_MM
    }

    /// Width of what is written.
    pub fn width_mm(&self) -> f64 {
        self.size.x - 2.0 * MARGIN_MM
    }

    /// The next block's upper left corner.
    pub fn corner(&self) -> DVec2 {
        DVec2::new(MARGIN_MM, self.y)
    }

    fn bottom(&self) -> f64 {
        self.size.y - MARGIN_MM - FOOT_MM
    }

    /// What is left of the sheet.
    pub fn room_mm(&self) -> f64 {
        self.bottom() - self.y
    }

    /// Begins a new sheet unless a block of this height still fits; returns
    /// whether it did.
    pub fn need(&mut self, height_mm: f64) -> bool {
        if height_mm > self.room_mm() && self.y > MARGIN_MM {
            self.done.push(std::mem::take(&mut self.drawing));
            self.y = MARGIN_MM;
            return true;
        }
        false
    }

    /// The document's head on its first sheet.
    pub fn title(&mut self, description: &BuildSheet) {
        let width = self.width_mm();
        let corner = self.corner();
        let right = corner.x + width;
        self.drawing.text(Text::new(
            corner + DVec2::new(0.0, 2.4),
            "Build sheet",
            BODY.inked(Ink::GREY),
        ));
        let date = Text::new(
            DVec2::new(right, corner.y + 2.4),
            &description.date,
            BODY.inked(Ink::GREY),
        );
        self.drawing.text(date.anchored(Across::Right, Up::Line));
        let title = Lettering::bold(5.0);
        self.y += 10.5;
        for line in title.wrapped(&description.title, width).iter().take(2) {
            self.drawing.text(Text::new(self.corner(), line, title));
            self.y += 8.0;
        }
        self.y -= 2.6;
        for line in BODY.wrapped(&description.tank, width) {
            self.drawing.text(Text::new(self.corner(), line, BODY));
            self.y += BODY.leading_mm();
        }
        let y = self.y - 1.0;
        self.drawing.line(
            Pen::solid(Weight::Medium, Ink::GRAPHITE),
            DVec2::new(corner.x, y),
            DVec2::new(right, y),
        );
        self.y += 4.0;
    }

    /// A heading that stays with at least `keep_mm` of what follows.
    pub fn heading(&mut self, words: &str, keep_mm: f64) {
        self.y += if self.y > MARGIN_MM { 3.0 } else { 0.0 };
        self.need(7.0 + keep_mm);
        self.drawing
            .text(Text::new(self.corner() + DVec2::new(0.0, 3.0), words, HEAD));
        self.y += 7.0;
    }

    /// A paragraph in ordinary lettering, indented.
    pub fn paragraph(&mut self, words: &str, indent_mm: f64, ink: Ink) {
        let lettering = BODY.inked(ink);
        for line in lettering.wrapped(words, self.width_mm() - indent_mm) {
            self.need(lettering.leading_mm());
            let at = self.corner() + DVec2::new(indent_mm, lettering.height_mm);
            self.drawing.text(Text::new(at, line, lettering));
            self.y += lettering.leading_mm();
        }
    }

    /// Height of a paragraph.
    pub fn paragraph_mm(&self, words: &str, indent_mm: f64) -> f64 {
        BODY.wrapped(words, self.width_mm() - indent_mm).len() as f64 * BODY.leading_mm()
    }

    /// A table; its heads are repeated on every sheet that it reaches.
    pub fn table(&mut self, table: &Table, rows: &[Vec<Cell>]) {
        let heads = table.heads();
        let rows: Vec<Row> = rows.iter().map(|cells| table.row(cells)).collect();
        let first = rows.first().map_or(0.0, |r| r.height_mm);
        self.need(heads.height_mm + first);
        self.draw_row(table, &heads, HEAD_RULE);
        for row in &rows {
            if self.need(row.height_mm) {
                self.draw_row(table, &heads, HEAD_RULE);
            }
            self.draw_row(table, row, RULE);
        }
        self.y += 2.0;
    }

    fn draw_row(&mut self, table: &Table, row: &Row, rule: Pen) {
        let corner = self.corner();
        table.draw(&mut self.drawing, corner, row, rule);
        self.y += row.height_mm;
    }

    /// The sheets, with their footers.
    pub fn finish(mut self) -> Vec<Sheet> {
        self.done.push(std::mem::take(&mut self.drawing));
        let of = self.done.len();
        let (size, footer) = (self.size, self.footer);
        let sheet = |(i, mut drawing): (usize, Drawing)| {
            draw_footer(
                &mut drawing,
                size,
                &footer,
                &format!("sheet {} of {of}", i + 1),
            );
            Sheet {
                width_mm: size.x,
                height_mm: size.y,
                name: format!("Build sheet {}", i + 1),
                drawing,
            }
        };
        self.done.into_iter().enumerate().map(sheet).collect()
    }
}

fn draw_footer(drawing: &mut Drawing, size: DVec2, [title, what]: &[String; 2], sheet: &str) {
    let area = Area::new(DVec2::splat(MARGIN_MM), size - MARGIN_MM);
    let y = area.max.y;
    let rule = Pen::solid(Weight::Hairline, Ink::GREY);
    drawing.line(
        rule,
        DVec2::new(area.min.x, y - 4.6),
        DVec2::new(area.max.x, y - 4.6),
    );
    let third = area.size().x / 3.0;
    drawing.text(Text::new(
        DVec2::new(area.min.x, y),
        FOOT.fitted(title, third * 1.4),
        FOOT,
    ));
    let what = Text::new(
        DVec2::new(area.max.x - third * 0.5, y),
        FOOT.fitted(what, third),
        FOOT,
    );
    drawing.text(what.anchored(Across::Right, Up::Line));
    drawing
        .text(Text::new(DVec2::new(area.max.x, y), sheet, FOOT).anchored(Across::Right, Up::Line));
}
