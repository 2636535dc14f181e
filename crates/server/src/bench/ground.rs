//! The ground's surface for drawing.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::Serialize;

use workshop::reckoning::AsPut;

use super::{
    open::{Laid, current},
    reckon,
};
use crate::{
    App,
    http::{At, Reply},
    scene::EARTH,
};

/// The ground's top as a grid of heights.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GroundView {
    /// Nodes along the length; 0 without ground.
    pub nx: usize,
    /// Nodes from front to back.
    pub ny: usize,
    /// Distance between two nodes; the last row and column stand at the glass or up to a cell beyond it.
    pub cell_mm: f64,
    /// Heights above the base, row by row from the front.
    pub heights_mm: Vec<f64>,
    /// A colour for each material.
    pub colours: Vec<String>,
    /// The material that lies open at each node, by its place in the composition; -1 for bare base.
    pub material: Vec<i64>,
}

/// `GET /api/layouts/{id}/ground`.
pub async fn get(State(app): State<App>, At(id): At<i64>) -> Reply<GroundView> {
    let kept = app.store.layout(id).await?;
    let (bench, laid) = current(&app, &kept).await?;
    let figures = reckon::as_put(&app, &bench, &laid).await?;
    Ok(Json(view(&laid, &figures)))
}

/// The ground of a laid version.
#[must_use]
pub fn view(laid: &Laid, figures: &AsPut) -> GroundView {
    let colours = laid
        .composition
        .material
        .iter()
        .map(|m| {
            m.colour
                .clone()
                .unwrap_or_else(|| format!("#{:02x}{:02x}{:02x}", EARTH[0], EARTH[1], EARTH[2]))
        })
        .collect();
    let tenth = |height_m: f64| (height_m * 1e4).round() / 10.0;
    match figures.ground.top.as_deref() {
        None => GroundView {
            nx: 0,
            ny: 0,
            cell_mm: 0.0,
            heights_mm: Vec::new(),
            colours,
            material: Vec::new(),
        },
        Some(top) => GroundView {
            nx: top.nx,
            ny: top.ny,
            cell_mm: top.cell_m * 1e3,
            heights_mm: (0..top.ny)
                .flat_map(|j| (0..top.nx).map(move |i| (i, j)))
                .map(|(i, j)| tenth(top.node_m(i, j)))
                .collect(),
            colours,
            material: figures
                .ground
                .open_material
                .iter()
                .map(|material| material.map_or(-1, |m| m as i64))
                .collect(),
        },
    }
}
