//! A piece as lists show it.

use method::Certainty;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use store::{MassCertainty, PieceState};
use workshop::PieceKind;

use crate::figure::Money;

/// Stone or wood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum KindWord {
    /// Stone.
    Stone,
    /// Wood.
    Wood,
}

impl From<PieceKind> for KindWord {
    fn from(kind: PieceKind) -> Self {
        match kind {
            PieceKind::Stone => Self::Stone,
            PieceKind::Wood => Self::Wood,
        }
    }
}

impl From<KindWord> for PieceKind {
    fn from(kind: KindWord) -> Self {
        match kind {
            KindWord::Stone => Self::Stone,
            KindWord::Wood => Self::Wood,
        }
    }
}

/// Whether a piece can be had.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
#[schemars(rename = "PieceState")]
pub enum StateWord {
    /// Washing, soaking, weathering, curing.
    InPreparation,
    /// Fit to sell.
    Ready,
    /// Set aside.
    Held,
    /// Gone.
    Sold,
    /// Shown, and to be had.
    OnDisplay,
}

impl From<PieceState> for StateWord {
    fn from(state: PieceState) -> Self {
        match state {
            PieceState::InPreparation => Self::InPreparation,
            PieceState::Ready => Self::Ready,
            PieceState::Held => Self::Held,
            PieceState::Sold => Self::Sold,
            PieceState::OnDisplay => Self::OnDisplay,
        }
    }
}

impl From<StateWord> for PieceState {
    fn from(state: StateWord) -> Self {
        match state {
            StateWord::InPreparation => Self::InPreparation,
            StateWord::Ready => Self::Ready,
            StateWord::Held => Self::Held,
            StateWord::Sold => Self::Sold,
            StateWord::OnDisplay => Self::OnDisplay,
        }
    }
}

/// How a mass is known.
#[must_use]
pub fn certainty(mass: MassCertainty) -> Certainty {
    match mass {
        MassCertainty::Measured => Certainty::Measured,
        MassCertainty::Estimated => Certainty::Estimated,
        MassCertainty::Assumed => Certainty::Assumed,
    }
}

/// Sides of the least box round a piece.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Size {
    /// The longest.
    pub long: f64,
    /// The middle one.
    pub mid: f64,
    /// The shortest.
    pub short: f64,
}

/// A piece as it lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Laid {
    /// Longer side of the least rectangle round its plan.
    pub width: f64,
    /// The shorter side.
    pub depth: f64,
    /// Height.
    pub height: f64,
}

/// A piece as lists show it.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PieceCard {
    /// Its tag.
    pub tag: String,
    /// Stone or wood.
    pub kind: KindWord,
    /// The kind of stone or wood.
    pub material: String,
    /// Whether it can be had.
    pub state: StateWord,
    /// Where it lies.
    pub place: String,
    /// Its size grade by the owner's rules.
    pub grade: Option<String>,
    /// The least box round it.
    pub size_mm: Size,
    /// In its likeliest pose.
    pub as_laid_mm: Laid,
    /// Mass.
    pub mass_kg: f64,
    /// How the mass is known.
    pub mass_certainty: Certainty,
    /// What it costs.
    pub price: Option<Money>,
    /// Its mean colour, `#rrggbb`.
    pub colour: String,
    /// Front outline in its likeliest pose: x and z, mm, from 0.
    pub outline: Vec<[f64; 2]>,
    /// Whether its picture is drawn.
    pub has_picture: bool,
    /// Goes up with every change.
    pub version: i64,
}

impl From<store::PieceCard> for PieceCard {
    fn from(card: store::PieceCard) -> Self {
        let [long, mid, short] = card.size_mm;
        let [width, depth, height] = card.as_laid_mm;
        Self {
            tag: card.tag.to_string(),
            kind: card.kind.into(),
            material: card.material,
            state: card.state.into(),
            place: card.place,
            grade: card.grade,
            size_mm: Size { long, mid, short },
            as_laid_mm: Laid {
                width,
                depth,
                height,
            },
            mass_kg: card.mass_kg,
            mass_certainty: certainty(card.mass_certainty),
            price: card.price.map(Into::into),
            colour: card.colour,
            outline: card.outline_mm,
            has_picture: card.picture.is_some(),
            version: card.version,
        }
    }
}
