//! One piece with everything that is kept of it.

use serde::Serialize;
use serde_json::Value;
use sqlx::{AnyConnection, AssertSqlSafe, Row, any::AnyRow};
use workshop::Tag;

use super::{
    Photograph, PieceCard,
    card::{CARD, object},
};
use crate::{ObjectId, Store, StoreError};

/// A piece.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Piece {
    /// What a list shows of it.
    #[serde(flatten)]
    pub card: PieceCard,
    /// Density of its material, kg/m³.
    pub density_kg_m3: f64,
    /// Friction on others of its kind.
    pub friction: f64,
    /// What the workshop says of it.
    pub notes: String,
    /// The scan as it was taken in.
    pub scan: Option<ObjectId>,
    /// The closed mesh that the workshop computes with.
    pub shape: Option<ObjectId>,
    /// All measures, as `TakeIn::measure` gave them.
    #[serde(skip)]
    pub measure: Value,
    /// Its photographs, oldest first.
    #[serde(skip)]
    pub photographs: Vec<Photograph>,
}

impl Piece {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            card: PieceCard::of_row(row)?,
            density_kg_m3: row.try_get("density_kg_m3")?,
            friction: row.try_get("friction")?,
            notes: row.try_get("notes")?,
            scan: object(row, "scan_object")?,
            shape: object(row, "shape_object")?,
            measure: serde_json::from_str(row.try_get("measure")?)?,
            photographs: Vec::new(),
        })
    }
}

/// The piece of this tag, without its photographs.
pub(super) async fn read(
    connection: &mut AnyConnection,
    tag: Tag,
) -> Result<Option<Piece>, StoreError> {
    let sql = format!(
        "SELECT {CARD}, p.density_kg_m3, p.friction, p.notes, p.scan_object, p.shape_object, \
         m.measure FROM pieces p JOIN piece_outlines o ON o.tag = p.tag \
         JOIN piece_measures m ON m.tag = p.tag WHERE p.tag = $1"
    );
    let row = sqlx::query(AssertSqlSafe(sql))
        .bind(tag.to_string())
        .fetch_optional(connection)
        .await?;
    row.as_ref().map(Piece::of_row).transpose()
}

/// The piece of this tag, which must be there.
pub(super) async fn must_read(
    connection: &mut AnyConnection,
    tag: Tag,
) -> Result<Piece, StoreError> {
    let found = read(connection, tag).await?;
    found.ok_or_else(|| StoreError::missing("piece", tag))
}

impl Store {
    /// The piece of this tag.
    ///
    /// # Errors
    /// `Missing` when there is none, or when the database fails.
    pub async fn piece(&self, tag: Tag) -> Result<Piece, StoreError> {
        let mut connection = self.pool().acquire().await?;
        let mut piece = must_read(&mut connection, tag).await?;
        piece.photographs = super::photograph::of_piece(&mut connection, tag).await?;
        Ok(piece)
    }
}
