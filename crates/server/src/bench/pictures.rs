//! Pictures of layouts and their revisions.

use std::sync::Arc;

use axum::extract::State;
use bytes::Bytes;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use store::{By, Job, ObjectId};
use workshop::{
    Reckoning,
    reckoning::{AsPut, Stands},
};

use super::{
    open::{self, Bench, Laid, current},
    reckon, settle,
};
use crate::{
    App,
    clock::now_ms,
    http::{
        Api, ApiError, At,
        reply::{File, Glb, Png},
    },
    jobs::{Ended, Progress},
    scene::View,
    taking_in::look::png,
};

/// The kind of a job that draws a revision.
pub const JOB: &str = "revision_picture";
/// Pixels of a picture in a list.
const CARD_PIXELS: f64 = 2.4e5;
/// Pixels of a revision's picture, to be seen side by side.
const REVISION_PIXELS: f64 = 6e5;
/// Who draws.
const SELF: &str = "lentic";

/// The revision to draw.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Input {
    /// The layout.
    pub layout: i64,
    /// The revision's number.
    pub number: i64,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get(
        "/api/layouts/{id}/picture.png",
        picture,
        "The layout's picture in lists",
    )
    .get(
        "/api/layouts/{id}/front.png",
        front,
        "The layout from the front, drawn now",
    )
    .get(
        "/api/layouts/{id}/plan.png",
        plan,
        "The layout from above, drawn now",
    )
    .get(
        "/api/layouts/{id}/layout.glb",
        scene,
        "The scene at true scale, a named node for each thing",
    )
}

/// Every figure in one value, as documents and pictures read it.
#[must_use]
pub fn whole(figures: &AsPut, stands: &Stands) -> Reckoning {
    Reckoning {
        stands: stands.clone(),
        ground: figures.ground.clone(),
        water: figures.water.clone(),
        weight: figures.weight.clone(),
        price: figures.price.clone(),
    }
}

/// No settling at all: pieces are drawn where they are put.
fn as_they_are_put() -> Stands {
    Stands {
        pieces: Vec::new(),
        settled: None,
        findings: Vec::new(),
        cautions: Vec::new(),
    }
}

/// What is seen of a laid version.
#[must_use]
pub fn view(laid: &Laid, figures: &AsPut, stands: &Stands) -> View {
    View::of(
        &laid.layout,
        &laid.composition,
        &whole(figures, stands),
        &laid.looks(),
    )
}

/// Draws a layout for lists, unless a newer version came in the meantime.
///
/// # Errors
/// When it can't be drawn or kept.
pub async fn of_layout(
    app: &App,
    bench: &Arc<Bench>,
    laid: &Arc<Laid>,
    stands: &Arc<Stands>,
) -> Result<(), ApiError> {
    let is_newest = || {
        bench
            .laid()
            .is_some_and(|newest| Arc::ptr_eq(&newest, laid))
    };
    if !is_newest() || app.desk.is_closing() {
        return Ok(());
    }
    let figures = reckon::as_put(app, bench, laid).await?;
    let (of, stands) = (Arc::clone(laid), Arc::clone(stands));
    let bytes = app
        .crew
        .long(move || png(&view(&of, &figures, &stands).front_of(CARD_PIXELS)))
        .await?
        .map_err(|error| ApiError::internal(&error))?;
    if !is_newest() {
        return Ok(());
    }
    let kept = app.store.objects().put(Bytes::from(bytes)).await?;
    let by = By::new(SELF, now_ms());
    app.store
        .set_layout_picture(&by, bench.id, &kept.id)
        .await?;
    Ok(())
}

/// Draws a revision.
///
/// # Errors
/// When it can't be laid or drawn.
pub async fn run(app: &App, job: &Arc<Job>, progress: &Progress) -> Result<Value, Ended> {
    let input: Input =
        serde_json::from_value(job.input.clone()).map_err(|error| ApiError::internal(&error))?;
    progress.go_on(0.1, "letting the pieces down")?;
    let kept = app.store.revision(input.layout, input.number).await?;
    let composition = open::read(&kept.composition)?;
    let laid = Arc::new(open::laid(app, composition, kept.card.version, None).await?);
    let bench = Arc::new(Bench::alone(input.layout));
    let figures = reckon::as_put(app, &bench, &laid).await?;
    progress.go_on(0.3, "drawing")?;
    let bytes = app
        .crew
        .long(move || png(&view(&laid, &figures, &as_they_are_put()).front_of(REVISION_PIXELS)))
        .await?
        .map_err(|error| ApiError::internal(&error))?;
    let object = app.store.objects().put(Bytes::from(bytes)).await?;
    let by = By::new(SELF, now_ms());
    app.store
        .set_revision_picture(&by, input.layout, input.number, &object.id)
        .await?;
    Ok(json!({ "picture": object.id.hex() }))
}

async fn picture(State(app): State<App>, At(id): At<i64>) -> Result<File<Png>, ApiError> {
    let object: ObjectId = app
        .store
        .layout(id)
        .await?
        .picture
        .ok_or_else(|| ApiError::missing("picture yet: it is being drawn"))?;
    let bytes = app.store.objects().get(&object).await?;
    Ok(File::new(bytes).named(object.hex()))
}

/// A layout, settled and reckoned, as it is drawn.
async fn seen(app: &App, id: i64) -> Result<(View, String), ApiError> {
    let kept = app.store.layout(id).await?;
    let (bench, laid) = current(app, &kept).await?;
    let figures = reckon::as_put(app, &bench, &laid).await?;
    let stands = settle::stands(app, &bench, &laid).await?;
    let view = app
        .crew
        .quick(move || view(&laid, &figures, &stands))
        .await?;
    Ok((view, kept.title))
}

async fn front(State(app): State<App>, At(id): At<i64>) -> Result<File<Png>, ApiError> {
    let (view, title) = seen(&app, id).await?;
    let bytes = app.crew.long(move || png(&view.front())).await?;
    let bytes = bytes.map_err(|error| ApiError::internal(&error))?;
    Ok(File::new(bytes).called(format!("{title} front.png")))
}

async fn plan(State(app): State<App>, At(id): At<i64>) -> Result<File<Png>, ApiError> {
    let (view, title) = seen(&app, id).await?;
    let bytes = app.crew.long(move || png(&view.plan())).await?;
    let bytes = bytes.map_err(|error| ApiError::internal(&error))?;
    Ok(File::new(bytes).called(format!("{title} plan.png")))
}

async fn scene(State(app): State<App>, At(id): At<i64>) -> Result<File<Glb>, ApiError> {
    let (view, title) = seen(&app, id).await?;
    let bytes = app.crew.long(move || view.glb()).await?;
    Ok(File::new(bytes).called(format!("{title}.glb")))
}
