//! The live view: what changed, as it changes.

use std::{
    collections::VecDeque,
    convert::Infallible,
    sync::{Arc, atomic::Ordering::Relaxed},
    time::Duration,
};

use axum::{
    extract::State,
    http::HeaderMap,
    response::{
        IntoResponse, Response,
        sse::{Event as Line, KeepAlive, Sse},
    },
};
use futures_util::{Stream, stream::unfold};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use store::{Event, Live};
use tokio::sync::broadcast::{Receiver, error::RecvError};

use crate::{
    App,
    http::{Api, ApiError},
};

/// Events that are read at once when a client catches up.
const PAGE: i64 = 500;
/// A client that missed more is told to read everything anew.
const MOST_MISSED: i64 = 5000;
/// How often a quiet stream says that it lives.
const HEARTBEAT: Duration = Duration::from_secs(15);

/// One change, as the live view and the history show it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct EventView {
    /// Counts up; 0 for a job's progress, which is not kept.
    pub id: i64,
    /// Noun and kind of change, such as `piece.changed`.
    pub what: String,
    /// Tag or id.
    pub subject: String,
    /// When, Unix milliseconds.
    pub at_ms: i64,
    /// By whom.
    pub who: String,
    /// What was done, for a person.
    pub deed: String,
}

impl From<&Event> for EventView {
    fn from(event: &Event) -> Self {
        Self {
            id: event.id,
            what: event.what.clone(),
            subject: event.subject.clone(),
            at_ms: event.at_ms,
            who: event.who.clone(),
            deed: event.deed.clone(),
        }
    }
}

/// One line of a thing's history.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct HistoryLine {
    /// What the live view says of it.
    #[serde(flatten)]
    pub event: EventView,
    /// The fields that changed, as they were; null for a new thing.
    pub before: Value,
    /// The fields that changed, as they became; null for a thing that is gone.
    pub after: Value,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("live").get(
        "/api/events",
        stream,
        "Changes as they happen (text/event-stream); resumes by Last-Event-ID",
    )
}

struct Listening {
    app: App,
    live: Receiver<Live>,
    /// The newest event that was sent or needn't be.
    sent: i64,
    waiting: VecDeque<Arc<Event>>,
    catching_up: bool,
}

impl Drop for Listening {
    fn drop(&mut self) {
        self.app.metrics.listeners.fetch_sub(1, Relaxed);
    }
}

async fn stream(State(app): State<App>, headers: HeaderMap) -> Result<Response, ApiError> {
    // Listening begins before the last event is read, so that none falls between.
    let live = app.store.listen();
    let newest = app.store.last_event().await?;
    let last: Option<i64> = headers
        .get("last-event-id")
        .and_then(|value| value.to_str().ok()?.trim().parse().ok());
    let sent = match last {
        Some(last) if (0..=newest).contains(&last) => last.max(newest - MOST_MISSED),
        _ => newest,
    };
    app.metrics.listeners.fetch_add(1, Relaxed);
    let listening = Listening {
        app,
        live,
        sent,
        waiting: VecDeque::new(),
        catching_up: sent < newest,
    };
    let heartbeat = KeepAlive::new().interval(HEARTBEAT).text("alive");
    Ok(Sse::new(lines(listening))
        .keep_alive(heartbeat)
        .into_response())
}

fn lines(listening: Listening) -> impl Stream<Item = Result<Line, Infallible>> {
    unfold(listening, |mut listening| async move {
        let view = listening.next().await?;
        let mut line = Line::default();
        if view.id > 0 {
            line = line.id(view.id.to_string());
        }
        let text = serde_json::to_string(&view).unwrap_or_default();
        Some((Ok(line.data(text)), listening))
    })
}

impl Listening {
    /// The next thing to send; nothing when the store is closed.
    async fn next(&mut self) -> Option<EventView> {
        loop {
            if let Some(event) = self.waiting.pop_front() {
                self.sent = event.id;
                return Some(EventView::from(&*event));
            }
            if self.catching_up {
                self.catch_up().await?;
                continue;
            }
            let heard = tokio::select! {
                heard = self.live.recv() => heard,
                () = self.app.desk.closed() => return None,
            };
            match heard {
                Ok(Live::Event(event)) if event.id > self.sent => self.waiting.push_back(event),
                Ok(Live::Event(_)) => {}
                Ok(Live::JobProgress { job, at_ms }) => return Some(progress(job, at_ms)),
                Err(RecvError::Lagged(_)) => self.catching_up = true,
                Err(RecvError::Closed) => return None,
            }
        }
    }

    async fn catch_up(&mut self) -> Option<()> {
        let events = match self.app.store.events_after(self.sent, PAGE).await {
            Ok(events) => events,
            Err(error) => {
                tracing::warn!(%error, "a listener could not catch up");
                return None;
            }
        };
        self.catching_up = events.len() as i64 == PAGE;
        self.waiting.extend(events.into_iter().map(Arc::new));
        Some(())
    }
}

fn progress(job: i64, at_ms: i64) -> EventView {
    EventView {
        id: 0,
        what: "job.changed".to_owned(),
        subject: job.to_string(),
        at_ms,
        who: String::new(),
        deed: "got on".to_owned(),
    }
}

/// Counts events for `/metrics` until the store closes.
pub async fn count(app: App) {
    let mut live = app.store.listen();
    loop {
        match live.recv().await {
            Ok(Live::Event(_)) => {
                app.metrics.events.fetch_add(1, Relaxed);
            }
            Ok(Live::JobProgress { .. }) => {}
            Err(RecvError::Lagged(n)) => {
                app.metrics.events.fetch_add(n, Relaxed);
            }
            Err(RecvError::Closed) => return,
        }
    }
}

/// The newest of a thing's history.
///
/// # Errors
/// When the store fails.
pub async fn history(app: &App, noun: &str, subject: &str) -> Result<Vec<HistoryLine>, ApiError> {
    const SHOWN: i64 = 50;
    let events = app.store.history(noun, subject, SHOWN).await?;
    let line = |event: Event| HistoryLine {
        event: EventView::from(&event),
        before: event.before,
        after: event.after,
    };
    Ok(events.into_iter().map(line).collect())
}
