//! Cutting a polygon into triangles.
//!
//! Every edge of the polygon comes out in exactly one triangle, corners in the
//! middle of a straight side included, so that neighbouring faces still meet.

use glam::{DVec2, DVec3};
use robust::{Coord, orient2d};

/// Cuts a polygon, which need not be plane or convex, into `corners − 2` triangles
/// with its winding; indices are places in `corners`.
///
/// A quad is cut along its shorter diagonal, unless that one does not lie inside.
/// More corners are cut off as ears in the plane across the polygon's Newell
/// normal. What can't be cut into ears (a polygon that crosses itself) still
/// gives triangles with all its edges.
///
/// # Returns
/// An empty list for fewer than three corners.
///
/// # Source
/// Normal: I. Sutherland, R. Sproull, R. Schumacker, A characterization of ten
/// hidden-surface algorithms, Computing Surveys 6 (1974), credited there to M. Newell.
/// Ears: G. Meisters, Polygons have ears, American Mathematical Monthly 82 (1975).
#[must_use]
pub fn triangulate(corners: &[DVec3]) -> Vec<[usize; 3]> {
    let mut triangles = Vec::new();
    Cutter::default().cut(corners, &mut triangles);
    triangles
}

/// Tests of a corner against an ear that one file may cost. At some ten
/// nanoseconds each, about a second.
const MOST_TESTS: u64 = 100_000_000;

/// Cuts polygons one after another, with bounded work for all of them together.
#[derive(Debug)]
pub(crate) struct Cutter {
    n_tests_left: u64,
}

impl Default for Cutter {
    fn default() -> Self {
        Self {
            n_tests_left: MOST_TESTS,
        }
    }
}

impl Cutter {
    /// Appends the triangles of a polygon to `triangles`; `false` when the work
    /// ran out and the rest was cut as a fan.
    pub(crate) fn cut(&mut self, corners: &[DVec3], triangles: &mut Vec<[usize; 3]>) -> bool {
        match corners {
            [] | [_] | [_, _] => true,
            [_, _, _] => {
                triangles.push([0, 1, 2]);
                true
            }
            [a, b, c, d] => {
                triangles.extend(cut_quad([*a, *b, *c, *d]));
                true
            }
            _ => cut_ears(&flattened(corners), triangles, &mut self.n_tests_left),
        }
    }
}

/// Sum of cross products round the polygon: twice its vector area.
fn newell_normal(corners: &[DVec3]) -> DVec3 {
    // From the first corner, so that polygons far from the origin lose nothing.
    let origin = corners[0];
    corners[1..]
        .windows(2)
        .map(|pair| (pair[0] - origin).cross(pair[1] - origin))
        .sum()
}

/// The polygon seen along its normal, anticlockwise.
fn flattened(corners: &[DVec3]) -> Vec<DVec2> {
    let normal = newell_normal(corners).try_normalize().unwrap_or(DVec3::Z);
    let (u, v) = normal.any_orthonormal_pair();
    corners
        .iter()
        .map(|&corner| {
            let from_first = corner - corners[0];
            DVec2::new(from_first.dot(u), from_first.dot(v))
        })
        .collect()
}

/// Twice the area of a triangle, positive when anticlockwise.
fn turn(a: DVec2, b: DVec2, c: DVec2) -> f64 {
    let coord = |p: DVec2| Coord { x: p.x, y: p.y };
    orient2d(coord(a), coord(b), coord(c))
}

fn cut_quad(corners: [DVec3; 4]) -> [[usize; 3]; 2] {
    const ALONG_02: [[usize; 3]; 2] = [[0, 1, 2], [0, 2, 3]];
    const ALONG_13: [[usize; 3]; 2] = [[0, 1, 3], [1, 2, 3]];
    let normal = newell_normal(&corners);
    let lesser_area = |halves: [[usize; 3]; 2]| {
        let area = |[a, b, c]: [usize; 3]| {
            (corners[b] - corners[a])
                .cross(corners[c] - corners[a])
                .dot(normal)
        };
        area(halves[0]).min(area(halves[1]))
    };
    let flat = 1e-9 * normal.length_squared();
    let [area_02, area_13] = [ALONG_02, ALONG_13].map(lesser_area);
    match (area_02 > flat, area_13 > flat) {
        (true, false) => ALONG_02,
        (false, true) => ALONG_13,
        _ => {
            let length_02 = corners[0].distance_squared(corners[2]);
            let length_13 = corners[1].distance_squared(corners[3]);
            if length_02 <= length_13 {
                ALONG_02
            } else {
                ALONG_13
            }
        }
    }
}

/// How strict an ear has to be. The ring goes on to the next when no ear is left.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Rule {
    /// Clearly higher than rounding, and clearly free of other corners.
    Clear,
    /// A true ear, however thin.
    Exact,
    /// Any convex corner: the polygon crosses itself.
    Convex,
    /// Any corner at all.
    Any,
}

/// The corners that are still to be cut off, as a ring.
struct Ring<'a> {
    points: &'a [DVec2],
    next: Vec<u32>,
    previous: Vec<u32>,
    rule: Rule,
    /// Corners that can block an ear: those that are not convex by the rule.
    blocking: Grid,
    /// Shortest distance that counts as more than rounding.
    slack: f64,
}

/// Clips ears until three corners are left; `false` when the tests ran out.
fn cut_ears(points: &[DVec2], triangles: &mut Vec<[usize; 3]>, n_tests_left: &mut u64) -> bool {
    let mut ring = Ring::new(points);
    let mut n_left = points.len();
    let mut at = 0_usize;
    let mut n_tried = 0;
    while n_left > 3 {
        if *n_tests_left == 0 {
            ring.cut_fan(at, triangles);
            return false;
        }
        if ring.is_ear(at, n_tests_left) {
            let [before, after] = ring.cut_off(at);
            triangles.push([before, at, after]);
            n_left -= 1;
            n_tried = 0;
            // Not the neighbour at once: skipping it keeps triangles from fanning out.
            at = ring.next[after] as usize;
            continue;
        }
        n_tried += 1;
        at = ring.next[at] as usize;
        if n_tried == n_left {
            n_tried = 0;
            ring.relax();
        }
    }
    ring.cut_fan(at, triangles);
    true
}

impl<'a> Ring<'a> {
    fn new(points: &'a [DVec2]) -> Self {
        let n = points.len();
        let (low, high) = points
            .iter()
            .fold((points[0], points[0]), |(low, high), p| {
                (low.min(*p), high.max(*p))
            });
        let slack = 1e-7 * low.distance(high);
        let mut ring = Self {
            points,
            next: (1..n as u32).chain([0]).collect(),
            previous: [n as u32 - 1].into_iter().chain(0..n as u32 - 1).collect(),
            rule: Rule::Clear,
            blocking: Grid::default(),
            slack,
        };
        let corners: Vec<u32> = (0..n as u32).filter(|&i| !ring.rises(i as usize)).collect();
        ring.blocking = Grid::new(points, &corners, low, high);
        ring
    }

    /// Goes on to the next rule, now that no ear is left by this one.
    fn relax(&mut self) {
        self.rule = match self.rule {
            Rule::Clear => Rule::Exact,
            Rule::Exact => Rule::Convex,
            Rule::Convex | Rule::Any => Rule::Any,
        };
        if self.rule == Rule::Exact {
            for corner in 0..self.points.len() {
                if self.rises(corner) {
                    self.blocking.remove(corner, self.points[corner]);
                }
            }
        }
    }

    fn neighbours(&self, at: usize) -> [usize; 2] {
        [self.previous[at] as usize, self.next[at] as usize]
    }

    /// Whether the corner stands convex over the line between its neighbours.
    fn rises(&self, at: usize) -> bool {
        let [before, after] = self.neighbours(at).map(|i| self.points[i]);
        let turn = turn(before, self.points[at], after);
        match self.rule {
            Rule::Clear => turn > self.slack * before.distance(after),
            _ => turn > 0.0,
        }
    }

    /// Whether the corner can be cut off by the rule.
    fn is_ear(&self, at: usize, n_tests_left: &mut u64) -> bool {
        *n_tests_left = n_tests_left.saturating_sub(1);
        match self.rule {
            Rule::Any => true,
            Rule::Convex => self.rises(at),
            Rule::Clear | Rule::Exact => self.rises(at) && self.is_free(at, n_tests_left),
        }
    }

    /// Whether no other corner lies in the triangle that would be cut off.
    fn is_free(&self, at: usize, n_tests_left: &mut u64) -> bool {
        let [before, after] = self.neighbours(at);
        let ear = [before, at, after].map(|i| self.points[i]);
        let slack = match self.rule {
            Rule::Clear => self.slack,
            _ => 0.0,
        };
        !self.blocking.any(ear, slack, n_tests_left, |other, p| {
            other != before
                && other != at
                && other != after
                && ear.iter().all(|corner| corner.distance(p) > slack)
                && holds(ear, p, slack)
        })
    }

    /// Takes a corner out of the ring; gives its former neighbours.
    fn cut_off(&mut self, at: usize) -> [usize; 2] {
        let [before, after] = self.neighbours(at);
        self.next[before] = after as u32;
        self.previous[after] = before as u32;
        self.blocking.remove(at, self.points[at]);
        for corner in [before, after] {
            if self.rises(corner) {
                self.blocking.remove(corner, self.points[corner]);
            }
        }
        [before, after]
    }

    /// Cuts all that is left from corner `at`.
    fn cut_fan(&self, at: usize, triangles: &mut Vec<[usize; 3]>) {
        let mut middle = self.next[at] as usize;
        loop {
            let last = self.next[middle] as usize;
            if last == at {
                return;
            }
            triangles.push([at, middle, last]);
            middle = last;
        }
    }
}

/// Whether `p` lies in a triangle or within `slack` of its inside.
fn holds([a, b, c]: [DVec2; 3], p: DVec2, slack: f64) -> bool {
    let inside = |from: DVec2, to: DVec2| turn(from, to, p) >= -slack * from.distance(to);
    inside(a, b) && inside(b, c) && inside(c, a)
}

/// Corners by place, so that only those near an ear are tested.
///
/// Cells stand row by row in one list, each with room for the corners that it
/// begins with: a test of a row's cells goes straight through memory.
#[derive(Default)]
struct Grid {
    low: DVec2,
    cell_size: DVec2,
    /// Cells in a row, and rows.
    n_across: usize,
    /// Where each cell begins in `corners`, and where the last one ends.
    starts: Vec<u32>,
    /// Corners that each cell still has, from its beginning.
    counts: Vec<u32>,
    corners: Vec<(u32, DVec2)>,
    /// A corner's place in `corners`; `NOWHERE` when it is not in the grid.
    slot_of: Vec<u32>,
}

const NOWHERE: u32 = u32::MAX;

impl Grid {
    fn new(points: &[DVec2], corners: &[u32], low: DVec2, high: DVec2) -> Self {
        /// Below so many corners one cell is quicker.
        const FEW: usize = 32;
        let n_across = if corners.len() < FEW {
            1
        } else {
            ((corners.len() as f64).sqrt().ceil() as usize).min(1024)
        };
        let mut grid = Self {
            low,
            cell_size: (high - low) / n_across as f64,
            n_across,
            starts: vec![0; n_across * n_across + 1],
            counts: vec![0; n_across * n_across],
            corners: vec![(0, DVec2::ZERO); corners.len()],
            slot_of: vec![NOWHERE; points.len()],
        };
        let cells: Vec<usize> = corners
            .iter()
            .map(|&corner| grid.cell(points[corner as usize]))
            .collect();
        for &cell in &cells {
            grid.starts[cell + 1] += 1;
        }
        for cell in 0..grid.counts.len() {
            grid.starts[cell + 1] += grid.starts[cell];
        }
        for (&corner, &cell) in corners.iter().zip(&cells) {
            let slot = grid.starts[cell] + grid.counts[cell];
            grid.counts[cell] += 1;
            grid.corners[slot as usize] = (corner, points[corner as usize]);
            grid.slot_of[corner as usize] = slot;
        }
        grid
    }

    /// Column and row of a place, brought inside the grid.
    fn place(&self, p: DVec2) -> [usize; 2] {
        // Division by a flat grid's zero gives no number, which casts to 0.
        let index = |offset: f64, size: f64| ((offset / size) as usize).min(self.n_across - 1);
        [
            index(p.x - self.low.x, self.cell_size.x),
            index(p.y - self.low.y, self.cell_size.y),
        ]
    }

    fn cell(&self, p: DVec2) -> usize {
        let [column, row] = self.place(p);
        row * self.n_across + column
    }

    /// Takes a corner, which lies at `p`, out of the grid.
    fn remove(&mut self, corner: usize, p: DVec2) {
        let slot = std::mem::replace(&mut self.slot_of[corner], NOWHERE);
        if slot == NOWHERE {
            return;
        }
        let cell = self.cell(p);
        self.counts[cell] -= 1;
        let last = self.starts[cell] + self.counts[cell];
        let moved = self.corners[last as usize];
        if last != slot {
            self.corners[slot as usize] = moved;
            self.slot_of[moved.0 as usize] = slot;
        }
    }

    /// Whether any corner near `ear` passes `test`.
    fn any(
        &self,
        ear: [DVec2; 3],
        slack: f64,
        n_tests_left: &mut u64,
        test: impl Fn(usize, DVec2) -> bool,
    ) -> bool {
        let low = ear[0].min(ear[1]).min(ear[2]) - slack;
        let high = ear[0].max(ear[1]).max(ear[2]) + slack;
        let ([left, bottom], [right, top]) = (self.place(low), self.place(high));
        for row in bottom..=top {
            for cell in row * self.n_across + left..=row * self.n_across + right {
                let start = self.starts[cell] as usize;
                let corners = &self.corners[start..start + self.counts[cell] as usize];
                *n_tests_left = n_tests_left.saturating_sub(1 + corners.len() as u64);
                if corners.iter().any(|&(corner, p)| {
                    p.cmpge(low).all() && p.cmple(high).all() && test(corner as usize, p)
                }) {
                    return true;
                }
            }
        }
        false
    }
}
