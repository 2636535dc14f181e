//! Measured shapes in memory, so that an edit need not read a scan again.

use std::{
    collections::BTreeMap,
    sync::{Arc, Mutex, PoisonError, Weak},
};

use method::Certainty;
use solid::{
    Mesh,
    measure::MeasureOptions,
    read::{ReadOptions, Unit, Up},
};
use store::{MassCertainty, ObjectId};
use tokio::sync::OnceCell;
use workshop::{Piece, PieceMaterial, Shape};

use crate::{
    App,
    http::ApiError,
    least_recent::LeastRecent,
    taking_in::{look::reduced, take},
};

/// Bytes of shapes that are kept though no open layout uses them.
const MOST_BYTES: usize = 64 << 20;
/// Bytes of memory to a triangle: meshes, trees and parts. Measured: 29 pieces of
/// 20,000 triangles, laid and settled, took 280 MB.
const BYTES_A_TRIANGLE: usize = 480;
/// Triangles of a piece in a picture of a whole layout.
const LOOK_TRIANGLES: usize = 60_000;

/// A piece's form, measured.
#[derive(Debug, Clone)]
pub struct Held {
    /// What is computed with.
    pub shape: Shape,
    /// What is drawn.
    pub look: Arc<Mesh>,
}

impl Held {
    /// About so many bytes of memory.
    #[must_use]
    pub fn size(&self) -> usize {
        BYTES_A_TRIANGLE * self.shape.mesh().triangles.len()
    }
}

type Loading = Arc<OnceCell<Arc<Held>>>;

/// Shapes by the object that they are read from.
#[derive(Debug)]
pub struct Shapes {
    kept: LeastRecent<ObjectId, Arc<Held>>,
    /// Shapes that an open layout may still hold.
    alive: Mutex<BTreeMap<ObjectId, Weak<Held>>>,
    loading: Mutex<BTreeMap<ObjectId, Loading>>,
}

impl Default for Shapes {
    fn default() -> Self {
        Self {
            kept: LeastRecent::new(MOST_BYTES),
            alive: Mutex::default(),
            loading: Mutex::default(),
        }
    }
}

impl Shapes {
    /// Keeps a shape that was just measured.
    pub fn keep(&self, object: ObjectId, taken: &take::Taken) -> Arc<Held> {
        let held = Arc::new(Held {
            shape: Shape::new(Arc::clone(&taken.measure)),
            look: Arc::new(reduced(&taken.look, LOOK_TRIANGLES)),
        });
        let mut alive = self.alive.lock().unwrap_or_else(PoisonError::into_inner);
        alive.retain(|_, held| held.strong_count() > 0);
        alive.insert(object.clone(), Arc::downgrade(&held));
        drop(alive);
        self.kept.put(object, Arc::clone(&held), held.size());
        held
    }

    /// A shape that is in memory.
    fn get(&self, object: &ObjectId) -> Option<Arc<Held>> {
        self.kept.get(object).or_else(|| {
            let alive = self.alive.lock().unwrap_or_else(PoisonError::into_inner);
            alive.get(object)?.upgrade()
        })
    }
}

/// The shape of a piece; read and measured when it isn't in memory.
///
/// # Errors
/// When the piece has no scan, or the store fails.
pub async fn held(app: &App, piece: &store::Piece) -> Result<Arc<Held>, ApiError> {
    let Some(object) = piece.shape.clone().or_else(|| piece.scan.clone()) else {
        let message = format!("{} has no scan", piece.card.tag);
        return Err(ApiError::refused(
            "",
            message,
            "take the piece in with its scan",
        ));
    };
    if let Some(held) = app.shapes.get(&object) {
        return Ok(held);
    }
    let loading = loading(app).entry(object.clone()).or_default().clone();
    let held = loading
        .get_or_try_init(|| load(app, piece, &object))
        .await
        .cloned();
    self::loading(app).remove(&object);
    held
}

fn loading(app: &App) -> std::sync::MutexGuard<'_, BTreeMap<ObjectId, Loading>> {
    app.shapes
        .loading
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
}

async fn load(app: &App, piece: &store::Piece, object: &ObjectId) -> Result<Arc<Held>, ApiError> {
    let bytes = app.store.objects().get(object).await?;
    let (again, object, tag) = (app.clone(), object.clone(), piece.card.tag);
    // A shape is kept as PLY in metres, z up; a scan alone is glTF, which says so itself.
    let is_shape = piece.shape.is_some();
    app.crew
        .quick(move || {
            let options = ReadOptions {
                unit: is_shape.then_some(Unit::M),
                up: is_shape.then_some(Up::Z),
            };
            let name = if is_shape { "shape.ply" } else { "scan.glb" };
            let known = MeasureOptions::default();
            match take::take(&bytes, name, &options, &known) {
                Ok(taken) => Ok(again.shapes.keep(object, &taken)),
                Err(fault) => {
                    let error = format!("{tag}: {}", fault.error.message);
                    Err(ApiError::internal(&error))
                }
            }
        })
        .await?
}

/// The piece of the yard as the workshop computes with it.
///
/// # Errors
/// When its figures make no piece.
pub fn piece(kept: &store::Piece, held: &Held) -> Result<Piece, ApiError> {
    let card = &kept.card;
    let material = PieceMaterial {
        name: card.material.clone(),
        density_kg_m3: kept.density_kg_m3,
        friction: kept.friction,
        certainty: match card.mass_certainty {
            MassCertainty::Assumed => Certainty::Assumed,
            _ => Certainty::Estimated,
        },
    };
    let weighed = (card.mass_certainty == MassCertainty::Measured).then_some(card.mass_kg);
    Piece::new(card.tag, material, held.shape.clone(), weighed, card.price).map_err(|error| {
        ApiError::refused(
            "",
            error.to_string(),
            "look at the piece's page and correct it",
        )
    })
}
