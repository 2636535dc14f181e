//! Which points could be corners of the hull, found in one pass over them all.

use glam::DVec3;
use rayon::prelude::*;

use super::cells::{CHUNK, Cells, RoundFrame};
use super::quickhull;
use crate::SolidError;

/// Below this many points the filter costs more than it saves.
const LEAST_POINTS: usize = 20_000;
/// The cells of directions over which a point is judged.
const CELLS: Cells = Cells { side: 16 };
/// Corners of cells along one side of the cube.
const SIDES: usize = CELLS.side + 1;

/// Indices of a subset of `points` that has the same hull, rising.
///
/// The furthest point in each cell of a cube of directions gives a rough hull
/// inside the true one. Its gauge g (a point p lies inside when g(p) < 1) is
/// convex, so over half a cell of the cube, a triangle, it is at most what its
/// values at the three corners give in between; and it is homogeneous: g(p) is
/// |p|∞ times its value where the ray of p meets the cube. Points for which that
/// bound is under 1 are left out. This holds in any affine frame; one in which
/// the body is round makes the bound tight.
pub(super) fn candidates(
    points: &[DVec3],
    skin: f64,
    flatness: f64,
) -> Result<Vec<u32>, SolidError> {
    let all = || (0..points.len() as u32).collect();
    if points.len() < LEAST_POINTS {
        return Ok(all());
    }
    let Some(frame) = RoundFrame::of(points) else {
        return Ok(all());
    };
    let far = CELLS.furthest(points, &frame);
    let rough = quickhull::faces(points, &far, skin, flatness)?;
    let Some(gauge) = gauge_at_corners(points, &rough, &frame) else {
        return Ok(all());
    };
    let corner = |face: usize, i: usize, j: usize| gauge[(face * SIDES + i) * SIDES + j];
    let kept: Vec<Vec<u32>> = points
        .par_chunks(CHUNK)
        .enumerate()
        .map(|(chunk, some)| {
            let outside = |(i, p): (usize, &DVec3)| {
                let at = CELLS.meet(frame.place(*p));
                let (high, wide) = (
                    corner(at.face, at.i + 1, at.j),
                    corner(at.face, at.i, at.j + 1),
                );
                let bound = if at.s + at.t <= 1.0 {
                    let near = corner(at.face, at.i, at.j);
                    near + at.s * (high - near) + at.t * (wide - near)
                } else {
                    let far = corner(at.face, at.i + 1, at.j + 1);
                    far + (1.0 - at.s) * (wide - far) + (1.0 - at.t) * (high - far)
                };
                (at.reach * bound >= 1.0 - 1e-9).then_some((chunk * CHUNK + i) as u32)
            };
            some.iter().enumerate().filter_map(outside).collect()
        })
        .collect();
    let mut kept = kept.concat();
    // The rough hull's own corners must stay, whatever rounding says.
    kept.extend(&far);
    kept.sort_unstable();
    kept.dedup();
    Ok(kept)
}

/// The gauge of the rough hull at each corner of the cells; `None` when the middle is not well inside.
fn gauge_at_corners(
    points: &[DVec3],
    rough: &[quickhull::Face],
    frame: &RoundFrame,
) -> Option<Vec<f64>> {
    let mut duals = Vec::with_capacity(rough.len());
    for face in rough {
        let [a, b, c] = face.corners.map(|v| frame.place(points[v as usize]));
        let normal = (b - a).cross(c - a);
        let offset = normal.dot(a);
        if offset <= 1e-3 * normal.length() {
            return None;
        }
        duals.push(normal / offset);
    }
    let gauge = (0..6 * SIDES * SIDES).into_par_iter().map(|k| {
        let ray = CELLS.corner(k / (SIDES * SIDES), k / SIDES % SIDES, k % SIDES);
        duals.iter().map(|d| d.dot(ray)).fold(0.0, f64::max)
    });
    Some(gauge.collect())
}
