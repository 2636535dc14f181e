//! Lettering: which glyphs, how wide, how broken into lines.
//!
//! Heights are cap heights as in ISO 3098 (1.8, 2.5, 3.5, 5, 7 mm). Figures
//! are tabular. Text from outside is cleaned first, so that no title can break
//! out of its line.

use super::area::Area;
use super::pen::Ink;
use glam::DVec2;
use rustybuzz::ttf_parser::Tag;
use rustybuzz::{Direction, Face, UnicodeBuffer};
use std::ops::Range;
use std::sync::LazyLock;

/// The typeface's file: IBM Plex Sans, variable (SIL Open Font License 1.1).
pub(crate) static FONT_FILE: &[u8] =
    include_bytes!("../../../assets/fonts/IBMPlexSans-Variable.ttf");
/// Cap height over the em, read from the file's OS/2 table.
const CAP_HEIGHT_EM: f64 = 0.698;
/// How far letters reach below the line, over the em (the letters g, j, p, q).
const DESCENT_EM: f64 = 0.22;
/// Distance of lines over the cap height.
const LEADING_CAPS: f64 = 1.9;
/// Marks that may stack on one letter before the rest is dropped.
const MOST_MARKS: usize = 2;

/// Which face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cut {
    /// Regular.
    Regular,
    /// Semi-bold, for tags and heads.
    Bold,
}

impl Cut {
    /// Axes of the variable font: width in per cent, weight.
    pub(crate) fn axes(self) -> [([u8; 4], f32); 2] {
        let weight = match self {
            Self::Regular => 400.0,
            Self::Bold => 600.0,
        };
        [(*b"wdth", 90.0), (*b"wght", weight)]
    }
}

/// Height, cut and colour of lettering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lettering {
    /// Cap height.
    pub height_mm: f64,
    /// Face.
    pub cut: Cut,
    /// Colour.
    pub ink: Ink,
}

impl Lettering {
    /// Regular graphite.
    pub const fn plain(height_mm: f64) -> Self {
        Self {
            height_mm,
            cut: Cut::Regular,
            ink: Ink::GRAPHITE,
        }
    }

    /// Semi-bold graphite.
    pub const fn bold(height_mm: f64) -> Self {
        Self {
            height_mm,
            cut: Cut::Bold,
            ink: Ink::GRAPHITE,
        }
    }

    /// The same in another colour.
    #[must_use]
    pub const fn inked(self, ink: Ink) -> Self {
        Self { ink, ..self }
    }

    /// Em size.
    pub fn em_mm(self) -> f64 {
        self.height_mm / CAP_HEIGHT_EM
    }

    /// Distance from one line to the next.
    pub fn leading_mm(self) -> f64 {
        self.height_mm * LEADING_CAPS
    }

    /// How far letters reach below the line.
    pub fn descent_mm(self) -> f64 {
        self.em_mm() * DESCENT_EM
    }

    /// Width of a line of text.
    pub fn width_mm(self, words: &str) -> f64 {
        let glyphs = shape(&clean(words), self.cut);
        glyphs.iter().map(|g| g.advance_em).sum::<f64>() * self.em_mm()
    }

    /// The text, cut with an ellipsis so that it fits a width.
    pub fn fitted(self, words: &str, width_mm: f64) -> String {
        let words = clean(words);
        if self.width_mm(&words) <= width_mm {
            return words;
        }
        let budget = width_mm - self.width_mm("…");
        let head = words[..self.fitting_bytes(&words, budget)].trim_end();
        format!("{head}…")
    }

    /// The text in lines no wider than `width_mm`, broken at spaces but not at
    /// no-break spaces, or within a word that is wider than a line.
    pub fn wrapped(self, words: &str, width_mm: f64) -> Vec<String> {
        let mut lines = vec![];
        for paragraph in words.split('\n') {
            self.wrap_paragraph(&clean(paragraph), width_mm, &mut lines);
        }
        lines
    }

    fn wrap_paragraph(self, words: &str, width_mm: f64, lines: &mut Vec<String>) {
        let mut line = String::new();
        for word in words.split(' ').filter(|word| !word.is_empty()) {
            let longer = if line.is_empty() {
                word.to_owned()
            } else {
                format!("{line} {word}")
            };
            if self.width_mm(&longer) <= width_mm {
                line = longer;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            let mut rest = word;
            while self.width_mm(rest) > width_mm {
                let first = rest.chars().next().map_or(0, char::len_utf8);
                let cut = self.fitting_bytes(rest, width_mm).max(first);
                if cut >= rest.len() {
                    break;
                }
                lines.push(rest[..cut].to_owned());
                rest = &rest[cut..];
            }
            line = rest.to_owned();
        }
        lines.push(line);
    }

    /// How many bytes of clean text fit, ending between clusters.
    fn fitting_bytes(self, words: &str, width_mm: f64) -> usize {
        let mut width = 0.0;
        for glyph in shape(words, self.cut) {
            width += glyph.advance_em * self.em_mm();
            if width > width_mm {
                return glyph.bytes.start;
            }
        }
        words.len()
    }
}

/// Where a text lies across its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Across {
    /// It begins there.
    Left,
    /// Its middle lies there.
    Middle,
    /// It ends there.
    Right,
}

/// Where a text's line lies to its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Up {
    /// The line itself.
    Line,
    /// Half the cap height.
    Middle,
    /// The tops of capitals.
    Top,
}

/// One line of lettering.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// The words.
    pub words: String,
    /// Its point.
    pub at: DVec2,
    /// How it looks.
    pub lettering: Lettering,
    /// How it lies across the point.
    pub across: Across,
    /// How it lies over the point.
    pub up: Up,
    /// Turn about the point, anticlockwise as seen.
    pub turn_deg: f64,
}

impl Text {
    /// Text that begins at a point of its line.
    pub fn new(at: DVec2, words: impl AsRef<str>, lettering: Lettering) -> Self {
        Self {
            words: clean(words.as_ref()),
            at,
            lettering,
            across: Across::Left,
            up: Up::Line,
            turn_deg: 0.0,
        }
    }

    /// The same, otherwise anchored.
    #[must_use]
    pub fn anchored(self, across: Across, up: Up) -> Self {
        Self { across, up, ..self }
    }

    /// The same, turned.
    #[must_use]
    pub fn turned(self, turn_deg: f64) -> Self {
        Self { turn_deg, ..self }
    }

    /// Where its first letter's line begins, relative to `at`, before the turn.
    pub(crate) fn start(&self) -> DVec2 {
        let width = self.lettering.width_mm(&self.words);
        let x = match self.across {
            Across::Left => 0.0,
            Across::Middle => -width / 2.0,
            Across::Right => -width,
        };
        let y = match self.up {
            Up::Line => 0.0,
            Up::Middle => self.lettering.height_mm / 2.0,
            Up::Top => self.lettering.height_mm,
        };
        DVec2::new(x, y)
    }

    /// The area of its letters.
    pub fn bounds(&self) -> Option<Area> {
        let start = self.start();
        let size = DVec2::new(
            self.lettering.width_mm(&self.words),
            self.lettering.height_mm,
        );
        let upright = Area::new(
            start + DVec2::new(0.0, self.lettering.descent_mm()),
            start + DVec2::new(size.x, -size.y),
        );
        let turn = DVec2::from_angle(-self.turn_deg.to_radians());
        Area::of_points(upright.ring().into_iter().map(|p| self.at + turn.rotate(p)))
    }
}

/// One glyph of a shaped text.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PlacedGlyph {
    pub id: u32,
    pub advance_em: f64,
    pub offset_em: DVec2,
    pub bytes: Range<usize>,
}

static REGULAR: LazyLock<Option<Face<'static>>> = LazyLock::new(|| open(Cut::Regular));
static BOLD: LazyLock<Option<Face<'static>>> = LazyLock::new(|| open(Cut::Bold));

fn open(cut: Cut) -> Option<Face<'static>> {
    let mut face = Face::from_slice(FONT_FILE, 0)?;
    for (tag, value) in cut.axes() {
        face.set_variation(Tag::from_bytes(&tag), value);
    }
    Some(face)
}

/// The glyphs of clean text, from left to right.
pub(crate) fn shape(words: &str, cut: Cut) -> Vec<PlacedGlyph> {
    let face = match cut {
        Cut::Regular => &*REGULAR,
        Cut::Bold => &*BOLD,
    };
    let Some(face) = face else { return vec![] };
    let em = f64::from(face.units_per_em());
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(words);
    buffer.guess_segment_properties();
    buffer.set_direction(Direction::LeftToRight);
    let shaped = rustybuzz::shape(face, &[], buffer);
    let starts: Vec<usize> = shaped
        .glyph_infos()
        .iter()
        .map(|i| i.cluster as usize)
        .collect();
    let end_of = |i: usize| {
        starts[i..]
            .iter()
            .copied()
            .find(|&s| s > starts[i])
            .unwrap_or(words.len())
    };
    (shaped
        .glyph_infos()
        .iter()
        .zip(shaped.glyph_positions())
        .enumerate())
    .map(|(i, (info, position))| PlacedGlyph {
        id: info.glyph_id,
        advance_em: f64::from(position.x_advance) / em,
        offset_em: DVec2::new(f64::from(position.x_offset), f64::from(position.y_offset)) / em,
        bytes: starts[i]..end_of(i),
    })
    .collect()
}

/// Text without what could break its line: control characters become spaces,
/// marks of direction and of no width go, and marks stack at most twice.
pub fn clean(words: &str) -> String {
    let mut out = String::with_capacity(words.len());
    let mut n_marks = 0;
    for c in words.chars() {
        if is_invisible(c) {
            continue;
        }
        n_marks = if is_mark(c) { n_marks + 1 } else { 0 };
        if n_marks <= MOST_MARKS {
            out.push(if c.is_control() || matches!(c, '\u{2028}' | '\u{2029}') {
                ' '
            } else {
                c
            });
        }
    }
    out
}

fn is_invisible(c: char) -> bool {
    matches!(c, '\u{00ad}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e0fff}')
}

fn is_mark(c: char) -> bool {
    matches!(c, '\u{0300}'..='\u{036f}' | '\u{0483}'..='\u{0489}' | '\u{1ab0}'..='\u{1aff}'
        | '\u{1dc0}'..='\u{1dff}' | '\u{20d0}'..='\u{20ff}' | '\u{fe20}'..='\u{fe2f}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_tabular() {
        for cut in [Cut::Regular, Cut::Bold] {
            let lettering = Lettering {
                cut,
                ..Lettering::plain(3.5)
            };
            let one = lettering.width_mm("1");
            assert!(one > 1.0);
            for figure in ["0", "2", "3", "4", "5", "6", "7", "8", "9"] {
                assert!((lettering.width_mm(figure) - one).abs() < 1e-9, "{figure}");
            }
        }
    }

    #[test]
    fn cap_height_is_the_fonts_own() {
        // Read from the font's OS/2 table by the font parser.
        let face = rustybuzz::ttf_parser::Face::parse(FONT_FILE, 0).unwrap();
        let cap = f64::from(face.capital_height().unwrap()) / f64::from(face.units_per_em());
        assert!((cap - CAP_HEIGHT_EM).abs() < 1e-9, "{cap}");
    }

    #[test]
    fn hostile_text_fits_its_width() {
        let lettering = Lettering::bold(3.5);
        let words = [
            "x".repeat(500),
            "ein Wort ".repeat(80),
            "\u{202e}evil\u{0000}\n\ttext ".repeat(20),
            format!("z{} ", "\u{0301}".repeat(40)).repeat(30),
            "水草の石組み🦐".repeat(30),
            "ﷺ".repeat(90),
        ];
        for text in &words {
            assert!(
                lettering.width_mm(&lettering.fitted(text, 60.0)) <= 60.0 + 1e-9,
                "{text}"
            );
            for line in lettering.wrapped(text, 60.0) {
                assert!(lettering.width_mm(&line) <= 60.0 + 1e-9, "{line}");
            }
        }
    }

    #[test]
    fn wrapping_loses_no_word() {
        let text = "lay the stones in the order of their numbers, the lowest first";
        let lines = Lettering::plain(2.5).wrapped(text, 30.0);
        assert!(lines.len() > 2);
        assert_eq!(lines.join(" "), text);
    }
}
