//! Which parts of an outline lie hidden behind other outlines.

use super::Strand;
use super::area::{Area, Ring, edges, within_rings};
use glam::DVec2;

/// An outline that may hide others.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover<'a> {
    rings: &'a [Ring],
    bounds: Option<Area>,
}

impl<'a> Cover<'a> {
    /// From the rings of an outline.
    pub fn new(rings: &'a [Ring]) -> Self {
        Self {
            rings,
            bounds: Area::of_points(rings.iter().flatten().copied()),
        }
    }

    fn is_near(&self, area: Area) -> bool {
        self.bounds.is_some_and(|b| b.touches(area))
    }

    /// Whether a point lies behind the outline.
    pub fn hides(&self, point: DVec2) -> bool {
        self.bounds.is_some_and(|b| b.has(point)) && within_rings(self.rings, point)
    }
}

/// An outline in two parts.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Split {
    /// What can be seen.
    pub seen: Vec<Strand>,
    /// What lies behind a cover.
    pub hidden: Vec<Strand>,
}

/// Splits rings into the parts outside and inside of the covers.
pub fn split(rings: &[Ring], covers: &[Cover]) -> Split {
    let mut out = Split::default();
    for ring in rings {
        split_ring(ring, covers, &mut out);
    }
    out
}

fn split_ring(ring: &Ring, covers: &[Cover], out: &mut Split) {
    let Some(bounds) = Area::of_points(ring.iter().copied()) else {
        return;
    };
    let near: Vec<&Cover> = covers.iter().filter(|c| c.is_near(bounds)).collect();
    if near.is_empty() {
        out.seen.push(Strand {
            points: ring.clone(),
            closed: true,
        });
        return;
    }
    let mut run: Vec<DVec2> = vec![];
    let mut run_hidden = false;
    for (a, b) in edges(ring) {
        for (from, to) in pieces_of(a, b, &near) {
            let middle = (from + to) / 2.0;
            let hidden = near.iter().any(|c| c.hides(middle));
            if run.is_empty() || hidden != run_hidden {
                finish(&mut run, run_hidden, out);
                run = vec![from];
                run_hidden = hidden;
            }
            run.push(to);
        }
    }
    finish(&mut run, run_hidden, out);
}

fn finish(run: &mut Vec<DVec2>, hidden: bool, out: &mut Split) {
    let points = std::mem::take(run);
    if points.len() >= 2 {
        let strand = Strand {
            points,
            closed: false,
        };
        if hidden {
            out.hidden.push(strand)
        } else {
            out.seen.push(strand)
        }
    }
}

/// A segment cut wherever it crosses an edge of a cover.
fn pieces_of(a: DVec2, b: DVec2, covers: &[&Cover]) -> Vec<(DVec2, DVec2)> {
    let along = b - a;
    let area = Area::new(a, b);
    let mut cuts = vec![0.0, 1.0];
    for cover in covers.iter().filter(|c| c.is_near(area)) {
        for (p, q) in cover.rings.iter().flat_map(|r| edges(r)) {
            let side = q - p;
            let turn = along.perp_dot(side);
            if turn != 0.0 {
                let t = (p - a).perp_dot(side) / turn;
                let u = (p - a).perp_dot(along) / turn;
                if (0.0..=1.0).contains(&u) && t > 0.0 && t < 1.0 {
                    cuts.push(t);
                }
            }
        }
    }
    cuts.sort_by(f64::total_cmp);
    cuts.windows(2)
        .filter(|w| w[1] > w[0])
        .map(|w| (a + along * w[0], a + along * w[1]))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn length(strands: &[Strand]) -> f64 {
        let closing = |s: &Strand| {
            if s.closed {
                s.points[0].distance(s.points[s.points.len() - 1])
            } else {
                0.0
            }
        };
        strands
            .iter()
            .map(|s| {
                s.points
                    .windows(2)
                    .map(|w| w[0].distance(w[1]))
                    .sum::<f64>()
                    + closing(s)
            })
            .sum()
    }

    #[test]
    fn half_covered_square() {
        // Closed form: a 10 mm square, its right 4 mm covered: 4 + 10 + 4 hidden of 40.
        let square = [Area::at(0.0, 0.0, 10.0, 10.0).ring()];
        let cover = [Area::at(6.0, -5.0, 20.0, 20.0).ring()];
        let parts = split(&square, &[Cover::new(&cover)]);
        assert!((length(&parts.hidden) - 18.0).abs() < 1e-9);
        assert!((length(&parts.seen) - 22.0).abs() < 1e-9);
    }

    #[test]
    fn far_covers_leave_the_ring_whole() {
        let square = [Area::at(0.0, 0.0, 10.0, 10.0).ring()];
        let cover = [Area::at(50.0, 0.0, 5.0, 5.0).ring()];
        let parts = split(&square, &[Cover::new(&cover)]);
        assert_eq!(
            parts.seen,
            [Strand {
                points: square[0].clone(),
                closed: true
            }]
        );
        assert!(parts.hidden.is_empty());
    }
}
