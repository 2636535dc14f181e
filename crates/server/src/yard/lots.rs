//! Lots: sold by size grade and mass, without tags.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use store::{Lot, LotFields};

use super::{
    card::KindWord,
    change::{price, short, within},
};
use crate::{
    App,
    figure::Money,
    http::{Api, ApiError, At, Body, Created, Nothing, Params, Reply, body::given},
    people::Who,
};

/// A lot.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LotView {
    /// Its id.
    pub id: i64,
    /// Stone or wood.
    pub kind: KindWord,
    /// The kind of stone or wood.
    pub material: String,
    /// The size grade.
    pub grade: String,
    /// How much there is.
    pub mass_kg: f64,
    /// What a kilogram costs.
    pub price_per_kg: Option<Money>,
    /// Where it lies.
    pub place: String,
    /// Goes up with every change.
    pub version: i64,
}

impl From<Lot> for LotView {
    fn from(lot: Lot) -> Self {
        Self {
            id: lot.id,
            kind: lot.fields.kind.into(),
            material: lot.fields.material,
            grade: lot.fields.grade,
            mass_kg: lot.fields.mass_kg,
            price_per_kg: lot.fields.price_per_kg.map(Into::into),
            place: lot.fields.place,
            version: lot.version,
        }
    }
}

/// A lot to be added.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NewLot {
    /// Stone or wood.
    pub kind: KindWord,
    /// The kind of stone or wood.
    pub material: String,
    /// The size grade.
    #[serde(default)]
    pub grade: String,
    /// How much there is.
    pub mass_kg: f64,
    /// What a kilogram costs.
    #[serde(default)]
    pub price_per_kg: Option<Money>,
    /// Where it lies.
    #[serde(default)]
    pub place: String,
}

/// What is to change; what is absent stays.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LotChange {
    /// The version that was seen.
    pub version: i64,
    /// The kind of stone or wood.
    #[serde(default)]
    pub material: Option<String>,
    /// The size grade.
    #[serde(default)]
    pub grade: Option<String>,
    /// How much there is.
    #[serde(default)]
    pub mass_kg: Option<f64>,
    /// What a kilogram costs; null clears it.
    #[serde(default, deserialize_with = "given")]
    #[schemars(with = "Option<Money>")]
    pub price_per_kg: Option<Option<Money>>,
    /// Where it lies.
    #[serde(default)]
    pub place: Option<String>,
}

/// The version that somebody saw, if it matters to them.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MaybeSeen {
    /// The version; any when absent.
    #[serde(default)]
    pub version: Option<i64>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get("/api/lots", list, "All lots")
        .post("/api/lots", add, "Adds a lot")
        .patch(
            "/api/lots/{id}",
            change,
            "Changes a lot; what was sold is simply less mass",
        )
        .delete("/api/lots/{id}", remove, "Removes a lot")
}

fn checked(fields: LotFields) -> Result<LotFields, ApiError> {
    // Nothing left is a mass, too.
    if fields.mass_kg != 0.0 {
        within("/mass_kg", fields.mass_kg, 0.0, 1e6)?;
    }
    for (path, text) in [
        ("/material", &fields.material),
        ("/grade", &fields.grade),
        ("/place", &fields.place),
    ] {
        short(path, text, 200)?;
    }
    Ok(fields)
}

async fn list(State(app): State<App>) -> Reply<Vec<LotView>> {
    let lots = app.store.lots().await?;
    Ok(Json(lots.into_iter().map(Into::into).collect()))
}

async fn add(
    State(app): State<App>,
    who: Who,
    Body(asked): Body<NewLot>,
) -> Result<Created<LotView>, ApiError> {
    let fields = checked(LotFields {
        kind: asked.kind.into(),
        material: asked.material,
        grade: asked.grade,
        mass_kg: asked.mass_kg,
        price_per_kg: asked
            .price_per_kg
            .map(|money| price("/price_per_kg", &money))
            .transpose()?,
        place: asked.place,
    })?;
    Ok(Created(app.store.add_lot(&who.by(), fields).await?.into()))
}

async fn change(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Body(asked): Body<LotChange>,
) -> Reply<LotView> {
    let before = app.store.lot(id).await?.fields;
    let fields = checked(LotFields {
        kind: before.kind,
        material: asked.material.unwrap_or(before.material),
        grade: asked.grade.unwrap_or(before.grade),
        mass_kg: asked.mass_kg.unwrap_or(before.mass_kg),
        price_per_kg: match asked.price_per_kg {
            None => before.price_per_kg,
            Some(money) => money.map(|m| price("/price_per_kg", &m)).transpose()?,
        },
        place: asked.place.unwrap_or(before.place),
    })?;
    let lot = app
        .store
        .change_lot(&who.by(), id, asked.version, fields)
        .await?;
    Ok(Json(lot.into()))
}

async fn remove(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Params(seen): Params<MaybeSeen>,
) -> Result<Nothing, ApiError> {
    let version = match seen.version {
        Some(version) => version,
        None => app.store.lot(id).await?.version,
    };
    app.store.remove_lot(&who.by(), id, version).await?;
    Ok(Nothing)
}
