//! Holding a piece for a commission, letting it go, selling it.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Deserialize;
use store::Hold;

use super::{
    piece::{PieceView, view},
    tag_of,
};
use crate::{
    App,
    commissions::not_there,
    http::{Api, At, Body, Reply},
    people::Who,
};

/// For whom and until when.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldFor {
    /// The piece's version that was seen.
    pub version: i64,
    /// The commission, if it is for one.
    #[serde(default)]
    pub commission: Option<i64>,
    /// Unix milliseconds; until it is let go when absent.
    #[serde(default)]
    pub until_ms: Option<i64>,
}

/// A piece that was seen, and perhaps for whom.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SellTo {
    /// The piece's version that was seen.
    pub version: i64,
    /// The commission, if it is for one.
    #[serde(default)]
    pub commission: Option<i64>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.post("/api/pieces/{tag}/hold", hold, "Sets a piece aside")
        .post("/api/pieces/{tag}/let-go", let_go, "Lets a held piece go")
        .post("/api/pieces/{tag}/sell", sell, "Sells a piece")
}

async fn hold(
    State(app): State<App>,
    who: Who,
    At(tag): At<String>,
    Body(asked): Body<HoldFor>,
) -> Reply<PieceView> {
    let hold = Hold {
        commission: asked.commission,
        until_ms: asked.until_ms,
    };
    let held = app
        .store
        .hold_piece(&who.by(), tag_of(&tag)?, asked.version, hold)
        .await;
    let piece = held.map_err(not_there)?;
    Ok(Json(view(&app, piece).await?))
}

async fn let_go(
    State(app): State<App>,
    who: Who,
    At(tag): At<String>,
    Body(seen): Body<crate::bench::compose::Seen>,
) -> Reply<PieceView> {
    let piece = app
        .store
        .let_go(&who.by(), tag_of(&tag)?, seen.version)
        .await?;
    Ok(Json(view(&app, piece).await?))
}

async fn sell(
    State(app): State<App>,
    who: Who,
    At(tag): At<String>,
    Body(asked): Body<SellTo>,
) -> Reply<PieceView> {
    let sold = app
        .store
        .sell_piece(&who.by(), tag_of(&tag)?, asked.version, asked.commission)
        .await;
    let piece = sold.map_err(not_there)?;
    Ok(Json(view(&app, piece).await?))
}
