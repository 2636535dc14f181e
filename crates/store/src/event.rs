//! What happened: every change, by whom, when, and what it was before and after.

use std::sync::Arc;

use serde::Serialize;
use serde_json::Value;
use sqlx::{AnyPool, AssertSqlSafe, Row, any::AnyRow};
use tokio::sync::broadcast;

use crate::{Store, StoreError};

/// Who makes a change, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct By {
    /// The user's name.
    pub who: String,
    /// Unix milliseconds.
    pub at_ms: i64,
}

impl By {
    /// This user at this time.
    #[must_use]
    pub fn new(who: impl Into<String>, at_ms: i64) -> Self {
        Self {
            who: who.into(),
            at_ms,
        }
    }
}

/// One change.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Event {
    /// Counts up from 1 without gaps, in the order in which changes became true.
    pub id: i64,
    /// Unix milliseconds.
    pub at_ms: i64,
    /// The user's name.
    pub who: String,
    /// Noun and kind of change for a program, such as `piece.changed`.
    pub what: String,
    /// What was done, for a person: `taken in`, `held`, `undo: move S-0101`.
    pub deed: String,
    /// The tag or id of what was changed.
    pub subject: String,
    /// The fields that changed, as they were; `null` for a new thing.
    pub before: Value,
    /// The fields that changed, as they are; `null` for a thing that is gone.
    pub after: Value,
}

/// What a listener hears after a change became true.
#[derive(Debug, Clone)]
pub enum Live {
    /// A change that is in the events.
    Event(Arc<Event>),
    /// A running job got on; kept in its row only.
    JobProgress {
        /// The job.
        job: i64,
        /// Unix milliseconds.
        at_ms: i64,
    },
}

const COLUMNS: &str = "id, at_ms, who, what, deed, subject, before, after";

impl Event {
    fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.try_get("id")?,
            at_ms: row.try_get("at_ms")?,
            who: row.try_get("who")?,
            what: row.try_get("what")?,
            deed: row.try_get("deed")?,
            subject: row.try_get("subject")?,
            before: serde_json::from_str(row.try_get("before")?)?,
            after: serde_json::from_str(row.try_get("after")?)?,
        })
    }
}

impl Store {
    /// Listens to changes from now on; each is heard after it became true, in order.
    #[must_use]
    pub fn listen(&self) -> broadcast::Receiver<Live> {
        self.inner.live.subscribe()
    }

    /// Events after one, oldest first, at most `limit`.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn events_after(&self, id: i64, limit: i64) -> Result<Vec<Event>, StoreError> {
        after(self.pool(), id, limit).await
    }

    /// The newest event's id; 0 when nothing ever happened.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn last_event(&self) -> Result<i64, StoreError> {
        let sql = "SELECT last FROM counters WHERE name = 'event'";
        Ok(sqlx::query_scalar(sql).fetch_one(self.pool()).await?)
    }

    /// What happened to one thing, newest first: `history("piece", "S-0148", 50)`.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn history(
        &self,
        noun: &str,
        subject: &str,
        limit: i64,
    ) -> Result<Vec<Event>, StoreError> {
        let sql = format!(
            "SELECT {COLUMNS} FROM events WHERE noun = $1 AND subject = $2 ORDER BY id DESC LIMIT $3"
        );
        let query = sqlx::query(AssertSqlSafe(sql));
        let query = query.bind(noun).bind(subject).bind(limit);
        let rows = query.fetch_all(self.pool()).await?;
        rows.iter().map(Event::of_row).collect()
    }
}

/// Events after one, oldest first.
pub(crate) async fn after(pool: &AnyPool, id: i64, limit: i64) -> Result<Vec<Event>, StoreError> {
    let sql = format!("SELECT {COLUMNS} FROM events WHERE id > $1 ORDER BY id LIMIT $2");
    let query = sqlx::query(AssertSqlSafe(sql)).bind(id).bind(limit);
    let rows = query.fetch_all(pool).await?;
    rows.iter().map(Event::of_row).collect()
}

/// The fields in which two objects differ, as they were and as they are.
pub(crate) fn differences(before: Value, after: Value) -> (Value, Value) {
    let (Value::Object(mut before), Value::Object(mut after)) = (before, after) else {
        return (Value::Null, Value::Null);
    };
    let same: Vec<String> = before
        .iter()
        .filter(|(name, value)| after.get(*name) == Some(*value))
        .map(|(name, _)| name.clone())
        .collect();
    for name in same {
        before.remove(&name);
        after.remove(&name);
    }
    (Value::Object(before), Value::Object(after))
}
