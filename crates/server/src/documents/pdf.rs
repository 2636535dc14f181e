//! Sheets as a PDF, in true millimetres, the same bytes every time.

use super::DocumentError;
use super::drawing::{Drawing, Lines, Mark, Pen, Picture, Sheet, Strand, Text, Window, lettering};
use glam::DVec2;
use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Point, Size, Transform};
use krilla::image::Image;
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph, Tag};
use krilla::{Data, Document};

/// Points of the PDF in a millimetre: 72 to the inch of 25.4 mm.
const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// The longest side of a page, 200 inches (ISO 32000-1, Annex C: 14 400 units).
pub const LONGEST_SIDE_MM: f64 = 14_400.0 / POINTS_PER_MM;

/// What a PDF says of itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct About {
    /// The document's title.
    pub title: String,
    /// What kind of document it is.
    pub subject: String,
}

/// The sheets as the bytes of a PDF.
///
/// # Errors
/// A page beyond the format's size, a picture whose buffer doesn't fit its
/// size, or a refusal of the writer.
pub fn write(sheets: &[Sheet], about: &About) -> Result<Vec<u8>, DocumentError> {
    let fonts = Fonts::open()?;
    let mut document = Document::new();
    for sheet in sheets {
        let (width, height) = (points(sheet.width_mm), points(sheet.height_mm));
        if sheet.width_mm.max(sheet.height_mm) > LONGEST_SIDE_MM {
            return Err(DocumentError::OutOfRange {
                what: "the longest side of a sheet in mm",
                value: sheet.width_mm.max(sheet.height_mm),
                least: 10.0,
                most: LONGEST_SIDE_MM,
            });
        }
        let settings = PageSettings::from_wh(width, height)
            .ok_or_else(|| DocumentError::Writer(format!("a page of {width} × {height} points")))?;
        let mut page = document.start_page_with(settings);
        let mut surface = page.surface();
        let drawn = Painter {
            surface: &mut surface,
            fonts: &fonts,
        }
        .draw(&sheet.drawing);
        surface.finish();
        page.finish();
        drawn?;
    }
    let metadata = Metadata::new()
        .title(lettering::clean(&about.title))
        .description(lettering::clean(&about.subject))
        .creator("Lentic".into())
        .language("en".into());
    document.set_metadata(metadata);
    document
        .finish()
        .map_err(|error| DocumentError::Writer(format!("{error:?}")))
}

fn points(mm: f64) -> f32 {
    (mm * POINTS_PER_MM) as f32
}

struct Fonts {
    regular: Font,
    bold: Font,
}

impl Fonts {
    fn open() -> Result<Self, DocumentError> {
        let open = |cut: lettering::Cut| {
            let axes = cut.axes().map(|(tag, value)| (Tag::new(&tag), value));
            Font::new_variable(Data::from(lettering::FONT_FILE), 0, &axes)
                .ok_or_else(|| DocumentError::Writer("the built-in font can't be read".into()))
        };
        Ok(Self {
            regular: open(lettering::Cut::Regular)?,
            bold: open(lettering::Cut::Bold)?,
        })
    }
}

struct Painter<'a, 'b> {
    surface: &'a mut Surface<'b>,
    fonts: &'a Fonts,
}

impl Painter<'_, '_> {
    fn draw(&mut self, drawing: &Drawing) -> Result<(), DocumentError> {
        for mark in &drawing.marks {
            match mark {
                Mark::Lines(lines) => self.lines(lines),
                Mark::Text(text) => self.words(text),
                Mark::Picture(picture) => self.picture(picture)?,
                Mark::Window(window) => self.window(window)?,
            }
        }
        Ok(())
    }

    fn lines(&mut self, lines: &Lines) {
        if let Some(path) = path(&lines.strands) {
            self.surface.set_fill(lines.fill.map(|ink| Fill {
                paint: rgb::Color::new(ink.0, ink.1, ink.2).into(),
                opacity: NormalizedF32::ONE,
                rule: FillRule::EvenOdd,
            }));
            self.surface.set_stroke(lines.pen.map(stroke));
            self.surface.draw_path(&path);
        }
    }

    fn words(&mut self, text: &Text) {
        let (font, ink) = match text.lettering.cut {
            lettering::Cut::Regular => (&self.fonts.regular, text.lettering.ink),
            lettering::Cut::Bold => (&self.fonts.bold, text.lettering.ink),
        };
        let glyphs: Vec<KrillaGlyph> = lettering::shape(&text.words, text.lettering.cut)
            .into_iter()
            .map(|g| {
                let (x, y) = (g.offset_em.x as f32, g.offset_em.y as f32);
                KrillaGlyph::new(
                    GlyphId::new(g.id),
                    g.advance_em as f32,
                    x,
                    y,
                    0.0,
                    g.bytes,
                    None,
                )
            })
            .collect();
        if glyphs.is_empty() {
            return;
        }
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill {
            paint: rgb::Color::new(ink.0, ink.1, ink.2).into(),
            opacity: NormalizedF32::ONE,
            rule: FillRule::NonZero,
        }));
        let start = text.start();
        let size = points(text.lettering.em_mm());
        let turned = text.turn_deg != 0.0;
        let origin = if turned { start } else { text.at + start };
        if turned {
            self.surface.push_transform(&turn(text.at, text.turn_deg));
        }
        let at = Point::from_xy(points(origin.x), points(origin.y));
        self.surface
            .draw_glyphs(at, &glyphs, font.clone(), &text.words, size, false);
        if turned {
            self.surface.pop();
        }
    }

    fn picture(&mut self, picture: &Picture) -> Result<(), DocumentError> {
        let size = picture.area.size();
        let Some(size) = Size::from_wh(points(size.x), points(size.y)) else {
            return Ok(());
        };
        let rgba = opaque(picture)?;
        let image = Image::from_rgba8(rgba, picture.width_px, picture.height_px);
        self.shifted(picture.area.min);
        self.surface.draw_image(image, size);
        self.surface.pop();
        Ok(())
    }

    fn window(&mut self, window: &Window) -> Result<(), DocumentError> {
        let opening = Strand {
            points: window.opening.ring(),
            closed: true,
        };
        let Some(path) = path(&[opening]) else {
            return Ok(());
        };
        self.surface.push_clip_path(&path, &FillRule::NonZero);
        self.shifted(window.origin);
        let drawn = self.draw(&window.drawing);
        self.surface.pop();
        self.surface.pop();
        drawn
    }

    fn shifted(&mut self, by: DVec2) {
        self.surface
            .push_transform(&Transform::from_translate(points(by.x), points(by.y)));
    }
}

/// Turns anticlockwise as seen about a point that becomes the origin.
fn turn(at: DVec2, turn_deg: f64) -> Transform {
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    let (sin, cos) = (sin as f32, cos as f32);
    Transform::from_row(cos, -sin, sin, cos, points(at.x), points(at.y))
}

fn path(strands: &[Strand]) -> Option<Path> {
    let mut builder = PathBuilder::new();
    for strand in strands {
        let mut points_of = strand.points.iter().map(|p| (points(p.x), points(p.y)));
        let Some((x, y)) = points_of.next() else {
            continue;
        };
        builder.move_to(x, y);
        points_of.for_each(|(x, y)| builder.line_to(x, y));
        if strand.closed {
            builder.close();
        }
    }
    builder.finish()
}

fn stroke(pen: Pen) -> Stroke {
    let lengths = pen.dash.lengths_mm(pen.weight);
    Stroke {
        paint: rgb::Color::new(pen.ink.0, pen.ink.1, pen.ink.2).into(),
        width: points(pen.weight.mm()),
        line_cap: LineCap::Butt,
        line_join: LineJoin::Miter,
        miter_limit: 2.0,
        dash: (!lengths.is_empty()).then(|| StrokeDash {
            array: lengths.into_iter().map(points).collect(),
            offset: 0.0,
        }),
        ..Stroke::default()
    }
}

fn opaque(picture: &Picture) -> Result<Vec<u8>, DocumentError> {
    let needed = picture.width_px as usize * picture.height_px as usize * 3;
    if needed == 0 || picture.rgb.len() != needed {
        return Err(DocumentError::PictureSize {
            name: "picture".into(),
            bytes: picture.rgb.len(),
            width: picture.width_px,
            height: picture.height_px,
            needed,
        });
    }
    Ok(picture
        .rgb
        .chunks_exact(3)
        .flat_map(|p| [p[0], p[1], p[2], 255])
        .collect())
}
