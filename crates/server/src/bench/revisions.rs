//! Numbered revisions: kept, looked at, brought back.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::json;
use workshop::Composition;

use super::{
    compose::{Seen, shown},
    open, pictures, reckon,
    view::{self, LayoutView, PlacedView, RevisionView},
};
use crate::{
    App,
    http::{
        Api, ApiError, At, Body, Reply,
        reply::{File, Png},
    },
    jobs::desk,
    people::Who,
};

/// Letters of a note.
const MOST_LETTERS: usize = 1000;

/// A layout to be kept as a revision.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Keep {
    /// The version that was seen.
    pub version: i64,
    /// What the builder says of it.
    pub note: String,
}

/// A revision, laid.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RevisionPage {
    /// What a list shows of it.
    #[serde(flatten)]
    pub card: RevisionView,
    /// What was composed.
    pub composition: Composition,
    /// Where each piece lies, in the order of the composition.
    pub placed: Vec<PlacedView>,
    /// The tank's inside: length, width, height.
    pub inside_mm: [f64; 3],
    /// The ground of the revision, as `ground` of a layout.
    pub ground: super::ground::GroundView,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.post(
        "/api/layouts/{id}/revisions",
        keep,
        "Keeps the layout as its next revision",
    )
    .get(
        "/api/layouts/{id}/revisions/{number}",
        get,
        "A revision, its pieces let down",
    )
    .post(
        "/api/layouts/{id}/revisions/{number}/restore",
        restore,
        "Composes the layout as in a revision: one more step",
    )
    .get(
        "/api/layouts/{id}/revisions/{number}/front.png",
        picture,
        "A revision's picture",
    )
}

async fn keep(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Body(asked): Body<Keep>,
) -> Reply<LayoutView> {
    if asked.note.chars().count() > MOST_LETTERS {
        let message = format!("over {MOST_LETTERS} letters");
        return Err(ApiError::refused("/note", message, "shorten it"));
    }
    let by = who.by();
    let kept = app
        .store
        .keep_revision(&by, id, asked.version, &asked.note)
        .await?;
    if let Some(newest) = kept.revisions.last() {
        let input = json!(pictures::Input {
            layout: id,
            number: newest.number
        });
        desk::put_in(&app, &by, pictures::JOB, id, input).await?;
    }
    shown(&app, &app.benches.of(id), kept).await
}

async fn get(State(app): State<App>, At((id, number)): At<(i64, i64)>) -> Reply<RevisionPage> {
    let kept = app.store.revision(id, number).await?;
    let composition = open::read(&kept.composition)?;
    let bench = std::sync::Arc::new(open::Bench::alone(id));
    let laid = open::laid(&app, composition, kept.card.version, None).await?;
    let laid = std::sync::Arc::new(laid);
    let figures = reckon::as_put(&app, &bench, &laid).await?;
    let card = view::revision(id, &kept.card);
    let page = app
        .crew
        .quick(move || RevisionPage {
            card,
            composition: laid.composition.clone(),
            placed: view::placed(&laid),
            inside_mm: (laid.layout.tank.inside_m() * 1e3).to_array(),
            ground: super::ground::view(&laid, &figures),
        })
        .await?;
    Ok(Json(page))
}

async fn restore(
    State(app): State<App>,
    who: Who,
    At((id, number)): At<(i64, i64)>,
    Body(seen): Body<Seen>,
) -> Reply<LayoutView> {
    let kept = app
        .store
        .restore_revision(&who.by(), id, number, seen.version)
        .await?;
    shown(&app, &app.benches.of(id), kept).await
}

async fn picture(
    State(app): State<App>,
    At((id, number)): At<(i64, i64)>,
) -> Result<File<Png>, ApiError> {
    let kept = app.store.revision(id, number).await?;
    let object = kept
        .card
        .picture
        .ok_or_else(|| ApiError::missing("picture yet: it is being drawn"))?;
    let bytes = app.store.objects().get(&object).await?;
    Ok(File::new(bytes).named(object.hex()))
}
