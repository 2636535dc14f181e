//! A layout as a client sees it.

use glam::DVec3;
use schemars::JsonSchema;
use serde::Serialize;
use solid::Pose;
use store::RevisionCard;
use workshop::{Composition, Placed};

use super::open::Laid;

/// Millimetres in a metre.
const MM: f64 = 1e3;

/// A layout, laid.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct LayoutView {
    /// Its id.
    pub id: i64,
    /// Its title.
    pub title: String,
    /// The commission that it is for.
    pub commission: Option<i64>,
    /// Goes up with every change, undo and redo too.
    pub version: i64,
    /// What is composed.
    pub composition: Composition,
    /// Where each piece lies, in the order of the composition.
    pub placed: Vec<PlacedView>,
    /// The tank's inside: length, width, height.
    pub inside_mm: [f64; 3],
    /// What undo would take back.
    pub undo: Option<String>,
    /// What redo would bring back.
    pub redo: Option<String>,
    /// Numbered revisions, oldest first.
    pub revisions: Vec<RevisionView>,
}

/// Where a piece lies.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PlacedView {
    /// The piece.
    pub tag: String,
    /// Its pose.
    pub pose: PoseView,
    /// Size along the tank's length.
    pub width_mm: f64,
    /// Size from front to back.
    pub depth_mm: f64,
    /// Size upwards.
    pub height_mm: f64,
    /// Its lowest point above the base.
    pub low_mm: f64,
    /// Its highest point above the base.
    pub high_mm: f64,
    /// How many resting poses the piece has.
    pub n_poses: usize,
    /// Whether it is kept at a pose of its own.
    pub held: bool,
}

/// A pose in the tank frame.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct PoseView {
    /// Centre of mass.
    pub centre_mm: [f64; 3],
    /// The turn `[w, x, y, z]` from the scan's axes to the tank's.
    pub quaternion: [f64; 4],
}

/// A numbered revision in a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct RevisionView {
    /// Counted from 1.
    pub number: i64,
    /// What the builder says of it.
    pub note: String,
    /// When it was kept, Unix milliseconds.
    pub at_ms: i64,
    /// The layout's version then.
    pub version: i64,
    /// Where its picture is; null until it is drawn.
    pub picture: Option<String>,
}

/// A layout in a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct LayoutCardView {
    /// Its id.
    pub id: i64,
    /// Its title.
    pub title: String,
    /// The commission that it is for.
    pub commission: Option<i64>,
    /// How many pieces it has.
    pub pieces: i64,
    /// When it last changed, Unix milliseconds.
    pub changed_at_ms: i64,
    /// Whether it stands; null while that is not known.
    pub stands: Option<bool>,
    /// Where its picture is; null until it is drawn.
    pub picture: Option<String>,
}

impl From<store::LayoutCard> for LayoutCardView {
    fn from(card: store::LayoutCard) -> Self {
        // The picture's name in its address: a new picture is a new address.
        let picture = card.picture.map(|object| {
            format!(
                "/api/layouts/{}/picture.png?of={}",
                card.id,
                &object.hex()[..12]
            )
        });
        Self {
            id: card.id,
            title: card.title,
            commission: card.commission,
            pieces: card.n_pieces,
            changed_at_ms: card.changed_at_ms,
            stands: card.stands,
            picture,
        }
    }
}

/// A pose as a client sees it.
#[must_use]
pub fn pose(pose: &Pose) -> PoseView {
    let q = pose.turn;
    PoseView {
        centre_mm: (pose.centre_m * MM).to_array(),
        quaternion: [q.w, q.x, q.y, q.z],
    }
}

/// The least and greatest places of a placed piece, m.
#[must_use]
pub fn extent_m(placed: &Placed) -> (DVec3, DVec3) {
    let shape = placed.piece.shape();
    let centre_m = shape.moments().centre_m;
    shape
        .mesh()
        .vertices_m
        .iter()
        .map(|v| placed.pose.point_in_tank(*v, centre_m))
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| {
            (low.min(p), high.max(p))
        })
}

/// Where every piece of a laid version lies.
#[must_use]
pub fn placed(laid: &Laid) -> Vec<PlacedView> {
    laid.layout
        .placed
        .iter()
        .zip(&laid.composition.piece)
        .map(|(placed, at)| {
            let (low_m, high_m) = extent_m(placed);
            let size_mm = (high_m - low_m) * MM;
            PlacedView {
                tag: placed.piece.tag().to_string(),
                pose: pose(&placed.pose),
                width_mm: size_mm.x,
                depth_mm: size_mm.y,
                height_mm: size_mm.z,
                low_mm: low_m.z * MM,
                high_mm: high_m.z * MM,
                n_poses: placed.piece.shape().measure().resting.poses.len(),
                held: at.held.is_some(),
            }
        })
        .collect()
}

/// A revision of a layout in a list.
#[must_use]
pub fn revision(layout: i64, card: &RevisionCard) -> RevisionView {
    RevisionView {
        number: card.number,
        note: card.note.clone(),
        at_ms: card.at_ms,
        version: card.version,
        picture: card
            .picture
            .as_ref()
            .map(|_| format!("/api/layouts/{layout}/revisions/{}/front.png", card.number)),
    }
}

/// A layout of the store with its laid version.
#[must_use]
pub fn layout(kept: &store::Layout, laid: &Laid) -> LayoutView {
    LayoutView {
        id: kept.id,
        title: kept.title.clone(),
        commission: kept.commission,
        version: kept.version,
        composition: laid.composition.clone(),
        placed: placed(laid),
        inside_mm: (laid.layout.tank.inside_m() * MM).to_array(),
        undo: kept.undo.clone(),
        redo: kept.redo.clone(),
        revisions: kept
            .revisions
            .iter()
            .map(|card| revision(kept.id, card))
            .collect(),
    }
}
