//! A piece's picture.

use std::sync::Arc;

use axum::extract::State;
use bytes::Bytes;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use store::{By, Job};

use super::tag_of;
use crate::{
    App,
    bench::shapes,
    clock::now_ms,
    http::{
        Api, ApiError, At,
        reply::{File, Png},
    },
    jobs::{Ended, Progress},
    taking_in::{look, measures::likeliest},
};

/// The kind of a job that draws a piece.
pub const JOB: &str = "piece_picture";
/// Who draws.
const SELF: &str = "lentic";

/// The piece to draw.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Input {
    /// Its tag.
    pub tag: String,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get(
        "/api/pieces/{tag}/picture.png",
        get,
        "The piece as it lies, drawn from its scan",
    )
}

async fn get(State(app): State<App>, At(tag): At<String>) -> Result<File<Png>, ApiError> {
    let piece = app.store.piece(tag_of(&tag)?).await?;
    let object = piece
        .card
        .picture
        .ok_or_else(|| ApiError::missing("picture yet: it is being drawn"))?;
    let bytes = app.store.objects().get(&object).await?;
    Ok(File::new(bytes).named(object.hex()))
}

/// Draws a piece.
///
/// # Errors
/// When there is no such piece, or it has no scan.
pub async fn run(app: &App, job: &Arc<Job>, progress: &Progress) -> Result<Value, Ended> {
    let input: Input =
        serde_json::from_value(job.input.clone()).map_err(|error| ApiError::internal(&error))?;
    let tag = tag_of(&input.tag)?;
    progress.go_on(0.1, "reading the scan")?;
    let piece = app.store.piece(tag).await?;
    let held = shapes::held(app, &piece).await?;
    progress.go_on(0.3, "drawing")?;
    let bytes = app
        .crew
        .long(move || {
            let turn = likeliest(held.shape.measure());
            look::png(&look::picture(&held.look, tag.kind(), turn))
        })
        .await?
        .map_err(|error| ApiError::internal(&error))?;
    let kept = app.store.objects().put(Bytes::from(bytes)).await?;
    let by = By::new(SELF, now_ms());
    app.store.set_piece_picture(&by, tag, &kept.id).await?;
    Ok(json!({ "tag": input.tag }))
}
