//! Which vertices are one and the same corner.

use glam::DVec3;
use rayon::prelude::*;

use super::groups::Groups;

/// A vertex that has no other within reach is found without a second look when
/// the cells are this many tolerances wide.
const WIDE_CELL: f64 = 64.0;
/// Narrow cells bound the work when far-off vertices squeeze all others into few cells.
const NARROW_CELL: f64 = 4.0;
/// More distinct places than this in one wide cell, and the narrow ones are used.
const CROWD: usize = 256;

/// Which vertex each vertex becomes.
#[derive(Debug)]
pub(super) struct Weld {
    /// For every vertex the lowest index of its group.
    pub(super) root: Vec<u32>,
    /// Vertices that moved to another place.
    pub(super) n_moved: usize,
    /// Vertices that lay exactly on another.
    pub(super) n_equal: usize,
}

/// Groups all vertices that lie within `tolerance_m` of each other.
///
/// A grid finds the candidates, and a vertex near a cell's side is held against
/// the cells beyond it too, so that no pair is missed for lying across a side.
pub(super) fn weld(vertices_m: &[DVec3], low: DVec3, tolerance_m: f64) -> Weld {
    let welder = Welder::new(vertices_m, low, tolerance_m, WIDE_CELL);
    if welder.is_crowded() {
        return Welder::new(vertices_m, low, tolerance_m, NARROW_CELL).run();
    }
    welder.run()
}

struct Welder<'a> {
    vertices_m: &'a [DVec3],
    low: DVec3,
    tolerance_m: f64,
    cell_m: f64,
    /// Cell and vertex, sorted.
    entries: Vec<(u64, u32)>,
    /// Start of each cell's run in `entries`, and the end.
    starts: Vec<u32>,
    keys: Vec<u64>,
    groups: Groups,
    n_equal: usize,
}

impl<'a> Welder<'a> {
    fn new(vertices_m: &'a [DVec3], low: DVec3, tolerance_m: f64, cells: f64) -> Self {
        let cell_m = cells * tolerance_m;
        let mut entries: Vec<(u64, u32)> = vertices_m
            .par_iter()
            .enumerate()
            .with_min_len(4096)
            .map(|(i, v)| {
                #[expect(clippy::cast_possible_truncation, reason = "indices are u32")]
                let index = i as u32;
                (key(cell_of(*v, low, cell_m)), index)
            })
            .collect();
        entries.par_sort_unstable();
        let mut starts = Vec::new();
        let mut keys = Vec::new();
        for (place, entry) in entries.iter().enumerate() {
            if keys.last() != Some(&entry.0) {
                keys.push(entry.0);
                starts.push(u32::try_from(place).unwrap_or(u32::MAX));
            }
        }
        starts.push(u32::try_from(entries.len()).unwrap_or(u32::MAX));
        Self {
            vertices_m,
            low,
            tolerance_m,
            cell_m,
            entries,
            starts,
            keys,
            groups: Groups::new(vertices_m.len()),
            n_equal: 0,
        }
    }

    fn run_of(&self, cell: usize) -> std::ops::Range<usize> {
        self.starts[cell] as usize..self.starts[cell + 1] as usize
    }

    fn at(&self, vertex: u32) -> DVec3 {
        self.vertices_m[vertex as usize]
    }

    fn is_crowded(&self) -> bool {
        (0..self.keys.len()).any(|cell| {
            let run = &self.entries[self.run_of(cell)];
            if run.len() <= CROWD {
                return false;
            }
            let mut places: Vec<[u64; 3]> = run
                .iter()
                .map(|(_, v)| self.at(*v).to_array().map(f64::to_bits))
                .collect();
            places.sort_unstable();
            places.dedup();
            places.len() > CROWD
        })
    }

    fn run(mut self) -> Weld {
        let mut distinct: Vec<u32> = Vec::new();
        let mut cells: Vec<u32> = vec![0];
        for cell in 0..self.keys.len() {
            let range = self.run_of(cell);
            if range.len() == 1 {
                distinct.push(self.entries[range.start].1);
            } else {
                self.weld_cell(range, &mut distinct);
            }
            cells.push(u32::try_from(distinct.len()).unwrap_or(u32::MAX));
        }
        for cell in 0..self.keys.len() {
            for place in cells[cell]..cells[cell + 1] {
                self.weld_across(distinct[place as usize], &distinct, &cells);
            }
        }
        let root = self.groups.roots();
        let n_moved = root
            .iter()
            .zip(self.vertices_m)
            .filter(|(root, at)| self.vertices_m[**root as usize] != **at)
            .count();
        Weld {
            root,
            n_moved,
            n_equal: self.n_equal,
        }
    }

    /// Welds inside one cell and adds its distinct places, lowest vertex first.
    fn weld_cell(&mut self, range: std::ops::Range<usize>, distinct: &mut Vec<u32>) {
        let first = distinct.len();
        let mut run: Vec<u32> = self.entries[range].iter().map(|e| e.1).collect();
        if run.len() > 16 {
            run.sort_unstable_by_key(|v| (self.at(*v).to_array().map(f64::to_bits), *v));
            let mut kept: Vec<u32> = Vec::new();
            for v in run {
                match kept.last() {
                    Some(&last) if self.at(last) == self.at(v) => self.join_equal(v, last),
                    _ => kept.push(v),
                }
            }
            kept.sort_unstable();
            run = kept;
        }
        for v in run {
            let mut is_new = true;
            for &other in &distinct[first..] {
                if self.at(other) == self.at(v) {
                    self.join_equal(v, other);
                    is_new = false;
                    break;
                }
                if self.is_close(v, other) {
                    self.groups.join(v, other);
                }
            }
            if is_new {
                distinct.push(v);
            }
        }
    }

    fn weld_across(&mut self, vertex: u32, distinct: &[u32], cells: &[u32]) {
        let v = self.at(vertex);
        let home = cell_of(v, self.low, self.cell_m);
        let reach = DVec3::splat(self.tolerance_m);
        let from = cell_of(v - reach, self.low, self.cell_m);
        let to = cell_of(v + reach, self.low, self.cell_m);
        if from == home && to == home {
            return;
        }
        for x in from[0]..=to[0] {
            for y in from[1]..=to[1] {
                for z in from[2]..=to[2] {
                    let Ok(cell) = self.keys.binary_search(&key([x, y, z])) else {
                        continue;
                    };
                    if [x, y, z] == home {
                        continue;
                    }
                    for place in cells[cell]..cells[cell + 1] {
                        let other = distinct[place as usize];
                        if self.is_close(vertex, other) {
                            self.groups.join(vertex, other);
                        }
                    }
                }
            }
        }
    }

    fn is_close(&self, a: u32, b: u32) -> bool {
        self.at(a).distance_squared(self.at(b)) <= self.tolerance_m * self.tolerance_m
    }

    fn join_equal(&mut self, a: u32, b: u32) {
        self.n_equal += 1;
        self.groups.join(a, b);
    }
}

fn cell_of(v: DVec3, low: DVec3, cell_m: f64) -> [i64; 3] {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a coordinate over a millionth of the diagonal fits"
    )]
    ((v - low) / cell_m).to_array().map(|x| x.floor() as i64)
}

/// Cells run from −1 to about 577 000: twenty bits an axis, with one to spare.
fn key(cell: [i64; 3]) -> u64 {
    cell.iter()
        .fold(0, |key, c| key << 21 | (c + 1).unsigned_abs() & 0x1f_ffff)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn groups(points: &[[f64; 3]], tolerance_m: f64) -> Vec<u32> {
        let points: Vec<DVec3> = points.iter().map(|p| DVec3::from_array(*p)).collect();
        weld(&points, DVec3::ZERO, tolerance_m).root
    }

    #[test]
    fn a_pair_across_a_cell_side_is_welded() {
        let side = WIDE_CELL * 1e-6;
        let near = [[side - 4e-7, 0.5, 0.5], [side + 4e-7, 0.5, 0.5]];
        assert_eq!(groups(&near, 1e-6), [0, 0]);
    }

    #[test]
    fn a_pair_farther_than_the_tolerance_stays_two() {
        assert_eq!(
            groups(&[[0.5, 0.5, 0.5], [0.5 + 1.1e-6, 0.5, 0.5]], 1e-6),
            [0, 1]
        );
    }

    #[test]
    fn a_crowd_in_one_cell_is_welded_as_elsewhere() {
        let points: Vec<[f64; 3]> = (0..600)
            .map(|i| [f64::from(i / 2) * 2e-6 + f64::from(i % 2) * 1e-7, 0.5, 0.5])
            .collect();
        let expected: Vec<u32> = (0..600).map(|i| i / 2 * 2).collect();
        assert_eq!(groups(&points, 1e-6), expected);
    }
}
