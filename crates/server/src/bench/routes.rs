//! Layouts: listed, made, read, and the routes of the bench.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::json;
use store::NewLayout;
use workshop::{Composition, composition::TankMeasures};

use super::{
    compose, documents, ground, let_down, open, pictures, reckon, revisions, settle,
    view::{self, LayoutCardView, LayoutView},
};
use crate::{
    App,
    commissions::not_there,
    http::{Api, ApiError, At, Body, Created, Reply},
    people::Who,
};

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("layouts")
        .get(
            "/api/layouts",
            list,
            "All layouts, the one that changed last first",
        )
        .post("/api/layouts", begin, "Begins a layout")
        .get("/api/layouts/{id}", get, "A layout, its pieces let down")
        .put(
            "/api/layouts/{id}/composition",
            compose::put,
            "Composes: one step of the unlimited undo",
        )
        .post(
            "/api/layouts/{id}/undo",
            compose::undo,
            "Takes the last step back",
        )
        .post(
            "/api/layouts/{id}/redo",
            compose::redo,
            "Brings back the step that was taken back",
        )
        .post(
            "/api/layouts/{id}/let-down",
            let_down::post,
            "Where a piece would come to lie; changes nothing",
        )
        .get(
            "/api/layouts/{id}/ground",
            ground::get,
            "The ground's surface for drawing",
        )
        .get(
            "/api/layouts/{id}/reckoning",
            reckon::get,
            "Every figure of a layout",
        )
        .post(
            "/api/layouts/{id}/settle",
            settle::start,
            "Starts a settling whose motion is shown; the result is a Motion",
        )
        .with(revisions::routes)
        .with(documents::routes)
        .with(pictures::routes)
}

async fn list(State(app): State<App>) -> Reply<Vec<LayoutCardView>> {
    let cards = app.store.layouts().await?;
    Ok(Json(cards.into_iter().map(Into::into).collect()))
}

/// A layout to be begun.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Begin {
    /// Its title.
    pub title: String,
    /// The commission that it is for.
    #[serde(default)]
    pub commission: Option<i64>,
    /// Its tank; a usual one when absent.
    #[serde(default)]
    pub tank: Option<TankMeasures>,
    /// The layout to copy.
    #[serde(default)]
    pub like: Option<i64>,
}

/// A tank to begin with, when nothing is said: 60 cm, of a size that is common in the trade.
fn usual_tank() -> TankMeasures {
    TankMeasures {
        outside_mm: [600.0, 360.0, 360.0],
        glass_mm: 8.0,
        base_mm: None,
        water_line_mm: 320.0,
        water_c: None,
        empty_mass_kg: None,
    }
}

async fn begin(
    State(app): State<App>,
    who: Who,
    Body(asked): Body<Begin>,
) -> Result<Created<LayoutView>, ApiError> {
    let mut composition = match asked.like {
        Some(id) => {
            let like = app.store.layout(id).await.map_err(|error| match error {
                store::StoreError::Missing { .. } => {
                    ApiError::refused("/like", format!("there is no layout {id}"), "name another")
                }
                error => error.into(),
            })?;
            open::read(&like.composition)?
        }
        None => Composition {
            title: String::new(),
            currency: Some(crate::people::routes::shop(&app).await?.currency),
            tank: usual_tank(),
            material: Vec::new(),
            bed: Vec::new(),
            piece: Vec::new(),
            plant: Vec::new(),
        },
    };
    composition.title.clone_from(&asked.title);
    if let Some(tank) = asked.tank {
        composition.tank = tank;
    }
    let value = json!(composition);
    let composition = open::read(&value)?;
    let laid = open::laid(&app, composition, 1, None).await?;
    let new = NewLayout {
        title: asked.title,
        commission: asked.commission,
        composition: value,
    };
    let kept = app.store.add_layout(&who.by(), new).await;
    let kept = kept.map_err(not_there)?;
    Ok(Created(view::layout(&kept, &laid)))
}

async fn get(State(app): State<App>, At(id): At<i64>) -> Reply<LayoutView> {
    let kept = app.store.layout(id).await?;
    let (bench, laid) = open::current(&app, &kept).await?;
    settle::want(&app, &bench, &laid);
    let seen = app.crew.quick(move || view::layout(&kept, &laid)).await?;
    Ok(Json(seen))
}
