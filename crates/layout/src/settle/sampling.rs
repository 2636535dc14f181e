//! Where a piece's surface is asked whether it touches what is uneven.

use glam::DVec3;
use solid::Mesh;

/// Spacing of the samples as a share of the square root of the area: about 2800
/// samples. On a ball of 60 mm they are 4 mm apart, and what is missed between
/// them 0.04 mm.
const SPACING_PER_ROOT_AREA: f64 = 0.019;

/// Samples of one group.
const GROUP: usize = 24;

/// Points of a surface, near ones together.
#[derive(Debug, Clone)]
pub(crate) struct Samples {
    /// The points.
    pub points_m: Vec<DVec3>,
    /// Runs of them, each in a ball.
    pub groups: Vec<Group>,
}

/// A run of samples in a ball.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Group {
    /// Middle of the ball.
    pub middle: DVec3,
    /// Its radius, m.
    pub radius_m: f64,
    /// First sample.
    pub from: u32,
    /// One past the last.
    pub to: u32,
}

impl Samples {
    /// Orders points so that near ones are together.
    pub fn of(mut points_m: Vec<DVec3>) -> Self {
        let mut ends = Vec::new();
        halve(&mut points_m, 0, &mut ends);
        let mut from = 0;
        let groups = ends
            .into_iter()
            .map(|to| {
                let run = &points_m[from..to];
                let middle = run.iter().sum::<DVec3>() / run.len().max(1) as f64;
                let radius_m = run.iter().map(|p| p.distance(middle)).fold(0.0, f64::max);
                let group = Group {
                    middle,
                    radius_m,
                    from: from as u32,
                    to: to as u32,
                };
                from = to;
                group
            })
            .collect();
        Self { points_m, groups }
    }
}

/// Sorts points across their longest extent and halves them until a half is a
/// group; notes where groups end.
fn halve(points: &mut [DVec3], start: usize, ends: &mut Vec<usize>) {
    if points.len() <= GROUP {
        if !points.is_empty() {
            ends.push(start + points.len());
        }
        return;
    }
    let (low, high) = points
        .iter()
        .fold((DVec3::MAX, DVec3::MIN), |(low, high), p| {
            (low.min(*p), high.max(*p))
        });
    let axis = (high - low).max_position();
    points.sort_by(|a, b| a[axis].total_cmp(&b[axis]));
    let middle = points.len() / 2;
    let (first, second) = points.split_at_mut(middle);
    halve(first, start, ends);
    halve(second, start + middle, ends);
}

/// The hull's corners, then points of the surface about evenly spread.
///
/// Points come from a fixed pattern on each triangle and are thinned to one for
/// each cube of a grid, in the order of the triangles, so that the same mesh
/// always gives the same points.
pub(crate) fn surface_samples(mesh: &Mesh, hull_m: &[DVec3]) -> Samples {
    let spacing = SPACING_PER_ROOT_AREA * mesh.area_m2().sqrt();
    let mut taken = std::collections::BTreeSet::new();
    if spacing <= 0.0 {
        return Samples::of(hull_m.to_vec());
    }
    let mut samples = Vec::new();
    let cube = |p: DVec3| {
        let c = (p / spacing).round();
        (c.x as i64, c.y as i64, c.z as i64)
    };
    for p in hull_m {
        if taken.insert(cube(*p)) {
            samples.push(*p);
        }
    }
    for t in 0..mesh.triangles.len() {
        for p in pattern(mesh.corners(t), spacing) {
            if taken.insert(cube(p)) {
                samples.push(p);
            }
        }
    }
    Samples::of(samples)
}

/// Points of one triangle, at most about `spacing` apart, corners included.
fn pattern([a, b, c]: [DVec3; 3], spacing: f64) -> impl Iterator<Item = DVec3> {
    let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
    let n = ((longest / spacing).ceil() as usize).clamp(1, 400);
    (0..=n).flat_map(move |i| {
        (0..=n - i).map(move |j| {
            let (u, v) = (i as f64 / n as f64, j as f64 / n as f64);
            a + u * (b - a) + v * (c - a)
        })
    })
}
