//! The flat parts that beds make of a cell: exact where a region's side or the
//! line where a bed runs out passes through it.

use glam::DVec2;

use super::clip::{Plane, area_and_middle, keep};
use super::laid::Laid;
use super::plan::By;
use super::region::Cover;

/// Two heights nearer than this are the same, m.
const SAME_M: f64 = 1e-12;

/// A convex part of a cell on which every bed's top is a plane.
///
/// Places and planes are relative to the cell's front left corner.
#[derive(Debug, Clone)]
pub struct Facet {
    /// Corners, m, anticlockwise.
    pub corners_m: Vec<DVec2>,
    /// Top of the base (zero), then of each bed, in order from below.
    pub tops: Vec<Plane>,
    /// How far the bed last laid fell below what lies beneath it, m; zero where it didn't.
    pub cut: Plane,
}

impl Facet {
    /// Top of all beds.
    #[must_use]
    pub fn top(&self) -> Plane {
        self.tops.last().copied().unwrap_or(Plane::ZERO)
    }

    /// Greatest height of a plane over the facet, m.
    #[must_use]
    pub fn greatest_m(&self, plane: Plane) -> f64 {
        self.corners_m
            .iter()
            .fold(f64::NEG_INFINITY, |high, c| high.max(plane.at(*c)))
    }

    /// Integral of a plane over the facet, m³.
    #[must_use]
    pub fn integral_m3(&self, plane: Plane) -> f64 {
        let (area, middle) = area_and_middle(&self.corners_m);
        area * plane.at(middle)
    }

    fn part(&self, corners_m: Vec<DVec2>) -> Self {
        Self {
            corners_m,
            tops: self.tops.clone(),
            cut: self.cut,
        }
    }
}

/// All facets of cell (i, j) with the tops of every bed; `seen` looks at each bed's facets as it is laid.
pub fn facets(laid: &Laid, i: usize, j: usize, mut seen: impl FnMut(usize, &Facet)) -> Vec<Facet> {
    let grid = &laid.grid;
    let origin = grid.place_m(i, j);
    let size = grid.place_m(i + 1, j + 1) - origin;
    let cell = grid.cell(i, j);
    let [a, b, c, d] = [
        DVec2::ZERO,
        DVec2::new(size.x, 0.0),
        DVec2::new(0.0, size.y),
        size,
    ];
    let mut all = Vec::with_capacity(2);
    for (k, corners) in [[a, b, c], [b, d, c]].into_iter().enumerate() {
        let mut parts = vec![Facet {
            corners_m: corners.to_vec(),
            tops: vec![Plane::ZERO],
            cut: Plane::ZERO,
        }];
        for bed in 0..laid.beds.len() {
            let plane = bed_plane(laid, bed, i, j, size, k == 1);
            let mut next = Vec::with_capacity(parts.len());
            for part in parts {
                for (piece, inside) in by_region(laid, bed, cell, origin, part) {
                    let from = next.len();
                    lay(
                        piece,
                        inside.then_some((laid.beds[bed].by, plane)),
                        &mut next,
                    );
                    next[from..].iter().for_each(|facet| seen(bed, facet));
                }
            }
            parts = next;
        }
        all.extend(parts);
    }
    all
}

/// The plane of a bed's own surface over one triangle of a cell.
fn bed_plane(laid: &Laid, bed: usize, i: usize, j: usize, size: DVec2, far: bool) -> Plane {
    let value = |i, j| laid.beds[bed].values_m[laid.grid.node(i, j)];
    let (a, b, c, d) = (
        value(i, j),
        value(i + 1, j),
        value(i, j + 1),
        value(i + 1, j + 1),
    );
    if far {
        let gradient = DVec2::new(d - c, d - b) / size;
        Plane {
            at_origin_m: d - gradient.dot(size),
            gradient,
        }
    } else {
        Plane {
            at_origin_m: a,
            gradient: DVec2::new(b - a, c - a) / size,
        }
    }
}

/// Parts of a facet inside and outside a bed's region.
fn by_region(
    laid: &Laid,
    bed: usize,
    cell: usize,
    origin: DVec2,
    facet: Facet,
) -> Vec<(Facet, bool)> {
    let region = &laid.beds[bed].region;
    match region.cover(cell) {
        Cover::Inside => return vec![(facet, true)],
        Cover::Outside => return vec![(facet, false)],
        Cover::Crossed => {}
    }
    let mut parts = vec![facet];
    for (from, to) in region.sides_at(cell) {
        let (from, to) = (from - origin, to - origin);
        let mut next = Vec::with_capacity(parts.len() + 1);
        for part in parts {
            split(part, from, to, &mut next);
        }
        parts = next;
    }
    parts
        .into_iter()
        .map(|part| {
            let (_, middle) = area_and_middle(&part.corners_m);
            let inside = region.is_within(origin + middle);
            (part, inside)
        })
        .collect()
}

/// Cuts a facet along the line of a side, when the side itself passes through it.
fn split(facet: Facet, from: DVec2, to: DVec2, out: &mut Vec<Facet>) {
    let along = (to - from).normalize();
    let side = |p: DVec2| {
        let distance = along.perp_dot(p - from);
        if distance.abs() < SAME_M {
            0.0
        } else {
            distance
        }
    };
    let distances: Vec<f64> = facet.corners_m.iter().map(|c| side(*c)).collect();
    let crossed = distances.iter().any(|d| *d > 0.0) && distances.iter().any(|d| *d < 0.0);
    if !crossed || !passes_through(&facet.corners_m, from, to) {
        out.push(facet);
        return;
    }
    let (mut left, mut right) = (Vec::new(), Vec::new());
    keep(&facet.corners_m, side, &mut left);
    keep(&facet.corners_m, |p| -side(p), &mut right);
    out.push(facet.part(left));
    out.push(facet.part(right));
}

/// Whether more than a touch of a segment lies in a convex polygon.
///
/// # Source
/// M. Cyrus, J. Beck, Generalized two- and three-dimensional clipping, Computers & Graphics 3 (1978).
fn passes_through(corners: &[DVec2], from: DVec2, to: DVec2) -> bool {
    let along = to - from;
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (k, a) in corners.iter().enumerate() {
        let edge = corners[(k + 1) % corners.len()] - *a;
        let (inward, speed) = (edge.perp_dot(from - *a), edge.perp_dot(along));
        if speed == 0.0 {
            if inward < 0.0 {
                return false;
            }
        } else if speed > 0.0 {
            enter = enter.max(-inward / speed);
        } else {
            leave = leave.min(-inward / speed);
        }
    }
    (leave - enter) * along.length() > SAME_M
}

/// Lays a bed on a facet: nothing, or its top where that lies above what is beneath.
fn lay(mut facet: Facet, bed: Option<(By, Plane)>, out: &mut Vec<Facet>) {
    let below = facet.top();
    facet.cut = Plane::ZERO;
    let Some((by, plane)) = bed else {
        facet.tops.push(below);
        out.push(facet);
        return;
    };
    let (thickness, top) = match by {
        By::Thickness => (plane, below.plus(plane)),
        By::Top => (plane.less(below), plane),
    };
    let values: Vec<f64> = facet.corners_m.iter().map(|c| thickness.at(*c)).collect();
    let is_above = values.iter().any(|v| *v > SAME_M);
    let is_below = values.iter().any(|v| *v < -SAME_M);
    if is_above && is_below {
        let mut corners = Vec::new();
        keep(&facet.corners_m, |p| thickness.at(p), &mut corners);
        let mut laid = facet.part(corners);
        laid.tops.push(top);
        let mut corners = Vec::new();
        keep(&facet.corners_m, |p| -thickness.at(p), &mut corners);
        let mut bare = facet.part(corners);
        bare.tops.push(below);
        bare.cut = Plane::ZERO.less(thickness);
        out.extend([laid, bare]);
    } else {
        facet.tops.push(if is_below { below } else { top });
        if is_below {
            facet.cut = Plane::ZERO.less(thickness);
        }
        out.push(facet);
    }
}
