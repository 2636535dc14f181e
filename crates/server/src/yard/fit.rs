//! Fit search: which pieces can fill a gap, and how each would lie there.

use std::{
    collections::BTreeMap,
    sync::{
        Arc, PoisonError, RwLock,
        atomic::{AtomicUsize, Ordering::Relaxed},
    },
    time::Instant,
};

use axum::{Json, extract::State};
use futures_util::StreamExt;
use glam::DVec2;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use store::{FitPiece, Live, PieceState, StoreError};
use tokio::sync::broadcast::error::RecvError;
use workshop::{
    PieceKind, Tag,
    fit::{FitForm, FitIndex, Gap, Match},
};

use super::card::{KindWord, StateWord};
use crate::{
    App,
    http::{Api, ApiError, Body, Reply},
};

/// Pieces that are told at most.
const MOST: usize = 60;

/// What is asked for: a box or an outline.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FitQuestion {
    /// A box to fill.
    #[serde(default)]
    pub box_mm: Option<BoxMm>,
    /// An outline over the tank's front to fill: x and z.
    #[serde(default)]
    pub outline_mm: Option<Vec<[f64; 2]>>,
    /// Room from front to back behind the outline.
    #[serde(default)]
    pub depth_mm: Option<f64>,
    /// Stone or wood only.
    #[serde(default)]
    pub kind: Option<KindWord>,
    /// Of this material only.
    #[serde(default)]
    pub material: Option<String>,
    /// In one of these states only; ready and on display when absent.
    #[serde(default)]
    pub states: Option<Vec<StateWord>>,
}

/// A box.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoxMm {
    /// Along the tank's front.
    pub width: f64,
    /// From front to back.
    pub depth: f64,
    /// Upwards.
    pub height: f64,
}

/// Pieces that can fill a gap, best first.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Answer {
    /// How long the search took.
    pub took_ms: f64,
    /// How many pieces were looked at.
    pub n_considered: usize,
    /// Best first.
    pub matches: Vec<MatchView>,
}

/// A piece that can fill a gap, and how it lies there.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MatchView {
    /// The piece.
    pub tag: String,
    /// Number of its resting pose.
    pub pose: usize,
    /// Turn about the vertical from the pose.
    pub turn_deg: f64,
    /// Never: a stone has no mirror image.
    pub mirrored: bool,
    /// Share of the gap that it fills, 0 to 1.
    pub fill: f64,
    /// Along the tank's front, as it lies.
    pub width_mm: f64,
    /// From front to back, as it lies.
    pub depth_mm: f64,
    /// Upwards, as it lies.
    pub height_mm: f64,
    /// Its front outline in the gap's own coordinates: x and z.
    pub outline: Vec<[f64; 2]>,
    /// The same for a person.
    pub words: String,
}

/// What may be asked of a piece beside its form.
#[derive(Debug, Clone)]
struct About {
    material: Arc<str>,
    state: PieceState,
}

/// The yard as fit search knows it; follows the store's events.
#[derive(Debug, Default)]
pub struct Finder {
    known: RwLock<Known>,
}

#[derive(Debug, Default)]
struct Known {
    index: FitIndex,
    about: BTreeMap<Tag, About>,
    materials: BTreeMap<String, Arc<str>>,
}

impl Known {
    fn about(&mut self, piece: &FitPiece) -> About {
        let material = match self.materials.get(&piece.material) {
            Some(known) => Arc::clone(known),
            None => {
                let new: Arc<str> = piece.material.as_str().into();
                self.materials
                    .insert(piece.material.clone(), Arc::clone(&new));
                new
            }
        };
        About {
            material,
            state: piece.state,
        }
    }

    fn put(&mut self, piece: &FitPiece) {
        let about = self.about(piece);
        match FitForm::from_bytes(&piece.fit) {
            Some(form) if piece.state != PieceState::Sold => {
                self.index.put(piece.tag, form);
                self.about.insert(piece.tag, about);
            }
            _ => self.remove(piece.tag),
        }
    }

    fn remove(&mut self, tag: Tag) {
        self.index.remove(tag);
        self.about.remove(&tag);
    }
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.post(
        "/api/fit",
        find,
        "Pieces that can fill a gap, best first, and how each would lie",
    )
}

/// Reads the yard and follows its changes until the store closes.
pub async fn follow(app: App) {
    loop {
        // Listening begins before reading, so that no change falls between.
        let mut live = app.store.listen();
        if let Err(error) = read_all(&app).await {
            tracing::error!(%error, "fit search could not read the yard");
        }
        loop {
            let heard = tokio::select! {
                heard = live.recv() => heard,
                () = app.desk.closed() => return,
            };
            match heard {
                Ok(Live::Event(event)) if event.what == "piece.changed" => {
                    if let Ok(tag) = event.subject.parse() {
                        refresh(&app, tag).await;
                    }
                }
                Ok(_) => {}
                Err(RecvError::Lagged(_)) => break,
                Err(RecvError::Closed) => return,
            }
        }
    }
}

async fn read_all(app: &App) -> Result<(), StoreError> {
    let mut known = Known::default();
    let mut forms = Vec::new();
    let mut pieces = app.store.pieces_for_fit();
    while let Some(piece) = pieces.next().await {
        let piece = piece?;
        if let Some(form) = FitForm::from_bytes(&piece.fit) {
            let about = known.about(&piece);
            known.about.insert(piece.tag, about);
            forms.push((piece.tag, form));
        }
    }
    drop(pieces);
    known.index = FitIndex::new(forms);
    *app.finder
        .known
        .write()
        .unwrap_or_else(PoisonError::into_inner) = known;
    Ok(())
}

async fn refresh(app: &App, tag: Tag) {
    let found = app.store.piece_for_fit(tag).await;
    let mut known = app
        .finder
        .known
        .write()
        .unwrap_or_else(PoisonError::into_inner);
    match found {
        Ok(piece) => known.put(&piece),
        Err(StoreError::Missing { .. }) => known.remove(tag),
        Err(error) => tracing::warn!(%error, %tag, "fit search could not read a piece"),
    }
}

fn gap(asked: &FitQuestion) -> Result<Gap, ApiError> {
    const MM: f64 = 1e-3;
    match (&asked.box_mm, &asked.outline_mm, asked.depth_mm) {
        (Some(size), None, None) => Ok(Gap::Box {
            width_m: size.width * MM,
            depth_m: size.depth * MM,
            height_m: size.height * MM,
        }),
        (None, Some(corners), Some(depth_mm)) => Ok(Gap::Outline {
            corners_m: corners.iter().map(|c| DVec2::from(*c) * MM).collect(),
            depth_m: depth_mm * MM,
        }),
        (None, Some(_), None) => Err(ApiError::refused(
            "/depth_mm",
            "an outline without the room behind it",
            "say how deep the gap is from front to back",
        )),
        _ => Err(ApiError::refused(
            "",
            "neither a box nor an outline, or both",
            "give box_mm, or outline_mm with depth_mm",
        )),
    }
}

async fn find(State(app): State<App>, Body(asked): Body<FitQuestion>) -> Reply<Answer> {
    let path = if asked.box_mm.is_some() {
        "/box_mm"
    } else {
        "/outline_mm"
    };
    let gap = gap(&asked)?;
    let kind: Option<PieceKind> = asked.kind.map(Into::into);
    let states: Vec<PieceState> = match asked.states {
        Some(states) => states.into_iter().map(Into::into).collect(),
        None => vec![PieceState::Ready, PieceState::OnDisplay],
    };
    let again = app.clone();
    let (found, n_considered, took_ms) = app
        .crew
        .quick(move || {
            let began = Instant::now();
            let known = again
                .finder
                .known
                .read()
                .unwrap_or_else(PoisonError::into_inner);
            let n_considered = AtomicUsize::new(0);
            let keep = |tag: Tag| {
                let is_kept = kind.is_none_or(|kind| tag.kind() == kind)
                    && known.about.get(&tag).is_some_and(|about| {
                        states.contains(&about.state)
                            && asked
                                .material
                                .as_deref()
                                .is_none_or(|m| m == &*about.material)
                    });
                n_considered.fetch_add(usize::from(is_kept), Relaxed);
                is_kept
            };
            let found = known.index.find(&gap, keep, MOST);
            let n = n_considered.load(Relaxed);
            (found, n, began.elapsed().as_secs_f64() * 1e3)
        })
        .await?;
    let hint = "draw or enter a gap of ordinary size";
    let found = found.map_err(|error| ApiError::refused(path, error.to_string(), hint))?;
    Ok(Json(Answer {
        took_ms,
        n_considered,
        matches: found.iter().map(view).collect(),
    }))
}

fn view(found: &Match) -> MatchView {
    let [width_mm, depth_mm, height_mm] = found.size_m.map(|m| m * 1e3);
    let tenth = |m: f64| (m * 1e4).round() / 10.0;
    let how = match found.pose {
        1 => "as it likes to lie".to_owned(),
        pose => format!("in its resting pose {pose}"),
    };
    let turned = match found.turn_rad.to_degrees().round() {
        0.0 => String::new(),
        turn => format!(", turned {turn:.0}°"),
    };
    let over = if found.over_m > 0.0 {
        format!("; {:.0} mm too large", (found.over_m * 1e3).ceil())
    } else {
        String::new()
    };
    MatchView {
        tag: found.tag.to_string(),
        pose: found.pose,
        turn_deg: found.turn_rad.to_degrees(),
        mirrored: false,
        fill: found.fill,
        width_mm,
        depth_mm,
        height_mm,
        outline: found
            .outline_m
            .iter()
            .map(|p| [tenth(p.x), tenth(p.y)])
            .collect(),
        words: format!("fills {:.0} % {how}{turned}{over}", 100.0 * found.fill),
    }
}
