//! The area with a winding number other than 0, as rings.

use glam::DVec2;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay::{IntOverlayOptions, Overlay, ShapeType};
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;

use super::Ring;

/// Half of the extent of a view, in steps of the grid that crossings are snapped to.
const STEPS: f64 = (1_u32 << 29) as f64;

/// Links edges, sorted by where they start, into closed loops.
///
/// As many edges end at a corner as start there, so a walk can only end where it began.
pub(super) fn chain(rim: &[(u32, u32)]) -> Vec<Vec<u32>> {
    let mut used = vec![false; rim.len()];
    // For each group of edges with one start (at its first edge): how many are used.
    let mut taken = vec![0u32; rim.len()];
    let mut chains = Vec::new();
    for first in 0..rim.len() {
        if used[first] {
            continue;
        }
        let mut loop_ = Vec::new();
        let mut here = rim[first].0;
        loop {
            let group = rim.partition_point(|edge| edge.0 < here);
            let next = group + taken.get(group).map_or(0, |n| *n as usize);
            if next >= rim.len() || rim[next].0 != here {
                break;
            }
            taken[group] += 1;
            used[next] = true;
            loop_.push(here);
            here = rim[next].1;
        }
        chains.push(loop_);
    }
    chains
}

/// Where the winding number of the loops is not 0.
pub(super) fn union(loops: &[Vec<DVec2>]) -> Vec<Ring> {
    let mut points = loops.iter().flatten();
    let Some(&first) = points.next() else {
        return Vec::new();
    };
    let (low, high) = points.fold((first, first), |(l, h), p| (l.min(*p), h.max(*p)));
    let middle = 0.5 * (low + high);
    let step_m = 0.5 * (high - low).max_element() / STEPS;
    if !(step_m > 0.0 && step_m.is_finite()) {
        return Vec::new();
    }
    let options = IntOverlayOptions::default();
    let n_points = loops.iter().map(Vec::len).sum();
    let mut overlay = Overlay::<i32>::new_custom(n_points, options, Default::default());
    for one in loops {
        let snapped = one.iter().map(|p| {
            let q = (*p - middle) / step_m;
            IntPoint::new(q.x.round() as i32, q.y.round() as i32)
        });
        overlay.add_path_iter(snapped, ShapeType::Subject);
    }
    overlay
        .overlay(OverlayRule::Subject, FillRule::NonZero)
        .into_iter()
        .flatten()
        .map(|contour| Ring {
            points_m: contour
                .iter()
                .map(|p| DVec2::new(f64::from(p.x), f64::from(p.y)) * step_m + middle)
                .collect(),
        })
        .collect()
}
