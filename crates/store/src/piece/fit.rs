//! What fit search keeps in memory of every piece.

use futures_util::{StreamExt, stream::BoxStream};
use sqlx::{Row, any::AnyRow};
use workshop::Tag;

use super::PieceState;
use crate::{Store, StoreError};

/// A piece as fit search needs it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FitPiece {
    /// Its tag, which says its kind.
    pub tag: Tag,
    /// The kind of stone or wood.
    pub material: String,
    /// Whether it can be had.
    pub state: PieceState,
    /// As `Measured::fit` gave it.
    pub fit: Vec<u8>,
}

impl FitPiece {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            tag: row.try_get::<&str, _>("tag")?.parse()?,
            material: row.try_get("material")?,
            state: PieceState::of_row(row.try_get("state")?)?,
            fit: row.try_get::<&[u8], _>("fit")?.to_vec(),
        })
    }
}

impl Store {
    /// Every piece that isn't sold, as it comes from the database.
    pub fn pieces_for_fit(&self) -> BoxStream<'_, Result<FitPiece, StoreError>> {
        const ALL: &str = "SELECT p.tag, p.material, p.state, f.fit FROM pieces p \
                           JOIN piece_fits f ON f.tag = p.tag WHERE p.state <> 'sold'";
        sqlx::query(ALL)
            .fetch(self.pool())
            .map(|row| FitPiece::of_row(&row?))
            .boxed()
    }

    /// One piece as fit search needs it, sold or not; for what an event says has changed.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn piece_for_fit(&self, tag: Tag) -> Result<FitPiece, StoreError> {
        const ONE: &str = "SELECT p.tag, p.material, p.state, f.fit FROM pieces p \
                           JOIN piece_fits f ON f.tag = p.tag WHERE p.tag = $1";
        let row = sqlx::query(ONE)
            .bind(tag.to_string())
            .fetch_optional(self.pool())
            .await?;
        FitPiece::of_row(&row.ok_or_else(|| StoreError::missing("piece", tag))?)
    }
}
