//! Hatching: parallel lines clipped exactly to rings.

use super::Strand;
use super::area::{Ring, edges};
use glam::DVec2;

/// How an area is hatched.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hatch {
    /// Angle of the lines, anticlockwise as seen on the sheet.
    pub angle_deg: f64,
    /// Distance of the lines.
    pub spacing_mm: f64,
    /// Shift of the lines across themselves, so that neighbours differ.
    pub shift_mm: f64,
}

/// A stretch of one hatching line in the hatching's own frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stretch {
    pub row: i64,
    pub from: f64,
    pub to: f64,
}

impl Hatch {
    /// The hatching lines within `rings` (even-odd) and outside each of `covers`.
    pub fn strands(self, rings: &[Ring], covers: &[&[Ring]]) -> Vec<Strand> {
        let line = |s: Stretch| Strand {
            points: vec![self.on_sheet(s.from, s.row), self.on_sheet(s.to, s.row)],
            closed: false,
        };
        self.stretches(rings, covers)
            .into_iter()
            .map(line)
            .collect()
    }

    /// The stretches of hatching lines, row by row.
    pub(crate) fn stretches(self, rings: &[Ring], covers: &[&[Ring]]) -> Vec<Stretch> {
        let mut crossings = self.crossings(rings);
        let mut covered: Vec<_> = covers.iter().map(|c| self.crossings(c)).collect();
        let mut out = vec![];
        for (row, xs) in &mut crossings.rows {
            xs.sort_by(f64::total_cmp);
            let mut spans: Vec<(f64, f64)> = xs.chunks_exact(2).map(|p| (p[0], p[1])).collect();
            for cover in &mut covered {
                if let Some(cuts) = cover.row(*row) {
                    cuts.sort_by(f64::total_cmp);
                    spans = without(&spans, cuts);
                }
            }
            let long = |s: &&(f64, f64)| s.1 - s.0 > 1e-6;
            out.extend(spans.iter().filter(long).map(|&(from, to)| Stretch {
                row: *row,
                from,
                to,
            }));
        }
        out
    }

    /// A point of a hatching line on the sheet.
    pub(crate) fn on_sheet(self, along: f64, row: i64) -> DVec2 {
        self.axis().rotate(DVec2::new(along, self.height_of(row)))
    }

    /// Direction of the lines on the sheet, where y points down.
    fn axis(self) -> DVec2 {
        DVec2::from_angle(-self.angle_deg.to_radians())
    }

    fn height_of(self, row: i64) -> f64 {
        row as f64 * self.spacing_mm + self.shift_mm
    }

    /// Where the rings' edges cross each line. An edge counts for the lines
    /// from its lower end, included, to its upper end, excluded, so that a
    /// line through a corner is never counted odd.
    fn crossings(self, rings: &[Ring]) -> Crossings {
        let axis = self.axis();
        let back = DVec2::new(axis.x, -axis.y);
        let mut found: Vec<(i64, f64)> = vec![];
        for ring in rings {
            for (a, b) in edges(ring) {
                let (a, b) = (back.rotate(a), back.rotate(b));
                let (low, high) = if a.y <= b.y { (a, b) } else { (b, a) };
                let first = ((low.y - self.shift_mm) / self.spacing_mm).ceil() as i64 - 1;
                let last = ((high.y - self.shift_mm) / self.spacing_mm).ceil() as i64 + 1;
                for row in first..=last {
                    let y = self.height_of(row);
                    if low.y <= y && y < high.y {
                        found.push((
                            row,
                            low.x + (y - low.y) / (high.y - low.y) * (high.x - low.x),
                        ));
                    }
                }
            }
        }
        found.sort_by(|p, q| p.0.cmp(&q.0).then(p.1.total_cmp(&q.1)));
        let mut rows: Vec<(i64, Vec<f64>)> = vec![];
        for (row, x) in found {
            match rows.last_mut() {
                Some((last, xs)) if *last == row => xs.push(x),
                _ => rows.push((row, vec![x])),
            }
        }
        Crossings { rows }
    }
}

struct Crossings {
    rows: Vec<(i64, Vec<f64>)>,
}

impl Crossings {
    fn row(&mut self, row: i64) -> Option<&mut Vec<f64>> {
        let at = self.rows.binary_search_by_key(&row, |r| r.0).ok()?;
        Some(&mut self.rows[at].1)
    }
}

/// The spans without what lies between pairs of cuts.
fn without(spans: &[(f64, f64)], cuts: &[f64]) -> Vec<(f64, f64)> {
    let mut left = spans.to_vec();
    for cut in cuts.chunks_exact(2) {
        left = left
            .into_iter()
            .flat_map(|(from, to)| [(from, to.min(cut[0])), (from.max(cut[1]), to)])
            .filter(|(from, to)| from < to)
            .collect();
    }
    left
}

#[cfg(test)]
mod tests {
    use super::super::area::{Area, within_rings};
    use super::*;

    fn length(strands: &[Strand]) -> f64 {
        strands
            .iter()
            .map(|s| s.points[0].distance(s.points[1]))
            .sum()
    }

    #[test]
    fn hatched_length_times_spacing_is_the_area() {
        // Closed form: Cavalieri; a disc of radius 40 mm, a hole of 15 mm.
        let disc = |r: f64| -> Ring {
            (0..720)
                .map(|i| DVec2::from_angle(f64::from(i).to_radians() / 2.0) * r)
                .collect()
        };
        let rings = [disc(40.0), disc(15.0)];
        let area = std::f64::consts::PI * (40.0_f64.powi(2) - 15.0_f64.powi(2));
        for angle_deg in [0.0, 30.0, 45.0, 90.0, 135.0] {
            let hatch = Hatch {
                angle_deg,
                spacing_mm: 0.1,
                shift_mm: 0.03,
            };
            let hatched = length(&hatch.strands(&rings, &[])) * 0.1;
            assert!(
                (hatched / area - 1.0).abs() < 2e-3,
                "{angle_deg}: {hatched} for {area}"
            );
        }
    }

    #[test]
    fn lines_through_corners_stay_inside() {
        let ring = Area::at(0.0, 0.0, 10.0, 10.0).ring();
        let hatch = Hatch {
            angle_deg: 45.0,
            spacing_mm: 5.0_f64.sqrt() / 2.0,
            shift_mm: 0.0,
        };
        for s in hatch.strands(std::slice::from_ref(&ring), &[]) {
            let middle = (s.points[0] + s.points[1]) / 2.0;
            assert!(
                within_rings(std::slice::from_ref(&ring), middle),
                "{middle}"
            );
        }
    }

    #[test]
    fn covers_are_left_blank() {
        let ring = [Area::at(0.0, 0.0, 10.0, 10.0).ring()];
        let cover = [Area::at(2.0, 0.0, 3.0, 10.0).ring()];
        let hatch = Hatch {
            angle_deg: 0.0,
            spacing_mm: 1.0,
            shift_mm: 0.5,
        };
        let strands = hatch.strands(&ring, &[&cover]);
        assert!((length(&strands) - 70.0).abs() < 1e-9);
    }
}
