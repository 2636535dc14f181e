//! From one box to the least one near by.

use glam::{DQuat, DVec3};

use super::body::{Body, axes};
use super::nearest::nearest;

/// How close to a side a corner counts as touching it, from stage to stage, in diagonals.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stages {
    first: f64,
    last: f64,
    ratio: f64,
}

/// For the thinned body, from a start some degrees away.
pub(super) const COARSE: Stages = Stages {
    first: 0.02,
    last: 1e-4,
    ratio: 0.2,
};
/// For the full body, from the end of a coarse descent.
pub(super) const FINE: Stages = Stages {
    first: 2e-3,
    last: 1e-7,
    ratio: 0.2,
};

/// Steps within one stage.
const MOST_STEPS: usize = 24;
/// Share of the promised fall that a step has to bring.
const ENOUGH: f64 = 0.1;

/// The log volume and the turn (box axes into piece axes) where no small rotation helps.
///
/// The log volume is Σ ln wᵢ, and a rotation by ω changes wᵢ at the rate
/// max ω·(uᵢ × p) − min ω·(uᵢ × q) over the corners p and q that touch. Taking
/// as touching all that lie within ε of the side, the slopes are the sum of
/// six convex sets; the way down is opposite to the shortest vector of that
/// sum. When that is 0, or the step fails, ε shrinks.
///
/// # Source
/// J.-B. Hiriart-Urruty, C. Lemaréchal, Convex Analysis and Minimization
/// Algorithms II (1993), chapter XIII: ε-descent.
pub(super) fn descend(body: &Body, start: DQuat, stages: Stages) -> (f64, DQuat) {
    let mut turn = start;
    let mut value = body.log_volume(turn);
    let mut near = stages.first;
    let mut step = near;
    while near >= stages.last {
        for _ in 0..MOST_STEPS {
            let slope = shortest_slope(body, turn, near);
            let rate = slope.length();
            if rate < 1e-6 {
                break;
            }
            let Some((lower, further, taken)) =
                step_down(body, turn, value, slope / rate, rate, step, near)
            else {
                break;
            };
            let gained = value - lower;
            (value, turn) = (lower, further);
            step = taken;
            if gained < 1e-3 * near {
                break;
            }
        }
        near *= stages.ratio;
        step = step.max(near);
    }
    (value, turn)
}

/// The shortest vector in the sum of the slopes of all corners within `near` of a side.
fn shortest_slope(body: &Body, turn: DQuat, near: f64) -> DVec3 {
    let mut slopes: Vec<Vec<DVec3>> = Vec::with_capacity(6);
    for axis in axes(turn) {
        let (low, high) = body.extent(axis);
        let rate = (high - low).recip();
        let [below, above] = body.touching(axis, low + near, high - near);
        slopes.push(below.iter().map(|p| axis.cross(*p) * -rate).collect());
        slopes.push(above.iter().map(|p| axis.cross(*p) * rate).collect());
    }
    nearest(|direction| {
        slopes
            .iter()
            .map(|set| {
                let first = (f64::NEG_INFINITY, DVec3::ZERO);
                let most = set.iter().fold(first, |most, s| {
                    let reach = direction.dot(*s);
                    if reach > most.0 { (reach, *s) } else { most }
                });
                most.1
            })
            .sum()
    })
}

/// A rotation against `uphill` that lowers the volume as promised: value, turn and its angle.
fn step_down(
    body: &Body,
    turn: DQuat,
    value: f64,
    uphill: DVec3,
    rate: f64,
    first_step: f64,
    near: f64,
) -> Option<(f64, DQuat, f64)> {
    let at = |angle: f64| {
        let further = (DQuat::from_scaled_axis(uphill * -angle) * turn).normalize();
        (body.log_volume(further), further, angle)
    };
    let good = |found: &(f64, DQuat, f64)| found.0 <= value - ENOUGH * rate * found.2;
    let mut found = at(first_step);
    if good(&found) {
        loop {
            let longer = at(2.0 * found.2);
            if longer.2 > 0.3 || !good(&longer) || longer.0 >= found.0 {
                return Some(found);
            }
            found = longer;
        }
    }
    while found.2 > 0.05 * near {
        found = at(0.5 * found.2);
        if good(&found) {
            return Some(found);
        }
    }
    None
}
