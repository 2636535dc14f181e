//! Stone or wood, as a word of a row.

use workshop::PieceKind;

use crate::StoreError;

/// The kind of a row's word.
pub(crate) fn of_row(table: &'static str, word: &str) -> Result<PieceKind, StoreError> {
    [PieceKind::Stone, PieceKind::Wood]
        .into_iter()
        .find(|kind| kind.word() == word)
        .ok_or_else(|| StoreError::Row {
            table,
            reason: format!("{word:?} is neither stone nor wood"),
        })
}
