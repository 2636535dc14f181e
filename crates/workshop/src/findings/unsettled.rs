//! A layout that can't be settled isn't proved to stand.

use method::{Caution, Severity};
use serde::Serialize;

use crate::Tag;

/// Settling was refused, or a piece never came to rest.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unsettled {
    /// The piece to blame; none when it is the layout as a whole.
    pub tag: Option<Tag>,
    /// What is wrong, in words.
    pub reason: String,
    /// What to do about it.
    pub hint: String,
}

impl Unsettled {
    /// The finding in words.
    #[must_use]
    pub fn caution(&self) -> Caution {
        let who = self
            .tag
            .map_or_else(|| "the layout".to_owned(), |tag| tag.to_string());
        Caution::new(
            "not_settled",
            Severity::Danger,
            format!(
                "{who} is not proved to stand: {}; {}",
                self.reason, self.hint
            ),
        )
    }
}
