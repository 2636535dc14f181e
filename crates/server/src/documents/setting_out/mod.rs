//! The setting-out sheet: what a builder lays on the bench and builds on.
//!
//! Page one carries the control square, the key and the notes; then follow the
//! tiles of the plan at full size; the last page is the front elevation to
//! scale. On one large sheet the plan, the square and the notes share page one.

mod description;
mod elevation;
mod from_layout;
mod glass_lines;
mod key;
mod labels;
mod legend;
mod patches;
mod plan;
mod single;
mod tile_sheet;
mod tiles;

pub use description::{ContactPatch, Glass, Kind, PieceOutline, SettingOut};
pub use from_layout::{CAUTION, from_layout};
pub use tiles::Tiling;

use super::DocumentError;
use super::drawing::Sheet;
use super::drawing::title_block::TitleBlock;
use super::paper::Paper;
use super::pdf;

/// Millimetres that neighbouring tiles share.
pub const OVERLAP_MM: f64 = 10.0;
/// Side of the control square.
pub const CONTROL_MM: f64 = 100.0;

/// The setting-out sheet as the bytes of a PDF.
///
/// # Errors
/// A description with numbers that are not finite or out of range, or with too
/// many parts.
pub fn render(description: &SettingOut) -> Result<Vec<u8>, DocumentError> {
    let about = pdf::About {
        title: description.title.clone(),
        subject: "Setting-out sheet, full size".into(),
    };
    pdf::write(&sheets(description)?, &about)
}

/// The sheets, before they become a PDF.
///
/// # Errors
/// As [`render`].
pub fn sheets(description: &SettingOut) -> Result<Vec<Sheet>, DocumentError> {
    description.check()?;
    let plan_area = plan::area(&description.glass);
    let Some(sides_mm) = description.paper.sides_mm() else {
        return Ok(vec![
            single::sheet(description, 1, 2),
            elevation::sheet(description, Paper::A3, 2, 2),
        ]);
    };
    let tiling = Tiling::fewest(plan_area, sides_mm)?;
    let plan = plan::draw(description, &tiling.seams());
    let n_sheets = tiling.len() + 2;
    let mut sheets = vec![key::sheet(description, &tiling, n_sheets)];
    for tile in tiling.tiles() {
        sheets.push(tile_sheet::sheet(
            description,
            &tiling,
            &tile,
            &plan,
            n_sheets,
        ));
    }
    sheets.push(elevation::sheet(
        description,
        description.paper,
        n_sheets,
        n_sheets,
    ));
    Ok(sheets)
}

/// The title block of one sheet.
fn title_block(
    description: &SettingOut,
    document: &str,
    scale: &str,
    n: usize,
    of: usize,
) -> TitleBlock {
    let glass = &description.glass;
    let inside = glass.inside_mm;
    let size = |v: f64| description.units.dimension(v);
    let fields = [
        (
            "Tank inside, length × width × height",
            format!(
                "{} × {} × {}",
                size(inside.x),
                size(inside.y),
                size(inside.z)
            ),
        ),
        (
            "Glass, walls / base",
            format!("{} / {}", size(glass.wall_mm), size(glass.base_mm)),
        ),
        ("Scale", scale.to_owned()),
        ("Pieces", description.pieces.len().to_string()),
        ("Date", description.date.clone()),
        ("Sheet", format!("{n} of {of}")),
    ];
    TitleBlock {
        title: description.title.clone(),
        document: document.to_owned(),
        fields: fields
            .map(|(name, value)| (name.to_owned(), value))
            .to_vec(),
        alarm: description.alarm(),
        caution: format!(
            "{}. {}",
            description.units.dimension_note(),
            description.caution
        ),
    }
}
