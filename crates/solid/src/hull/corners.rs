//! Which of a hull's corners are corners.

use glam::DVec3;

use super::quickhull::{Face, NONE};

/// How many corners the faces have (Euler: F = 2V − 4).
pub(super) fn n_corners(faces: &[Face]) -> usize {
    faces.len() / 2 + 2
}

/// The corners of the faces in rising order, and each one's place among them.
pub(super) fn corners(n_points: usize, faces: &[Face]) -> (Vec<u32>, Vec<u32>) {
    let mut place = vec![NONE; n_points];
    for corner in faces.iter().flat_map(|face| face.corners) {
        place[corner as usize] = 0;
    }
    let mut corners = Vec::with_capacity(n_corners(faces));
    for (index, place) in place.iter_mut().enumerate() {
        if *place != NONE {
            *place = corners.len() as u32;
            corners.push(index as u32);
        }
    }
    (corners, place)
}

/// The corners that stand out of their neighbours by more than `least`, in rising order.
///
/// A corner that does not is inside a flat facet or along a straight edge. Of
/// two neighbours at most one is dropped, so that a true corner with a twin stays.
pub(super) fn true_corners(points: &[DVec3], faces: &[Face], least: f64) -> Vec<u32> {
    let (corners, place) = corners(points.len(), faces);
    let at = |index: u32| points[index as usize];
    let mut outward = vec![DVec3::ZERO; corners.len()];
    for face in faces {
        let [a, b, c] = face.corners.map(at);
        let normal = (b - a).cross(c - a).normalize_or_zero();
        for corner in face.corners {
            outward[place[corner as usize] as usize] += normal;
        }
    }
    for along in &mut outward {
        *along = along.normalize_or_zero();
    }
    let sides = || {
        let pair = |face: &Face, side: usize| [face.corners[side], face.corners[(side + 1) % 3]];
        faces
            .iter()
            .flat_map(move |face| (0..3).map(move |side| pair(face, side)))
    };
    let mut height = vec![f64::INFINITY; corners.len()];
    for [from, to] in sides() {
        let here = place[from as usize] as usize;
        height[here] = height[here].min(outward[here].dot(at(from) - at(to)));
    }
    let mut dropped = vec![false; corners.len()];
    let mut blocked = vec![false; corners.len()];
    for [from, to] in sides() {
        let (here, next) = (place[from as usize] as usize, place[to as usize] as usize);
        if height[here] <= least && !blocked[here] && !dropped[next] {
            dropped[here] = true;
        }
        blocked[next] |= dropped[here];
    }
    let kept = corners
        .iter()
        .zip(&dropped)
        .filter(|(_, dropped)| !**dropped);
    kept.map(|(corner, _)| *corner).collect()
}
