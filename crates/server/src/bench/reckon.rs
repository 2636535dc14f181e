//! The reckoning of an open layout: what needs no settling at once, the rest when it is there.

use std::sync::{Arc, PoisonError};

use axum::{Json, extract::State};
use workshop::{
    composition::reckon_error,
    reckoning::{AsPut, reckon_as_put},
};

use super::{
    group::{self, ReckoningView},
    open::{Bench, Laid, current},
    settle,
};
use crate::{
    App,
    http::{ApiError, At, Reply},
};

/// The figures that need no settling.
///
/// # Errors
/// When the ground can't be laid.
pub async fn as_put(
    app: &App,
    bench: &Arc<Bench>,
    laid: &Arc<Laid>,
) -> Result<Arc<AsPut>, ApiError> {
    if let Some(figures) = bench.as_put(laid) {
        return Ok(figures);
    }
    let (memo, of) = (Arc::clone(&bench.memo), Arc::clone(laid));
    let figures = app
        .crew
        .quick(move || {
            let mut memo = memo.lock().unwrap_or_else(PoisonError::into_inner);
            reckon_as_put(&of.layout, &mut memo)
        })
        .await?
        .map_err(|error| ApiError::from(reckon_error(&error)))?;
    let figures = Arc::new(figures);
    bench.set_as_put(laid, &figures);
    Ok(figures)
}

/// `GET /api/layouts/{id}/reckoning`.
pub async fn get(State(app): State<App>, At(id): At<i64>) -> Reply<ReckoningView> {
    let kept = app.store.layout(id).await?;
    let (bench, laid) = current(&app, &kept).await?;
    let figures = as_put(&app, &bench, &laid).await?;
    settle::want(&app, &bench, &laid);
    let stands = match bench.stands() {
        None => group::unsettled("settling"),
        Some(settled) => {
            let stale = !Arc::ptr_eq(&settled.laid, &laid);
            let (of, ground) = (Arc::clone(&settled.laid), Arc::clone(&figures));
            app.crew
                .quick(move || group::stands(&of.layout, &settled.stands, &ground.ground, stale))
                .await?
        }
    };
    let mut groups = vec![stands];
    groups.extend(group::as_put(&figures));
    Ok(Json(ReckoningView {
        version: laid.version,
        groups,
    }))
}
