//! How high a bed is between its points.
//!
//! Neighbouring points are joined by a Delaunay triangulation and the surface is
//! a plane on each triangle: it passes through every point, and never leaves
//! their least and greatest value. Beyond the outermost points the value of the
//! nearest place on their hull goes on. So one point gives a constant; two, or
//! more on a line, give a ramp between them that is level across and constant
//! beyond; four at the corners give planes from glass to glass.
//!
//! A smoother surface through natural neighbours was considered and left out: a
//! builder who sets three points expects the plane through them.

use glam::DVec2;

use super::delaunay::{Triangulation, orient};
use super::plan::BedPoint;

/// A surface through points.
#[derive(Debug, Clone)]
pub struct BedSurface {
    places_m: Vec<DVec2>,
    values_m: Vec<f64>,
    joined: Joined,
    range_m: (f64, f64),
}

#[derive(Debug, Clone)]
enum Joined {
    /// Segments between points on one line; none for a single point.
    Line(Vec<[usize; 2]>),
    Triangles {
        mesh: Triangulation,
        hull: Vec<[usize; 2]>,
    },
}

impl BedSurface {
    /// The surface through points at different places; at least one.
    #[must_use]
    pub fn new(points: &[BedPoint]) -> Self {
        let places_m: Vec<DVec2> = points.iter().map(|p| p.place_m).collect();
        let values_m: Vec<f64> = points.iter().map(|p| p.value_m).collect();
        let joined = Triangulation::new(&places_m, &values_m).map_or_else(
            || Joined::Line(line(&places_m)),
            |mesh| {
                let hull = mesh.hull().collect();
                Joined::Triangles { mesh, hull }
            },
        );
        let range_m = values_m
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                (low.min(*v), high.max(*v))
            });
        Self {
            places_m,
            values_m,
            joined,
            range_m,
        }
    }

    /// Value at a place, m. `hint` is where the last look-up ended; start with 0.
    #[must_use]
    pub fn value_m(&self, place_m: DVec2, hint: &mut usize) -> f64 {
        let value = match &self.joined {
            Joined::Line(segments) => self.nearest(segments, place_m),
            Joined::Triangles { mesh, hull } => match self.find(mesh, place_m, *hint) {
                Some(triangle) => {
                    *hint = triangle;
                    self.on_triangle(mesh.triangles[triangle], place_m)
                }
                None => self.nearest(hull, place_m),
            },
        };
        value.clamp(self.range_m.0, self.range_m.1)
    }

    /// Walks towards the place; none when it lies outside the hull.
    fn find(&self, mesh: &Triangulation, place: DVec2, hint: usize) -> Option<usize> {
        let mut triangle = hint.min(mesh.triangles.len() - 1);
        // A walk over a Delaunay triangulation never comes back to a triangle.
        for _ in 0..=mesh.triangles.len() {
            let corners = mesh.triangles[triangle].map(|v| self.places_m[v]);
            let outside = (0..3).find(|&k| orient(corners[k], corners[(k + 1) % 3], place) < 0.0);
            match outside {
                None => return Some(triangle),
                Some(edge) => triangle = mesh.neighbour(triangle, edge)?,
            }
        }
        None
    }

    fn on_triangle(&self, corners: [usize; 3], place: DVec2) -> f64 {
        let [a, b, c] = corners.map(|v| self.places_m[v]);
        let [value_a, value_b, value_c] = corners.map(|v| self.values_m[v]);
        let twice = (b - a).perp_dot(c - a);
        let share_b = (place - a).perp_dot(c - a) / twice;
        let share_c = (b - a).perp_dot(place - a) / twice;
        value_a + share_b * (value_b - value_a) + share_c * (value_c - value_a)
    }

    /// Value at the nearest place on any of the segments.
    fn nearest(&self, segments: &[[usize; 2]], place: DVec2) -> f64 {
        let mut best = (f64::INFINITY, self.values_m[0]);
        for &[from, to] in segments {
            let (start, along) = (self.places_m[from], self.places_m[to] - self.places_m[from]);
            let share = ((place - start).dot(along) / along.length_squared()).clamp(0.0, 1.0);
            let distance = place.distance_squared(start + along * share);
            if distance < best.0 {
                let (value, end) = (self.values_m[from], self.values_m[to]);
                best = (distance, value + share * (end - value));
            }
        }
        best.1
    }
}

/// Segments between neighbours of points on one line.
fn line(places: &[DVec2]) -> Vec<[usize; 2]> {
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by(|&a, &b| {
        let (p, q) = (places[a], places[b]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    });
    order.windows(2).map(|pair| [pair[0], pair[1]]).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn surface(points: &[(f64, f64, f64)]) -> BedSurface {
        let points: Vec<BedPoint> = points
            .iter()
            .map(|&(x, y, value_m)| BedPoint {
                place_m: DVec2::new(x, y),
                value_m,
            })
            .collect();
        BedSurface::new(&points)
    }

    fn check(points: &[(f64, f64, f64)], at: (f64, f64), want: f64) {
        let got = surface(points).value_m(DVec2::new(at.0, at.1), &mut 0);
        assert!((got - want).abs() < 1e-12, "{points:?} at {at:?}: {got}");
    }

    #[test]
    fn one_point_gives_a_constant() {
        check(&[(0.1, 0.1, 0.05)], (0.7, 0.0), 0.05);
    }

    #[test]
    fn two_points_give_a_ramp_that_is_constant_beyond() {
        let ramp = [(0.3, 0.1, 0.02), (0.3, 0.3, 0.10)];
        check(&ramp, (0.0, 0.2), 0.06);
        check(&ramp, (0.6, 0.05), 0.02);
        check(&ramp, (0.6, 0.4), 0.10);
    }

    #[test]
    fn three_points_give_their_plane() {
        let points = [(0.0, 0.0, 0.0), (0.6, 0.0, 0.06), (0.0, 0.3, 0.09)];
        check(&points, (0.2, 0.1), 0.05);
        check(&points, (-0.1, 0.15), 0.045);
    }

    #[test]
    fn a_peak_amid_the_corners_gives_a_pyramid() {
        let points = [
            (0.0, 0.0, 0.0),
            (0.6, 0.0, 0.0),
            (0.6, 0.3, 0.0),
            (0.0, 0.3, 0.0),
            (0.3, 0.15, 0.12),
        ];
        check(&points, (0.3, 0.075), 0.06);
        check(&points, (0.15, 0.15), 0.06);
        check(&points, (0.45, 0.225), 0.06);
    }

    proptest! {
        #[test]
        fn the_surface_passes_through_its_points_and_never_overshoots(
            grid in prop::collection::btree_map((0_i32..10, 0_i32..8), 0.0_f64..0.2, 1..20),
            x in -2.0_f64..12.0,
            y in -2.0_f64..10.0,
        ) {
            let points: Vec<(f64, f64, f64)> = grid
                .iter()
                .map(|((x, y), v)| (f64::from(*x), f64::from(*y), *v))
                .collect();
            let surface = surface(&points);
            let mut hint = 0;
            for (x, y, v) in &points {
                let got = surface.value_m(DVec2::new(*x, *y), &mut hint);
                prop_assert!((got - v).abs() < 1e-12);
            }
            let low = points.iter().map(|p| p.2).fold(f64::INFINITY, f64::min);
            let high = points.iter().map(|p| p.2).fold(f64::NEG_INFINITY, f64::max);
            let got = surface.value_m(DVec2::new(x, y), &mut hint);
            prop_assert!(got >= low && got <= high);
        }
    }
}
