//! What a list shows of a piece.

use serde::Serialize;
use sqlx::{Row, any::AnyRow};
use workshop::{Money, PieceKind, Tag};

use super::{Hold, MassCertainty, PieceState};
use crate::{ObjectId, StoreError, money};

/// What a list shows of a piece: everything but its measures and history.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceCard {
    /// Its tag.
    pub tag: Tag,
    /// Stone or wood.
    pub kind: PieceKind,
    /// The kind of stone or wood.
    pub material: String,
    /// Whether it can be had.
    pub state: PieceState,
    /// Where it lies.
    pub place: String,
    /// Its size grade by the owner's rules.
    pub grade: Option<String>,
    /// Longest, middle and shortest side of the least box, mm.
    pub size_mm: [f64; 3],
    /// Width, depth and height in its likeliest pose, mm.
    pub as_laid_mm: [f64; 3],
    /// Mass, kg.
    pub mass_kg: f64,
    /// How the mass is known.
    pub mass_certainty: MassCertainty,
    /// What it costs.
    pub price: Option<Money>,
    /// Its mean colour, `#rrggbb`.
    pub colour: String,
    /// Front outline in its likeliest pose, mm.
    pub outline_mm: Vec<[f64; 2]>,
    /// The rendered picture.
    pub picture: Option<ObjectId>,
    /// For whom and until when it is set aside.
    pub hold: Option<Hold>,
    /// When it was taken in, Unix milliseconds.
    pub received_at_ms: i64,
    /// Goes up with every change.
    pub version: i64,
}

/// The columns of a card; `p` is the pieces, `o` their outlines.
pub(super) const CARD: &str = "p.tag, p.kind, p.material, p.state, p.place, p.grade, p.long_mm, p.mid_mm, \
     p.short_mm, p.laid_width_mm, p.laid_depth_mm, p.laid_height_mm, p.mass_kg, p.mass_certainty, \
     p.price_minor, p.price_currency, p.colour, p.picture_object, p.hold_commission, \
     p.hold_until_ms, p.received_at_ms, p.version, o.outline";

impl PieceCard {
    pub(super) fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        let tag: Tag = row.try_get::<&str, _>("tag")?.parse()?;
        let state = PieceState::of_row(row.try_get("state")?)?;
        Ok(Self {
            tag,
            kind: tag.kind(),
            material: row.try_get("material")?,
            state,
            place: row.try_get("place")?,
            grade: row.try_get("grade")?,
            size_mm: three(row, ["long_mm", "mid_mm", "short_mm"])?,
            as_laid_mm: three(row, ["laid_width_mm", "laid_depth_mm", "laid_height_mm"])?,
            mass_kg: row.try_get("mass_kg")?,
            mass_certainty: MassCertainty::of_row(row.try_get("mass_certainty")?)?,
            price: money::of_row(row)?,
            colour: row.try_get("colour")?,
            outline_mm: serde_json::from_str(row.try_get("outline")?)?,
            picture: object(row, "picture_object")?,
            hold: match state {
                PieceState::Held => Some(Hold {
                    commission: row.try_get("hold_commission")?,
                    until_ms: row.try_get("hold_until_ms")?,
                }),
                _ => None,
            },
            received_at_ms: row.try_get("received_at_ms")?,
            version: row.try_get("version")?,
        })
    }
}

fn three(row: &AnyRow, columns: [&str; 3]) -> Result<[f64; 3], StoreError> {
    let [a, b, c] = columns;
    Ok([row.try_get(a)?, row.try_get(b)?, row.try_get(c)?])
}

pub(super) fn object(row: &AnyRow, column: &str) -> Result<Option<ObjectId>, StoreError> {
    let text: Option<String> = row.try_get(column)?;
    text.map(|t| ObjectId::of_row("pieces", &t)).transpose()
}
