//! Where would a piece come to lie? For the drag: changes nothing.

use std::sync::Arc;

use axum::{Json, extract::State};
use layout::{
    drop::Below,
    support::{Holder, held},
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::json;
use workshop::{
    Tag,
    composition::{BOUNDS, PieceAt, let_down},
};

use super::{
    open::{Laid, current},
    reckon, shapes,
    view::{PoseView, pose},
};
use crate::{
    App,
    http::{ApiError, At, Body, Reply},
};

/// A piece that is held over a layout.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LetDownQuestion {
    /// Its place in the composition; null for a new piece.
    #[serde(default)]
    pub index: Option<usize>,
    /// Where it is held.
    pub piece: PieceAt,
}

/// Where a piece would come to lie.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Preview {
    /// Its pose.
    pub pose: PoseView,
    /// Its lowest point above the base.
    pub low_mm: f64,
    /// Its highest point above the base.
    pub high_mm: f64,
    /// What would hold it: `base`, `ground`, tags.
    pub supports: Vec<String>,
}

/// `POST /api/layouts/{id}/let-down`.
pub async fn post(
    State(app): State<App>,
    At(id): At<i64>,
    Body(asked): Body<LetDownQuestion>,
) -> Reply<Preview> {
    const AT: &str = "/piece";
    // The bounds name places in a composition: this is one with a single piece.
    let alone = json!({ "piece": [asked.piece] });
    method::bound::check(&alone, BOUNDS).map_err(|e| {
        let mut error = ApiError::from(e);
        error.told.path = error.told.path.replacen("/piece/0", AT, 1);
        error
    })?;
    let kept = app.store.layout(id).await?;
    let (bench, laid) = match app.benches.of(id) {
        bench if bench.laid().is_some_and(|l| l.version == kept.version) => {
            let laid = bench.laid();
            match laid {
                Some(laid) => (bench, laid),
                None => current(&app, &kept).await?,
            }
        }
        _ => current(&app, &kept).await?,
    };
    let piece = piece(&app, &laid, &asked).await?;
    let figures = reckon::as_put(&app, &bench, &laid).await?;
    let preview = app
        .crew
        .quick(move || {
            let surface = figures.ground.top.as_deref();
            let index = asked.index.map(|i| i.min(laid.layout.placed.len()));
            let down = let_down(&laid.layout, surface, index, &asked.piece, &piece)?;
            let mut below = Below::new(surface);
            let n = index.unwrap_or(laid.layout.placed.len());
            for placed in laid.layout.placed.iter().take(n) {
                below.put(placed.piece.shape().form(), placed.pose);
            }
            let seen = held(&below, usize::MAX, piece.shape().form(), down.pose);
            Ok::<_, method::MethodError>(Preview {
                pose: pose(&down.pose),
                low_mm: down.low_m.z * 1e3,
                high_mm: down.high_m.z * 1e3,
                supports: seen.by.iter().map(|holder| name(&laid, *holder)).collect(),
            })
        })
        .await?
        .map_err(|error| ApiError::from(error).below(AT))?;
    Ok(Json(preview))
}

fn name(laid: &Laid, holder: Holder) -> String {
    match holder {
        Holder::Base => "base".to_owned(),
        Holder::Ground => "ground".to_owned(),
        Holder::Piece(i) => laid
            .layout
            .placed
            .get(i)
            .map_or_else(String::new, |placed| placed.piece.tag().to_string()),
    }
}

/// The piece in hand: one of the layout, or one of the yard.
async fn piece(
    app: &App,
    laid: &Laid,
    asked: &LetDownQuestion,
) -> Result<Arc<workshop::Piece>, ApiError> {
    const AT: &str = "/piece/tag";
    let tag: Tag = asked
        .piece
        .tag
        .parse()
        .map_err(|error: workshop::WorkshopError| {
            ApiError::refused(AT, error.to_string(), "write a tag such as S-0148")
        })?;
    if let Some(placed) = laid.layout.placed.iter().find(|p| p.piece.tag() == tag) {
        return Ok(Arc::clone(&placed.piece));
    }
    let kept = app.store.piece(tag).await.map_err(|error| match error {
        store::StoreError::Missing { .. } => ApiError::refused(
            AT,
            format!("there is no piece {tag}"),
            "choose a piece of the yard",
        ),
        error => error.into(),
    })?;
    let held = shapes::held(app, &kept).await?;
    Ok(Arc::new(shapes::piece(&kept, &held)?))
}
