//! A drawn outline with no more points than the drawing can show.

use glam::DVec2;

use super::Ring;

/// Rings within `tolerance_m` of the given ones, the largest first.
///
/// # Source
/// D. H. Douglas, T. K. Peucker, Algorithms for the reduction of the number of
/// points required to represent a digitized line or its caricature,
/// Cartographica 10 (1973).
pub(super) fn rings(rings: Vec<Ring>, tolerance_m: f64) -> Vec<Ring> {
    let least_m2 = 10.0 * tolerance_m * tolerance_m;
    let mut simple: Vec<Ring> = rings
        .into_iter()
        .map(|ring| Ring {
            points_m: ring_within(&ring.points_m, tolerance_m),
        })
        .filter(|ring| ring.points_m.len() >= 3 && ring.area_m2().abs() >= least_m2)
        .collect();
    simple.sort_by(|a, b| b.area_m2().abs().total_cmp(&a.area_m2().abs()));
    simple
}

/// Splits the ring at its two furthest-apart points (nearly), and thins both halves.
fn ring_within(points: &[DVec2], tolerance: f64) -> Vec<DVec2> {
    let Some(start) = furthest_from(points, points.first().copied().unwrap_or_default()) else {
        return Vec::new();
    };
    let mut open: Vec<DVec2> = points[start..].to_vec();
    open.extend_from_slice(&points[..=start]);
    let Some(middle) = furthest_from(&open, open[0]) else {
        return Vec::new();
    };
    let mut keep = vec![false; open.len()];
    keep[0] = true;
    keep[middle] = true;
    let mut spans = vec![(0, middle), (middle, open.len() - 1)];
    while let Some((from, to)) = spans.pop() {
        let between = from + 1..to;
        let worst = between
            .map(|i| (distance_to_span(open[i], open[from], open[to]), i))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((distance, index)) = worst
            && distance > tolerance
        {
            keep[index] = true;
            spans.push((from, index));
            spans.push((index, to));
        }
    }
    let kept = open.iter().zip(&keep).take(open.len() - 1);
    kept.filter(|(_, keep)| **keep).map(|(p, _)| *p).collect()
}

fn furthest_from(points: &[DVec2], from: DVec2) -> Option<usize> {
    let distances = points.iter().map(|p| p.distance_squared(from));
    distances
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(index, _)| index)
}

/// Distance of `p` from the straight piece between `a` and `b`.
fn distance_to_span(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let square = along.length_squared();
    let share = if square > 0.0 {
        ((p - a).dot(along) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + along * share)
}
