//! How a large drawing is cut into sheets of paper.

use super::OVERLAP_MM;
use crate::documents::DocumentError;
use crate::documents::drawing::pen::Dash;
use crate::documents::drawing::{Area, Drawing, Ink, Pen, Weight};
use glam::DVec2;

/// Paper left blank on the left, right and top of a tile.
pub(super) const MARGIN_MM: f64 = 10.0;
/// Paper below a tile, for its label and the key.
pub(super) const STRIP_MM: f64 = 30.0;
const MOST_TILES: usize = 400;

/// A grid of tiles over an area of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Tiling {
    /// Width and height of the paper as it is turned.
    pub paper_mm: DVec2,
    /// Width and height of what one tile shows.
    pub tile_mm: DVec2,
    /// Tiles across.
    pub columns: usize,
    /// Tiles down.
    pub rows: usize,
    /// Upper left corner of the first tile on the plan.
    pub start: DVec2,
}

/// One tile.
#[derive(Debug, Clone, PartialEq)]
pub struct Tile {
    /// Its label: row as a letter from the back, column as a number from the left.
    pub label: String,
    /// Column from 0.
    pub column: usize,
    /// Row from 0.
    pub row: usize,
    /// What it shows of the plan.
    pub area: Area,
}

impl Tiling {
    /// The tiling with the fewest sheets, upright or across; of equals the one
    /// with fewer seams, then upright.
    ///
    /// # Errors
    /// More tiles than anyone would join.
    pub fn fewest(plan: Area, (short, long): (f64, f64)) -> Result<Self, DocumentError> {
        let upright = Self::on(plan, DVec2::new(short, long));
        let across = Self::on(plan, DVec2::new(long, short));
        let seam_mm =
            |t: &Self| (t.columns - 1) as f64 * plan.size().y + (t.rows - 1) as f64 * plan.size().x;
        let best = if (across.len(), seam_mm(&across)) < (upright.len(), seam_mm(&upright)) {
            across
        } else {
            upright
        };
        if best.len() > MOST_TILES {
            return Err(DocumentError::TooMany {
                what: "sheets",
                count: best.len(),
                most: MOST_TILES,
            });
        }
        Ok(best)
    }

    fn on(plan: Area, paper_mm: DVec2) -> Self {
        let tile_mm = paper_mm - DVec2::new(2.0 * MARGIN_MM, MARGIN_MM + STRIP_MM);
        let step = tile_mm - OVERLAP_MM;
        let n = ((plan.size() - OVERLAP_MM) / step).ceil().max(DVec2::ONE);
        let whole = n * step + OVERLAP_MM;
        Self {
            paper_mm,
            tile_mm,
            columns: n.x as usize,
            rows: n.y as usize,
            start: plan.middle() - whole / 2.0,
        }
    }

    /// Number of tiles.
    #[expect(
        clippy::len_without_is_empty,
        reason = "a tiling has at least one tile"
    )]
    pub fn len(&self) -> usize {
        self.columns * self.rows
    }

    /// The tiles, row by row from the back, from the left.
    pub fn tiles(&self) -> Vec<Tile> {
        let step = self.tile_mm - OVERLAP_MM;
        let tile = |k: usize| {
            let (row, column) = (k / self.columns, k % self.columns);
            let corner = self.start + DVec2::new(column as f64, row as f64) * step;
            Tile {
                label: format!("{}{}", row_letters(row), column + 1),
                column,
                row,
                area: Area::new(corner, corner + self.tile_mm),
            }
        };
        (0..self.len()).map(tile).collect()
    }

    /// The strips that neighbouring tiles share.
    pub fn seams(&self) -> Vec<Area> {
        let step = self.tile_mm - OVERLAP_MM;
        let whole = Area::new(
            self.start,
            self.start + DVec2::new(self.columns as f64, self.rows as f64) * step + OVERLAP_MM,
        );
        let upright = (1..self.columns).map(|i| {
            let x = self.start.x + i as f64 * step.x;
            Area::new(
                DVec2::new(x, whole.min.y),
                DVec2::new(x + OVERLAP_MM, whole.max.y),
            )
        });
        let level = (1..self.rows).map(|j| {
            let y = self.start.y + j as f64 * step.y;
            Area::new(
                DVec2::new(whole.min.x, y),
                DVec2::new(whole.max.x, y + OVERLAP_MM),
            )
        });
        upright.chain(level).collect()
    }

    /// What all tiles together show.
    pub fn whole(&self) -> Area {
        let step = self.tile_mm - OVERLAP_MM;
        Area::new(
            self.start,
            self.start + DVec2::new(self.columns as f64, self.rows as f64) * step + OVERLAP_MM,
        )
    }

    /// Cutting lines and register crosses, in the plan's own frame, so that
    /// they fall on the same place of both sheets that share them.
    pub(super) fn register_marks(&self) -> Drawing {
        let mut drawing = Drawing::new();
        let pen = Pen::dashed(Weight::Thin, Ink::PALE, Dash::Dotted);
        let step = self.tile_mm - OVERLAP_MM;
        for seam in self.seams() {
            let upright = seam.size().x <= OVERLAP_MM + 1e-9;
            let (middle, size) = (seam.middle(), seam.size());
            let along = if upright { DVec2::Y } else { DVec2::X };
            let half = along * size / 2.0;
            drawing.line(pen, middle - half, middle + half);
            let (count, pitch) = if upright {
                (self.rows, step.y)
            } else {
                (self.columns, step.x)
            };
            for k in 0..count {
                for share in [0.3, 0.7] {
                    let at = k as f64 * pitch + share * along.dot(self.tile_mm);
                    drawing.register_cross(middle - half + along * at, 4.0, Ink::GREY);
                }
            }
        }
        drawing
    }
}

/// A, B … Z, AA, AB …
fn row_letters(row: usize) -> String {
    let letter = char::from(b'A' + (row % 26) as u8);
    if row < 26 {
        letter.to_string()
    } else {
        format!("{}{letter}", row_letters(row / 26 - 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::documents::paper::Paper;
    use proptest::prelude::*;

    #[test]
    fn rows_are_lettered_past_z() {
        assert_eq!(
            [0, 25, 26, 51, 52].map(row_letters),
            ["A", "Z", "AA", "AZ", "BA"]
        );
    }

    proptest! {
        #[test]
        fn every_place_of_the_plan_is_on_a_tile(w in 100.0..2500.0_f64, h in 100.0..900.0_f64, u in 0.0..1.0_f64, v in 0.0..1.0_f64) {
            let plan = Area::at(-30.0, -h, w, h);
            for paper in [Paper::A4, Paper::A3, Paper::Letter] {
                let tiling = Tiling::fewest(plan, paper.sides_mm().unwrap()).unwrap();
                let place = plan.min + plan.size() * DVec2::new(u, v);
                prop_assert!(tiling.tiles().iter().any(|t| t.area.has(place)));
                prop_assert!(tiling.whole().holds(plan));
            }
        }

        #[test]
        fn neighbours_share_the_overlap(w in 500.0..2500.0_f64) {
            let tiling = Tiling::fewest(Area::at(0.0, 0.0, w, 400.0), (210.0, 297.0)).unwrap();
            let tiles = tiling.tiles();
            for pair in tiles.windows(2).filter(|p| p[0].row == p[1].row) {
                let shared = pair[0].area.overlap(pair[1].area).unwrap();
                prop_assert!((shared.size().x - OVERLAP_MM).abs() < 1e-9);
            }
        }
    }
}
