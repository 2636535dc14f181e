//! Lines of equal height on a grid of heights (marching squares).

use glam::DVec2;
use std::collections::BTreeMap;

/// Heights at the corners of a regular grid, in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct HeightGrid {
    /// Place of the first height.
    pub origin_mm: DVec2,
    /// Distance of neighbours.
    pub cell_mm: f64,
    /// Heights across x.
    pub n_x: usize,
    /// Heights across y.
    pub n_y: usize,
    /// Heights, x running fastest.
    pub heights_mm: Vec<f64>,
}

/// One line of equal height.
#[derive(Debug, Clone, PartialEq)]
pub struct Contour {
    /// Its height.
    pub height_mm: f64,
    /// Its points; of a closed line the last equals the first.
    pub points: Vec<DVec2>,
}

impl HeightGrid {
    /// The height at grid place `(i, j)`.
    pub fn at(&self, i: usize, j: usize) -> f64 {
        self.heights_mm[j * self.n_x + i]
    }

    /// Whether there is at least one cell and every height is there and finite.
    pub fn is_sound(&self) -> bool {
        self.n_x >= 2
            && self.n_y >= 2
            && self.cell_mm > 0.0
            && self.heights_mm.len() == self.n_x * self.n_y
            && self.heights_mm.iter().all(|h| h.is_finite())
    }

    /// The bilinear height at a place, taken at the edge when outside.
    pub fn height_mm(&self, place: DVec2) -> f64 {
        let p = (place - self.origin_mm) / self.cell_mm;
        let along = |v: f64, n: usize| {
            let v = v.clamp(0.0, (n - 1) as f64);
            let i = (v.floor() as usize).min(n - 2);
            (i, v - i as f64)
        };
        let ((i, u), (j, v)) = (along(p.x, self.n_x), along(p.y, self.n_y));
        let low = self.at(i, j) * (1.0 - u) + self.at(i + 1, j) * u;
        let high = self.at(i, j + 1) * (1.0 - u) + self.at(i + 1, j + 1) * u;
        low * (1.0 - v) + high * v
    }

    /// Lines at every multiple of `step_mm` strictly between the least and the
    /// greatest height, lowest first. Linear along the grid's edges; a saddle
    /// is split by the mean of its four corners.
    ///
    /// # Source
    /// Marching squares, after Lorensen and Cline, Marching cubes, 1987, in two
    /// dimensions.
    pub fn contours(&self, step_mm: f64) -> Vec<Contour> {
        if !self.is_sound() || step_mm <= 0.0 {
            return vec![];
        }
        let least = self.heights_mm.iter().copied().fold(f64::MAX, f64::min);
        let most = self.heights_mm.iter().copied().fold(f64::MIN, f64::max);
        let first = (least / step_mm).floor() as i64 + 1;
        let last = (most / step_mm).ceil() as i64 - 1;
        (first..=last)
            .flat_map(|k| self.contours_at(k as f64 * step_mm))
            .collect()
    }

    /// Lines at one height.
    pub fn contours_at(&self, height_mm: f64) -> Vec<Contour> {
        let mut links: BTreeMap<Edge, Vec<Edge>> = BTreeMap::new();
        for j in 0..self.n_y - 1 {
            for i in 0..self.n_x - 1 {
                for (a, b) in self.cell_links(i, j, height_mm) {
                    links.entry(a).or_default().push(b);
                    links.entry(b).or_default().push(a);
                }
            }
        }
        let mut lines = vec![];
        // Open lines first, from their ends, then rings.
        let ends: Vec<Edge> = links
            .iter()
            .filter(|(_, to)| to.len() == 1)
            .map(|(e, _)| *e)
            .collect();
        let all: Vec<Edge> = links.keys().copied().collect();
        for start in ends.into_iter().chain(all) {
            let chain = follow(&mut links, start);
            if chain.len() >= 2 {
                let points = chain
                    .into_iter()
                    .map(|e| self.crossing(e, height_mm))
                    .collect();
                lines.push(Contour { height_mm, points });
            }
        }
        lines
    }

    /// Pairs of cell edges that a line joins within one cell.
    fn cell_links(&self, i: usize, j: usize, height_mm: f64) -> Vec<(Edge, Edge)> {
        let corners = [
            self.at(i, j),
            self.at(i + 1, j),
            self.at(i + 1, j + 1),
            self.at(i, j + 1),
        ];
        // A corner exactly at the height counts as above it.
        let above = corners.map(|h| h >= height_mm);
        let sides = [
            Edge {
                j,
                i,
                upright: false,
            },
            Edge {
                j,
                i: i + 1,
                upright: true,
            },
            Edge {
                j: j + 1,
                i,
                upright: false,
            },
            Edge {
                j,
                i,
                upright: true,
            },
        ];
        let crossed: Vec<usize> = (0..4).filter(|&k| above[k] != above[(k + 1) % 4]).collect();
        match crossed[..] {
            [a, b] => vec![(sides[a], sides[b])],
            [_, _, _, _] => {
                let middle_above = corners.iter().sum::<f64>() / 4.0 >= height_mm;
                // Cut off the corners that differ from the middle.
                if above[0] == middle_above {
                    vec![(sides[0], sides[1]), (sides[2], sides[3])]
                } else {
                    vec![(sides[3], sides[0]), (sides[1], sides[2])]
                }
            }
            _ => vec![],
        }
    }

    fn crossing(&self, edge: Edge, height_mm: f64) -> DVec2 {
        let (di, dj) = if edge.upright { (0, 1) } else { (1, 0) };
        let (a, b) = (self.at(edge.i, edge.j), self.at(edge.i + di, edge.j + dj));
        let t = (height_mm - a) / (b - a);
        let place = DVec2::new(edge.i as f64 + di as f64 * t, edge.j as f64 + dj as f64 * t);
        self.origin_mm + place * self.cell_mm
    }
}

/// An edge of the grid, by its lesser corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Edge {
    j: usize,
    i: usize,
    upright: bool,
}

/// Takes the chain that begins at an edge out of the links.
fn follow(links: &mut BTreeMap<Edge, Vec<Edge>>, start: Edge) -> Vec<Edge> {
    let mut chain = vec![start];
    let mut here = start;
    while let Some(next) = links.get_mut(&here).and_then(Vec::pop) {
        if let Some(back) = links.get_mut(&next)
            && let Some(at) = back.iter().position(|e| *e == here)
        {
            back.remove(at);
        }
        chain.push(next);
        here = next;
    }
    chain
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(n: usize, height: impl Fn(f64, f64) -> f64) -> HeightGrid {
        let heights_mm = (0..n * n)
            .map(|k| height((k % n) as f64, (k / n) as f64))
            .collect();
        HeightGrid {
            origin_mm: DVec2::ZERO,
            cell_mm: 1.0,
            n_x: n,
            n_y: n,
            heights_mm,
        }
    }

    #[test]
    fn contours_of_a_plane_are_straight_and_in_place() {
        // Closed form: z = x/2 + y/4 has lines x/2 + y/4 = k.
        let lines = grid(41, |x, y| x / 2.0 + y / 4.0).contours(5.0);
        assert_eq!(
            lines.iter().map(|l| l.height_mm).collect::<Vec<_>>(),
            [5.0, 10.0, 15.0, 20.0, 25.0]
        );
        for line in &lines {
            for p in &line.points {
                assert!((p.x / 2.0 + p.y / 4.0 - line.height_mm).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn a_contour_of_a_cone_is_a_closed_circle() {
        // Closed form: z = 40 − r has its 20 mm line at r = 20.
        let lines = grid(61, |x, y| 40.0 - (x - 30.0).hypot(y - 30.0)).contours_at(20.0);
        assert_eq!(lines.len(), 1);
        let points = &lines[0].points;
        assert_eq!(points.first(), points.last());
        for p in points {
            assert!((p.distance(DVec2::splat(30.0)) - 20.0).abs() < 0.02, "{p}");
        }
    }

    #[test]
    fn a_flat_ground_has_no_contours() {
        assert!(grid(5, |_, _| 30.0).contours(10.0).is_empty());
    }

    #[test]
    fn every_crossing_is_used_once() {
        let lines = grid(30, |x, y| (x * 1.3).sin() * 9.0 + (y * 0.9).cos() * 8.0).contours_at(1.0);
        let mut seen = std::collections::BTreeSet::new();
        for line in &lines {
            let closed = line.points.first() == line.points.last();
            for p in &line.points[usize::from(closed)..] {
                assert!(seen.insert((p.x.to_bits(), p.y.to_bits())), "{p}");
            }
        }
        assert!(seen.len() > 100);
    }
}
