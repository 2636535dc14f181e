//! Which points could be corners of the hull, found in one pass over them all.

use glam::DVec3;
use rayon::prelude::*;

use super::quickhull;
use crate::SolidError;

/// Below this many points the filter costs more than it saves.
const LEAST_POINTS: usize = 20_000;
/// Cells along one side of each face of the cube of directions.
const CELLS: usize = 16;
/// Points handed to one task; the result does not depend on it.
const CHUNK: usize = 65_536;

/// Indices of a subset of `points` that has the same hull, rising.
///
/// The furthest point in each cell of a cube of directions gives a rough hull
/// inside the true one. Its gauge g (the least factor that shrinks a point into
/// it is 1/g) is convex and homogeneous, so over the pyramid of one cell it is
/// at most its value at the cell's four corners: a point p with
/// |p|∞ · g(corner) < 1 for all four is inside, and is left out.
pub(super) fn candidates(
    points: &[DVec3],
    half_size: DVec3,
    skin: f64,
) -> Result<Vec<u32>, SolidError> {
    let all = || (0..points.len() as u32).collect();
    if points.len() < LEAST_POINTS || half_size.min_element() <= 1e-6 * half_size.max_element() {
        return Ok(all());
    }
    let scale = half_size.recip();
    let far = furthest_in_cells(points, scale);
    let rough = quickhull::faces(points, &far, skin)?;
    let Some(gauge) = gauge_over_cells(points, &rough, half_size) else {
        return Ok(all());
    };
    let kept: Vec<Vec<u32>> = points
        .par_chunks(CHUNK)
        .enumerate()
        .map(|(chunk, some)| {
            let outside = |(i, p): (usize, &DVec3)| {
                let (cell, reach) = cell_of(*p * scale);
                (reach * gauge[cell] >= 1.0 - 1e-9).then_some((chunk * CHUNK + i) as u32)
            };
            some.iter().enumerate().filter_map(outside).collect()
        })
        .collect();
    let mut kept = kept.concat();
    kept.extend(&far);
    kept.sort_unstable();
    kept.dedup();
    Ok(kept)
}

/// The cell of directions that holds `q`, and its greatest coordinate.
fn cell_of(q: DVec3) -> (usize, f64) {
    let size = q.abs();
    let (face, reach, s, t) = if size.x >= size.y && size.x >= size.z {
        (usize::from(q.x < 0.0), size.x, q.y, q.z)
    } else if size.y >= size.z {
        (2 + usize::from(q.y < 0.0), size.y, q.z, q.x)
    } else {
        (4 + usize::from(q.z < 0.0), size.z, q.x, q.y)
    };
    let step = |v: f64| {
        let place = (v / reach.max(f64::MIN_POSITIVE) + 1.0) * 0.5 * CELLS as f64;
        (place as usize).min(CELLS - 1)
    };
    ((face * CELLS + step(s)) * CELLS + step(t), reach)
}

/// For each cell, the point that is furthest out (the first of equals).
fn furthest_in_cells(points: &[DVec3], scale: DVec3) -> Vec<u32> {
    let nothing = || vec![(-1.0_f64, u32::MAX); 6 * CELLS * CELLS];
    let found: Vec<_> = points
        .par_chunks(CHUNK)
        .enumerate()
        .map(|(chunk, some)| {
            let mut best = nothing();
            for (i, p) in some.iter().enumerate() {
                let q = *p * scale;
                let cell = cell_of(q).0;
                let distance = q.length_squared();
                if distance > best[cell].0 {
                    best[cell] = (distance, (chunk * CHUNK + i) as u32);
                }
            }
            best
        })
        .collect();
    let mut best = nothing();
    for part in found {
        for (cell, candidate) in part.into_iter().enumerate() {
            if candidate.0 > best[cell].0 {
                best[cell] = candidate;
            }
        }
    }
    let mut far: Vec<u32> = best.iter().filter(|b| b.0 >= 0.0).map(|b| b.1).collect();
    far.sort_unstable();
    far.dedup();
    far
}

/// Greatest gauge of the rough hull over each cell; `None` when the middle is not inside it.
fn gauge_over_cells(points: &[DVec3], rough: &[quickhull::Face], scale: DVec3) -> Option<Vec<f64>> {
    let mut duals = Vec::with_capacity(rough.len());
    for face in rough {
        let [a, b, c] = face.corners.map(|v| points[v as usize]);
        let normal = (b - a).cross(c - a);
        let offset = normal.dot(a);
        if offset <= 1e-6 * normal.length() * scale.min_element() {
            return None;
        }
        // In scaled coordinates q = p / scale the plane is (normal * scale)·q = offset.
        duals.push(normal * scale / offset);
    }
    let side = CELLS + 1;
    let corner = |face: usize, i: usize, j: usize| {
        let sign = if face.is_multiple_of(2) { 1.0 } else { -1.0 };
        let step = |k: usize| 2.0 * k as f64 / CELLS as f64 - 1.0;
        match face / 2 {
            0 => DVec3::new(sign, step(i), step(j)),
            1 => DVec3::new(step(j), sign, step(i)),
            _ => DVec3::new(step(i), step(j), sign),
        }
    };
    let at_corners: Vec<f64> = (0..6 * side * side)
        .into_par_iter()
        .map(|k| {
            let ray = corner(k / (side * side), k / side % side, k % side);
            duals.iter().map(|d| d.dot(ray)).fold(0.0, f64::max)
        })
        .collect();
    let mut gauge = Vec::with_capacity(6 * CELLS * CELLS);
    for face in 0..6 {
        for i in 0..CELLS {
            for j in 0..CELLS {
                let at = |i: usize, j: usize| at_corners[(face * side + i) * side + j];
                let most = at(i, j).max(at(i + 1, j)).max(at(i, j + 1));
                gauge.push(most.max(at(i + 1, j + 1)));
            }
        }
    }
    Some(gauge)
}
