//! Jobs as a client sees them.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use store::Job;

use crate::{
    App,
    http::{Api, At, Reply},
    people::Who,
};

/// Jobs in a list.
const NEWEST: i64 = 50;

/// A job.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct JobView {
    /// Its id.
    pub id: i64,
    /// What kind of work.
    pub kind: String,
    /// What it is about: a tag or an id.
    pub subject: String,
    /// How it stands.
    pub state: StateWord,
    /// How far it is, 0 to 1.
    pub progress: f64,
    /// What it does now.
    pub step: String,
    /// What it gave.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub result: Option<Value>,
    /// Why it failed: `code`, `path`, `message`, `hint`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error: Option<Value>,
    /// When it was put in, Unix milliseconds.
    pub created_at_ms: i64,
}

/// How a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(rename = "JobState")]
pub enum StateWord {
    /// Nobody has begun it.
    Waiting,
    /// It is being done.
    Running,
    /// It gave its result.
    Done,
    /// It can't be done.
    Failed,
    /// Nobody wanted it any more.
    Cancelled,
}

impl From<store::JobState> for StateWord {
    fn from(state: store::JobState) -> Self {
        use store::JobState as S;
        match state {
            S::Waiting => Self::Waiting,
            S::Running => Self::Running,
            S::Done => Self::Done,
            S::Failed => Self::Failed,
            S::Cancelled => Self::Cancelled,
        }
    }
}

/// A job that was started.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Started {
    /// Its id.
    pub job: i64,
}

impl From<Job> for JobView {
    fn from(job: Job) -> Self {
        Self {
            id: job.id,
            kind: job.kind,
            subject: job.subject,
            state: job.state.into(),
            progress: job.progress,
            step: job.step,
            result: job.result,
            error: job.error,
            created_at_ms: job.created_at_ms,
        }
    }
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("jobs")
        .get("/api/jobs", list, "The newest jobs, without their results")
        .get("/api/jobs/{id}", get, "One job")
        .delete("/api/jobs/{id}", cancel, "Asks a job to stop")
}

async fn list(State(app): State<App>) -> Reply<Vec<JobView>> {
    let jobs = app.store.jobs(NEWEST).await?;
    let without_result = |job: Job| JobView {
        result: None,
        ..job.into()
    };
    Ok(Json(jobs.into_iter().map(without_result).collect()))
}

async fn get(State(app): State<App>, At(id): At<i64>) -> Reply<JobView> {
    Ok(Json(app.store.job(id).await?.into()))
}

async fn cancel(State(app): State<App>, who: Who, At(id): At<i64>) -> Reply<JobView> {
    Ok(Json(app.store.cancel_job(&who.by(), id).await?.into()))
}
