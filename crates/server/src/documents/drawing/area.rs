//! Axis-parallel areas, and which points lie within rings.

use glam::DVec2;

/// A closed polygon: points in order, the last joins the first.
pub type Ring = Vec<DVec2>;

/// An axis-parallel rectangle in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Corner of least x and y.
    pub min: DVec2,
    /// Corner of greatest x and y.
    pub max: DVec2,
}

impl Area {
    /// Between two opposite corners.
    pub fn new(a: DVec2, b: DVec2) -> Self {
        Self {
            min: a.min(b),
            max: a.max(b),
        }
    }

    /// From a corner and a size.
    pub fn at(x_mm: f64, y_mm: f64, width_mm: f64, height_mm: f64) -> Self {
        let corner = DVec2::new(x_mm, y_mm);
        Self::new(corner, corner + DVec2::new(width_mm, height_mm))
    }

    /// Round a middle.
    pub fn round(middle: DVec2, size: DVec2) -> Self {
        Self::new(middle - size / 2.0, middle + size / 2.0)
    }

    /// The smallest that holds the points; `None` without points.
    pub fn of_points(points: impl IntoIterator<Item = DVec2>) -> Option<Self> {
        points
            .into_iter()
            .map(|p| Self { min: p, max: p })
            .reduce(Self::join)
    }

    /// Width and height.
    pub fn size(self) -> DVec2 {
        self.max - self.min
    }

    /// Its middle.
    pub fn middle(self) -> DVec2 {
        (self.min + self.max) / 2.0
    }

    /// The smallest that holds both.
    #[must_use]
    pub fn join(self, other: Self) -> Self {
        Self {
            min: self.min.min(other.min),
            max: self.max.max(other.max),
        }
    }

    /// What both share; `None` when they don't meet.
    pub fn overlap(self, other: Self) -> Option<Self> {
        let shared = Self {
            min: self.min.max(other.min),
            max: self.max.min(other.max),
        };
        shared.min.cmple(shared.max).all().then_some(shared)
    }

    /// Area shared with another in mm².
    pub fn shared_mm2(self, other: Self) -> f64 {
        self.overlap(other).map_or(0.0, |a| a.size().x * a.size().y)
    }

    /// Whether they share at least a point.
    pub fn touches(self, other: Self) -> bool {
        self.overlap(other).is_some()
    }

    /// Whether another lies wholly within, to a micrometre.
    pub fn holds(self, other: Self) -> bool {
        let grown = self.grown(1e-3);
        grown.min.cmple(other.min).all() && grown.max.cmpge(other.max).all()
    }

    /// Whether a point lies within or on the edge.
    pub fn has(self, point: DVec2) -> bool {
        self.min.cmple(point).all() && self.max.cmpge(point).all()
    }

    /// Moved.
    #[must_use]
    pub fn shifted(self, by: DVec2) -> Self {
        Self {
            min: self.min + by,
            max: self.max + by,
        }
    }

    /// Grown on all four sides; a negative amount shrinks, at most to the middle.
    #[must_use]
    pub fn grown(self, by_mm: f64) -> Self {
        let by = DVec2::splat(by_mm).max(-self.size() / 2.0);
        Self {
            min: self.min - by,
            max: self.max + by,
        }
    }

    /// The part of a segment that lies within.
    ///
    /// # Source
    /// Y.-D. Liang, B. A. Barsky, A new concept and method for line clipping,
    /// ACM Transactions on Graphics 3 (1984).
    pub fn clip(self, a: DVec2, b: DVec2) -> Option<(DVec2, DVec2)> {
        let d = b - a;
        let (mut t0, mut t1) = (0.0_f64, 1.0_f64);
        for (p, q) in [
            (-d.x, a.x - self.min.x),
            (d.x, self.max.x - a.x),
            (-d.y, a.y - self.min.y),
            (d.y, self.max.y - a.y),
        ] {
            if p == 0.0 {
                if q < 0.0 {
                    return None;
                }
            } else if p < 0.0 {
                t0 = t0.max(q / p);
            } else {
                t1 = t1.min(q / p);
            }
        }
        // Ends that lie within are kept to the last bit, so that chains still join.
        let point = |t: f64| {
            if t == 0.0 {
                a
            } else if t == 1.0 {
                b
            } else {
                a + d * t
            }
        };
        (t0 < t1).then(|| (point(t0), point(t1)))
    }

    /// The parts of a polyline that lie within.
    pub fn clip_polyline(self, points: &[DVec2]) -> Vec<Vec<DVec2>> {
        let mut parts: Vec<Vec<DVec2>> = vec![];
        for pair in points.windows(2) {
            let Some((from, to)) = self.clip(pair[0], pair[1]) else {
                continue;
            };
            match parts.last_mut() {
                Some(part) if part.last() == Some(&from) => part.push(to),
                _ => parts.push(vec![from, to]),
            }
        }
        parts
    }

    /// Its four corners in order.
    pub fn ring(self) -> Ring {
        vec![
            self.min,
            DVec2::new(self.max.x, self.min.y),
            self.max,
            DVec2::new(self.min.x, self.max.y),
        ]
    }
}

/// Whether a point lies within rings by the even-odd rule.
pub fn within_rings(rings: &[Ring], point: DVec2) -> bool {
    let mut inside = false;
    for ring in rings {
        for (a, b) in edges(ring) {
            if (a.y > point.y) != (b.y > point.y) {
                let x = a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x);
                inside ^= point.x < x;
            }
        }
    }
    inside
}

/// The edges of a ring, the closing one last.
pub fn edges(ring: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
    (0..ring.len()).map(move |i| (ring[i], ring[(i + 1) % ring.len()]))
}

/// Signed area of a ring in mm², positive when anticlockwise with y up.
pub fn signed_area_mm2(ring: &[DVec2]) -> f64 {
    edges(ring).map(|(a, b)| a.perp_dot(b)).sum::<f64>() / 2.0
}

/// The ring with fewer points, none of the dropped ones further than
/// `tolerance_mm` from it (Douglas and Peucker 1973, on both halves of the ring).
pub fn simplified(ring: &[DVec2], tolerance_mm: f64) -> Ring {
    if ring.len() < 5 {
        return ring.to_vec();
    }
    let far = (0..ring.len())
        .max_by(|&a, &b| {
            let to = |i: usize| ring[i].distance_squared(ring[0]);
            to(a).total_cmp(&to(b)).then(b.cmp(&a))
        })
        .unwrap_or(0);
    let mut keep = vec![false; ring.len() + 1];
    let mut closed = ring.to_vec();
    closed.push(ring[0]);
    for i in [0, far, ring.len()] {
        keep[i] = true;
    }
    let mut todo = vec![(0, far), (far, ring.len())];
    while let Some((from, to)) = todo.pop() {
        let worst = (from + 1..to)
            .map(|i| (i, distance_to_segment(closed[i], closed[from], closed[to])))
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)));
        if let Some((i, distance)) = worst
            && distance > tolerance_mm
        {
            keep[i] = true;
            todo.extend([(from, i), (i, to)]);
        }
    }
    (0..ring.len())
        .filter(|&i| keep[i])
        .map(|i| ring[i])
        .collect()
}

/// Distance of a point from a segment.
pub fn distance_to_segment(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let length2 = along.length_squared();
    let t = if length2 > 0.0 {
        ((p - a).dot(along) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + along * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Ring {
        Area::at(0.0, 0.0, side, side).ring()
    }

    #[test]
    fn a_polyline_is_cut_at_the_edge() {
        // Closed form: a zigzag y = |x − 5| leaves the square 0…4 high at x = 1 and 9.
        let zigzag = [
            DVec2::new(-1.0, 6.0),
            DVec2::new(5.0, 0.0),
            DVec2::new(11.0, 6.0),
        ];
        let parts = Area::at(0.0, 0.0, 10.0, 4.0).clip_polyline(&zigzag);
        let expected = [
            DVec2::new(1.0, 4.0),
            DVec2::new(5.0, 0.0),
            DVec2::new(9.0, 4.0),
        ];
        assert_eq!(parts, [expected.to_vec()]);
    }

    #[test]
    fn a_hole_is_outside() {
        let mut hole = Area::at(4.0, 4.0, 2.0, 2.0).ring();
        hole.reverse();
        let rings = [square(10.0), hole];
        assert!(within_rings(&rings, DVec2::new(2.0, 5.0)));
        assert!(!within_rings(&rings, DVec2::new(5.0, 5.0)));
        assert!(!within_rings(&rings, DVec2::new(11.0, 5.0)));
    }

    #[test]
    fn a_simplified_ring_stays_within_its_tolerance() {
        // Closed form: a regular 3600-gon of radius 100 mm.
        let ring: Ring = (0..3600)
            .map(|i| DVec2::from_angle(f64::from(i) * 0.1_f64.to_radians()) * 100.0)
            .collect();
        let fewer = simplified(&ring, 0.05);
        assert!(fewer.len() < 200, "{} points", fewer.len());
        for p in &ring {
            let d = edges(&fewer)
                .map(|(a, b)| distance_to_segment(*p, a, b))
                .fold(f64::MAX, f64::min);
            assert!(d <= 0.05 + 1e-9, "{d}");
        }
    }
}
