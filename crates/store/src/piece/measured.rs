//! What follows from a scan, and where it is kept.

use serde_json::Value;
use workshop::Tag;

use super::change;
use crate::{ObjectId, StoreError, text, write::Write};

/// What follows from a scan.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The scan as it was taken in.
    pub scan: Option<ObjectId>,
    /// The closed mesh that the workshop computes with.
    pub shape: Option<ObjectId>,
    /// The rendered picture.
    pub picture: Option<ObjectId>,
    /// Longest, middle and shortest side of the least box, mm.
    pub size_mm: [f64; 3],
    /// Width, depth and height in its likeliest pose, mm.
    pub as_laid_mm: [f64; 3],
    /// Its mean colour, `#rrggbb`.
    pub colour: String,
    /// Front outline in its likeliest pose, mm.
    pub outline_mm: Vec<[f64; 2]>,
    /// All measures; the store doesn't look inside.
    pub measure: Value,
    /// What fit search needs; the store doesn't look inside.
    pub fit: Vec<u8>,
}

/// Writes what follows from a scan.
pub(super) async fn put(
    write: &mut Write,
    tag: Tag,
    measured: &Measured,
) -> Result<(), StoreError> {
    for size_mm in measured.size_mm.iter().chain(&measured.as_laid_mm) {
        change::check_positive("/size_mm", *size_mm)?;
    }
    if !measured.outline_mm.iter().flatten().all(|v| v.is_finite()) {
        return Err(StoreError::Refused {
            path: "/outline",
            reason: "a point of the outline is no number".to_owned(),
            hint: "give millimetres",
        });
    }
    text::check("/colour", &measured.colour)?;
    let name = tag.to_string();
    let hex = |id: &Option<ObjectId>| id.as_ref().map(|id| id.hex().to_owned());
    let [long, mid, short] = measured.size_mm;
    let [width, depth, height] = measured.as_laid_mm;
    let sql = "UPDATE pieces SET long_mm = $2, mid_mm = $3, short_mm = $4, laid_width_mm = $5, \
               laid_depth_mm = $6, laid_height_mm = $7, colour = $8, scan_object = $9, \
               shape_object = $10, picture_object = $11 WHERE tag = $1";
    sqlx::query(sql)
        .bind(&name)
        .bind(long)
        .bind(mid)
        .bind(short)
        .bind(width)
        .bind(depth)
        .bind(height)
        .bind(&measured.colour)
        .bind(hex(&measured.scan))
        .bind(hex(&measured.shape))
        .bind(hex(&measured.picture))
        .execute(write.conn())
        .await?;
    let texts = [
        (
            "INSERT INTO piece_outlines (tag, outline) VALUES ($1, $2) \
             ON CONFLICT (tag) DO UPDATE SET outline = $2",
            serde_json::to_string(&measured.outline_mm)?,
        ),
        (
            "INSERT INTO piece_measures (tag, measure) VALUES ($1, $2) \
             ON CONFLICT (tag) DO UPDATE SET measure = $2",
            measured.measure.to_string(),
        ),
    ];
    for (sql, text) in texts {
        let query = sqlx::query(sql).bind(&name).bind(text);
        query.execute(write.conn()).await?;
    }
    sqlx::query(
        "INSERT INTO piece_fits (tag, fit) VALUES ($1, $2) ON CONFLICT (tag) DO UPDATE SET fit = $2",
    )
    .bind(&name)
    .bind(measured.fit.clone())
    .execute(write.conn())
    .await?;
    Ok(())
}
