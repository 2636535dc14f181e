//! Why the store refuses, and why it can fail.

use std::path::PathBuf;

use workshop::WorkshopError;

use crate::text;

/// What keeps the store from doing what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Someone else changed it since it was read.
    #[error("{noun} {subject} was changed by someone else: it is at version {current} now")]
    Stale {
        /// The noun, such as `piece`.
        noun: &'static str,
        /// Which one.
        subject: String,
        /// The version it is at.
        current: i64,
    },
    /// The piece is sold or held already.
    #[error("{tag} is {state} already")]
    Taken {
        /// The piece.
        tag: String,
        /// `sold` or `held`.
        state: &'static str,
        /// The commission that it is held for.
        commission: Option<i64>,
    },
    /// There is none of that name.
    #[error("there is no {noun} {subject}")]
    Missing {
        /// The noun, such as `piece`.
        noun: &'static str,
        /// Which one.
        subject: String,
    },
    /// There is one of that name already.
    #[error("there is a {noun} {subject} already")]
    Exists {
        /// The noun, such as `user`.
        noun: &'static str,
        /// Which one.
        subject: String,
    },
    /// A value breaks a rule.
    #[error("{reason}")]
    Refused {
        /// JSON pointer to the value, from the noun's own fields.
        path: &'static str,
        /// What is wrong, in words.
        reason: String,
        /// What to do about it.
        hint: &'static str,
    },
    /// Another worker has the job now, or it is over.
    #[error("job {job} is no longer this worker's")]
    JobLost {
        /// The job.
        job: i64,
    },
    /// A backup that isn't one, or not whole.
    #[error("{file} can't be restored: {reason}", file = file.display())]
    Damaged {
        /// The file.
        file: PathBuf,
        /// What is wrong with it.
        reason: String,
    },
    /// The data belong to a running program.
    #[error("{place} is in use by a running program; stop it first")]
    InUse {
        /// The data folder or database.
        place: String,
    },
    /// An address that names no database or object store that can be used.
    #[error("{address:?} can't be used: {reason}")]
    Address {
        /// As it was given, without a password.
        address: String,
        /// Why.
        reason: String,
    },
    /// A row holds what it can't hold.
    #[error("a row of {table} can't be read: {reason}")]
    Row {
        /// The table.
        table: &'static str,
        /// Why.
        reason: String,
    },
    /// A noun of the workshop refuses a value.
    #[error(transparent)]
    Workshop(#[from] WorkshopError),
    /// The database fails.
    #[error("the database failed: {0}")]
    Database(sqlx::Error),
    /// The tables can't be brought to this version.
    #[error("the tables can't be brought to this version: {0}")]
    Migration(#[from] sqlx::migrate::MigrateError),
    /// The object store fails.
    #[error("the object store failed: {0}")]
    Objects(#[from] object_store::Error),
    /// A file can't be read or written.
    #[error("{path}: {source}", path = path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// JSON that can't be read or written.
    #[error("kept JSON can't be read: {0}")]
    Json(#[from] serde_json::Error),
    /// A task of the store's own was stopped.
    #[error("the work was stopped before its end")]
    Stopped,
}

/// What PostgreSQL says of a text with U+0000 in it.
const NOT_IN_REPERTOIRE: &str = "22021";

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        match &error {
            sqlx::Error::Database(inner) if inner.code().as_deref() == Some(NOT_IN_REPERTOIRE) => {
                text::cannot_be_kept("")
            }
            _ => Self::Database(error),
        }
    }
}

impl StoreError {
    /// Makes an input/output error one that names its file.
    pub(crate) fn file(path: impl Into<PathBuf>) -> impl FnOnce(std::io::Error) -> Self {
        let path = path.into();
        move |source| Self::File { path, source }
    }

    /// A missing noun.
    pub(crate) fn missing(noun: &'static str, subject: impl ToString) -> Self {
        Self::Missing {
            noun,
            subject: subject.to_string(),
        }
    }

    /// `Exists` when the database refused a second one of the same name.
    pub(crate) fn unique(error: sqlx::Error, noun: &'static str, subject: impl ToString) -> Self {
        match &error {
            sqlx::Error::Database(inner) if inner.is_unique_violation() => Self::Exists {
                noun,
                subject: subject.to_string(),
            },
            _ => error.into(),
        }
    }
}
