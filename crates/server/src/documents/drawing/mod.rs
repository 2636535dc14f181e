//! A technical drawing as a list of marks in true millimetres.
//!
//! The sheet frame: origin at the upper left corner of the paper, x right,
//! y down. A [`Drawing`] is a list of marks in order, later marks lie over
//! earlier ones; a [`Sheet`] is a drawing on paper of a given size. Nothing
//! here knows of tanks or pieces.

pub mod area;
pub mod dimension;
pub mod grain;
pub mod hatch;
pub mod hidden;
pub mod lettering;
pub mod pen;
pub mod place;
pub mod symbols;
pub mod table;
pub mod title_block;

pub use area::{Area, Ring};
pub use lettering::{Across, Lettering, Text, Up};
pub use pen::{Dash, Ink, Pen, Weight};

use glam::DVec2;

/// A run of points, open or closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Strand {
    /// Points in millimetres.
    pub points: Vec<DVec2>,
    /// Whether the last point joins the first.
    pub closed: bool,
}

/// Strands with one pen and, by the even-odd rule, one fill.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    /// The strands.
    pub strands: Vec<Strand>,
    /// How they are drawn; `None` for fill only.
    pub pen: Option<Pen>,
    /// What is laid between them.
    pub fill: Option<Ink>,
}

/// A picture of RGB pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Where it lies, stretched to fit.
    pub area: Area,
    /// Pixels across.
    pub width_px: u32,
    /// Pixels down.
    pub height_px: u32,
    /// Three bytes a pixel, row by row from the top.
    pub rgb: std::sync::Arc<Vec<u8>>,
}

/// Another drawing seen through an opening.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// The opening on this drawing.
    pub opening: Area,
    /// Where the other drawing's origin comes to lie on this one.
    pub origin: DVec2,
    /// The other drawing.
    pub drawing: Drawing,
}

/// One mark of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// Lines and fills.
    Lines(Lines),
    /// Lettering.
    Text(Text),
    /// A picture.
    Picture(Picture),
    /// A part of another drawing.
    Window(Box<Window>),
}

/// Marks in order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drawing {
    /// The marks, the first lowest.
    pub marks: Vec<Mark>,
}

/// A drawing on paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Width of the paper.
    pub width_mm: f64,
    /// Height of the paper.
    pub height_mm: f64,
    /// What it is called, for the reader's table of pages.
    pub name: String,
    /// What is on it.
    pub drawing: Drawing,
}

impl Mark {
    /// The smallest area that holds the mark, without the width of its pen.
    pub fn bounds(&self) -> Option<Area> {
        match self {
            Self::Lines(lines) => {
                Area::of_points(lines.strands.iter().flat_map(|s| s.points.iter().copied()))
            }
            Self::Text(text) => text.bounds(),
            Self::Picture(picture) => Some(picture.area),
            Self::Window(window) => window
                .drawing
                .bounds()
                .and_then(|inner| inner.shifted(window.origin).overlap(window.opening)),
        }
    }

    fn part_within(&self, area: Area) -> Option<Mark> {
        match self {
            // A filled shape keeps all its strands, or its fill would change.
            Self::Lines(lines) if lines.fill.is_none() => {
                let near = |s: &&Strand| {
                    Area::of_points(s.points.iter().copied())
                        .is_some_and(|bounds| bounds.touches(area))
                };
                let strands: Vec<Strand> = lines.strands.iter().filter(near).cloned().collect();
                let (pen, fill) = (lines.pen, None);
                (!strands.is_empty()).then_some(Self::Lines(Lines { strands, pen, fill }))
            }
            _ => self
                .bounds()
                .filter(|b| b.touches(area))
                .map(|_| self.clone()),
        }
    }
}

impl Drawing {
    /// An empty drawing.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a straight line.
    pub fn line(&mut self, pen: Pen, from: DVec2, to: DVec2) {
        self.polyline(pen, vec![from, to]);
    }

    /// Adds an open polyline.
    pub fn polyline(&mut self, pen: Pen, points: Vec<DVec2>) {
        self.strands(
            pen,
            vec![Strand {
                points,
                closed: false,
            }],
        );
    }

    /// Adds strands drawn with one pen.
    pub fn strands(&mut self, pen: Pen, strands: Vec<Strand>) {
        self.lines(Lines {
            strands,
            pen: Some(pen),
            fill: None,
        });
    }

    /// Adds closed rings; holes are rings within rings.
    pub fn rings(&mut self, pen: Option<Pen>, fill: Option<Ink>, rings: &[Ring]) {
        let strands = rings
            .iter()
            .map(|r| Strand {
                points: r.clone(),
                closed: true,
            })
            .collect();
        self.lines(Lines { strands, pen, fill });
    }

    /// Adds a rectangle.
    pub fn rectangle(&mut self, pen: Option<Pen>, fill: Option<Ink>, area: Area) {
        self.rings(pen, fill, &[area.ring()]);
    }

    /// Adds lines, unless there is nothing to draw.
    pub fn lines(&mut self, mut lines: Lines) {
        lines.strands.retain(|s| s.points.len() >= 2);
        if !lines.strands.is_empty() && (lines.pen.is_some() || lines.fill.is_some()) {
            self.marks.push(Mark::Lines(lines));
        }
    }

    /// Adds text; empty text is left out.
    pub fn text(&mut self, text: Text) {
        if !text.words.trim().is_empty() {
            self.marks.push(Mark::Text(text));
        }
    }

    /// Adds another drawing, moved by `origin`, clipped to `opening`; only what
    /// can be seen is copied.
    pub fn window(&mut self, opening: Area, origin: DVec2, drawing: &Drawing) {
        let seen = drawing.within(opening.shifted(-origin));
        if !seen.marks.is_empty() {
            self.marks.push(Mark::Window(Box::new(Window {
                opening,
                origin,
                drawing: seen,
            })));
        }
    }

    /// Adds all marks of another drawing after its own.
    pub fn append(&mut self, other: Drawing) {
        self.marks.extend(other.marks);
    }

    /// The marks, and of line marks the strands, that touch an area.
    pub fn within(&self, area: Area) -> Drawing {
        Drawing {
            marks: self
                .marks
                .iter()
                .filter_map(|m| m.part_within(area))
                .collect(),
        }
    }

    /// The smallest area that holds all marks.
    pub fn bounds(&self) -> Option<Area> {
        self.marks
            .iter()
            .filter_map(Mark::bounds)
            .reduce(Area::join)
    }
}

impl Sheet {
    /// The whole paper.
    pub fn paper(&self) -> Area {
        Area::new(DVec2::ZERO, DVec2::new(self.width_mm, self.height_mm))
    }

    /// Marks that reach over the edge of the paper, which a good sheet has none of.
    pub fn beyond_paper(&self) -> Vec<&Mark> {
        let paper = self.paper();
        let over = |m: &&Mark| m.bounds().is_some_and(|b| !paper.holds(b));
        self.drawing.marks.iter().filter(over).collect()
    }
}
