//! Strokes like the grain of wood, clipped exactly to rings.
//!
//! Long broken strokes along the outline's long axis, in rows of uneven
//! distance. Nothing is random: the breaks follow from a row's number, so the
//! same outline always gets the same strokes.

use super::Strand;
use super::area::{Ring, edges, signed_area_mm2};
use super::hatch::Hatch;
use glam::DVec2;

/// Strokes within `rings` and outside each of `covers`, about `spacing_mm` apart.
pub fn strands(rings: &[Ring], covers: &[&[Ring]], spacing_mm: f64) -> Vec<Strand> {
    let fine = Hatch {
        angle_deg: long_axis_deg(rings),
        spacing_mm: spacing_mm / 3.0,
        shift_mm: 0.0,
    };
    let mut out = vec![];
    for stretch in fine.stretches(rings, covers) {
        let noise = scatter(stretch.row);
        if !stretch.row.rem_euclid(3).eq(&((noise % 2) as i64)) {
            continue;
        }
        let mut along = stretch.from - (noise % 23) as f64;
        let mut stroke = 0_u64;
        while along < stretch.to {
            let mix = scatter(stretch.row.wrapping_mul(7919).wrapping_add(stroke as i64));
            let length = 14.0 + (mix % 31) as f64;
            let (from, to) = (along.max(stretch.from), (along + length).min(stretch.to));
            if to - from > 1.0 {
                let ends = vec![
                    fine.on_sheet(from, stretch.row),
                    fine.on_sheet(to, stretch.row),
                ];
                out.push(Strand {
                    points: ends,
                    closed: false,
                });
            }
            along += length + 2.0 + (mix / 31 % 5) as f64;
            stroke += 1;
        }
    }
    out
}

/// Direction of the greatest spread of the outline's area, anticlockwise as
/// seen on the sheet, from the second moments of its rings.
pub fn long_axis_deg(rings: &[Ring]) -> f64 {
    let Some(origin) = rings.iter().flatten().next().copied() else {
        return 0.0;
    };
    let (mut area, mut first, mut xx, mut yy, mut xy) = (0.0, DVec2::ZERO, 0.0, 0.0, 0.0);
    for ring in rings {
        let sign = if signed_area_mm2(ring) < 0.0 {
            -1.0
        } else {
            1.0
        };
        // A ring within a ring is a hole whatever its direction.
        let hole = rings
            .iter()
            .any(|r| r != ring && super::area::within_rings(std::slice::from_ref(r), ring[0]));
        let sign = if hole { -sign } else { sign };
        for (a, b) in edges(ring) {
            let (a, b) = (a - origin, b - origin);
            let cross = a.perp_dot(b) * sign;
            area += cross / 2.0;
            first += (a + b) * cross / 6.0;
            xx += (a.x * a.x + a.x * b.x + b.x * b.x) * cross / 12.0;
            yy += (a.y * a.y + a.y * b.y + b.y * b.y) * cross / 12.0;
            xy += (a.x * b.y + 2.0 * a.x * a.y + 2.0 * b.x * b.y + b.x * a.y) * cross / 24.0;
        }
    }
    if area <= 0.0 {
        return 0.0;
    }
    let mean = first / area;
    let (xx, yy, xy) = (
        xx - area * mean.x * mean.x,
        yy - area * mean.y * mean.y,
        xy - area * mean.x * mean.y,
    );
    -(0.5 * (2.0 * xy).atan2(xx - yy)).to_degrees()
}

/// A whole number that looks unrelated to its neighbours (SplitMix64's mixer,
/// Steele, Lea and Flood 2014).
fn scatter(n: i64) -> u64 {
    let mut z = (n as u64).wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::super::area::Area;
    use super::*;

    #[test]
    fn the_long_axis_of_a_turned_bar_is_its_turn() {
        for turn in [0.0_f64, 20.0, 80.0, -35.0] {
            let axis = DVec2::from_angle(-turn.to_radians());
            let bar: Ring = Area::at(-50.0, -5.0, 100.0, 10.0)
                .ring()
                .into_iter()
                .map(|p| axis.rotate(p))
                .collect();
            assert!((long_axis_deg(&[bar]) - turn).abs() < 1e-9, "{turn}");
        }
    }
}
