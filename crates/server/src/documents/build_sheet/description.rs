//! What a build sheet is drawn from.

use super::Amount;
use crate::documents::error::{DocumentError, within};
use crate::documents::paper::Paper;
use crate::documents::units::Units;
use method::Severity;
use std::sync::Arc;

const MOST_PIECES: usize = 2000;

/// A picture with its caption.
#[derive(Debug, Clone, PartialEq)]
pub struct NotePicture {
    /// The caption.
    pub caption: String,
    /// Pixels across.
    pub width_px: u32,
    /// Pixels down.
    pub height_px: u32,
    /// Three bytes a pixel, row by row from the top.
    pub rgb: Arc<Vec<u8>>,
}

/// One piece in the order of work.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceLine {
    /// When it is placed, from 1.
    pub order: usize,
    /// Its tag.
    pub tag: String,
    /// What it is made of, in words.
    pub material: String,
    /// What it weighs.
    pub mass: Amount,
    /// Width, depth and height as it lies, mm.
    pub size_mm: [f64; 3],
    /// Its middle from the left and the front glass, mm.
    pub at_mm: [f64; 2],
    /// Its turn about the upright axis, degrees.
    pub turn_deg: f64,
    /// Which of its resting poses, in words.
    pub pose: String,
    /// How deep it is set into the ground, mm.
    pub bury_mm: f64,
    /// Its lowest point above the inside of the base, mm.
    pub base_mm: f64,
    /// Its highest point above the inside of the base, mm.
    pub top_mm: f64,
    /// What it rests on: tags, `ground`, `base`, glass.
    pub rests_on: Vec<String>,
    /// Angle at which it tips.
    pub tips_at: Option<Amount>,
    /// Stone to be tied to it so that it sinks.
    pub ballast: Option<Amount>,
    /// Whether it stays where it is put.
    pub stands: bool,
}

/// One ground material.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundLine {
    /// Its name.
    pub name: String,
    /// As laid, without what is buried in it.
    pub volume: Amount,
    /// Its mass.
    pub mass: Amount,
    /// Whole bags.
    pub bags: Option<Amount>,
}

/// One line of a group of the reckoning.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// What it is.
    pub name: String,
    /// The words beside it, numbers with their units.
    pub words: String,
    /// Whether it needs a person.
    pub warm: bool,
}

/// A group of the reckoning.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Its name.
    pub name: String,
    /// Its lines.
    pub lines: Vec<Line>,
}

/// A caution in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// How much it matters.
    pub severity: Severity,
    /// The words.
    pub words: String,
}

/// One step of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What is done, in a few words.
    pub head: String,
    /// How.
    pub words: String,
}

/// Everything on a build sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct BuildSheet {
    /// Title of the layout.
    pub title: String,
    /// Date as it shall be printed.
    pub date: String,
    /// The tank in words.
    pub tank: String,
    /// What falls and why; empty when everything stands.
    pub falls: Vec<String>,
    /// Pictures, the first largest.
    pub pictures: Vec<NotePicture>,
    /// The pieces in the order of placing.
    pub pieces: Vec<PieceLine>,
    /// Ground materials in the order of filling.
    pub ground: Vec<GroundLine>,
    /// Water at the water line.
    pub water: Option<Amount>,
    /// Whole mass on the stand.
    pub total: Option<Amount>,
    /// The reckoning by groups.
    pub groups: Vec<Group>,
    /// Cautions, the gravest first.
    pub cautions: Vec<Note>,
    /// What it is printed on; a build sheet on one large sheet is printed on A4.
    pub paper: Paper,
    /// How lengths, masses and volumes are written.
    pub units: Units,
}

impl BuildSheet {
    /// Refuses what can't be written.
    pub(super) fn check(&self) -> Result<(), DocumentError> {
        if self.pieces.len() > MOST_PIECES {
            return Err(DocumentError::TooMany {
                what: "pieces",
                count: self.pieces.len(),
                most: MOST_PIECES,
            });
        }
        for piece in &self.pieces {
            let lengths = piece.size_mm.iter().chain(&piece.at_mm);
            for value in lengths.chain([&piece.bury_mm, &piece.base_mm, &piece.top_mm]) {
                within("a measure of a piece in mm", *value, -1e5, 1e5)?;
            }
            within(
                "a piece's turn in degrees",
                piece.turn_deg,
                -36_000.0,
                36_000.0,
            )?;
            within("a piece's mass in kg", piece.mass.value, 0.0, 1e5)?;
        }
        for picture in &self.pictures {
            let needed = picture.width_px as usize * picture.height_px as usize * 3;
            if needed == 0 || picture.rgb.len() != needed {
                return Err(DocumentError::PictureSize {
                    name: picture.caption.clone(),
                    bytes: picture.rgb.len(),
                    width: picture.width_px,
                    height: picture.height_px,
                    needed,
                });
            }
        }
        Ok(())
    }
}
