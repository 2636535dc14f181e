//! Where labels go: on or near their thing, never over each other.

use super::area::{Area, Ring, distance_to_segment, edges, within_rings};
use super::hidden::Cover;
use glam::DVec2;

/// Labels move in steps of this size.
const STEP_MM: f64 = 4.0;
/// Cost of a millimetre of outline under a label.
const OUTLINE_COST: f64 = 2.5;
/// Free space kept between labels.
const APART_MM: f64 = 1.0;

/// What a label belongs to and how large it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Wanted {
    /// Outline of the thing.
    pub rings: Vec<Ring>,
    /// Size of the label.
    pub size: DVec2,
    /// How far from the thing's bounds a label may stray.
    pub reach_mm: f64,
    /// Outlines of what lies over the thing: a label there would be taken for theirs.
    pub under: Vec<Vec<Ring>>,
    /// Whether the label lies beside the thing rather than on it.
    pub beside: bool,
}

impl Wanted {
    /// A label that lies on its thing where it can.
    pub fn on(rings: Vec<Ring>, size: DVec2, reach_mm: f64) -> Self {
        Self {
            rings,
            size,
            reach_mm,
            under: vec![],
            beside: false,
        }
    }

    /// A label that lies beside its thing.
    pub fn beside(rings: Vec<Ring>, size: DVec2, reach_mm: f64) -> Self {
        Self {
            beside: true,
            ..Self::on(rings, size, reach_mm)
        }
    }
}

/// Where a label came to lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Its area.
    pub area: Area,
    /// The end of its leader on the thing; `None` when the label lies on it.
    pub leader_to: Option<DVec2>,
}

/// What labels must or should keep clear of.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ground {
    /// Labels stay within; `None` for no limit.
    pub within: Option<Area>,
    /// Never covered.
    pub taken: Vec<Area>,
    /// Better not covered: cost for each mm².
    pub dear: Vec<(Area, f64)>,
    /// Outlines that should not run through a label.
    pub outlines: Vec<Ring>,
}

/// Places labels in the order given; each label avoids the ones before.
///
/// The cost of a place adds up what the label covers, the outlines that run
/// through it, and the length of its leader; the cheapest place wins, the
/// first of equals. A label for which no free place is within reach is laid
/// further and further off until one is found.
pub fn place(wanted: &[Wanted], ground: &Ground) -> Vec<Placed> {
    let mut taken = ground.taken.clone();
    let outlines: Vec<(Area, &Ring)> = ground
        .outlines
        .iter()
        .filter_map(|r| Some((Area::of_points(r.iter().copied())?, r)))
        .collect();
    let mut out = vec![];
    for label in wanted {
        let placed = (0..5)
            .find_map(|widening| {
                best(
                    label,
                    label.reach_mm * f64::from(1 << widening),
                    ground,
                    &taken,
                    &outlines,
                )
            })
            .unwrap_or_else(|| on_its_thing(label));
        taken.push(placed.area.grown(APART_MM));
        out.push(placed);
    }
    out
}

fn on_its_thing(label: &Wanted) -> Placed {
    let bounds = Area::of_points(label.rings.iter().flatten().copied());
    let middle = bounds.map_or(DVec2::ZERO, Area::middle);
    Placed {
        area: Area::round(middle, label.size),
        leader_to: None,
    }
}

fn best(
    label: &Wanted,
    reach_mm: f64,
    ground: &Ground,
    taken: &[Area],
    outlines: &[(Area, &Ring)],
) -> Option<Placed> {
    let bounds = Area::of_points(label.rings.iter().flatten().copied())?;
    let field = bounds.grown(reach_mm + label.size.max_element() / 2.0);
    let near: Vec<&Ring> = outlines
        .iter()
        .filter(|(area, _)| area.touches(field))
        .map(|(_, ring)| *ring)
        .collect();
    let covers: Vec<Cover> = label.under.iter().map(|rings| Cover::new(rings)).collect();
    let middle = bounds.middle();
    let steps = (field.size() / (2.0 * STEP_MM)).floor();
    let (nx, ny) = (steps.x as i64, steps.y as i64);
    let mut found: Option<(f64, Placed)> = None;
    for j in -ny..=ny {
        for i in -nx..=nx {
            let at = middle + DVec2::new(i as f64, j as f64) * STEP_MM;
            let area = Area::round(at, label.size);
            let barred = ground.within.is_some_and(|w| !w.holds(area))
                || taken.iter().any(|t| t.shared_mm2(area) > 0.0);
            if barred {
                continue;
            }
            // The cheap parts first: outlines are only looked at when those don't decide.
            let (start, leader_to) = nearness(label, &covers, area);
            let mut cost = start + covered(ground, area) + at.distance(middle) * 0.02;
            if found.as_ref().is_some_and(|(least, _)| cost >= *least) {
                continue;
            }
            cost += near
                .iter()
                .map(|ring| length_within(ring, area))
                .sum::<f64>()
                * OUTLINE_COST;
            if found.as_ref().is_none_or(|(least, _)| cost < *least) {
                found = Some((cost, Placed { area, leader_to }));
            }
        }
    }
    found.map(|(_, placed)| placed)
}

/// The cost of lying off the thing, or over it, and where a leader would end.
fn nearness(label: &Wanted, covers: &[Cover], area: Area) -> (f64, Option<DVec2>) {
    if label.beside {
        return beside(label, area);
    }
    if within_rings(&label.rings, area.middle()) {
        let hidden = covers.iter().any(|cover| cover.hides(area.middle()));
        return (if hidden { 25.0 } else { 0.0 }, None);
    }
    let (distance, to) = nearest(label, area.middle());
    (12.0 + distance, Some(to))
}

/// A leader is drawn only when the label lies further off than this.
const NEAR_MM: f64 = 2.0;

fn beside(label: &Wanted, area: Area) -> (f64, Option<DVec2>) {
    let Some(bounds) = Area::of_points(label.rings.iter().flatten().copied()) else {
        return (0.0, None);
    };
    let gap = (area.min - bounds.max)
        .max(bounds.min - area.max)
        .max(DVec2::ZERO)
        .length();
    let over = area.shared_mm2(bounds);
    let leader = (gap > NEAR_MM).then(|| nearest(label, area.middle()).1);
    (
        gap + over * 3.0 + if leader.is_some() { 6.0 } else { 0.0 },
        leader,
    )
}

/// The nearest place of the thing's outline.
fn nearest(label: &Wanted, point: DVec2) -> (f64, DVec2) {
    label
        .rings
        .iter()
        .flat_map(|ring| edges(ring))
        .map(|(a, b)| nearest_on(a, b, point))
        .min_by(|p, q| p.0.total_cmp(&q.0))
        .unwrap_or((0.0, point))
}

fn nearest_on(a: DVec2, b: DVec2, p: DVec2) -> (f64, DVec2) {
    let along = b - a;
    let length2 = along.length_squared();
    let t = if length2 > 0.0 {
        ((p - a).dot(along) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (distance_to_segment(p, a, b), a + along * t)
}

fn covered(ground: &Ground, area: Area) -> f64 {
    ground
        .dear
        .iter()
        .map(|(dear, cost)| dear.shared_mm2(area) * cost)
        .sum()
}

/// Length of a ring's edges within an area.
fn length_within(ring: &Ring, area: Area) -> f64 {
    edges(ring).map(|(a, b)| clipped_length(a, b, area)).sum()
}

/// Length of a segment within an area.
fn clipped_length(a: DVec2, b: DVec2, area: Area) -> f64 {
    area.clip(a, b).map_or(0.0, |(from, to)| from.distance(to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn thing(x: f64, y: f64, w: f64, h: f64) -> Wanted {
        Wanted::on(
            vec![Area::at(x, y, w, h).ring()],
            DVec2::new(24.0, 9.0),
            30.0,
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn labels_never_overlap(places in proptest::collection::vec(
            (0.0..200.0_f64, 0.0..120.0_f64, 5.0..80.0_f64, 5.0..60.0_f64), 1..16)
        ) {
            let wanted: Vec<Wanted> = places.iter().map(|&(x, y, w, h)| thing(x, y, w, h)).collect();
            let placed = place(&wanted, &Ground::default());
            for (i, a) in placed.iter().enumerate() {
                for b in &placed[..i] {
                    prop_assert!(a.area.shared_mm2(b.area) < 1e-9);
                }
            }
        }
    }

    #[test]
    fn a_label_with_room_lies_on_its_thing() {
        let placed = place(&[thing(0.0, 0.0, 60.0, 40.0)], &Ground::default());
        assert_eq!(placed[0].leader_to, None);
        assert!(Area::at(0.0, 0.0, 60.0, 40.0).holds(placed[0].area));
    }

    #[test]
    fn a_label_without_room_gets_a_leader_to_its_thing() {
        let ground = Ground {
            taken: vec![Area::at(-2.0, -2.0, 14.0, 14.0)],
            ..Ground::default()
        };
        let placed = place(&[thing(0.0, 0.0, 10.0, 10.0)], &ground);
        let to = placed[0].leader_to.unwrap();
        assert!(Area::at(0.0, 0.0, 10.0, 10.0).has(to));
    }
}
