//! One piece with everything that is known of it.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Serialize;

use super::{card::PieceCard, figures, tag_of};
use crate::{
    App,
    events::{HistoryLine, history},
    figure::{Caution, Figure},
    http::{Api, ApiError, At, Reply},
    taking_in::measures::{Measures, Mending, Resting},
};

/// A piece.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PieceView {
    /// What lists show of it.
    #[serde(flatten)]
    pub card: PieceCard,
    /// Density of its material.
    pub density_kg_m3: f64,
    /// Friction on others of its kind.
    pub friction: f64,
    /// What the workshop says of it.
    pub notes: String,
    /// When it was taken in, Unix milliseconds.
    pub received_at_ms: i64,
    /// Triangles of the scan.
    pub n_triangles: usize,
    /// Volume.
    pub volume_l: f64,
    /// Surface.
    pub area_cm2: f64,
    /// Whether the scan is closed, mended.
    pub closed: bool,
    /// Whether volume and centre were counted on a grid.
    pub approximate: bool,
    /// Every number with where it comes from.
    pub figures: Vec<Figure>,
    /// What was mended.
    pub repairs: Vec<Mending>,
    /// What to look at before relying on a figure.
    pub cautions: Vec<Caution>,
    /// How it lies by itself, likeliest first.
    pub resting_poses: Vec<Resting>,
    /// Centre of mass in the scan's frame.
    pub centre_of_mass_mm: [f64; 3],
    /// Its photographs, oldest first.
    pub photographs: Vec<PhotographView>,
    /// For whom and until when it is set aside.
    pub hold: Option<HoldView>,
    /// What happened to it, newest first.
    pub history: Vec<HistoryLine>,
    /// The layouts that it is in.
    pub layouts: Vec<LayoutName>,
}

/// A photograph.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct PhotographView {
    /// Its id.
    pub id: i64,
    /// The name of the file it came in.
    pub name: String,
}

/// For whom and until when a piece is set aside.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct HoldView {
    /// The commission, if it is for one.
    pub commission: Option<i64>,
    /// The day it lapses, such as 2026-05-04; null until it is let go.
    pub until: Option<String>,
    /// The same in Unix milliseconds.
    pub until_ms: Option<i64>,
}

/// A layout by name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LayoutName {
    /// Its id.
    pub id: i64,
    /// Its title.
    pub title: String,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get(
        "/api/pieces/{tag}",
        get,
        "One piece with everything that is known of it",
    )
}

async fn get(State(app): State<App>, At(tag): At<String>) -> Reply<PieceView> {
    let tag = tag_of(&tag)?;
    let piece = app.store.piece(tag).await?;
    Ok(Json(view(&app, piece).await?))
}

/// What is kept of a piece's measuring.
///
/// # Errors
/// When the row can't be read.
pub fn measures(piece: &store::Piece) -> Result<Measures, ApiError> {
    serde_json::from_value(piece.measure.clone()).map_err(|error| ApiError::internal(&error))
}

/// A piece with everything that is known of it.
///
/// # Errors
/// When the store fails.
pub async fn view(app: &App, piece: store::Piece) -> Result<PieceView, ApiError> {
    let tag = piece.card.tag;
    let measures = measures(&piece)?;
    let layouts = app.store.layouts_of_piece(tag).await?;
    Ok(PieceView {
        figures: figures::of(&piece, &measures),
        density_kg_m3: piece.density_kg_m3,
        friction: piece.friction,
        notes: piece.notes,
        received_at_ms: piece.card.received_at_ms,
        n_triangles: measures.n_triangles,
        volume_l: measures.volume_l,
        area_cm2: measures.area_cm2,
        closed: measures.closed,
        approximate: measures.approximate,
        repairs: measures.repairs,
        cautions: measures.cautions,
        resting_poses: measures.resting_poses,
        centre_of_mass_mm: measures.centre_of_mass_mm,
        photographs: piece
            .photographs
            .into_iter()
            .map(|p| PhotographView {
                id: p.id,
                name: p.name,
            })
            .collect(),
        hold: piece.card.hold.as_ref().map(|hold| HoldView {
            commission: hold.commission,
            until: hold.until_ms.and_then(crate::clock::day),
            until_ms: hold.until_ms,
        }),
        history: history(app, "piece", &tag.to_string()).await?,
        layouts: layouts
            .into_iter()
            .map(|l| LayoutName {
                id: l.id,
                title: l.title,
            })
            .collect(),
        card: piece.card.into(),
    })
}
