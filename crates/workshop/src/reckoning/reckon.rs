//! From a layout to every figure: what is computed from what.

use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::Arc;

use layout::{
    ground::{self, GroundError, Laid, PlacedSolid, Share, share::share},
    settle::Progress,
};
use rayon::prelude::*;

use super::{Ground, Price, Reckoning, Stands, Water, Weight, key::Key, memo::Memo};
use crate::{Layout, Placed};

/// The parts of a layout's ground that several groups rest on.
pub(super) struct InGround {
    /// The plan without prices.
    pub plan: ground::GroundPlan,
    /// What the laid ground depends on.
    pub laid_key: Key,
    /// The ground without pieces.
    pub laid: Arc<Laid>,
    /// Each piece in it, in the order of placing.
    pub shares: Vec<Arc<Share>>,
}

/// Why a layout was not reckoned.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReckonError {
    /// The ground can't be laid, or a pose is not finite.
    #[error("{0}")]
    Ground(#[from] GroundError),
    /// Whoever asked broke it off.
    #[error("the reckoning was stopped")]
    Stopped,
}

/// The groups that need no settling: figures of the pieces where the layout puts them.
#[derive(Debug, Clone, PartialEq)]
pub struct AsPut {
    /// What ground it takes.
    pub ground: Ground,
    /// How much water is left.
    pub water: Water,
    /// What the stand and the floor carry.
    pub weight: Weight,
    /// What it costs.
    pub price: Price,
}

/// Every figure of a layout.
///
/// Ground, water and weight are those of the pieces where the layout puts them;
/// *Stands* says whether they stay there.
///
/// # Errors
/// When the ground can't be laid, or a pose is not finite. A layout that can't be
/// settled is no error: that is said in *Stands*.
pub fn reckon(layout: &Layout, memo: &mut Memo) -> Result<Reckoning, ReckonError> {
    let as_put = reckon_as_put(layout, memo)?;
    let stands = reckon_stands(layout, memo, &mut |_| ControlFlow::Continue(()))?;
    Ok(Reckoning {
        stands,
        ground: as_put.ground,
        water: as_put.water,
        weight: as_put.weight,
        price: as_put.price,
    })
}

/// The figures of a layout that need no settling.
///
/// # Errors
/// When the ground can't be laid, or a pose is not finite.
pub fn reckon_as_put(layout: &Layout, memo: &mut Memo) -> Result<AsPut, ReckonError> {
    let in_ground = in_ground(layout, memo)?;
    let ground = super::ground::reckon(layout, &in_ground, memo)?;
    let water = super::water::reckon(layout, &in_ground, memo);
    let weight = super::weight::reckon(layout, &in_ground, &ground, &water, memo);
    let price = super::price::reckon(layout, &ground, memo);
    Ok(AsPut {
        ground,
        water,
        weight,
        price,
    })
}

/// The group *Stands*: lets the layout go and judges every piece.
///
/// `progress` hears how far settling has come, and may break it off.
///
/// # Errors
/// As [`reckon`], or when `progress` broke off.
pub fn reckon_stands(
    layout: &Layout,
    memo: &mut Memo,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Stands, ReckonError> {
    let in_ground = in_ground(layout, memo)?;
    super::stands::reckon(layout, &in_ground, memo, progress)?.ok_or(ReckonError::Stopped)
}

fn in_ground(layout: &Layout, memo: &mut Memo) -> Result<InGround, GroundError> {
    let plan = layout.ground.plan();
    let inside_m = layout.tank.inside_m();
    let cell_m = layout.surroundings.ground_cell_m;
    let laid_key = laid_key(&plan, layout);
    let laid = memo
        .laid
        .get(laid_key.clone(), &mut memo.counts.n_laid, || {
            Laid::new(&plan, inside_m.truncate(), cell_m).map(Arc::new)
        })?;
    let shares = shares(layout, &laid, &laid_key, memo)?;
    Ok(InGround {
        plan,
        laid_key,
        laid,
        shares,
    })
}

fn shares(
    layout: &Layout,
    laid: &Laid,
    laid_key: &Key,
    memo: &mut Memo,
) -> Result<Vec<Arc<Share>>, GroundError> {
    let water_m = layout.tank.water_line_m;
    ground::build::check_water(water_m)?;
    let keys: Vec<Key> = layout
        .placed
        .iter()
        .map(|placed| pose_key(placed).key(laid_key).number(water_m))
        .collect();
    let missing: Vec<usize> = (0..keys.len())
        .filter(|&k| !memo.shares.contains_key(&keys[k]))
        .collect();
    memo.counts.n_shares += missing.len();
    let computed: Vec<Arc<Share>> = missing
        .par_iter()
        .map(|&k| share(laid, k, &placed_solid(&layout.placed[k]), water_m).map(Arc::new))
        .collect::<Result<_, _>>()?;
    // Only what this layout uses is kept.
    let mut kept: BTreeMap<Key, Arc<Share>> = BTreeMap::new();
    for (k, value) in missing.into_iter().zip(computed) {
        kept.insert(keys[k].clone(), value);
    }
    let all = keys
        .iter()
        .map(|key| {
            let found = kept.get(key).or_else(|| memo.shares.get(key)).cloned();
            found.inspect(|value| {
                kept.insert(key.clone(), value.clone());
            })
        })
        .collect::<Option<Vec<_>>>();
    memo.shares = kept;
    // Every key was either kept before or computed above.
    Ok(all.unwrap_or_default())
}

/// A piece as ground and water see it.
fn placed_solid(placed: &Placed) -> PlacedSolid<'_> {
    let shape = placed.piece.shape();
    PlacedSolid {
        mesh: shape.mesh(),
        centre_in_piece_m: shape.moments().centre_m,
        pose: placed.pose,
        bedded: placed.bedded,
    }
}

/// What a piece's place in the tank depends on.
pub(super) fn pose_key(placed: &Placed) -> Key {
    let [one, other] = placed.piece.shape().fingerprint();
    Key::default()
        .count(one)
        .count(other)
        .place(placed.pose.centre_m)
        .turn(placed.pose.turn)
        .count(u64::from(placed.bedded))
}

/// What the ground without pieces depends on; prices don't count.
fn laid_key(plan: &ground::GroundPlan, layout: &Layout) -> Key {
    let inside = layout.tank.inside_m();
    let mut key = Key::default()
        .place(inside)
        .number(layout.surroundings.ground_cell_m);
    for material in &plan.materials {
        key = key
            .text(&material.name)
            .number(material.bulk_density_kg_m3)
            .maybe(material.grain_density_kg_m3)
            .maybe(material.grain_m)
            .number(material.angle_of_repose_rad)
            .maybe(material.bag_m3);
    }
    for bed in &plan.beds {
        key = key
            .count(bed.material as u64)
            .count(bed.by as u64)
            .count(bed.points.len() as u64);
        for point in &bed.points {
            key = key.plan(point.place_m).number(point.value_m);
        }
        if let ground::Region::Polygon(corners) = &bed.region {
            key = key.count(corners.len() as u64);
            key = corners.iter().fold(key, |key, corner| key.plan(*corner));
        } else {
            key = key.count(u64::MAX);
        }
    }
    key
}
