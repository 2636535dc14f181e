//! Photographs of a piece.

use axum::{Json, extract::State, response::Response};
use schemars::JsonSchema;
use serde::Deserialize;

use super::{piece::PhotographView, tag_of};
use crate::{
    App,
    http::{
        Api, ApiError, At, Body, Reply,
        reply::{Keep, bytes_of},
    },
    people::Who,
    taking_in::upload::picture_type,
};

/// Photographs that are added at once.
const MOST: usize = 50;

/// Uploads that become photographs.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AddPhotographs {
    /// Ids of uploads.
    pub uploads: Vec<i64>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.post(
        "/api/pieces/{tag}/photographs",
        add,
        "Adds uploads as photographs",
    )
    .get("/api/pieces/{tag}/photographs/{id}", get, "A photograph")
}

async fn add(
    State(app): State<App>,
    who: Who,
    At(tag): At<String>,
    Body(asked): Body<AddPhotographs>,
) -> Reply<Vec<PhotographView>> {
    if asked.uploads.len() > MOST {
        let message = format!("over {MOST} photographs at once");
        return Err(ApiError::refused(
            "/uploads",
            message,
            "add some after the others",
        ));
    }
    let all = app
        .store
        .add_photographs(&who.by(), tag_of(&tag)?, &asked.uploads)
        .await?;
    Ok(Json(
        all.into_iter()
            .map(|p| PhotographView {
                id: p.id,
                name: p.name,
            })
            .collect(),
    ))
}

async fn get(
    State(app): State<App>,
    At((tag, id)): At<(String, i64)>,
) -> Result<Response, ApiError> {
    let photograph = app.store.photograph(tag_of(&tag)?, id).await?;
    let bytes = app.store.objects().get(&photograph.object).await?;
    // What it is was looked at when it came in; nothing else is ever sent.
    let kind = picture_type(&bytes).unwrap_or("application/octet-stream");
    let keep = Keep::Named(photograph.object.hex().to_owned());
    Ok(bytes_of(bytes, kind, Some(&photograph.name), &keep))
}
