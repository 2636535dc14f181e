//! Tables: hairlines instead of boxes, wrapped cells, numbers to the right.

use super::Drawing;
use super::lettering::{Across, Cut, Lettering, Text, Up};
use super::pen::{Ink, Pen, Weight};
use glam::DVec2;

/// A column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its head.
    pub head: String,
    /// Its width.
    pub width_mm: f64,
    /// Whether its cells end at the right.
    pub to_right: bool,
}

impl Column {
    /// A column of words.
    pub fn words(head: impl Into<String>, width_mm: f64) -> Self {
        Self {
            head: head.into(),
            width_mm,
            to_right: false,
        }
    }

    /// A column of numbers.
    pub fn numbers(head: impl Into<String>, width_mm: f64) -> Self {
        Self {
            head: head.into(),
            width_mm,
            to_right: true,
        }
    }
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// The words; `\n` breaks a line.
    pub words: String,
    /// Semi-bold.
    pub bold: bool,
    /// Colour.
    pub ink: Ink,
}

impl Cell {
    /// Ordinary words.
    pub fn new(words: impl Into<String>) -> Self {
        Self {
            words: words.into(),
            bold: false,
            ink: Ink::GRAPHITE,
        }
    }

    /// The same in semi-bold.
    #[must_use]
    pub fn bold(self) -> Self {
        Self { bold: true, ..self }
    }

    /// The same in another colour.
    #[must_use]
    pub fn inked(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }
}

/// A table's columns and looks.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The columns from the left.
    pub columns: Vec<Column>,
    /// Height of lettering.
    pub height_mm: f64,
    /// Space between columns.
    pub gutter_mm: f64,
}

/// A row broken into lines, ready to draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    cells: Vec<(Vec<String>, Lettering)>,
    /// How high it is.
    pub height_mm: f64,
}

impl Table {
    /// A table for ordinary sheets.
    pub fn new(columns: Vec<Column>) -> Self {
        Self {
            columns,
            height_mm: 2.0,
            gutter_mm: 3.0,
        }
    }

    /// Its whole width.
    pub fn width_mm(&self) -> f64 {
        let gutters = self.gutter_mm * self.columns.len().saturating_sub(1) as f64;
        self.columns.iter().map(|c| c.width_mm).sum::<f64>() + gutters
    }

    /// The row of heads.
    pub fn heads(&self) -> Row {
        let lettering = Lettering::plain(self.height_mm * 0.9).inked(Ink::GREY);
        self.row_of(self.columns.iter().map(|c| (c.head.clone(), lettering)))
    }

    /// A row of cells; missing cells are blank, surplus ones are left out.
    pub fn row(&self, cells: &[Cell]) -> Row {
        self.row_of(cells.iter().take(self.columns.len()).map(|cell| {
            let cut = if cell.bold { Cut::Bold } else { Cut::Regular };
            (
                cell.words.clone(),
                Lettering {
                    height_mm: self.height_mm,
                    cut,
                    ink: cell.ink,
                },
            )
        }))
    }

    fn row_of(&self, cells: impl Iterator<Item = (String, Lettering)>) -> Row {
        let cells: Vec<_> = (self.columns.iter().zip(cells))
            .map(|(column, (words, lettering))| {
                (lettering.wrapped(&words, column.width_mm), lettering)
            })
            .collect();
        let lines = cells
            .iter()
            .map(|(lines, _)| lines.len())
            .max()
            .unwrap_or(1);
        let leading = Lettering::plain(self.height_mm).leading_mm();
        Row {
            cells,
            height_mm: lines as f64 * leading + self.height_mm,
        }
    }

    /// Draws a row with its upper left corner at `at`, and a rule below it.
    pub fn draw(&self, drawing: &mut Drawing, at: DVec2, row: &Row, rule: Pen) {
        let leading = Lettering::plain(self.height_mm).leading_mm();
        let mut x = at.x;
        for (column, (lines, lettering)) in self.columns.iter().zip(&row.cells) {
            let (left, across) = if column.to_right {
                (x + column.width_mm, Across::Right)
            } else {
                (x, Across::Left)
            };
            for (i, line) in lines.iter().enumerate() {
                let y = at.y + self.height_mm * 0.8 + i as f64 * leading;
                let text = Text::new(DVec2::new(left, y), line, *lettering);
                drawing.text(text.anchored(across, Up::Top));
            }
            x += column.width_mm + self.gutter_mm;
        }
        let y = at.y + row.height_mm;
        drawing.line(
            rule,
            DVec2::new(at.x, y),
            DVec2::new(at.x + self.width_mm(), y),
        );
    }
}

/// The rule under a row.
pub const RULE: Pen = Pen::solid(Weight::Hairline, Ink::PALE);
/// The rule under the heads.
pub const HEAD_RULE: Pen = Pen::solid(Weight::Fine, Ink::GRAPHITE);
