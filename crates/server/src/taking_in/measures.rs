//! What is kept of a piece's measuring, in the units of a screen.

use method::Certainty;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use solid::{
    measure::Measure,
    outline::{Ring, front_outline},
};

use crate::{documents::drawing::area, figure::Caution};

/// Corners of an outline in a list.
const MOST_CORNERS: usize = 64;

/// Everything measured, beside what a list shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Measures {
    /// Triangles of the scan.
    pub n_triangles: usize,
    /// Volume, litres.
    pub volume_l: f64,
    /// How far it may be off, litres; 0 for a closed scan.
    pub volume_error_l: f64,
    /// Surface, cm².
    pub area_cm2: f64,
    /// Whether the scan is closed, mended.
    pub closed: bool,
    /// Whether volume and centre were counted on a grid.
    pub approximate: bool,
    /// Centre of mass in the scan's frame, mm.
    pub centre_of_mass_mm: [f64; 3],
    /// How it lies by itself, likeliest first.
    pub resting_poses: Vec<Resting>,
    /// What was mended.
    pub repairs: Vec<Mending>,
    /// What to look at before relying on a figure.
    pub cautions: Vec<Caution>,
}

/// One way in which a piece lies by itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Resting {
    /// Its number, likeliest first, from 1.
    pub number: usize,
    /// The turn `[w, x, y, z]` from the scan's axes to lying axes.
    pub quaternion: [f64; 4],
    /// Share of random drops that end so.
    pub probability: f64,
    /// Least tilt of the floor that tips it over.
    pub tip_angle_deg: f64,
    /// Area of the support polygon.
    pub support_mm2: f64,
    /// Longer side of the least rectangle round its plan.
    pub width_mm: f64,
    /// The shorter side.
    pub depth_mm: f64,
    /// Its height.
    pub height_mm: f64,
}

/// One kind of mending.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Mending {
    /// What was done.
    pub kind: String,
    /// How often.
    pub count: usize,
    /// In words.
    pub detail: String,
}

impl Measures {
    /// What is kept of a measure.
    #[must_use]
    pub fn of(measure: &Measure) -> Self {
        let moments = &measure.moments;
        Self {
            n_triangles: measure.n_triangles,
            volume_l: moments.volume_m3 * 1e3,
            volume_error_l: measure.volume_error_m3 * 1e3,
            area_cm2: measure.area_m2 * 1e4,
            closed: measure.is_closed,
            approximate: measure.is_approximate,
            centre_of_mass_mm: (moments.centre_m * 1e3).to_array(),
            resting_poses: measure
                .resting
                .poses
                .iter()
                .zip(1..)
                .map(|(pose, number)| Resting {
                    number,
                    quaternion: [pose.turn.w, pose.turn.x, pose.turn.y, pose.turn.z],
                    probability: pose.probability,
                    tip_angle_deg: pose.tip_angle_rad.to_degrees(),
                    support_mm2: pose.support_m2 * 1e6,
                    width_mm: pose.width_m * 1e3,
                    depth_mm: pose.depth_m * 1e3,
                    height_mm: pose.height_m * 1e3,
                })
                .collect(),
            repairs: measure
                .repairs
                .iter()
                .map(|repair| Mending {
                    kind: repair.kind.name().to_owned(),
                    count: repair.count,
                    detail: repair.detail.clone(),
                })
                .collect(),
            cautions: measure.cautions.iter().map(Caution::from).collect(),
        }
    }

    /// How far figures from the scan's volume can be relied on.
    #[must_use]
    pub fn volume_certainty(&self) -> Certainty {
        if self.approximate {
            Certainty::Estimated
        } else {
            Certainty::Measured
        }
    }
}

/// The turn in which a piece is shown: its likeliest resting pose.
#[must_use]
pub fn likeliest(measure: &Measure) -> glam::DQuat {
    measure
        .resting
        .poses
        .first()
        .map_or(glam::DQuat::IDENTITY, |pose| pose.turn)
}

/// The front outline in the likeliest pose, mm, x and z from 0, of few corners.
#[must_use]
pub fn front_mm(measure: &Measure) -> Vec<[f64; 2]> {
    let rings = front_outline(measure.outline_mesh(), likeliest(measure));
    let largest = rings
        .iter()
        .filter(|ring| !ring.is_hole())
        .max_by(|a, b| a.area_m2().total_cmp(&b.area_m2()));
    largest.map(from_zero_mm).unwrap_or_default()
}

fn from_zero_mm(ring: &Ring) -> Vec<[f64; 2]> {
    let points: Vec<glam::DVec2> = ring.points_m.iter().map(|p| *p * 1e3).collect();
    let mut tolerance_mm = 0.3;
    let mut few = area::simplified(&points, tolerance_mm);
    while few.len() > MOST_CORNERS {
        tolerance_mm *= 1.5;
        few = area::simplified(&points, tolerance_mm);
    }
    let low = few.iter().fold(glam::DVec2::INFINITY, |low, p| low.min(*p));
    few.iter()
        .map(|p| (*p - low).to_array().map(|x| (x * 10.0).round() / 10.0))
        .collect()
}
