//! Which points of a bed are neighbours: a Delaunay triangulation that doesn't
//! depend on the order in which the points were given.
//!
//! Points are taken from left to right, each joined to the part of the hull that
//! it sees, and edges are flipped until no circle round a triangle holds another
//! point (C. L. Lawson, Software for C¹ surface interpolation, 1977). Where four
//! points lie on one circle either diagonal would do; the one between the more
//! equal values is taken, so that a rectangle of points gives the flatter ridge
//! whichever way round it was written. Orientation and circle tests are exact
//! (J. R. Shewchuk, Adaptive precision floating-point arithmetic and fast robust
//! geometric predicates, 1997).

use glam::DVec2;
use robust::Coord;

const NONE: usize = usize::MAX;

/// A triangulation of points of the plane.
#[derive(Debug, Clone)]
pub struct Triangulation {
    /// Corners of each triangle, anticlockwise.
    pub triangles: Vec<[usize; 3]>,
    /// Neighbour across the edge that starts at corner k, or `None` at the hull.
    neighbours: Vec<[usize; 3]>,
}

/// Twice the signed area of a triangle, with the exact sign: above zero when anticlockwise.
#[must_use]
pub fn orient(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    robust::orient2d(coord(a), coord(b), coord(c))
}

fn coord(p: DVec2) -> Coord<f64> {
    Coord { x: p.x, y: p.y }
}

impl Triangulation {
    /// Triangulates points that differ from each other; `values` decide between
    /// equal diagonals. None when all points lie on one line.
    #[must_use]
    pub fn new(points: &[DVec2], values: &[f64]) -> Option<Self> {
        let mut order: Vec<usize> = (0..points.len()).collect();
        order.sort_by(|&a, &b| {
            let (p, q) = (points[a], points[b]);
            p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
        });
        let apex_at = (2..order.len())
            .find(|&k| orient(points[order[0]], points[order[1]], points[order[k]]) != 0.0)?;
        let mut builder = Builder {
            points,
            mesh: Self {
                triangles: Vec::new(),
                neighbours: Vec::new(),
            },
            hull: Vec::new(),
        };
        builder.fan(&order[..apex_at], order[apex_at]);
        for &point in &order[apex_at + 1..] {
            builder.join(point);
        }
        let mut mesh = builder.mesh;
        mesh.link();
        mesh.flip(points, values);
        Some(mesh)
    }

    /// Neighbour across the edge that starts at corner `edge` of triangle `triangle`.
    #[must_use]
    pub fn neighbour(&self, triangle: usize, edge: usize) -> Option<usize> {
        let across = self.neighbours[triangle][edge];
        (across != NONE).then_some(across)
    }

    /// Edges of the hull, anticlockwise, in the order of the triangles.
    pub fn hull(&self) -> impl Iterator<Item = [usize; 2]> + '_ {
        self.triangles.iter().enumerate().flat_map(move |(t, c)| {
            (0..3)
                .filter(move |&k| self.neighbours[t][k] == NONE)
                .map(move |k| [c[k], c[(k + 1) % 3]])
        })
    }

    fn link(&mut self) {
        self.neighbours = vec![[NONE; 3]; self.triangles.len()];
        let mut edges: Vec<(usize, usize, usize, usize)> = Vec::new();
        for (t, corners) in self.triangles.iter().enumerate() {
            for k in 0..3 {
                let (a, b) = (corners[k], corners[(k + 1) % 3]);
                edges.push((a.min(b), a.max(b), t, k));
            }
        }
        edges.sort_unstable();
        for pair in edges.windows(2) {
            let ((a, b, t, k), (c, d, u, l)) = (pair[0], pair[1]);
            if (a, b) == (c, d) {
                self.neighbours[t][k] = u;
                self.neighbours[u][l] = t;
            }
        }
    }

    fn flip(&mut self, points: &[DVec2], values: &[f64]) {
        // Every flip lowers the lifted surface or, on a circle, evens out a
        // diagonal, so the work ends; the bound guards against a defect here.
        let mut waiting: Vec<usize> = (0..self.triangles.len()).rev().collect();
        let mut left = 64 + 16 * points.len() * points.len();
        while let Some(t) = waiting.pop() {
            for k in 0..3 {
                if left == 0 {
                    return;
                }
                let u = self.neighbours[t][k];
                if u != NONE && self.should_flip(t, k, u, points, values) {
                    self.flip_edge(t, k, u);
                    waiting.extend([u, t]);
                    left -= 1;
                    break;
                }
            }
        }
    }

    fn should_flip(&self, t: usize, k: usize, u: usize, points: &[DVec2], values: &[f64]) -> bool {
        let [a, b, c] = self.turned_to_edge(t, k);
        let d = self.opposite(u, t);
        let circle = robust::incircle(
            coord(points[a]),
            coord(points[b]),
            coord(points[c]),
            coord(points[d]),
        );
        if circle != 0.0 {
            return circle > 0.0;
        }
        let convex = orient(points[c], points[a], points[d]) > 0.0
            && orient(points[d], points[b], points[c]) > 0.0;
        let now = (values[a] - values[b]).abs();
        let then = (values[c] - values[d]).abs();
        convex && then < now
    }

    /// Corners of `t`, turned so that the edge in question comes first.
    fn turned_to_edge(&self, t: usize, k: usize) -> [usize; 3] {
        let corners = self.triangles[t];
        [corners[k], corners[(k + 1) % 3], corners[(k + 2) % 3]]
    }

    /// The edge of `u` that it shares with `t`.
    fn edge_to(&self, u: usize, t: usize) -> usize {
        (0..3).find(|&k| self.neighbours[u][k] == t).unwrap_or(0)
    }

    /// The corner of `u` that doesn't lie on its edge with `t`.
    fn opposite(&self, u: usize, t: usize) -> usize {
        self.triangles[u][(self.edge_to(u, t) + 2) % 3]
    }

    fn flip_edge(&mut self, t: usize, k: usize, u: usize) {
        let l = self.edge_to(u, t);
        let [a, b, c] = self.turned_to_edge(t, k);
        let d = self.opposite(u, t);
        let (t_bc, t_ca) = (
            self.neighbours[t][(k + 1) % 3],
            self.neighbours[t][(k + 2) % 3],
        );
        let (u_ad, u_db) = (
            self.neighbours[u][(l + 1) % 3],
            self.neighbours[u][(l + 2) % 3],
        );
        self.triangles[t] = [c, a, d];
        self.neighbours[t] = [t_ca, u_ad, u];
        self.triangles[u] = [d, b, c];
        self.neighbours[u] = [u_db, t_bc, t];
        for (outer, old, new) in [(u_ad, u, t), (t_bc, t, u)] {
            if outer != NONE {
                let edge = self.edge_to(outer, old);
                self.neighbours[outer][edge] = new;
            }
        }
    }
}

struct Builder<'a> {
    points: &'a [DVec2],
    mesh: Triangulation,
    /// Corners of the hull, anticlockwise.
    hull: Vec<usize>,
}

impl Builder<'_> {
    /// Points on one line, and one beside it.
    fn fan(&mut self, line: &[usize], apex: usize) {
        let left = orient(
            self.points[line[0]],
            self.points[line[1]],
            self.points[apex],
        ) > 0.0;
        for pair in line.windows(2) {
            self.mesh.triangles.push(if left {
                [pair[0], pair[1], apex]
            } else {
                [pair[1], pair[0], apex]
            });
        }
        self.hull = line.to_vec();
        if !left {
            self.hull.reverse();
        }
        self.hull.push(apex);
    }

    /// A point to the right of all that were joined before: it sees one run of hull edges.
    fn join(&mut self, point: usize) {
        let n = self.hull.len();
        let seen: Vec<bool> = (0..n)
            .map(|k| {
                let (a, b) = (self.hull[k], self.hull[(k + 1) % n]);
                orient(self.points[a], self.points[b], self.points[point]) < 0.0
            })
            .collect();
        let Some(start) = (0..n).find(|&k| seen[k] && !seen[(k + n - 1) % n]) else {
            return;
        };
        let run = (0..n).take_while(|&k| seen[(start + k) % n]).count();
        for k in 0..run {
            let (a, b) = (self.hull[(start + k) % n], self.hull[(start + k + 1) % n]);
            self.mesh.triangles.push([b, a, point]);
        }
        let keep = (0..=n - run).map(|k| self.hull[(start + run + k) % n]);
        self.hull = keep.chain([point]).collect();
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn hull_area(points: &[DVec2], mesh: &Triangulation) -> f64 {
        mesh.hull()
            .map(|[a, b]| 0.5 * points[a].perp_dot(points[b]))
            .sum()
    }

    #[test]
    fn points_on_a_line_make_no_triangles() {
        let line: Vec<DVec2> = (0..5).map(|k| DVec2::new(f64::from(k), 2.0)).collect();
        assert!(Triangulation::new(&line, &[0.0; 5]).is_none());
    }

    #[test]
    fn a_rectangle_takes_the_flatter_diagonal_whatever_the_order() {
        let corners = [
            (0.0, 0.0, 1.0),
            (6.0, 0.0, 5.0),
            (6.0, 3.0, 1.5),
            (0.0, 3.0, 9.0),
        ];
        for turn in 0..4 {
            let turned: Vec<_> = (0..4).map(|k| corners[(k + turn) % 4]).collect();
            let points: Vec<DVec2> = turned.iter().map(|c| DVec2::new(c.0, c.1)).collect();
            let values: Vec<f64> = turned.iter().map(|c| c.2).collect();
            let mesh = Triangulation::new(&points, &values).expect("no line");
            let shared: Vec<usize> = (0..4)
                .filter(|v| mesh.triangles.iter().all(|t| t.contains(v)))
                .collect();
            let heights: Vec<f64> = shared.iter().map(|&v| values[v]).collect();
            assert!(
                heights.contains(&1.0) && heights.contains(&1.5),
                "{heights:?}"
            );
        }
    }

    proptest! {
        #[test]
        fn triangles_fill_the_hull_and_hold_no_point_in_their_circles(
            grid in prop::collection::btree_set((0_i32..12, 0_i32..9), 3..40),
            values in prop::collection::vec(0.0_f64..1.0, 40),
        ) {
            let points: Vec<DVec2> = grid
                .iter()
                .map(|(x, y)| DVec2::new(f64::from(*x), f64::from(*y)))
                .collect();
            let Some(mesh) = Triangulation::new(&points, &values) else {
                return Ok(());
            };
            let mut area = 0.0;
            for t in &mesh.triangles {
                let [a, b, c] = t.map(|v| points[v]);
                let twice = orient(a, b, c);
                prop_assert!(twice > 0.0);
                area += 0.5 * twice;
                for p in &points {
                    prop_assert!(robust::incircle(coord(a), coord(b), coord(c), coord(*p)) <= 0.0);
                }
            }
            prop_assert!((area - hull_area(&points, &mesh)).abs() < 1e-9 * area.max(1.0));
        }
    }
}
