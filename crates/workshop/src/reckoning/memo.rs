//! What was reckoned before, so that a change recomputes only what it touches.

use std::collections::BTreeMap;
use std::sync::Arc;

use layout::ground::{GroundError, Laid, Share};
use method::Figure;

use super::{ground::Ground, key::Key, price::Price, stands::Stands, water::Water, weight::Weight};

/// How often each part was computed since the memo was made.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// Solids prepared for settling.
    pub n_solids: usize,
    /// Settlings.
    pub n_stands: usize,
    /// Grounds laid.
    pub n_laid: usize,
    /// Pieces sunk into ground and water.
    pub n_shares: usize,
    /// The group *Ground*.
    pub n_ground: usize,
    /// The group *Water*.
    pub n_water: usize,
    /// The empty tank's mass.
    pub n_empty_tank: usize,
    /// The group *Weight*.
    pub n_weight: usize,
    /// The group *Price*.
    pub n_price: usize,
}

/// One kept value and what it depends on.
#[derive(Debug, Clone)]
pub(super) struct Slot<T>(Option<(Key, T)>);

impl<T> Default for Slot<T> {
    fn default() -> Self {
        Self(None)
    }
}

impl<T: Clone> Slot<T> {
    /// The kept value, when its key is the same.
    pub fn kept(&self, key: &Key) -> Option<T> {
        let (kept, value) = self.0.as_ref()?;
        (kept == key).then(|| value.clone())
    }

    /// Keeps a value.
    pub fn keep(&mut self, key: Key, value: T) {
        self.0 = Some((key, value));
    }

    /// The kept value when its key is the same, else a new one, counted.
    pub fn get(&mut self, key: Key, count: &mut usize, compute: impl FnOnce() -> T) -> T {
        self.kept(&key).unwrap_or_else(|| {
            *count += 1;
            let value = compute();
            self.keep(key, value.clone());
            value
        })
    }
}

pub(super) type LaidGround = Result<Arc<Laid>, GroundError>;

/// Figures of earlier reckonings. One memo serves one bench: it keeps the last
/// of each group; a piece's solid is kept with its shape.
#[derive(Debug, Clone, Default)]
pub struct Memo {
    pub(super) counts: Counts,
    pub(super) laid: Slot<LaidGround>,
    pub(super) shares: BTreeMap<Key, Arc<Share>>,
    pub(super) stands: Slot<Stands>,
    pub(super) ground: Slot<Ground>,
    pub(super) water: Slot<Water>,
    pub(super) empty_tank: Slot<Figure>,
    pub(super) weight: Slot<Weight>,
    pub(super) price: Slot<Price>,
}

impl Memo {
    /// How often each part was computed.
    #[must_use]
    pub fn counts(&self) -> Counts {
        self.counts
    }
}
