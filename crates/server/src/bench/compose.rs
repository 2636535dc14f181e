//! Composing: each change is a step, each step can be taken back.

use std::sync::Arc;

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::json;
use workshop::{Composition, composition::BOUNDS};

use super::{
    open::{self, Bench},
    settle,
    view::{self, LayoutView},
};
use crate::{
    App,
    http::{ApiError, At, Body, Reply},
    people::Who,
};

/// Letters of a step's label.
const MOST_LETTERS: usize = 120;

/// A new composition of a layout.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Compose {
    /// The version that it is a change of.
    pub version: i64,
    /// What was done, in words for undo.
    pub label: String,
    /// What is composed now.
    pub composition: Composition,
}

/// The version that somebody saw.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Seen {
    /// The version.
    pub version: i64,
}

/// `PUT /api/layouts/{id}/composition`.
pub async fn put(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Body(asked): Body<Compose>,
) -> Reply<LayoutView> {
    const AT: &str = "/composition";
    if asked.label.trim().is_empty() || asked.label.chars().count() > MOST_LETTERS {
        let message = format!("a label has 1 to {MOST_LETTERS} letters");
        return Err(ApiError::refused(
            "/label",
            message,
            "say in a few words what was done",
        ));
    }
    let value = json!(asked.composition);
    method::bound::check(&value, BOUNDS).map_err(|e| ApiError::from(e).below(AT))?;
    open::within(&asked.composition).map_err(|e| e.below(AT))?;
    let bench = app.benches.of(id);
    let turn = bench.turn.lock().await;
    let laid = open::laid(&app, asked.composition, asked.version + 1, bench.laid()).await;
    let laid = match laid {
        Ok(laid) => laid,
        // What can't be laid may be so because somebody else changed it.
        Err(error) => return Err(stale_first(&app, id, asked.version, error.below(AT)).await),
    };
    let kept = app
        .store
        .compose(&who.by(), id, asked.version, &asked.label, &value)
        .await?;
    app.benches.set(&bench, &Arc::new(laid));
    drop(turn);
    shown(&app, &bench, kept).await
}

/// Says that it is stale, if it is, before what is wrong with it.
async fn stale_first(app: &App, id: i64, seen: i64, error: ApiError) -> ApiError {
    match app.store.layout(id).await {
        Ok(kept) if kept.version == seen => error,
        Ok(kept) => store::StoreError::Stale {
            noun: "layout",
            subject: id.to_string(),
            current: kept.version,
        }
        .into(),
        Err(other) => other.into(),
    }
}

/// `POST /api/layouts/{id}/undo`.
pub async fn undo(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Body(seen): Body<Seen>,
) -> Reply<LayoutView> {
    let kept = app.store.undo(&who.by(), id, seen.version).await?;
    shown(&app, &app.benches.of(id), kept).await
}

/// `POST /api/layouts/{id}/redo`.
pub async fn redo(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Body(seen): Body<Seen>,
) -> Reply<LayoutView> {
    let kept = app.store.redo(&who.by(), id, seen.version).await?;
    shown(&app, &app.benches.of(id), kept).await
}

/// The layout as it is now; settling it begins.
///
/// # Errors
/// When it can't be laid any more.
pub async fn shown(app: &App, bench: &Arc<Bench>, kept: store::Layout) -> Reply<LayoutView> {
    let laid = match bench.laid().filter(|laid| laid.version == kept.version) {
        Some(laid) => laid,
        None => open::current(app, &kept).await?.1,
    };
    settle::want(app, bench, &laid);
    let seen = app.crew.quick(move || view::layout(&kept, &laid)).await?;
    Ok(Json(seen))
}
