//! Parts of convex polygons, and integrals of linear functions over them.

use glam::{DVec2, DVec3};

/// A linear function of the plan: c + g·(p − origin), the origin being agreed elsewhere.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// Value at the origin, m.
    pub at_origin_m: f64,
    /// Gradient.
    pub gradient: DVec2,
}

impl Plane {
    /// Zero everywhere.
    pub const ZERO: Self = Self::level(0.0);

    /// The same height everywhere, m.
    #[must_use]
    pub const fn level(height_m: f64) -> Self {
        Self {
            at_origin_m: height_m,
            gradient: DVec2::ZERO,
        }
    }

    /// Height at a place, m.
    #[must_use]
    pub fn at(&self, place_m: DVec2) -> f64 {
        self.at_origin_m + self.gradient.dot(place_m)
    }

    /// The sum of two.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            at_origin_m: self.at_origin_m + other.at_origin_m,
            gradient: self.gradient + other.gradient,
        }
    }

    /// This less the other.
    #[must_use]
    pub fn less(self, other: Self) -> Self {
        Self {
            at_origin_m: self.at_origin_m - other.at_origin_m,
            gradient: self.gradient - other.gradient,
        }
    }
}

/// A point with a place in plan that can be interpolated along an edge.
pub trait Corner: Copy {
    /// The point a share of the way to the other.
    fn towards(self, other: Self, share: f64) -> Self;
}

impl Corner for DVec2 {
    fn towards(self, other: Self, share: f64) -> Self {
        self + (other - self) * share
    }
}

impl Corner for DVec3 {
    fn towards(self, other: Self, share: f64) -> Self {
        self + (other - self) * share
    }
}

/// The part of a convex polygon where a linear function is not below zero.
///
/// `sides` holds the function's value at each corner. The polygon keeps its way round.
///
/// # Source
/// I. E. Sutherland, G. W. Hodgman, Reentrant polygon clipping, CACM 17 (1974).
pub fn keep<C: Corner>(corners: &[C], side: impl Fn(C) -> f64, out: &mut Vec<C>) {
    out.clear();
    let Some(&last) = corners.last() else {
        return;
    };
    let (mut from, mut from_side) = (last, side(last));
    for &to in corners {
        let to_side = side(to);
        if (from_side < 0.0) != (to_side < 0.0) {
            out.push(from.towards(to, from_side / (from_side - to_side)));
        }
        if to_side >= 0.0 {
            out.push(to);
        }
        (from, from_side) = (to, to_side);
    }
}

/// Signed area and the place of the centroid of a convex polygon; above zero when anticlockwise.
#[must_use]
pub fn area_and_middle(corners: &[DVec2]) -> (f64, DVec2) {
    let Some(&origin) = corners.first() else {
        return (0.0, DVec2::ZERO);
    };
    let (mut area, mut first) = (0.0, DVec2::ZERO);
    for pair in corners[1..].windows(2) {
        let (a, b) = (pair[0] - origin, pair[1] - origin);
        let part = 0.5 * a.perp_dot(b);
        area += part;
        first += (a + b) * (part / 3.0);
    }
    let middle = if area == 0.0 {
        origin
    } else {
        origin + first / area
    };
    (area, middle)
}

/// Integral of a plane times the place over a convex polygon, from the place's origin, m⁴.
///
/// # Equation
/// On a triangle of area A: ∫ f p = A/12 (Σ fᵢ pᵢ + Σ fᵢ Σ pᵢ).
#[must_use]
pub fn moment(corners: &[DVec2], plane: Plane) -> DVec2 {
    let Some(&a) = corners.first() else {
        return DVec2::ZERO;
    };
    let mut sum = DVec2::ZERO;
    for pair in corners[1..].windows(2) {
        let (b, c) = (pair[0], pair[1]);
        let area = 0.5 * (b - a).perp_dot(c - a);
        let [f, g, h] = [a, b, c].map(|p| plane.at(p));
        sum += (a * f + b * g + c * h + (a + b + c) * (f + g + h)) * (area / 12.0);
    }
    sum
}

/// Share of a triangle where a linear function is above zero, and the mean over
/// the whole triangle of its positive part, from its values at the corners.
///
/// # Equation
/// The corner cut off at a single sign is similar to the triangle: with values
/// p against n₁, n₂ of the other sign its share is p² / ((p − n₁)(p − n₂)) and
/// its mean value p/3.
#[must_use]
pub fn positive_part(values: [f64; 3]) -> (f64, f64) {
    let above = values.iter().filter(|v| **v > 0.0).count();
    let tip = |apex: f64, one: f64, other: f64| {
        let share = (apex / (apex - one)) * (apex / (apex - other));
        (share, share * apex / 3.0)
    };
    let [a, b, c] = values;
    match above {
        0 => (0.0, 0.0),
        3 => (1.0, (a + b + c) / 3.0),
        1 => {
            if a > 0.0 {
                tip(a, b, c)
            } else if b > 0.0 {
                tip(b, c, a)
            } else {
                tip(c, a, b)
            }
        }
        _ => {
            let (share, mean) = if a <= 0.0 {
                tip(a, b, c)
            } else if b <= 0.0 {
                tip(b, c, a)
            } else {
                tip(c, a, b)
            };
            (1.0 - share, (a + b + c) / 3.0 - mean)
        }
    }
}

/// Signed area and signed integral of max(0, top − z) over a convex piece of a
/// sloping plane seen in plan; both above zero when it runs anticlockwise.
#[must_use]
pub fn under(corners: &[DVec3], top: Plane) -> (f64, f64) {
    let Some(&origin) = corners.first() else {
        return (0.0, 0.0);
    };
    let depth = |p: DVec3| top.at(p.truncate()) - p.z;
    let depth_at_origin = depth(origin);
    let (mut area, mut volume) = (0.0, 0.0);
    for pair in corners[1..].windows(2) {
        let (a, b) = ((pair[0] - origin).truncate(), (pair[1] - origin).truncate());
        let part = 0.5 * a.perp_dot(b);
        let (share, mean) = positive_part([depth_at_origin, depth(pair[0]), depth(pair[1])]);
        area += part * share;
        volume += part * mean;
    }
    (area, volume)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// ∫max(0, f) − ∫max(0, −f) = ∫f, and the two shares fill the triangle.
        #[test]
        fn the_positive_and_the_negative_part_make_the_whole(
            a in -1.0_f64..1.0, b in -1.0_f64..1.0, c in -1.0_f64..1.0,
        ) {
            let (up, above) = positive_part([a, b, c]);
            let (down, below) = positive_part([-a, -b, -c]);
            prop_assert!((up + down - 1.0).abs() < 1e-12);
            prop_assert!((above - below - (a + b + c) / 3.0).abs() < 1e-12);
            prop_assert!(above >= 0.0 && up >= 0.0);
        }
    }

    #[test]
    fn the_part_above_zero_of_a_single_corner_is_its_pyramid() {
        // Cut at half the height: a quarter of the area, a pyramid of height 1.
        let (share, mean) = positive_part([1.0, -1.0, -1.0]);
        assert!((share - 0.25).abs() < 1e-15);
        assert!((mean - 0.25 / 3.0).abs() < 1e-15);
    }

    #[test]
    fn the_moment_of_a_wedge_lies_at_two_thirds() {
        // Height x over the unit square: volume 1/2, centre at x = 2/3, y = 1/2.
        let square = [DVec2::ZERO, DVec2::X, DVec2::ONE, DVec2::Y];
        let wedge = Plane {
            at_origin_m: 0.0,
            gradient: DVec2::X,
        };
        let got = moment(&square, wedge);
        assert!((got - DVec2::new(1.0 / 3.0, 0.25)).length() < 1e-15);
    }

    #[test]
    fn a_square_is_halved_by_its_diagonal() {
        let square = [
            DVec2::ZERO,
            DVec2::new(2.0, 0.0),
            DVec2::new(2.0, 2.0),
            DVec2::new(0.0, 2.0),
        ];
        let mut half = Vec::new();
        keep(&square, |p| p.x - p.y, &mut half);
        let (area, middle) = area_and_middle(&half);
        assert!((area - 2.0).abs() < 1e-15);
        assert!((middle - DVec2::new(4.0 / 3.0, 2.0 / 3.0)).length() < 1e-15);
    }
}
