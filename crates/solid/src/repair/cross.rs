//! Where two triangles meet.

use glam::DVec3;

use super::tree::distance_squared;

/// How two triangles meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Meeting {
    /// They touch in a point, or along an edge from one side.
    Touch,
    /// They share the piece of a line between two places.
    Line(DVec3, DVec3),
    /// They lie in one plane and overlap there.
    Plane,
}

/// A triangle with its unit normal.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plate {
    pub(super) corners: [DVec3; 3],
    pub(super) normal: DVec3,
}

/// Finds how two triangles meet; nearer than `reach_m` counts as being there.
///
/// Touching in a point is looked for only if `wants_touch`.
///
/// # Source
/// T. Möller, A fast triangle-triangle intersection test, J. Graphics Tools 2 (1997).
pub(super) fn meet(one: &Plate, two: &Plate, reach_m: f64, wants_touch: bool) -> Option<Meeting> {
    let (a, b) = (one.corners, two.corners);
    let (normal_a, normal_b) = (one.normal, two.normal);
    let sides = |p: &[DVec3; 3], normal: DVec3, origin: DVec3| {
        let side = |p: DVec3| snapped(normal.dot(p - origin), reach_m);
        [side(p[0]), side(p[1]), side(p[2])]
    };
    let sides_a = sides(&a, normal_b, b[0]);
    if is_one_sided(sides_a, wants_touch) {
        return None;
    }
    let sides_b = sides(&b, normal_a, a[0]);
    if is_one_sided(sides_b, wants_touch) {
        return None;
    }
    if sides_a == [0.0; 3] || sides_b == [0.0; 3] {
        return meet_in_plane(a, b, normal_a, reach_m);
    }
    let direction = normal_a.cross(normal_b).normalize_or_zero();
    let in_a = along(a, sides_a, direction)?;
    let in_b = along(b, sides_b, direction)?;
    let start = if in_a[0].0 >= in_b[0].0 {
        in_a[0]
    } else {
        in_b[0]
    };
    let end = if in_a[1].0 <= in_b[1].0 {
        in_a[1]
    } else {
        in_b[1]
    };
    match end.0 - start.0 {
        length if length > reach_m => {
            // Nearly parallel planes leave the line uncertain: hold its middle against both.
            let middle = 0.5 * (start.1 + end.1);
            let is_on = |t| distance_squared(middle, t) <= 16.0 * reach_m * reach_m;
            Some(if is_on(a) && is_on(b) {
                Meeting::Line(start.1, end.1)
            } else {
                Meeting::Touch
            })
        }
        length if length >= -reach_m => Some(Meeting::Touch),
        _ => None,
    }
}

fn snapped(distance_m: f64, reach_m: f64) -> f64 {
    if distance_m.abs() <= reach_m {
        0.0
    } else {
        distance_m
    }
}

/// Whether a triangle stays clear of a plane, but for a corner where touching doesn't count.
fn is_one_sided(sides: [f64; 3], wants_touch: bool) -> bool {
    let count = |is: [bool; 3]| is.into_iter().map(usize::from).sum::<usize>();
    let above = count([sides[0] > 0.0, sides[1] > 0.0, sides[2] > 0.0]);
    let below = count([sides[0] < 0.0, sides[1] < 0.0, sides[2] < 0.0]);
    let least = if wants_touch { 3 } else { 2 };
    (below == 0 && above >= least) || (above == 0 && below >= least)
}

/// First and last place of a triangle on the other's plane, by their place along the line.
fn along(corners: [DVec3; 3], sides: [f64; 3], direction: DVec3) -> Option<[(f64, DVec3); 2]> {
    let mut places: [Option<DVec3>; 6] = [None; 6];
    for i in 0..3 {
        let j = (i + 1) % 3;
        if sides[i] == 0.0 {
            places[i] = Some(corners[i]);
        }
        if sides[i] * sides[j] < 0.0 {
            let t = sides[i] / (sides[i] - sides[j]);
            places[3 + i] = Some(corners[i] + (corners[j] - corners[i]) * t);
        }
    }
    let mut ends: Option<[(f64, DVec3); 2]> = None;
    for place in places.into_iter().flatten() {
        let at = (place.dot(direction), place);
        ends = Some(match ends {
            None => [at, at],
            Some([low, high]) => [
                if at.0 < low.0 { at } else { low },
                if at.0 > high.0 { at } else { high },
            ],
        });
    }
    ends
}

/// Two triangles in one plane overlap unless a side of one has the other beyond it.
fn meet_in_plane(a: [DVec3; 3], b: [DVec3; 3], normal: DVec3, reach_m: f64) -> Option<Meeting> {
    let mut least = f64::INFINITY;
    for (one, other) in [(a, b), (b, a)] {
        for i in 0..3 {
            let (p, q, r) = (one[i], one[(i + 1) % 3], one[(i + 2) % 3]);
            let mut across = normal.cross(q - p).try_normalize()?;
            if across.dot(r - p) < 0.0 {
                across = -across;
            }
            let depth = other
                .iter()
                .map(|o| across.dot(*o - p))
                .fold(f64::NEG_INFINITY, f64::max);
            least = least.min(depth);
        }
    }
    match least {
        depth if depth > reach_m => Some(Meeting::Plane),
        depth if depth >= -reach_m => Some(Meeting::Touch),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FLAT: [[f64; 3]; 3] = [[0.0, 0.0, 0.0], [2.0, 0.0, 0.0], [0.0, 2.0, 0.0]];

    fn check(other: [[f64; 3]; 3], expected: Option<Meeting>) {
        let plate = |t: [[f64; 3]; 3]| {
            let corners = t.map(DVec3::from_array);
            let [a, b, c] = corners;
            let normal = (b - a).cross(c - a).normalize();
            Plate { corners, normal }
        };
        assert_eq!(meet(&plate(FLAT), &plate(other), 1e-9, true), expected);
    }

    #[test]
    fn a_triangle_that_stands_through_another_cuts_a_line() {
        check(
            [[0.5, 0.5, -1.0], [0.5, 0.5, 1.0], [0.5, 5.0, 0.0]],
            Some(Meeting::Line(
                DVec3::new(0.5, 1.5, 0.0),
                DVec3::new(0.5, 0.5, 0.0),
            )),
        );
    }

    #[test]
    fn a_tip_on_a_face_touches() {
        check(
            [[0.5, 0.5, 0.0], [0.5, 0.5, 1.0], [0.6, 0.5, 1.0]],
            Some(Meeting::Touch),
        );
    }

    #[test]
    fn overlap_in_one_plane_is_seen() {
        check(
            [[0.5, 0.5, 0.0], [3.0, 0.5, 0.0], [0.5, 3.0, 0.0]],
            Some(Meeting::Plane),
        );
    }

    #[test]
    fn neighbours_in_one_plane_only_touch() {
        check(
            [[2.0, 0.0, 0.0], [4.0, 0.0, 0.0], [2.0, 2.0, 0.0]],
            Some(Meeting::Touch),
        );
    }

    #[test]
    fn parallel_planes_apart_do_not_meet() {
        check([[0.0, 0.0, 0.1], [2.0, 0.0, 0.1], [0.0, 2.0, 0.1]], None);
    }
}
