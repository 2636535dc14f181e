//! Tags to print: one by itself, and many on a sheet.

use axum::{
    extract::State,
    http::{HeaderMap, header},
};
use schemars::JsonSchema;
use serde::Deserialize;
use store::PieceCard;

use super::tag_of;
use crate::{
    App,
    bench::documents::PaperWord,
    documents::{tags, tags::TagLabel, units},
    http::{
        Api, ApiError, At, Params,
        reply::{File, Pdf},
    },
    people::{Who, routes::UnitsWord, session},
};

/// Tags that are printed at once.
const MOST: usize = 500;

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get("/api/pieces/{tag}/tag.pdf", one, "A tag to tie to a piece")
        .get("/api/tags.pdf", many, "Tags on sheets, to be cut apart")
}

/// Which tags, on what.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TagSheet {
    /// Tags with commas between them.
    tags: String,
    /// The paper; A4 when absent.
    #[serde(default)]
    paper: Option<PaperWord>,
}

async fn one(
    State(app): State<App>,
    headers: HeaderMap,
    who: Who,
    At(tag): At<String>,
) -> Result<File<Pdf>, ApiError> {
    let piece = app.store.piece(tag_of(&tag)?).await?;
    let label = label(&piece.card, &base(&headers), who.units.into());
    let name = format!("tag {}.pdf", label.tag);
    let bytes = app.crew.quick(move || tags::single(&label)).await??;
    Ok(File::new(bytes).called(name))
}

async fn many(
    State(app): State<App>,
    headers: HeaderMap,
    who: Who,
    Params(asked): Params<TagSheet>,
) -> Result<File<Pdf>, ApiError> {
    let names: Vec<&str> = asked.tags.split(',').filter(|t| !t.is_empty()).collect();
    if names.is_empty() || names.len() > MOST {
        return Err(ApiError::refused(
            "/tags",
            format!("{} tags", names.len()),
            format!("name 1 to {MOST} tags with commas between them"),
        ));
    }
    let mut labels = Vec::with_capacity(names.len());
    for name in names {
        let piece = app.store.piece(tag_of(name)?).await?;
        labels.push(label(&piece.card, &base(&headers), who.units.into()));
    }
    let paper = asked.paper.unwrap_or(PaperWord::A4).into();
    let bytes = app
        .crew
        .long(move || tags::sheets(&labels, paper))
        .await??;
    Ok(File::new(bytes).called("tags.pdf".to_owned()))
}

fn label(card: &PieceCard, base: &str, units: UnitsWord) -> TagLabel {
    let units = match units {
        UnitsWord::Metric => units::Units::Metric,
        UnitsWord::Us => units::Units::Us,
    };
    let [long, mid, short] = card.size_mm.map(|mm| units.length(mm));
    TagLabel {
        tag: card.tag.to_string(),
        material: card.material.clone(),
        measures: format!("{long} × {mid} × {short}, {}", units.mass(card.mass_kg)),
        place: card.place.clone(),
        address: format!("{base}/yard/{}", card.tag),
    }
}

/// The address by which this workshop was reached, so that a phone finds the same one.
fn base(headers: &HeaderMap) -> String {
    let host = headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .unwrap_or("localhost");
    let scheme = if session::is_secure(headers) {
        "https"
    } else {
        "http"
    };
    format!("{scheme}://{host}")
}
