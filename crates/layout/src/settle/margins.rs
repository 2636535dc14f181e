//! How much friction is to spare, and how far gravity can turn.

use clarabel::solver::{NonnegativeConeT, ZeroConeT};
use glam::DVec3;

use super::equilibrium::{Balance, Island, Program, hold};

/// An imbalance under this share counts as none.
pub(crate) const IN_BALANCE: f64 = 1e-3;
/// A friction margin above this is reported as no limit.
const MOST_MARGIN: f64 = 1e3;
/// Directions in which the search for the least tip angle starts.
const FIRST_DIRECTIONS: usize = 8;
/// Most directions tried.
const MOST_DIRECTIONS: usize = 64;
/// The search ends when no direction can be smaller by this share.
const CLOSE_ENOUGH: f64 = 1e-3;
/// Turning gravity further than this is not tried: tan 89°.
const MOST_TURN: f64 = 57.29;

/// Present friction over the least friction, all contacts scaled alike, with
/// which the island still stands; `None` when it needs none.
///
/// Below 1 the island does not stand. By bisection on the scale, the balance
/// asked for at each.
pub(crate) fn slide_margin(island: &Island, down: DVec3) -> Option<f64> {
    let stands =
        |share: f64| hold(island, down, share).is_some_and(|f| f.imbalance <= SLIDE_BALANCE);
    if island.contacts.is_empty() || stands(1.0 / MOST_MARGIN) {
        return None;
    }
    let (mut low, mut high) = (1.0 / MOST_MARGIN, 1.0);
    while !stands(high) {
        low = high;
        high *= 2.0;
        if high > 64.0 {
            return Some(0.0);
        }
    }
    while high - low > 1e-4 * high {
        let middle = if low < 0.1 * high {
            (low * high).sqrt()
        } else {
            0.5 * (low + high)
        };
        if stands(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(1.0 / high)
}

/// The balance asked for in the bisection, tighter than for standing at all, so
/// that the margin is not flattered.
const SLIDE_BALANCE: f64 = 2e-4;

/// How far gravity can turn before an island has no equilibrium.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tip {
    /// The least angle, rad.
    pub angle_rad: f64,
    /// The direction, square to gravity, towards which it goes.
    pub towards: DVec3,
    /// Place in the island of the body that moves most as it goes.
    pub first: usize,
}

/// The least tip angle of an island with friction unlimited.
///
/// # Equation
/// The directions of gravity g for which pushing contacts with any tangential
/// force balance all bodies form a convex cone (its image under a linear map).
/// In the plane g₀ + s, s square to g₀, that is a convex polygon round the
/// origin; along each direction d the greatest t with g₀ + t d inside is a linear
/// program. The least t over all directions is found between the inner polygon
/// (chords of points found) and those points, and the angle is atan t.
///
/// `down` is the unit direction of gravity; loads turn with it (a submerged
/// body's buoyancy too).
pub(crate) fn tip(island: &Island, down: DVec3) -> Option<Tip> {
    if island.contacts.is_empty() {
        return None;
    }
    let (u, v) = down.any_orthonormal_pair();
    let balance = Balance::of(island);
    let towards = |angle: f64| angle.cos() * u + angle.sin() * v;
    let probe = |angle: f64| {
        let (t, first) = farthest(island, &balance, down, towards(angle));
        Probe { angle, t, first }
    };
    let mut probes: Vec<Probe> = (0..FIRST_DIRECTIONS)
        .map(|k| probe(std::f64::consts::TAU * k as f64 / FIRST_DIRECTIONS as f64))
        .collect();
    while probes.len() < MOST_DIRECTIONS {
        let least = probes.iter().map(|p| p.t).fold(f64::MAX, f64::min);
        let Some((after, angle)) = lowest_chord(&probes, least * (1.0 - CLOSE_ENOUGH)) else {
            break;
        };
        probes.insert(after + 1, probe(angle));
    }
    let best = probes.iter().min_by(|a, b| a.t.total_cmp(&b.t))?;
    Some(Tip {
        angle_rad: best.t.atan(),
        towards: towards(best.angle),
        first: best.first,
    })
}

struct Probe {
    angle: f64,
    t: f64,
    first: usize,
}

/// The chord between neighbouring probes that comes nearest to the origin, when
/// it comes nearer than `limit`: which probe it starts at, and the direction of
/// its nearest point.
fn lowest_chord(probes: &[Probe], limit: f64) -> Option<(usize, f64)> {
    let mut best: Option<(f64, usize, f64)> = None;
    for i in 0..probes.len() {
        let a = &probes[i];
        let b = &probes[(i + 1) % probes.len()];
        let span = (b.angle - a.angle).rem_euclid(std::f64::consts::TAU);
        let (sin, cos) = span.sin_cos();
        // In axes along a: a = (ta, 0), b = tb (cos, sin).
        let (dx, dy) = (b.t * cos - a.t, b.t * sin);
        let length = dx.hypot(dy);
        if length < 1e-12 || span < 1e-4 {
            continue;
        }
        let k = -(a.t * dx) / (length * length);
        if !(0.0..=1.0).contains(&k) {
            continue;
        }
        let distance = (a.t * dy).abs() / length;
        if distance < limit && best.is_none_or(|(d, _, _)| distance < d) {
            let foot = (k * dy).atan2(a.t + k * dx);
            best = Some((distance, i, a.angle + foot.clamp(0.05 * span, 0.95 * span)));
        }
    }
    best.map(|(_, i, angle)| (i, angle))
}

/// The greatest t with gravity along `down + t d` in equilibrium, friction
/// unlimited, and which body goes first beyond it.
fn farthest(island: &Island, balance: &Balance, down: DVec3, d: DVec3) -> (f64, usize) {
    let n = island.contacts.len();
    let mut program = Program::new(3 * n + 1);
    program.entries.extend(&balance.entries);
    for (row, load) in balance.loads(island, d).into_iter().enumerate() {
        program.entries.push((row, 3 * n, load));
    }
    program.rhs = balance
        .loads(island, down)
        .iter()
        .map(|load| -load)
        .collect();
    program.cones.push(ZeroConeT(balance.rows));
    for c in 0..n {
        program.not_negative(3 * c);
    }
    program.not_negative(3 * n);
    program.entries.push((program.rhs.len(), 3 * n, 1.0));
    program.rhs.push(MOST_TURN);
    program.cones.push(NonnegativeConeT(1));
    program.cost[3 * n] = -1.0;
    let Some(solution) = program.solve() else {
        return (0.0, 0);
    };
    let first = (0..island.loads.len())
        .map(|b| {
            solution.z[6 * b..6 * b + 6]
                .iter()
                .map(|z| z * z)
                .sum::<f64>()
        })
        .enumerate()
        .fold((0, 0.0), |best, (b, size)| {
            if size > best.1 * (1.0 + 1e-6) {
                (b, size)
            } else {
                best
            }
        });
    (solution.x[3 * n].clamp(0.0, MOST_TURN), first.0)
}
