//! The smallest box that holds a piece.

mod body;
mod descent;
mod nearest;
mod settle_flush;
mod starts;

use glam::{DMat3, DQuat, DVec3};
use rayon::prelude::*;

use crate::hull::Hull;
use body::Body;

/// Among boxes this close to the least volume, the longest is taken.
const EQUAL: f64 = 1e-3;
/// Ends of the coarse descents this close to the best are refined.
const WORTH_REFINING: f64 = 0.06;
/// No more ends than this are refined.
const MOST_REFINED: usize = 8;

/// The box of least volume round a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeastBox {
    /// Sides, metres: x the longest, y the middle one, z the shortest.
    pub size_m: DVec3,
    /// Takes piece axes into box axes (x long, y middle, z short); w ≥ 0. Of
    /// the four such turns, the one through the least angle.
    pub turn: DQuat,
    /// Middle of the box in the piece frame, metres.
    pub centre_m: DVec3,
}

impl LeastBox {
    /// Volume, cubic metres.
    #[must_use]
    pub fn volume_m3(&self) -> f64 {
        self.size_m.element_product()
    }
}

/// The box of least volume that holds every corner of the hull.
///
/// Two adjacent sides of the least box may each hold no more than an edge of
/// the hull (O'Rourke 1985), so trying every facet is not enough. The search:
/// 1. thin the hull to a few hundred corners;
/// 2. for normals of facets, of pairs of edges and all over the half sphere,
///    the least rectangle round the outline along that normal;
/// 3. from the best of these that differ, descend over all rotations. The
///    volume has kinks wherever an edge lies in a side, and the least lies on
///    several at once: each step goes against the shortest of all slopes of
///    corners that nearly touch, so that it runs along kinks and not into them;
/// 4. the best ends descend once more with the full hull, and lie flush with
///    a facet where that costs nothing.
///
/// Of boxes within 0.1 % of the least, the longest is taken.
///
/// # Accuracy
/// Holds every corner to rounding. Volume within 0.5 % of the least by the
/// tests against the exhaustive search over pairs of edges.
///
/// # Source
/// J. O'Rourke, Finding minimal enclosing boxes, International Journal of
/// Computer and Information Sciences 14 (1985).
#[must_use]
pub fn least_box(hull: &Hull) -> LeastBox {
    let full = Body::of(hull);
    let thin = starts::thinned(&full);
    let fine = starts::fine(&full);
    let mut ends: Vec<(f64, DQuat)> = starts::starts(&thin)
        .par_iter()
        .map(|start| descent::descend(&thin.body, *start, descent::COARSE))
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let worst = ends.first().map_or(0.0, |best| best.0) + WORTH_REFINING;
    let ends = starts::distinct(&ends, starts::SAME_END_RAD, MOST_REFINED);
    let refined: Vec<(f64, DQuat)> = ends
        .par_iter()
        .filter(|end| end.0 <= worst)
        .map(|end| {
            let (_, turn) = descent::descend(&fine, end.1, descent::FINE);
            let turn = settle_flush::flush(hull, &full, turn);
            (full.log_volume(turn), turn)
        })
        .collect();
    let least = refined.iter().map(|r| r.0).fold(f64::INFINITY, f64::min);
    refined
        .iter()
        .filter(|r| r.0 <= least + EQUAL)
        .map(|r| box_along(hull, r.1))
        .reduce(|best, other| {
            // The longer of two; of two as long, the smaller; of two as small, the first.
            let longer = other.size_m.x > best.size_m.x * (1.0 + 1e-6);
            let as_long = other.size_m.x >= best.size_m.x * (1.0 - 1e-6);
            let smaller = other.volume_m3() < best.volume_m3() * (1.0 - 1e-9);
            if longer || (as_long && smaller) {
                other
            } else {
                best
            }
        })
        .unwrap_or_else(|| box_along(hull, DQuat::IDENTITY))
}

/// The box with its sides along the axes that `turn` leads x, y and z to, sorted by length.
fn box_along(hull: &Hull, turn: DQuat) -> LeastBox {
    let mut sides = [DVec3::X, DVec3::Y, DVec3::Z].map(|axis| {
        let axis = (turn * axis).normalize();
        let (low, high) = hull.extent(axis);
        (high - low, axis, 0.5 * (low + high))
    });
    sides.sort_by(|a, b| b.0.total_cmp(&a.0));
    let [long, mid, short] = sides;
    let hand = long.1.cross(mid.1).dot(short.1).signum();
    let from_box = DMat3::from_cols(long.1, mid.1, short.1 * hand);
    let to_box = DQuat::from_mat3(&from_box.transpose()).normalize();
    let turn = [DQuat::IDENTITY, HALF_X, HALF_Y, HALF_Z]
        .map(|half| half * to_box)
        .map(|q| if q.w < 0.0 { -q } else { q })
        .into_iter()
        .reduce(|best, other| {
            if other.w > best.w + 1e-12 {
                other
            } else {
                best
            }
        })
        .unwrap_or(to_box);
    LeastBox {
        size_m: DVec3::new(long.0, mid.0, short.0),
        turn,
        centre_m: long.1 * long.2 + mid.1 * mid.2 + short.1 * short.2,
    }
}

const HALF_X: DQuat = DQuat::from_xyzw(1.0, 0.0, 0.0, 0.0);
const HALF_Y: DQuat = DQuat::from_xyzw(0.0, 1.0, 0.0, 0.0);
const HALF_Z: DQuat = DQuat::from_xyzw(0.0, 0.0, 1.0, 0.0);
