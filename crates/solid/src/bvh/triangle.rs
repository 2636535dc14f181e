//! Where a ray meets one triangle, and which of its points is nearest.

use glam::DVec3;
use robust::Coord;

use super::{Hit, Ray};

/// The three corners of a triangle, m.
pub type Corners = [DVec3; 3];

/// What a ray exactly through an edge or a corner does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ties {
    /// It hits every triangle that touches it.
    Inclusive,
    /// It is moved aside by (ε, ε²) in the projected plane, so that it hits
    /// exactly one of two neighbours.
    MovedAside,
}

/// A hit whose triangle is not yet named.
#[derive(Debug, Clone, Copy)]
pub struct Meeting {
    pub distance_m: f64,
    barycentric: [f64; 3],
    enters: bool,
}

impl Meeting {
    pub fn of(self, triangle: u32) -> Hit {
        Hit {
            distance_m: self.distance_m,
            triangle,
            barycentric: self.barycentric,
            enters: self.enters,
        }
    }
}

/// The shear that makes a ray the z axis (Woop, Benthin and Wald 2013, their symbols).
#[derive(Debug, Clone, Copy)]
pub struct Shear {
    origin: DVec3,
    kz: Axis,
    sx: f64,
    sy: f64,
    sz: f64,
}

/// The axis that a ray runs along most.
#[derive(Debug, Clone, Copy)]
enum Axis {
    X,
    Y,
    Z,
}

impl Axis {
    /// The coordinates turned so that this axis is the last. Unlike the paper,
    /// kx and ky are never swapped; the sign of det says which side is met.
    #[inline]
    fn last(self, v: DVec3) -> (f64, f64, f64) {
        match self {
            Self::X => (v.y, v.z, v.x),
            Self::Y => (v.z, v.x, v.y),
            Self::Z => (v.x, v.y, v.z),
        }
    }
}

impl Shear {
    /// `None` for a ray whose direction or origin is of no use.
    #[inline]
    pub fn of(ray: &Ray) -> Option<Self> {
        let d = ray.direction;
        let kz = match d.abs().max_position() {
            0 => Axis::X,
            1 => Axis::Y,
            _ => Axis::Z,
        };
        let (dx, dy, dz) = kz.last(d);
        if !(d.is_finite() && ray.origin_m.is_finite() && dz != 0.0) {
            return None;
        }
        Some(Self {
            origin: ray.origin_m,
            kz,
            sx: dx / dz,
            sy: dy / dz,
            sz: 1.0 / dz,
        })
    }

    /// Where the ray meets the triangle between two distances.
    #[inline]
    pub fn hit(&self, corners: &Corners, least_m: f64, most_m: f64, ties: Ties) -> Option<Meeting> {
        let [a, b, c] = corners.map(|v| self.kz.last(v - self.origin));
        let flat = |v: (f64, f64, f64)| (v.0 - self.sx * v.2, v.1 - self.sy * v.2);
        let (ax, ay) = flat(a);
        let (bx, by) = flat(b);
        let (cx, cy) = flat(c);
        let u = edge(cx, cy, bx, by);
        let v = edge(ax, ay, cx, cy);
        let w = edge(bx, by, ax, ay);
        let (mut su, mut sv, mut sw) = (u, v, w);
        if ties == Ties::MovedAside {
            su = moved_aside(su, (cx, cy), (bx, by));
            sv = moved_aside(sv, (ax, ay), (cx, cy));
            sw = moved_aside(sw, (bx, by), (ax, ay));
        }
        if (su < 0.0 || sv < 0.0 || sw < 0.0) && (su > 0.0 || sv > 0.0 || sw > 0.0) {
            return None;
        }
        let det = u + v + w;
        if det == 0.0 {
            return None;
        }
        let barycentric = [u / det, v / det, w / det];
        let distance_m =
            self.sz * (barycentric[0] * a.2 + barycentric[1] * b.2 + barycentric[2] * c.2);
        let inside = distance_m >= least_m && distance_m <= most_m;
        inside.then_some(Meeting {
            distance_m,
            barycentric,
            enters: (det > 0.0) == (self.sz > 0.0),
        })
    }
}

/// p × q with the right sign, always: exact where rounding could turn it.
#[inline]
fn edge(px: f64, py: f64, qx: f64, qy: f64) -> f64 {
    let (left, right) = (px * qy, py * qx);
    let cross = left - right;
    // Half a unit in the last place for each product and for the difference.
    if cross.abs() > 4.0 * f64::EPSILON * (left.abs() + right.abs()) {
        return cross;
    }
    exact_edge(px, py, qx, qy)
}

#[cold]
fn exact_edge(px: f64, py: f64, qx: f64, qy: f64) -> f64 {
    robust::orient2d(
        Coord { x: px, y: py },
        Coord { x: qx, y: qy },
        Coord { x: 0.0, y: 0.0 },
    )
}

/// The sign that `edge` takes when the ray moves by (ε, ε²): antisymmetric in p
/// and q, so that neighbours never both claim the edge between them.
#[inline]
fn moved_aside(edge: f64, p: (f64, f64), q: (f64, f64)) -> f64 {
    if edge != 0.0 {
        edge
    } else if p.1 != q.1 {
        p.1 - q.1
    } else {
        q.0 - p.0
    }
}

/// The point of the triangle nearest to `p` (Ericson 2005, 5.1.5, his symbols).
pub fn nearest(corners: &Corners, p: DVec3) -> DVec3 {
    let [a, b, c] = *corners;
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let bp = p - b;
    let (d3, d4) = (ab.dot(bp), ac.dot(bp));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * part(d1, d1 - d3);
    }
    let cp = p - c;
    let (d5, d6) = (ab.dot(cp), ac.dot(cp));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * part(d2, d2 - d6);
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return b + (c - b) * part(d4 - d3, (d4 - d3) + (d5 - d6));
    }
    let sum = va + vb + vc;
    if sum > 0.0 {
        a + ab * (vb / sum) + ac * (vc / sum)
    } else {
        a
    }
}

/// `x / whole` in 0..=1; 0 where an edge has no length.
fn part(x: f64, whole: f64) -> f64 {
    if whole > 0.0 {
        (x / whole).clamp(0.0, 1.0)
    } else {
        0.0
    }
}
