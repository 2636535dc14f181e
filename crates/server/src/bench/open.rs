//! Open layouts in memory: laid, and reckoned as far as somebody asked.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use futures_util::future::try_join_all;
use method::MethodError;
use serde_json::Value;
use solid::Mesh;
use workshop::{
    Composition, Layout, Memo, Tag,
    composition::{BOUNDS, HeldPose, lay},
    reckoning::{AsPut, Stands},
};

use super::{
    settle::Settling,
    shapes::{self, Held},
    view,
};
use crate::{
    App,
    http::{ApiError, body::checked},
    least_recent::LeastRecent,
};

/// Bytes of the shapes of layouts that are kept open; the one in use is, however large.
const MOST_BYTES: usize = 384 << 20;
/// Bytes of a layout without its shapes.
const OWN_BYTES: usize = 4 << 20;
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
        Self(LeastRecent::new(MOST_BYTES))
    }
}

impl Benches {
    /// The bench of a layout, opened when it wasn't.
    pub fn of(&self, id: i64) -> Arc<Bench> {
        self.0.get(&id).unwrap_or_else(|| {
            let bench = Arc::new(Bench::alone(id));
            self.0.put(id, Arc::clone(&bench), OWN_BYTES);
            bench
        })
    }

    /// Puts a laid version in place on its bench; benches not used for longest are closed
    /// when there is no room.
    pub fn set(&self, bench: &Arc<Bench>, laid: &Arc<Laid>) {
        bench.set(laid);
        let size: usize = laid.held.iter().map(|held| held.size()).sum();
        self.0.put(bench.id, Arc::clone(bench), OWN_BYTES + size);
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
    /// Their shapes, held in memory as long as this is.
    pub held: Vec<Arc<Held>>,
    /// The pieces' versions in the store.
    pub pieces: Vec<i64>,
}

impl Laid {
    /// What its pieces look like.
    #[must_use]
    pub fn looks(&self) -> Vec<Arc<Mesh>> {
        self.held
            .iter()
            .map(|held| Arc::clone(&held.look))
            .collect()
    }

    /// How many of its first pieces lie in another composition as they do here: the
    /// same pieces, put the same way into the same tank and ground.
    fn n_same(&self, other: &Composition, pieces: &[Arc<workshop::Piece>]) -> usize {
        let here = &self.composition;
        if (&here.tank, &here.material, &here.bed) != (&other.tank, &other.material, &other.bed) {
            return 0;
        }
        let mine = here.piece.iter().zip(&self.layout.placed);
        let theirs = other.piece.iter().zip(pieces);
        mine.zip(theirs)
            .take_while(|((at, placed), (other_at, piece))| {
                at == other_at && *placed.piece == ***piece
            })
            .count()
    }
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

    fn set(&self, laid: &Arc<Laid>) {
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
    held: Vec<Arc<Held>>,
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
        Ok::<_, ApiError>((Arc::new(piece), held, kept.card.version))
    });
    let mut hand = Hand {
        pieces: Vec::new(),
        held: Vec::new(),
        versions: Vec::new(),
    };
    for (piece, held, version) in try_join_all(each).await? {
        hand.pieces.push(piece);
        hand.held.push(held);
        hand.versions.push(version);
    }
    Ok(hand)
}

/// Lays a composition; pointers start at it. What lies as in `before` is not let down again.
///
/// # Errors
/// At the pointer of what can't be laid.
pub async fn laid(
    app: &App,
    composition: Composition,
    version: i64,
    before: Option<Arc<Laid>>,
) -> Result<Laid, ApiError> {
    let hand = in_hand(app, &composition).await?;
    app.crew
        .quick(move || {
            let layout = match before {
                Some(before) => lay_on(&before, &composition, &hand.pieces)?,
                None => lay(&composition, &hand.pieces)?,
            };
            Ok(Laid {
                version,
                composition,
                layout,
                held: hand.held,
                pieces: hand.versions,
            })
        })
        .await?
}

/// Lays a composition whose first pieces may lie as they did: a piece depends on those
/// before it only. The same layout as [`lay`], to the last bit.
fn lay_on(
    before: &Laid,
    composition: &Composition,
    pieces: &[Arc<workshop::Piece>],
) -> Result<Layout, MethodError> {
    let n_same = before.n_same(composition, pieces);
    let placed = &before.layout.placed[..n_same];
    let mut held = composition.clone();
    for (at, placed) in held.piece.iter_mut().zip(placed) {
        let pose = view::pose(&placed.pose);
        at.held = Some(HeldPose {
            centre_mm: pose.centre_mm,
            quaternion: pose.quaternion,
        });
    }
    let mut layout = lay(&held, pieces)?;
    // Millimetres and back may be off in the last bit; those were let down already.
    layout.placed[..n_same].clone_from_slice(placed);
    Ok(layout)
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
    let laid = Arc::new(laid(app, composition, kept.version, bench.laid()).await?);
    // An edit may have come in between; the newest stays.
    if bench
        .laid()
        .is_none_or(|other| other.version <= laid.version)
    {
        app.benches.set(&bench, &laid);
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
