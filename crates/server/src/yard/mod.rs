//! The yard: pieces, where each lies and what it is like; lots and grades.

pub mod card;
pub mod change;
pub mod figures;
pub mod file;
pub mod fit;
pub mod grades;
pub mod hold;
pub mod levels;
pub mod list;
pub mod lots;
pub mod photographs;
pub mod picture;
pub mod piece;
pub mod table;
pub mod tags;

use workshop::Tag;

use crate::http::{Api, ApiError};

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("yard")
        .with(list::routes)
        .with(piece::routes)
        .with(change::routes)
        .with(hold::routes)
        .with(photographs::routes)
        .with(levels::routes)
        .with(picture::routes)
        .with(tags::routes)
        .with(fit::routes)
        .with(table::routes)
        .with(grades::routes)
        .with(lots::routes)
}

/// The tag of a path.
///
/// # Errors
/// 404: what is no tag is no piece.
pub fn tag_of(text: &str) -> Result<Tag, ApiError> {
    text.parse().map_err(|_| {
        ApiError::missing(format!(
            "piece {}",
            text.chars().take(20).collect::<String>()
        ))
    })
}
