//! What a setting-out sheet is drawn from.

use crate::documents::contours::HeightGrid;
use crate::documents::drawing::Ring;
use crate::documents::error::{DocumentError, within};
use crate::documents::paper::Paper;
use crate::documents::units::Units;
use glam::{DVec2, DVec3};

/// No side of a tank is longer.
const LONGEST_MM: f64 = 4800.0;
/// Points may lie this far outside the tank.
const STRAY_MM: f64 = 3000.0;
const MOST_PIECES: usize = 500;
const MOST_POINTS: usize = 2_000_000;

/// Whether a piece is of stone or of wood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Stone.
    Stone,
    /// Wood.
    Wood,
}

/// The glass vessel.
#[derive(Debug, Clone, PartialEq)]
pub struct Glass {
    /// Inside length (x), width (y) and height (z).
    pub inside_mm: DVec3,
    /// Thickness of the four walls.
    pub wall_mm: f64,
    /// Thickness of the base.
    pub base_mm: f64,
    /// Water line above the inside of the base.
    pub water_line_mm: Option<f64>,
}

/// Where a piece touches what carries it.
#[derive(Debug, Clone, PartialEq)]
pub struct ContactPatch {
    /// What carries it: a tag, `ground`, `base`, `left glass` …
    pub with: String,
    /// The patch seen from above, in the tank frame.
    pub rings_mm: Vec<Ring>,
    /// Its height above the inside of the base.
    pub height_mm: f64,
}

/// One piece as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PieceOutline {
    /// Its tag.
    pub tag: String,
    /// When it is placed, from 1.
    pub order: usize,
    /// Stone or wood.
    pub kind: Kind,
    /// Plan outline in the tank frame, x to the right, y to the back; holes are
    /// rings within rings.
    pub plan_mm: Vec<Ring>,
    /// Outline seen from the front, x to the right, y of the ring upwards.
    pub front_mm: Vec<Ring>,
    /// Distance of its middle from the front glass.
    pub depth_mm: f64,
    /// Its lowest point above the inside of the base.
    pub base_mm: f64,
    /// Its highest point above the inside of the base.
    pub top_mm: f64,
    /// Turn about the upright axis as given in the layout.
    pub turn_deg: f64,
    /// Where it rests.
    pub contacts: Vec<ContactPatch>,
    /// Whether it stands.
    pub stands: bool,
}

/// Everything on a setting-out sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingOut {
    /// Title of the layout.
    pub title: String,
    /// Date as it shall be printed.
    pub date: String,
    /// The tank.
    pub glass: Glass,
    /// The pieces.
    pub pieces: Vec<PieceOutline>,
    /// Top of the ground, in the tank frame; `None` for a bare base.
    pub ground: Option<HeightGrid>,
    /// A line of caution for the title block.
    pub caution: String,
    /// What it is printed on.
    pub paper: Paper,
    /// How lengths are written.
    pub units: Units,
}

impl SettingOut {
    /// What stands on every sheet when a piece doesn't stay where it is put.
    pub(super) fn alarm(&self) -> String {
        let falls: Vec<&str> = self
            .pieces
            .iter()
            .filter(|p| !p.stands)
            .map(|p| p.tag.as_str())
            .collect();
        if falls.is_empty() {
            return String::new();
        }
        format!(
            "Does not stand: {}. Don’t build on this sheet.",
            falls.join(", ")
        )
    }

    /// Refuses what can't be drawn.
    pub(super) fn check(&self) -> Result<(), DocumentError> {
        let glass = &self.glass;
        for (what, value) in [
            ("the tank's inside length in mm", glass.inside_mm.x),
            ("the tank's inside width in mm", glass.inside_mm.y),
            ("the tank's inside height in mm", glass.inside_mm.z),
        ] {
            within(what, value, 20.0, LONGEST_MM)?;
        }
        within(
            "the thickness of the walls in mm",
            glass.wall_mm,
            0.0,
            100.0,
        )?;
        within("the thickness of the base in mm", glass.base_mm, 0.0, 100.0)?;
        if let Some(water) = glass.water_line_mm {
            within("the water line in mm", water, 0.0, glass.inside_mm.z)?;
        }
        self.check_pieces()?;
        match &self.ground {
            Some(grid) if !grid.is_sound() => Err(DocumentError::OutOfRange {
                what: "the number of ground heights",
                value: grid.heights_mm.len() as f64,
                least: 4.0,
                most: (grid.n_x * grid.n_y) as f64,
            }),
            Some(grid) => grid.heights_mm.iter().try_for_each(|&h| {
                within("a ground height in mm", h, -STRAY_MM, LONGEST_MM).map(drop)
            }),
            None => Ok(()),
        }
    }

    fn check_pieces(&self) -> Result<(), DocumentError> {
        if self.pieces.len() > MOST_PIECES {
            return Err(DocumentError::TooMany {
                what: "pieces",
                count: self.pieces.len(),
                most: MOST_PIECES,
            });
        }
        let mut n_points = 0;
        for piece in &self.pieces {
            for (what, value) in [
                ("a piece's base in mm", piece.base_mm),
                ("a piece's top in mm", piece.top_mm),
                ("a piece's depth in mm", piece.depth_mm),
            ] {
                within(what, value, -STRAY_MM, LONGEST_MM + STRAY_MM)?;
            }
            within(
                "a piece's turn in degrees",
                piece.turn_deg,
                -36_000.0,
                36_000.0,
            )?;
            let patches = piece.contacts.iter().flat_map(|c| &c.rings_mm);
            for point in piece
                .plan_mm
                .iter()
                .chain(&piece.front_mm)
                .chain(patches)
                .flatten()
            {
                check_point(*point)?;
                n_points += 1;
            }
        }
        if n_points > MOST_POINTS {
            return Err(DocumentError::TooMany {
                what: "points of outlines",
                count: n_points,
                most: MOST_POINTS,
            });
        }
        Ok(())
    }
}

fn check_point(point: DVec2) -> Result<(), DocumentError> {
    within(
        "a point of an outline in mm",
        point.x,
        -STRAY_MM,
        LONGEST_MM + STRAY_MM,
    )?;
    within(
        "a point of an outline in mm",
        point.y,
        -STRAY_MM,
        LONGEST_MM + STRAY_MM,
    )?;
    Ok(())
}
