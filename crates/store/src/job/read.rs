//! A job: put in, read.

use serde::Serialize;
use serde_json::{Value, json};
use sqlx::{AnyConnection, AssertSqlSafe, Row, any::AnyRow};

use super::JobState;
use crate::{By, Store, StoreError, write::Write};

/// Long work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Job {
    /// Its id.
    pub id: i64,
    /// What is to be done, such as `taking-in`.
    pub kind: String,
    /// How far it is.
    pub state: JobState,
    /// The tag or id of what it is about; may be empty.
    pub subject: String,
    /// What it needs to know.
    pub input: Value,
    /// 0 to 1.
    pub progress: f64,
    /// What it is doing, in words.
    pub step: String,
    /// What came of it.
    pub result: Option<Value>,
    /// Why it failed: words, or a JSON object of the server's.
    pub error: Option<Value>,
    /// Whether a person wishes it to stop.
    pub cancel_wished: bool,
    /// Who is at it.
    pub worker: Option<String>,
    /// How often it was claimed.
    pub attempts: i64,
    /// Who put it in.
    pub who: String,
    /// When, Unix milliseconds.
    pub created_at_ms: i64,
    /// When it last got on, Unix milliseconds.
    pub changed_at_ms: i64,
}

/// A job to be put in.
#[derive(Debug, Clone, PartialEq)]
pub struct NewJob {
    /// What is to be done.
    pub kind: String,
    /// The tag or id of what it is about; may be empty.
    pub subject: String,
    /// What it needs to know.
    pub input: Value,
}

pub(super) const COLUMNS: &str = "id, kind, state, subject, input, progress, step, result, error, \
     cancel_wished, worker, attempts, who, created_at_ms, changed_at_ms";

impl Job {
    pub(super) fn of_row(row: &AnyRow) -> Result<Self, StoreError> {
        let json = |column: &str| -> Result<Option<Value>, StoreError> {
            let text: Option<String> = row.try_get(column)?;
            Ok(text.map(|t| serde_json::from_str(&t)).transpose()?)
        };
        Ok(Self {
            id: row.try_get("id")?,
            kind: row.try_get("kind")?,
            state: JobState::of_row(row.try_get("state")?)?,
            subject: row.try_get("subject")?,
            input: json("input")?.unwrap_or(Value::Null),
            progress: row.try_get("progress")?,
            step: row.try_get("step")?,
            result: json("result")?,
            error: json("error")?,
            cancel_wished: row.try_get::<i64, _>("cancel_wished")? != 0,
            worker: row.try_get("worker")?,
            attempts: row.try_get("attempts")?,
            who: row.try_get("who")?,
            created_at_ms: row.try_get("created_at_ms")?,
            changed_at_ms: row.try_get("changed_at_ms")?,
        })
    }
}

impl Store {
    /// Puts in a job.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn add_job(&self, by: &By, new: NewJob) -> Result<Job, StoreError> {
        let mut write = self.write(by).await?;
        let id = write.next("job").await?;
        sqlx::query(
            "INSERT INTO jobs (id, kind, state, subject, input, progress, step, cancel_wished, \
             attempts, who, created_at_ms, changed_at_ms) \
             VALUES ($1, $2, 'waiting', $3, $4, 0, '', 0, 0, $5, $6, $6)",
        )
        .bind(id)
        .bind(&new.kind)
        .bind(&new.subject)
        .bind(new.input.to_string())
        .bind(&by.who)
        .bind(by.at_ms)
        .execute(write.conn())
        .await?;
        let job = must_be(write.conn(), id).await?;
        let after = serde_json::to_value(&job)?;
        write
            .event("job.changed", "put in", id, Value::Null, after)
            .await?;
        write.commit().await?;
        Ok(job)
    }

    /// A job.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn job(&self, id: i64) -> Result<Job, StoreError> {
        let mut connection = self.pool().acquire().await?;
        must_be(&mut connection, id).await
    }

    /// The newest jobs, newest first.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn jobs(&self, limit: i64) -> Result<Vec<Job>, StoreError> {
        let sql = format!("SELECT {COLUMNS} FROM jobs ORDER BY id DESC LIMIT $1");
        let query = sqlx::query(AssertSqlSafe(sql)).bind(limit);
        let rows = query.fetch_all(self.pool()).await?;
        rows.iter().map(Job::of_row).collect()
    }
}

/// The job of this id, which must be there.
pub(super) async fn must_be(connection: &mut AnyConnection, id: i64) -> Result<Job, StoreError> {
    let sql = AssertSqlSafe(format!("SELECT {COLUMNS} FROM jobs WHERE id = $1"));
    let row = sqlx::query(sql).bind(id).fetch_optional(connection).await?;
    Job::of_row(&row.ok_or_else(|| StoreError::missing("job", id))?)
}

/// Appends the event of a job that went from one state to another.
pub(super) async fn moved(
    write: &mut Write,
    was: JobState,
    job: &Job,
    deed: &str,
) -> Result<(), StoreError> {
    let before = json!({ "state": was });
    let mut after = json!({ "state": job.state });
    for (name, value) in [("result", &job.result), ("error", &job.error)] {
        if let Some(value) = value {
            after[name] = value.clone();
        }
    }
    write
        .event("job.changed", deed, job.id, before, after)
        .await
}
