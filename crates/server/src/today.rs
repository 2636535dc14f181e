//! Today: only what needs a person.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Serialize;
use store::{CommissionState, JobState, MassCertainty, PieceFilter, PieceSort, PieceState};

use crate::{
    App,
    clock::now_ms,
    commissions::number,
    http::{Api, ApiError, Reply},
};

/// Pieces that are named at most.
const NAMED: i64 = 6;
/// Holds that are named at most.
const HOLDS: i64 = 50;
/// Jobs that are looked through.
const JOBS: i64 = 50;
/// A failed job is old after this.
const OLD_MS: i64 = 3 * 24 * 3600 * 1000;
/// A hold that lapses within this needs a look.
const SOON_MS: i64 = 2 * 24 * 3600 * 1000;

/// What needs a person.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Today {
    /// The most urgent first.
    pub items: Vec<Item>,
}

/// One thing that needs a person.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Item {
    /// What kind of thing.
    pub kind: String,
    /// In a few words.
    pub title: String,
    /// What to do.
    pub text: String,
    /// Where to do it.
    pub href: String,
    /// Since or until when, Unix milliseconds.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_ms: Option<i64>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("today")
        .get("/api/today", get, "Only what needs a person")
}

async fn get(State(app): State<App>) -> Reply<Today> {
    let mut items = holds(&app).await?;
    items.extend(falling(&app).await?);
    items.extend(failed(&app).await?);
    items.extend(enquiries(&app).await?);
    items.extend(in_preparation(&app).await?);
    items.extend(never_weighed(&app).await?);
    Ok(Json(Today { items }))
}

fn item(
    kind: &str,
    title: String,
    text: impl Into<String>,
    href: String,
    at_ms: Option<i64>,
) -> Item {
    Item {
        kind: kind.to_owned(),
        title,
        text: text.into(),
        href,
        at_ms,
    }
}

async fn holds(app: &App) -> Result<Vec<Item>, ApiError> {
    let filter = PieceFilter {
        states: vec![PieceState::Held],
        held_until_ms: Some(now_ms() + SOON_MS),
        ..PieceFilter::default()
    };
    let held = app
        .store
        .pieces(&filter, PieceSort::Tag, false, 0, HOLDS)
        .await?;
    let lapsing = held.pieces.into_iter().filter_map(|card| {
        let until = card.hold.as_ref()?.until_ms?;
        let word = if until < now_ms() {
            "has lapsed"
        } else {
            "lapses soon"
        };
        let title = format!("{}: its hold {word}", card.tag);
        let text = "Ask the customer, or let it go.";
        let href = format!("/yard/{}", card.tag);
        Some(item("hold_lapses", title, text, href, Some(until)))
    });
    Ok(lapsing.collect())
}

async fn falling(app: &App) -> Result<Vec<Item>, ApiError> {
    let layouts = app.store.layouts().await?;
    Ok(layouts
        .into_iter()
        .filter(|layout| layout.stands == Some(false))
        .map(|layout| {
            let title = format!("{} doesn’t stand", layout.title);
            let text = "Open it on the bench: it says which piece moves, and why.";
            item(
                "layout_falls",
                title,
                text,
                format!("/bench/{}", layout.id),
                Some(layout.changed_at_ms),
            )
        })
        .collect())
}

async fn failed(app: &App) -> Result<Vec<Item>, ApiError> {
    let since = now_ms() - OLD_MS;
    let jobs = app.store.jobs(JOBS).await?;
    Ok(jobs
        .into_iter()
        .filter(|job| job.state == JobState::Failed && job.changed_at_ms > since)
        .map(|job| {
            let why = job
                .error
                .as_ref()
                .and_then(|error| error.get("message")?.as_str())
                .unwrap_or("the job failed")
                .to_owned();
            let (title, href) = match job.kind.as_str() {
                crate::taking_in::JOB => (
                    format!("{} was not taken in", job.subject),
                    "/yard".to_owned(),
                ),
                crate::bench::settle::JOB => (
                    "A layout was not settled".to_owned(),
                    format!("/bench/{}", job.subject),
                ),
                _ => (
                    format!("A job failed: {}", job.kind.replace('_', " ")),
                    "/yard".to_owned(),
                ),
            };
            item("job_failed", title, why, href, Some(job.changed_at_ms))
        })
        .collect())
}

async fn enquiries(app: &App) -> Result<Vec<Item>, ApiError> {
    let all = app.store.commissions().await?;
    Ok(all
        .into_iter()
        .filter(|c| c.state == CommissionState::Enquiry && c.n_layouts == 0)
        .map(|c| {
            let title = format!("{} {} waits for a layout", number(c.number), c.customer);
            item(
                "enquiry",
                title,
                "Begin a layout for it.",
                format!("/commissions/{}", c.id),
                Some(c.changed_at_ms),
            )
        })
        .collect())
}

async fn in_preparation(app: &App) -> Result<Vec<Item>, ApiError> {
    let filter = PieceFilter {
        states: vec![PieceState::InPreparation],
        ..PieceFilter::default()
    };
    let found = app
        .store
        .pieces(&filter, PieceSort::Received, false, 0, NAMED)
        .await?;
    let Some(oldest) = found.pieces.first() else {
        return Ok(Vec::new());
    };
    let title = match found.total {
        1 => format!("{} is in preparation", oldest.tag),
        n => format!("{n} pieces are in preparation"),
    };
    let text = format!(
        "{}: set them ready when they are clean, soaked or cured.",
        named(&found)
    );
    let href = "/yard?state=in_preparation".to_owned();
    Ok(vec![item(
        "in_preparation",
        title,
        text,
        href,
        Some(oldest.received_at_ms),
    )])
}

fn named(list: &store::PieceList) -> String {
    let tags: Vec<String> = list
        .pieces
        .iter()
        .map(|card| card.tag.to_string())
        .collect();
    let more = list.total - tags.len() as i64;
    match more {
        0 => tags.join(", "),
        n => format!("{} and {n} more", tags.join(", ")),
    }
}

async fn never_weighed(app: &App) -> Result<Vec<Item>, ApiError> {
    let filter = |certainty| PieceFilter {
        states: vec![
            PieceState::InPreparation,
            PieceState::Ready,
            PieceState::OnDisplay,
            PieceState::Held,
        ],
        mass_certainty: Some(certainty),
        ..PieceFilter::default()
    };
    let (estimated, assumed) = (
        filter(MassCertainty::Estimated),
        filter(MassCertainty::Assumed),
    );
    let (mut found, others) = tokio::try_join!(
        app.store
            .pieces(&estimated, PieceSort::Tag, false, 0, NAMED),
        app.store.pieces(&assumed, PieceSort::Tag, false, 0, NAMED),
    )?;
    found.total += others.total;
    found.pieces.extend(others.pieces);
    found.pieces.truncate(NAMED as usize);
    let Some(first) = found.pieces.first().map(|card| card.tag) else {
        return Ok(Vec::new());
    };
    let title = match found.total {
        1 => format!("{first} was never weighed"),
        n => format!("{n} pieces were never weighed"),
    };
    let text = format!(
        "{}: their mass is estimated from the scan; put them on the scale.",
        named(&found)
    );
    let href = format!("/yard/{first}");
    Ok(vec![item("never_weighed", title, text, href, None)])
}
