//! Text that a person gives.

use crate::StoreError;

/// Refuses a text that PostgreSQL couldn't keep, on either database, so that what one
/// keeps can be restored to the other.
pub(crate) fn check(path: &'static str, text: &str) -> Result<(), StoreError> {
    if text.contains('\0') {
        return Err(cannot_be_kept(path));
    }
    Ok(())
}

/// The refusal of such a text.
pub(crate) fn cannot_be_kept(path: &'static str) -> StoreError {
    StoreError::Refused {
        path,
        reason: "the text holds a character that can't be kept".to_owned(),
        hint: "leave out the character U+0000",
    }
}
