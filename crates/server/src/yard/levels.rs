//! A piece's scan with fewer triangles, to be looked at from all sides.

use axum::extract::State;
use bytes::Bytes;
use schemars::JsonSchema;
use serde::Deserialize;
use store::ObjectId;

use super::tag_of;
use crate::{
    App,
    bench::shapes,
    http::{
        Api, ApiError, At, Params,
        reply::{File, Glb},
    },
    least_recent::LeastRecent,
    taking_in::{look::reduced, take::as_glb},
};

/// Triangles of the levels; a wish is rounded up to one of them.
const LEVELS: [usize; 5] = [1_000, 4_000, 12_000, 20_000, 60_000];
/// Triangles when nothing is said.
const USUAL: usize = 20_000;
/// Bytes of levels that are kept.
const MOST_BYTES: usize = 48 << 20;

/// Reduced scans by object and level.
#[derive(Debug)]
pub struct Levels(LeastRecent<(ObjectId, usize), Bytes>);

impl Default for Levels {
    fn default() -> Self {
        Self(LeastRecent::new(MOST_BYTES))
    }
}

/// How many triangles.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LevelQuery {
    /// About so many; 20000 when absent.
    #[serde(default)]
    triangles: Option<usize>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get(
        "/api/pieces/{tag}/scan.glb",
        get,
        "The scan in colour, reduced, in the piece's own frame",
    )
}

fn level(triangles: usize) -> usize {
    LEVELS
        .into_iter()
        .find(|level| *level >= triangles)
        .unwrap_or(LEVELS[LEVELS.len() - 1])
}

async fn get(
    State(app): State<App>,
    At(tag): At<String>,
    Params(asked): Params<LevelQuery>,
) -> Result<File<Glb>, ApiError> {
    let piece = app.store.piece(tag_of(&tag)?).await?;
    let level = level(asked.triangles.unwrap_or(USUAL));
    let object = piece
        .shape
        .clone()
        .or_else(|| piece.scan.clone())
        .ok_or_else(|| ApiError::missing(format!("scan of {tag}")))?;
    let name = format!("{}-{level}", object.hex());
    let key = (object, level);
    if let Some(bytes) = app.levels.0.get(&key) {
        return Ok(File::new(bytes).named(name));
    }
    let held = shapes::held(&app, &piece).await?;
    let bytes = app
        .crew
        .quick(move || as_glb(&reduced(&held.look, level)))
        .await?;
    let bytes = Bytes::from(bytes);
    app.levels.0.put(key, bytes.clone(), bytes.len());
    Ok(File::new(bytes).named(name))
}

#[cfg(test)]
mod tests {
    use super::level;

    #[test]
    fn a_wish_is_rounded_up_to_a_level() {
        assert_eq!(
            [0, 1_000, 1_001, 20_000, 10_000_000].map(level),
            [1_000, 1_000, 4_000, 20_000, 60_000]
        );
    }
}
