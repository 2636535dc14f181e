//! Changing what a person knows of a piece.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Deserialize;
use store::{MassCertainty, PieceChange};

use super::{
    card::StateWord,
    piece::{PieceView, view},
    tag_of,
};
use crate::{
    App,
    figure::Money,
    http::{Api, ApiError, At, Body, Reply, body::given},
    people::Who,
};

/// Letters of a name or a place.
const MOST_LETTERS: usize = 200;
/// Letters of notes.
const MOST_NOTES: usize = 10_000;

/// What is to change; what is absent stays.
#[derive(Debug, Clone, Default, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PieceEdit {
    /// The version that was seen.
    pub version: i64,
    /// Whether it can be had.
    #[serde(default)]
    pub state: Option<StateWord>,
    /// Where it lies.
    #[serde(default)]
    pub place: Option<String>,
    /// What it costs; null clears it.
    #[serde(default, deserialize_with = "given")]
    #[schemars(with = "Option<Money>")]
    pub price: Option<Option<Money>>,
    /// Mass on the scale.
    #[serde(default)]
    pub mass_kg: Option<f64>,
    /// The kind of stone or wood.
    #[serde(default)]
    pub material: Option<String>,
    /// Density of its material.
    #[serde(default)]
    pub density_kg_m3: Option<f64>,
    /// Friction on others of its kind.
    #[serde(default)]
    pub friction: Option<f64>,
    /// What the workshop says of it.
    #[serde(default)]
    pub notes: Option<String>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.patch(
        "/api/pieces/{tag}",
        patch,
        "Changes what a person knows of a piece",
    )
}

/// Holds a text against a length.
///
/// # Errors
/// 422 at the path.
pub fn short(path: &str, text: &str, most: usize) -> Result<(), ApiError> {
    if text.chars().count() > most {
        let message = format!("over {most} letters");
        return Err(ApiError::refused(path, message, "shorten it"));
    }
    Ok(())
}

/// Holds a number against its range.
///
/// # Errors
/// 422 at the path.
pub fn within(path: &str, value: f64, over: f64, most: f64) -> Result<f64, ApiError> {
    if value.is_finite() && value > over && value <= most {
        return Ok(value);
    }
    let message = format!("{value} lies outside: over {over} up to {most}");
    Err(ApiError::refused(
        path,
        message,
        "check the value and its unit",
    ))
}

/// A price as it is kept.
///
/// # Errors
/// 422 at the path.
pub fn price(path: &str, money: &Money) -> Result<workshop::Money, ApiError> {
    money.kept().map_err(|error| {
        ApiError::refused(
            path,
            error.to_string(),
            "write whole cents and a currency such as EUR",
        )
    })
}

/// What the store is to change, as far as it follows from the body alone.
///
/// # Errors
/// 422 at what is out of its range.
pub fn kept(asked: PieceEdit, volume_l: f64, is_weighed: bool) -> Result<PieceChange, ApiError> {
    for (path, text) in [("/place", &asked.place), ("/material", &asked.material)] {
        text.as_deref()
            .map_or(Ok(()), |text| short(path, text, MOST_LETTERS))?;
    }
    asked
        .notes
        .as_deref()
        .map_or(Ok(()), |notes| short("/notes", notes, MOST_NOTES))?;
    let density = asked
        .density_kg_m3
        .map(|d| within("/density_kg_m3", d, 49.9, 20_000.0))
        .transpose()?;
    let mass = match asked.mass_kg {
        Some(mass) => Some((
            within("/mass_kg", mass, 0.0, 2000.0)?,
            MassCertainty::Measured,
        )),
        // A mass that nobody weighed follows the density.
        None if !is_weighed => density.map(|d| (d * volume_l * 1e-3, MassCertainty::Estimated)),
        None => None,
    };
    Ok(PieceChange {
        state: asked.state.map(Into::into),
        place: asked.place,
        price: asked
            .price
            .map(|money| money.map(|m| price("/price", &m)).transpose())
            .transpose()?,
        mass_kg: mass,
        material: asked.material,
        density_kg_m3: density,
        friction: asked
            .friction
            .map(|f| within("/friction", f, 0.0, 3.0))
            .transpose()?,
        notes: asked.notes,
        measured: None,
    })
}

async fn patch(
    State(app): State<App>,
    who: Who,
    At(tag): At<String>,
    Body(asked): Body<PieceEdit>,
) -> Reply<PieceView> {
    let tag = tag_of(&tag)?;
    let version = asked.version;
    let piece = app.store.piece(tag).await?;
    let is_weighed = piece.card.mass_certainty == MassCertainty::Measured;
    let volume_l = super::piece::measures(&piece)?.volume_l;
    let change = kept(asked, volume_l, is_weighed)?;
    let piece = app
        .store
        .change_piece(&who.by(), tag, version, change)
        .await?;
    Ok(Json(view(&app, piece).await?))
}
