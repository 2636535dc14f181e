//! Which cells of the grid a bed's region fills, misses, or crosses.

use std::collections::BTreeMap;

use glam::DVec2;

use super::delaunay::orient;
use super::error::GroundError;
use super::grid::Grid;
use super::plan::Region;

/// The most corners that a region may have.
pub const MOST_CORNERS: usize = 1000;
/// A place this near to a side lies on it, m.
const ON_SIDE_M: f64 = 1e-9;

/// How a cell lies to a region.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cover {
    /// No part of it is inside.
    Outside,
    /// All of it is inside.
    Inside,
    /// A side of the region passes through it or along it.
    Crossed,
}

/// A region laid over the grid.
#[derive(Debug, Clone)]
pub struct RegionCells {
    /// Corners, m, anticlockwise or not; empty for the whole inside.
    corners_m: Vec<DVec2>,
    cover: Vec<Cover>,
    sides: BTreeMap<usize, Vec<usize>>,
}

impl RegionCells {
    /// Lays a region that was checked over the grid.
    #[must_use]
    pub fn new(region: &Region, grid: &Grid) -> Self {
        let Region::Polygon(corners) = region else {
            return Self {
                corners_m: Vec::new(),
                cover: Vec::new(),
                sides: BTreeMap::new(),
            };
        };
        let mut cells = Self {
            corners_m: opened(corners).to_vec(),
            cover: vec![Cover::Outside; grid.n_cells()],
            sides: BTreeMap::new(),
        };
        for side in 0..cells.corners_m.len() {
            cells.mark(side, grid);
        }
        for j in 0..grid.ny - 1 {
            cells.fill_row(j, grid);
        }
        cells
    }

    /// How a cell lies to the region.
    #[must_use]
    pub fn cover(&self, cell: usize) -> Cover {
        self.cover.get(cell).copied().unwrap_or(Cover::Inside)
    }

    /// Sides that pass through or along a cell: start and end of each, m.
    pub fn sides_at(&self, cell: usize) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        self.sides
            .get(&cell)
            .into_iter()
            .flatten()
            .map(|&side| self.side(side))
    }

    /// Whether a place lies inside or on a side.
    #[must_use]
    pub fn contains(&self, place_m: DVec2) -> bool {
        if self.corners_m.is_empty() {
            return true;
        }
        let n = self.corners_m.len();
        (0..n).any(|side| on_side(self.side(side), place_m)) || self.is_within(place_m)
    }

    /// Whether a place lies inside, by the even-odd rule; a place on a side may go either way.
    #[must_use]
    pub fn is_within(&self, place: DVec2) -> bool {
        (0..self.corners_m.len())
            .filter(|&side| {
                let (a, b) = self.side(side);
                let (low, high) = if a.y < b.y { (a, b) } else { (b, a) };
                low.y <= place.y && place.y < high.y && orient(low, high, place) > 0.0
            })
            .count()
            % 2
            == 1
    }

    /// Whether a node lies inside or on a side.
    #[must_use]
    pub fn covers_node(&self, grid: &Grid, i: usize, j: usize) -> bool {
        if self.corners_m.is_empty() {
            return true;
        }
        // A cell that no side touches answers for its nodes.
        for (ci, cj) in [
            (i, j),
            (i.wrapping_sub(1), j),
            (i, j.wrapping_sub(1)),
            (i.wrapping_sub(1), j.wrapping_sub(1)),
        ] {
            if ci < grid.nx - 1 && cj < grid.ny - 1 {
                match self.cover(grid.cell(ci, cj)) {
                    Cover::Inside => return true,
                    Cover::Outside => return false,
                    Cover::Crossed => {}
                }
            }
        }
        self.contains(grid.place_m(i, j))
    }

    fn side(&self, side: usize) -> (DVec2, DVec2) {
        let n = self.corners_m.len();
        (self.corners_m[side], self.corners_m[(side + 1) % n])
    }

    /// Marks the cells that a side passes through, row by row.
    fn mark(&mut self, side: usize, grid: &Grid) {
        let (a, b) = self.side(side);
        let rows = grid.rows_over(a.y.min(b.y) - ON_SIDE_M, a.y.max(b.y) + ON_SIDE_M);
        for j in rows {
            let (front, back) = (grid.y_m(j) - ON_SIDE_M, grid.y_m(j + 1) + ON_SIDE_M);
            let at = |y: f64| {
                let share = if a.y == b.y {
                    0.0
                } else {
                    (y - a.y) / (b.y - a.y)
                };
                a.x + share.clamp(0.0, 1.0) * (b.x - a.x)
            };
            let ends = if a.y == b.y {
                (a.x.min(b.x), a.x.max(b.x))
            } else {
                (at(front).min(at(back)), at(front).max(at(back)))
            };
            for i in grid.columns_over(ends.0 - ON_SIDE_M, ends.1 + ON_SIDE_M) {
                let cell = grid.cell(i, j);
                self.cover[cell] = Cover::Crossed;
                self.sides.entry(cell).or_default().push(side);
            }
        }
    }

    /// Cells of a row that no side passes through are wholly inside or outside: by their middle.
    fn fill_row(&mut self, j: usize, grid: &Grid) {
        let y = 0.5 * (grid.y_m(j) + grid.y_m(j + 1));
        let n = self.corners_m.len();
        let mut crossings: Vec<f64> = (0..n)
            .map(|side| self.side(side))
            .filter(|(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for i in 0..grid.nx - 1 {
            let cell = grid.cell(i, j);
            if self.cover[cell] != Cover::Crossed {
                let x = 0.5 * (grid.x_m(i) + grid.x_m(i + 1));
                let left = crossings.partition_point(|crossing| *crossing < x);
                if left % 2 == 1 {
                    self.cover[cell] = Cover::Inside;
                }
            }
        }
    }
}

/// A ring without the repeated corner at its end.
fn opened(corners: &[DVec2]) -> &[DVec2] {
    match corners {
        [first, .., last] if first == last => &corners[..corners.len() - 1],
        _ => corners,
    }
}

fn on_side((a, b): (DVec2, DVec2), place: DVec2) -> bool {
    let along = b - a;
    let share = ((place - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
    place.distance_squared(a + along * share) <= ON_SIDE_M * ON_SIDE_M
}

/// Holds a region to what a region is: a simple polygon inside the tank.
///
/// # Errors
/// Names the bed and, where one is to blame, the corner.
pub fn check(bed: usize, region: &Region, inside_m: DVec2) -> Result<(), GroundError> {
    let Region::Polygon(given) = region else {
        return Ok(());
    };
    let refuse = |corner: Option<usize>, reason: String| {
        Err(GroundError::Region {
            bed,
            corner,
            reason,
        })
    };
    if given.len() > MOST_CORNERS {
        return Err(GroundError::TooMany {
            what: "corners of a region",
            count: given.len(),
            most: MOST_CORNERS,
            bed: Some(bed),
        });
    }
    for (k, corner) in given.iter().enumerate() {
        if !lies_in(*corner, inside_m) {
            return refuse(
                Some(k),
                format!(
                    "corner {:.1}, {:.1} mm lies outside the inside of {:.1} × {:.1} mm",
                    corner.x * 1e3,
                    corner.y * 1e3,
                    inside_m.x * 1e3,
                    inside_m.y * 1e3
                ),
            );
        }
    }
    let corners = opened(given);
    let n = corners.len();
    if n < 3 {
        return refuse(None, format!("a region has at least 3 corners, not {n}"));
    }
    if let Some(k) = (0..n).find(|&k| corners[k].distance(corners[(k + 1) % n]) <= ON_SIDE_M) {
        return refuse(
            Some((k + 1) % n),
            "this corner is the same as the one before it".to_owned(),
        );
    }
    match crossing(corners) {
        Some((k, l)) => refuse(
            Some(k),
            format!("the side from corner {k} meets the side from corner {l}"),
        ),
        None => Ok(()),
    }
}

/// Whether a place lies in the plan of the inside, its glass included.
#[must_use]
pub fn lies_in(place: DVec2, inside_m: DVec2) -> bool {
    const SLACK_M: f64 = 1e-6;
    place.is_finite()
        && place.min_element() >= -SLACK_M
        && (inside_m - place).min_element() >= -SLACK_M
}

/// The first two sides that meet where they should not.
fn crossing(corners: &[DVec2]) -> Option<(usize, usize)> {
    let n = corners.len();
    let side = |k: usize| (corners[k], corners[(k + 1) % n]);
    for k in 0..n {
        for l in k + 1..n {
            let (one, other) = (side(k), side(l));
            let follows = l == k + 1 || (k == 0 && l == n - 1);
            let meet = if follows {
                let (before, after) = if l == k + 1 {
                    (one, other)
                } else {
                    (other, one)
                };
                folds_back(before.0, before.1, after.1)
            } else {
                sides_meet(one, other)
            };
            if meet {
                return Some((k, l));
            }
        }
    }
    None
}

/// Whether the way from a over b turns back on itself towards c.
fn folds_back(a: DVec2, b: DVec2, c: DVec2) -> bool {
    orient(a, b, c) == 0.0 && (b - a).dot(c - b) < 0.0
}

fn sides_meet((a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> bool {
    let (ca, cb) = (orient(c, d, a), orient(c, d, b));
    let (ac, ad) = (orient(a, b, c), orient(a, b, d));
    if ca * cb < 0.0 && ac * ad < 0.0 {
        return true;
    }
    on_side((c, d), a) || on_side((c, d), b) || on_side((a, b), c) || on_side((a, b), d)
}

#[cfg(test)]
mod tests {
    use super::*;

    const INSIDE: DVec2 = DVec2::new(0.6, 0.3);

    fn refused(corners: &[(f64, f64)]) -> Option<Option<usize>> {
        let corners = corners.iter().map(|&(x, y)| DVec2::new(x, y)).collect();
        match check(0, &Region::Polygon(corners), INSIDE) {
            Ok(()) => None,
            Err(GroundError::Region { corner, .. }) => Some(corner),
            Err(other) => panic!("{other}"),
        }
    }

    #[test]
    fn a_simple_polygon_is_taken_closed_or_not() {
        let u = [
            (0.0, 0.0),
            (0.3, 0.0),
            (0.3, 0.2),
            (0.2, 0.2),
            (0.2, 0.1),
            (0.1, 0.1),
            (0.1, 0.2),
            (0.0, 0.2),
        ];
        assert_eq!(refused(&u), None);
        let mut closed = u.to_vec();
        closed.push(u[0]);
        assert_eq!(refused(&closed), None);
    }

    #[test]
    fn what_is_no_simple_polygon_is_refused_at_its_corner() {
        for (corners, at) in [
            (vec![(0.0, 0.0), (0.1, 0.1)], None),
            (
                vec![(0.0, 0.0), (0.2, 0.2), (0.2, 0.0), (0.0, 0.2)],
                Some(0),
            ),
            (vec![(0.0, 0.0), (0.7, 0.0), (0.1, 0.1)], Some(1)),
            (vec![(0.0, 0.0), (f64::NAN, 0.0), (0.1, 0.1)], Some(1)),
            (
                vec![(0.0, 0.0), (0.1, 0.0), (0.1, 0.0), (0.1, 0.1)],
                Some(2),
            ),
            (vec![(0.0, 0.0), (0.2, 0.0), (0.1, 0.0)], Some(0)),
            (
                vec![(0.0, 0.0), (0.2, 0.0), (0.2, 0.2), (0.1, 0.0), (0.0, 0.2)],
                Some(0),
            ),
        ] {
            assert_eq!(refused(&corners), Some(at), "{corners:?}");
        }
    }
}
