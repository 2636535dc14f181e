//! Claiming: each job is one worker's, and a dead worker's job is claimed again.

use serde_json::{Value, json};
use sqlx::{AssertSqlSafe, Row};

use super::{
    Job, JobState,
    read::{COLUMNS, moved, must_be},
};
use crate::{By, Live, Store, StoreError, open::Dialect, write::Write};

/// How often a job is begun before it is given up: one that takes the program down with
/// it must not do so for ever.
const MOST_ATTEMPTS: i64 = 3;

impl Store {
    /// Claims the oldest job that waits, or whose worker hasn't been heard for `silence_ms`.
    ///
    /// `by.who` is the worker: a name that no other process or task has. `kinds` are what
    /// it can do; empty for all.
    ///
    /// # Errors
    /// When the database fails.
    pub async fn claim_job(
        &self,
        by: &By,
        kinds: &[&str],
        silence_ms: i64,
    ) -> Result<Option<Job>, StoreError> {
        let dead_before_ms = by.at_ms - silence_ms;
        let mut write = self.write(by).await?;
        give_up(&mut write, dead_before_ms).await?;
        let skip = match write.dialect() {
            Dialect::Sqlite => "",
            Dialect::Postgres => "FOR UPDATE SKIP LOCKED",
        };
        let places: Vec<String> = (4..4 + kinds.len()).map(|n| format!("${n}")).collect();
        let of_kind = match kinds.is_empty() {
            true => String::new(),
            false => format!("AND kind IN ({})", places.join(", ")),
        };
        let sql = format!(
            "UPDATE jobs SET state = 'running', worker = $1, heartbeat_at_ms = $2, \
             changed_at_ms = $2, attempts = attempts + 1, progress = 0, step = '' \
             WHERE id = (SELECT id FROM jobs WHERE \
             (state = 'waiting' OR (state = 'running' AND heartbeat_at_ms < $3)) {of_kind} \
             ORDER BY id LIMIT 1 {skip}) RETURNING {COLUMNS}"
        );
        let query = sqlx::query(AssertSqlSafe(sql));
        let query = query.bind(&by.who).bind(by.at_ms).bind(dead_before_ms);
        let query = kinds
            .iter()
            .fold(query, |query, kind| query.bind((*kind).to_owned()));
        let Some(row) = query.fetch_optional(write.conn()).await? else {
            write.commit().await?;
            return Ok(None);
        };
        let job = Job::of_row(&row)?;
        let (was, deed) = match job.attempts {
            1 => (JobState::Waiting, "begun"),
            _ => (JobState::Running, "begun again"),
        };
        moved(&mut write, was, &job, deed).await?;
        write.commit().await?;
        Ok(Some(job))
    }

    /// Says how far a job is and that its worker lives; whether a person wishes it to stop.
    ///
    /// # Errors
    /// `JobLost` when it isn't this worker's any more, or when the database fails.
    pub async fn job_progress(
        &self,
        by: &By,
        id: i64,
        progress: f64,
        step: &str,
    ) -> Result<bool, StoreError> {
        let mut write = self.write(by).await?;
        let row = sqlx::query(
            "UPDATE jobs SET progress = $3, step = $4, heartbeat_at_ms = $5, changed_at_ms = $5 \
             WHERE id = $1 AND worker = $2 AND state = 'running' RETURNING cancel_wished",
        )
        .bind(id)
        .bind(&by.who)
        .bind(if progress.is_finite() {
            progress.clamp(0.0, 1.0)
        } else {
            0.0
        })
        .bind(step)
        .bind(by.at_ms)
        .fetch_optional(write.conn())
        .await?;
        let cancel: i64 = row
            .ok_or(StoreError::JobLost { job: id })?
            .try_get("cancel_wished")?;
        write.notice(Live::JobProgress {
            job: id,
            at_ms: by.at_ms,
        });
        write.commit().await?;
        Ok(cancel != 0)
    }
}

/// Ends jobs whose workers died too often, and cancels those that nobody is at any more.
async fn give_up(write: &mut Write, dead_before_ms: i64) -> Result<(), StoreError> {
    let rows = sqlx::query(
        "SELECT id FROM jobs WHERE state = 'running' AND heartbeat_at_ms < $1 \
         AND (attempts >= $2 OR cancel_wished = 1) ORDER BY id",
    )
    .bind(dead_before_ms)
    .bind(MOST_ATTEMPTS)
    .fetch_all(write.conn())
    .await?;
    for row in rows {
        let job = must_be(write.conn(), row.try_get("id")?).await?;
        let (state, error, deed) = if job.cancel_wished {
            (JobState::Cancelled, None, "cancelled")
        } else {
            let words = format!(
                "the program stopped {} times while it was at this",
                job.attempts
            );
            let error = json!({ "message": words });
            (JobState::Failed, Some(error), "given up")
        };
        super::end::set(
            write,
            &job,
            state,
            None,
            error.as_ref().map(Value::to_string),
        )
        .await?;
        let job = must_be(write.conn(), job.id).await?;
        moved(write, JobState::Running, &job, deed).await?;
    }
    Ok(())
}
