//! Open layouts in memory: laid, and reckoned as far as somebody asked.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use futures_util::future::try_join_all;
use serde_json::Value;
use solid::Mesh;
use workshop::{
    Composition, Layout, Memo, Tag,
    composition::{BOUNDS, lay},
    reckoning::{AsPut, Stands},
};

use super::{settle::Settling, shapes};
use crate::{
    App,
    http::{ApiError, body::checked},
    least_recent::LeastRecent,
};

/// Layouts that are kept open.
const MOST_OPEN: usize = 24;
/// Pieces in one layout.
const MOST_PIECES: usize = 200;
/// Plants in one layout.
const MOST_PLANTS: usize = 2000;
/// Characters of a title or a name.
const MOST_LETTERS: usize = 200;

/// Open layouts by their id.
#[derive(Debug)]
pub struct Benches(LeastRecent<i64, Arc<Bench>>);

impl Default for Benches {
    fn default() -> Self {
        Self(LeastRecent::new(MOST_OPEN))
    }
}

impl Benches {
    /// The bench of a layout, opened when it wasn't.
    pub fn of(&self, id: i64) -> Arc<Bench> {
        self.0.get(&id).unwrap_or_else(|| {
            let bench = Arc::new(Bench::alone(id));
            self.0.put(id, Arc::clone(&bench), 1);
            bench
        })
    }
}

/// One open layout.
#[derive(Debug)]
pub struct Bench {
    /// The layout's id.
    pub id: i64,
    /// Held by whoever edits it.
    pub turn: tokio::sync::Mutex<()>,
    /// What is being settled in the background.
    pub settling: Settling,
    /// Figures that need no settling, from before.
    pub memo: Arc<Mutex<Memo>>,
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    laid: Option<Arc<Laid>>,
    as_put: Option<(Arc<Laid>, Arc<AsPut>)>,
    stands: Option<Settled>,
}

/// *Stands* and what it was reckoned of.
#[derive(Debug, Clone)]
pub struct Settled {
    /// The layout that was settled.
    pub laid: Arc<Laid>,
    /// How it stands.
    pub stands: Arc<Stands>,
}

/// A version of a layout, laid.
#[derive(Debug)]
pub struct Laid {
    /// The version in the store.
    pub version: i64,
    /// What is composed.
    pub composition: Composition,
    /// Its pieces at their poses.
    pub layout: Layout,
    /// What they look like.
    pub looks: Vec<Arc<Mesh>>,
    /// The pieces' versions in the store.
    pub pieces: Vec<i64>,
}

impl Bench {
    /// A bench that is nobody else's.
    #[must_use]
    pub fn alone(id: i64) -> Self {
        Self {
            id,
            turn: tokio::sync::Mutex::default(),
            settling: Settling::default(),
            memo: Arc::default(),
            state: Mutex::default(),
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts a laid version in place.
    pub fn set(&self, laid: &Arc<Laid>) {
        self.state().laid = Some(Arc::clone(laid));
    }

    /// The version that is in place.
    pub fn laid(&self) -> Option<Arc<Laid>> {
        self.state().laid.clone()
    }

    /// The figures of a laid version that need no settling, if they are in place.
    pub fn as_put(&self, laid: &Arc<Laid>) -> Option<Arc<AsPut>> {
        let state = self.state();
        let (of, figures) = state.as_put.as_ref()?;
        Arc::ptr_eq(of, laid).then(|| Arc::clone(figures))
    }

    /// Puts figures that need no settling in place.
    pub fn set_as_put(&self, laid: &Arc<Laid>, figures: &Arc<AsPut>) {
        self.state().as_put = Some((Arc::clone(laid), Arc::clone(figures)));
    }

    /// The last settling, whichever version it was of.
    pub fn stands(&self) -> Option<Settled> {
        self.state().stands.clone()
    }

    /// Puts a settling in place.
    pub fn set_stands(&self, settled: Settled) {
        self.state().stands = Some(settled);
    }
}

/// The pieces of a composition in hand.
struct Hand {
    pieces: Vec<Arc<workshop::Piece>>,
    looks: Vec<Arc<Mesh>>,
    versions: Vec<i64>,
}

/// Reads a composition and holds it against its bounds; pointers start at it.
///
/// # Errors
/// At the pointer of what is wrong.
pub fn read(value: &Value) -> Result<Composition, ApiError> {
    let composition: Composition = checked(value, BOUNDS)?;
    within(&composition)?;
    Ok(composition)
}

/// Holds a composition against what is no number.
///
/// # Errors
/// At the pointer of what is too much.
pub fn within(composition: &Composition) -> Result<(), ApiError> {
    let many = |path: &str, n: usize, most: usize| {
        let message = format!("{n} are too many: at most {most}");
        if n > most {
            return Err(ApiError::refused(path, message, "split the layout"));
        }
        Ok(())
    };
    many("/piece", composition.piece.len(), MOST_PIECES)?;
    many("/plant", composition.plant.len(), MOST_PLANTS)?;
    let long = |path: String, text: &str| {
        if text.chars().count() > MOST_LETTERS {
            let message = format!("over {MOST_LETTERS} letters");
            return Err(ApiError::refused(&path, message, "shorten it"));
        }
        Ok(())
    };
    long("/title".to_owned(), &composition.title)?;
    for (i, plant) in composition.plant.iter().enumerate() {
        long(format!("/plant/{i}/name"), &plant.name)?;
        if workshop::composition::colour_of(&plant.colour).is_none() {
            let message = format!(
                "{:?} is no colour",
                plant.colour.chars().take(20).collect::<String>()
            );
            let hint = "write # and six hexadecimal digits";
            return Err(ApiError::refused(
                &format!("/plant/{i}/colour"),
                message,
                hint,
            ));
        }
    }
    for (i, material) in composition.material.iter().enumerate() {
        long(format!("/material/{i}/name"), &material.name)?;
    }
    Ok(())
}

async fn in_hand(app: &App, composition: &Composition) -> Result<Hand, ApiError> {
    let mut tags: Vec<Tag> = Vec::new();
    for (i, at) in composition.piece.iter().enumerate() {
        let path = format!("/piece/{i}/tag");
        let tag: Tag = at.tag.parse().map_err(|error: workshop::WorkshopError| {
            ApiError::refused(&path, error.to_string(), "write a tag such as S-0148")
        })?;
        if tags.contains(&tag) {
            let message = format!("{tag} is placed twice; there is only one of it");
            return Err(ApiError::refused(
                &path,
                message,
                "take one of the two away",
            ));
        }
        tags.push(tag);
    }
    let each = tags.iter().enumerate().map(|(i, tag)| async move {
        let path = format!("/piece/{i}/tag");
        let kept = app.store.piece(*tag).await.map_err(|error| match error {
            store::StoreError::Missing { .. } => ApiError::refused(
                &path,
                format!("there is no piece {tag}"),
                "choose a piece of the yard",
            ),
            error => error.into(),
        })?;
        let held = shapes::held(app, &kept).await.map_err(|e| e.below(&path))?;
        let piece = shapes::piece(&kept, &held).map_err(|e| e.below(&path))?;
        Ok::<_, ApiError>((Arc::new(piece), Arc::clone(&held.look), kept.card.version))
    });
    let mut hand = Hand {
        pieces: Vec::new(),
        looks: Vec::new(),
        versions: Vec::new(),
    };
    for (piece, look, version) in try_join_all(each).await? {
        hand.pieces.push(piece);
        hand.looks.push(look);
        hand.versions.push(version);
    }
    Ok(hand)
}

/// Lays a composition; pointers start at it.
///
/// # Errors
/// At the pointer of what can't be laid.
pub async fn laid(app: &App, composition: Composition, version: i64) -> Result<Laid, ApiError> {
    let hand = in_hand(app, &composition).await?;
    app.crew
        .quick(move || {
            let layout = lay(&composition, &hand.pieces)?;
            Ok(Laid {
                version,
                composition,
                layout,
                looks: hand.looks,
                pieces: hand.versions,
            })
        })
        .await?
}

/// A layout of the store, laid; what is in memory is used while it is current.
///
/// # Errors
/// When there is no such layout, or it can't be laid any more.
pub async fn current(app: &App, kept: &store::Layout) -> Result<(Arc<Bench>, Arc<Laid>), ApiError> {
    let bench = app.benches.of(kept.id);
    if let Some(laid) = bench.laid().filter(|laid| laid.version == kept.version)
        && is_current(app, &laid).await?
    {
        return Ok((bench, laid));
    }
    let composition = read(&kept.composition)?;
    let laid = Arc::new(laid(app, composition, kept.version).await?);
    // An edit may have come in between; the newest stays.
    if bench
        .laid()
        .is_none_or(|other| other.version <= laid.version)
    {
        bench.set(&laid);
    }
    Ok((bench, laid))
}

/// Whether no piece was changed since.
async fn is_current(app: &App, laid: &Laid) -> Result<bool, ApiError> {
    let tags = laid.layout.placed.iter().map(|p| p.piece.tag());
    let versions = try_join_all(tags.map(|tag| app.store.piece(tag))).await?;
    Ok(versions
        .iter()
        .map(|piece| piece.card.version)
        .eq(laid.pieces.iter().copied()))
}
