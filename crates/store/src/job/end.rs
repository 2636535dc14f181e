//! The end of a job: done, failed or cancelled.

use serde_json::Value;

use super::{
    Job, JobState,
    read::{moved, must_be},
};
use crate::{By, Store, StoreError, write::Write};

impl Store {
    /// Gives a job its result.
    ///
    /// # Errors
    /// `JobLost` when it isn't this worker's (`by.who`) any more, or when the database fails.
    pub async fn job_done(&self, by: &By, id: i64, result: &Value) -> Result<Job, StoreError> {
        let text = Some(result.to_string());
        self.end_job(by, id, JobState::Done, text, None, "done")
            .await
    }

    /// Gives a job its error.
    ///
    /// # Errors
    /// As `job_done`.
    pub async fn job_failed(&self, by: &By, id: i64, error: &Value) -> Result<Job, StoreError> {
        let text = Some(error.to_string());
        self.end_job(by, id, JobState::Failed, None, text, "failed")
            .await
    }

    /// Ends a job because a person wished so.
    ///
    /// # Errors
    /// As `job_done`.
    pub async fn job_cancelled(&self, by: &By, id: i64) -> Result<Job, StoreError> {
        self.end_job(by, id, JobState::Cancelled, None, None, "cancelled")
            .await
    }

    /// Puts back a job of this worker that it can't finish, such as when the program ends:
    /// it waits again, and this beginning doesn't count.
    ///
    /// # Errors
    /// As `job_done`.
    pub async fn job_put_back(&self, by: &By, id: i64) -> Result<Job, StoreError> {
        let mut write = self.write(by).await?;
        own(&mut write, id).await?;
        sqlx::query(
            "UPDATE jobs SET state = 'waiting', worker = NULL, heartbeat_at_ms = NULL, \
             attempts = attempts - 1, progress = 0, step = '', changed_at_ms = $2 WHERE id = $1",
        )
        .bind(id)
        .bind(by.at_ms)
        .execute(write.conn())
        .await?;
        let job = must_be(write.conn(), id).await?;
        moved(&mut write, JobState::Running, &job, "put back").await?;
        write.commit().await?;
        Ok(job)
    }

    /// Wishes a job to stop: one that waits is cancelled at once, one that runs is told at
    /// its next progress, one that is over stays as it is.
    ///
    /// # Errors
    /// `Missing`, or when the database fails.
    pub async fn cancel_job(&self, by: &By, id: i64) -> Result<Job, StoreError> {
        let mut write = self.write(by).await?;
        let before = must_be(write.conn(), id).await?;
        match before.state {
            JobState::Waiting => {
                set(&mut write, &before, JobState::Cancelled, None, None).await?;
            }
            JobState::Running if !before.cancel_wished => {
                sqlx::query("UPDATE jobs SET cancel_wished = 1, changed_at_ms = $2 WHERE id = $1")
                    .bind(id)
                    .bind(by.at_ms)
                    .execute(write.conn())
                    .await?;
            }
            _ => return Ok(before),
        }
        let after = must_be(write.conn(), id).await?;
        let deed = match after.state {
            JobState::Cancelled => "cancelled",
            _ => "to be cancelled",
        };
        write
            .change_event("job.changed", deed, id, &before, &after)
            .await?;
        write.commit().await?;
        Ok(after)
    }

    async fn end_job(
        &self,
        by: &By,
        id: i64,
        state: JobState,
        result: Option<String>,
        error: Option<String>,
        deed: &str,
    ) -> Result<Job, StoreError> {
        let mut write = self.write(by).await?;
        let before = own(&mut write, id).await?;
        set(&mut write, &before, state, result, error).await?;
        let job = must_be(write.conn(), id).await?;
        moved(&mut write, before.state, &job, deed).await?;
        write.commit().await?;
        Ok(job)
    }
}

/// The job, if it is this worker's and runs.
async fn own(write: &mut Write, id: i64) -> Result<Job, StoreError> {
    let job = must_be(write.conn(), id).await?;
    if job.state == JobState::Running && job.worker.as_deref() == Some(write.by().who.as_str()) {
        return Ok(job);
    }
    Err(StoreError::JobLost { job: id })
}

/// Sets the last state of a job.
pub(super) async fn set(
    write: &mut Write,
    job: &Job,
    state: JobState,
    result: Option<String>,
    error: Option<String>,
) -> Result<(), StoreError> {
    let at_ms = write.by().at_ms;
    let progress = match state {
        JobState::Done => 1.0,
        _ => job.progress,
    };
    sqlx::query(
        "UPDATE jobs SET state = $2, result = $3, error = $4, progress = $5, changed_at_ms = $6 \
         WHERE id = $1",
    )
    .bind(job.id)
    .bind(state.word())
    .bind(result)
    .bind(error)
    .bind(progress)
    .bind(at_ms)
    .execute(write.conn())
    .await?;
    Ok(())
}
