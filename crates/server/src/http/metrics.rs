//! What is counted, in Prometheus' text format.

use std::{
    collections::BTreeMap,
    fmt::Write as _,
    sync::{
        Mutex,
        atomic::{AtomicI64, AtomicU64, Ordering::Relaxed},
    },
    time::{Duration, Instant},
};

use axum::{
    extract::{MatchedPath, Request, State},
    middleware::Next,
    response::Response,
};

use super::reply::{File, Plain};
use crate::App;

/// Upper limits of the latency classes, s.
const CLASSES_S: [f64; 9] = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 5.0];

#[derive(Debug, Default, Clone)]
struct Latency {
    classes: [u64; CLASSES_S.len()],
    count: u64,
    sum_s: f64,
}

/// Counters of a running server.
#[derive(Debug, Default)]
pub struct Metrics {
    requests: Mutex<BTreeMap<(String, String, u16), u64>>,
    latencies: Mutex<BTreeMap<String, Latency>>,
    jobs: Mutex<BTreeMap<(String, &'static str), u64>>,
    /// Events that were heard since the start.
    pub events: AtomicU64,
    /// Clients that listen to the live view now.
    pub listeners: AtomicI64,
}

fn open<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
}

impl Metrics {
    fn request(&self, method: &str, path: &str, status: u16, took: Duration) {
        let key = (method.to_owned(), path.to_owned(), status);
        *open(&self.requests).entry(key).or_default() += 1;
        let took_s = took.as_secs_f64();
        let mut latencies = open(&self.latencies);
        let latency = latencies.entry(path.to_owned()).or_default();
        latency.count += 1;
        latency.sum_s += took_s;
        for (class, limit) in latency.classes.iter_mut().zip(CLASSES_S) {
            *class += u64::from(took_s <= limit);
        }
    }

    /// Counts the end of a job.
    pub fn job(&self, kind: &str, end: &'static str) {
        *open(&self.jobs).entry((kind.to_owned(), end)).or_default() += 1;
    }

    /// Everything as text.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        // Writing to a string can't fail.
        let mut line = |text: std::fmt::Arguments| {
            let _ = writeln!(out, "{text}");
        };
        line(format_args!("# TYPE lentic_requests_total counter"));
        for ((method, path, status), n) in open(&self.requests).iter() {
            line(format_args!(
                "lentic_requests_total{{method=\"{method}\",path=\"{path}\",status=\"{status}\"}} {n}"
            ));
        }
        line(format_args!("# TYPE lentic_request_seconds histogram"));
        for (path, latency) in open(&self.latencies).iter() {
            for (class, limit) in latency.classes.iter().zip(CLASSES_S) {
                line(format_args!(
                    "lentic_request_seconds_bucket{{path=\"{path}\",le=\"{limit}\"}} {class}"
                ));
            }
            let (count, sum) = (latency.count, latency.sum_s);
            line(format_args!(
                "lentic_request_seconds_bucket{{path=\"{path}\",le=\"+Inf\"}} {count}"
            ));
            line(format_args!(
                "lentic_request_seconds_sum{{path=\"{path}\"}} {sum}"
            ));
            line(format_args!(
                "lentic_request_seconds_count{{path=\"{path}\"}} {count}"
            ));
        }
        line(format_args!("# TYPE lentic_jobs_total counter"));
        for ((kind, end), n) in open(&self.jobs).iter() {
            line(format_args!(
                "lentic_jobs_total{{kind=\"{kind}\",end=\"{end}\"}} {n}"
            ));
        }
        line(format_args!("# TYPE lentic_events_total counter"));
        line(format_args!(
            "lentic_events_total {}",
            self.events.load(Relaxed)
        ));
        line(format_args!("# TYPE lentic_listeners gauge"));
        line(format_args!(
            "lentic_listeners {}",
            self.listeners.load(Relaxed)
        ));
        out
    }
}

/// Counts a request and how long its answer took.
pub async fn count(State(app): State<App>, request: Request, next: Next) -> Response {
    let began = Instant::now();
    let method = request.method().as_str().to_owned();
    // The pattern, never the path itself: a stranger can't make up series.
    let path = request
        .extensions()
        .get::<MatchedPath>()
        .map_or_else(|| "other".to_owned(), |path| path.as_str().to_owned());
    let response = next.run(request).await;
    let (status, took) = (response.status().as_u16(), began.elapsed());
    tracing::debug!(%method, %path, status, took_ms = took.as_secs_f64() * 1e3, "answered");
    app.metrics.request(&method, &path, status, took);
    response
}

/// `/metrics`.
pub async fn show(State(app): State<App>) -> File<Plain> {
    File::new(app.metrics.text())
}
