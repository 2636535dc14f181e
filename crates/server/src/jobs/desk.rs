//! The desk at which jobs are claimed and done.

use std::{sync::Arc, time::Duration};

use serde_json::Value;
use store::{By, Job, NewJob, StoreError};
use tokio::sync::{Notify, watch};
use tracing::Instrument;

use super::{Ended, Progress};
use crate::{App, bench, clock::now_ms, demo, http::ApiError, taking_in, yard};

/// Work that somebody waits for.
const ASKED: &[&str] = &[taking_in::JOB, bench::settle::JOB];
/// Work that can wait.
const LATER: &[&str] = &[demo::grow::JOB, yard::picture::JOB, bench::pictures::JOB];
/// A worker that was silent for so long is dead.
const SILENCE_MS: i64 = 20_000;
/// How often a running job says that it lives.
const BEAT: Duration = Duration::from_millis(400);
/// A job at which nothing changes says so at every so many beats.
const SELDOM: u64 = 3;
/// How often a worker looks for jobs of other programs.
const LOOK: Duration = Duration::from_secs(5);

/// What workers wait for.
#[derive(Debug)]
pub struct Desk {
    new: Notify,
    closing: watch::Sender<bool>,
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            new: Notify::new(),
            closing: watch::Sender::new(false),
        }
    }
}

impl Desk {
    /// Tells everyone to end.
    pub fn close(&self) {
        self.closing.send_replace(true);
        self.new.notify_waiters();
    }

    /// Whether everyone is to end.
    #[must_use]
    pub fn is_closing(&self) -> bool {
        *self.closing.borrow()
    }

    /// Waits until everyone is to end.
    pub async fn closed(&self) {
        // The sender lives as long as the desk, so this only ends by its word.
        let _ = self.closing.subscribe().wait_for(|closing| *closing).await;
    }
}

/// Puts a job in and wakes a worker.
///
/// # Errors
/// When the store fails.
pub async fn put_in(
    app: &App,
    by: &By,
    kind: &str,
    subject: impl ToString,
    input: Value,
) -> Result<Job, StoreError> {
    let new = NewJob {
        kind: kind.to_owned(),
        subject: subject.to_string(),
        input,
    };
    let job = app.store.add_job(by, new).await?;
    app.desk.new.notify_waiters();
    Ok(job)
}

/// Starts the workers: one for what somebody waits for, one for the rest.
#[must_use]
pub fn workers(app: &App) -> Vec<tokio::task::JoinHandle<()>> {
    [("asked", ASKED), ("later", LATER)]
        .into_iter()
        .map(|(name, kinds)| {
            let worker = format!("{name}-{}", std::process::id());
            tokio::spawn(work(app.clone(), worker, kinds))
        })
        .collect()
}

async fn work(app: App, worker: String, kinds: &'static [&'static str]) {
    while !app.desk.is_closing() {
        // Listening begins before looking, so that no new job falls between.
        let mut new = std::pin::pin!(app.desk.new.notified());
        new.as_mut().enable();
        let by = By::new(&worker, now_ms());
        match app.store.claim_job(&by, kinds, SILENCE_MS).await {
            Ok(Some(job)) => {
                let span = tracing::info_span!("job", id = job.id, kind = %job.kind);
                one(&app, &worker, job).instrument(span).await;
                continue;
            }
            Ok(None) => {}
            Err(error) => tracing::error!(%error, "no job could be claimed"),
        }
        tokio::select! {
            () = new => {}
            () = app.desk.closed() => {}
            () = tokio::time::sleep(LOOK) => {}
        }
    }
}

/// Does one job to its end and says how it ended.
async fn one(app: &App, worker: &str, job: Job) {
    let progress = Progress::default();
    let running = tokio::spawn(run(app.clone(), job.clone(), progress.clone()));
    let beating = beat(app, worker, job.id, &progress);
    let ended = tokio::select! {
        ended = running => ended.unwrap_or_else(|error| Err(ApiError::internal(&error).into())),
        () = beating => Err(Ended::Cancelled),
    };
    let by = By::new(worker, now_ms());
    let (end, kept) = match ended {
        Ok(result) => ("done", app.store.job_done(&by, job.id, &result).await),
        Err(Ended::Cancelled) if app.desk.is_closing() => {
            ("put_back", app.store.job_put_back(&by, job.id).await)
        }
        Err(Ended::Cancelled) => ("cancelled", app.store.job_cancelled(&by, job.id).await),
        Err(Ended::Failed(error)) => {
            tracing::warn!(code = %error.told.code, message = %error.told.message, "the job failed");
            (
                "failed",
                app.store
                    .job_failed(&by, job.id, &Ended::told(&error))
                    .await,
            )
        }
    };
    app.metrics.job(&job.kind, end);
    match kept {
        Ok(_) => tracing::info!(end, "the job ended"),
        Err(error) => tracing::error!(%error, "the end of a job could not be kept"),
    }
}

/// Says how far the job is until it is over; ends early when the job was lost.
async fn beat(app: &App, worker: &str, id: i64, progress: &Progress) {
    let mut told = (0.0, String::new());
    for n in 1u64.. {
        tokio::select! {
            () = tokio::time::sleep(BEAT) => {}
            () = app.desk.closed() => {
                progress.cancel();
                // The job ends by itself at its next step; the caller waits for that.
                return std::future::pending().await;
            }
        }
        let at = progress.at();
        // Each word is a write to the disk: said when something changed, or now and then.
        if at == told && !n.is_multiple_of(SELDOM) {
            continue;
        }
        told.clone_from(&at);
        let (share, step) = at;
        let by = By::new(worker, now_ms());
        match app.store.job_progress(&by, id, share, &step).await {
            Ok(true) => progress.cancel(),
            Ok(false) => {}
            Err(StoreError::JobLost { .. }) => {
                progress.cancel();
                return;
            }
            Err(error) => tracing::warn!(%error, "a job's progress could not be kept"),
        }
    }
}

async fn run(app: App, job: Job, progress: Progress) -> Result<Value, Ended> {
    let job = Arc::new(job);
    match job.kind.as_str() {
        taking_in::JOB => taking_in::job::run(&app, &job, &progress).await,
        bench::settle::JOB => bench::settle::run(&app, &job, &progress).await,
        bench::pictures::JOB => bench::pictures::run(&app, &job, &progress).await,
        yard::picture::JOB => yard::picture::run(&app, &job, &progress).await,
        demo::grow::JOB => demo::grow::run(&app, &job, &progress).await,
        other => Err(ApiError::missing(format!("job of kind {other}")).into()),
    }
}
