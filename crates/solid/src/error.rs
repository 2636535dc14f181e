//! Why a scan or a solid is refused.

/// The one error type of this crate. `hint` texts say what the user can do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolidError {
    /// The bytes are not a mesh this crate can read.
    #[error("{format}: {reason}{}", at.map(|at| format!(" (at byte {at})")).unwrap_or_default())]
    Unreadable {
        /// Which format was being read (`"PLY"`), or `"scan"` when none was recognised.
        format: &'static str,
        /// What is wrong, in words.
        reason: String,
        /// Byte offset of the fault, where known.
        at: Option<usize>,
        /// What to do about it.
        hint: String,
    },
    /// The file's numbers have no unit of their own and none was given.
    #[error("{format}: the file does not say which unit its numbers are in")]
    UnitMissing {
        /// Which format was being read (`"PLY"`).
        format: &'static str,
        /// What to do about it.
        hint: String,
    },
    /// The mesh has no extent that could be measured.
    #[error("{reason}")]
    Degenerate {
        /// What is missing, in words.
        reason: String,
        /// What to do about it.
        hint: String,
    },
}

impl SolidError {
    /// What the user can do about the error.
    #[must_use]
    pub fn hint(&self) -> &str {
        match self {
            Self::Unreadable { hint, .. }
            | Self::UnitMissing { hint, .. }
            | Self::Degenerate { hint, .. } => hint,
        }
    }
}
