//! What documents take from a layout, its reckoning and its settling.

use super::paper::Paper;
use super::units::Units;
use glam::{DVec2, DVec3};
use layout::settle::{Settled, Support};
use solid::Pose;
use workshop::{Layout, Placed, Reckoning};

/// Millimetres in a metre.
const MM: f64 = 1e3;

/// How a piece was placed in the layout file, which its pose alone doesn't tell.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Placing {
    /// Turn about the upright axis, degrees, anticlockwise seen from above.
    pub turn_deg: f64,
    /// Number of the resting pose, likeliest first; `None` for a free turn.
    pub pose: Option<usize>,
    /// How deep its lowest point is set into the ground, mm.
    pub bury_mm: f64,
}

/// A point at which a piece is held.
#[derive(Debug, Clone, PartialEq)]
pub struct Touch {
    /// What holds it: a tag, `ground`, `base`, `wall_left` …
    pub with: String,
    /// Where, tank frame, m.
    pub point_m: DVec3,
    /// Force on the piece, tank frame, N.
    pub force_n: DVec3,
}

/// What a document needs beside the layout and its reckoning.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Particulars {
    /// Date as it shall be printed.
    pub date: String,
    /// What it is printed on.
    pub paper: Paper,
    /// How lengths and masses are written.
    pub units: Units,
    /// One for each piece of the layout, in its order; missing ones count as
    /// unturned and not set in.
    pub placings: Vec<Placing>,
    /// Where each piece is held, in the layout's order; empty when not known.
    pub touches: Vec<Vec<Touch>>,
}

impl Particulars {
    /// The touches that a settling found.
    pub fn touches_of(layout: &Layout, settled: &Settled) -> Vec<Vec<Touch>> {
        let name = |with: Support| match with {
            Support::Piece(i) => layout
                .placed
                .get(i)
                .map_or_else(String::new, |p| p.piece.tag().to_string()),
            other => other.name(&[]),
        };
        let touches = |piece: &layout::settle::SettledPiece| {
            let touch = |c: &layout::settle::ContactForce| Touch {
                with: name(c.with),
                point_m: c.point_m,
                force_n: c.force_n,
            };
            piece.contacts.iter().map(touch).collect()
        };
        settled.pieces.iter().map(touches).collect()
    }

    pub(super) fn placing(&self, i: usize) -> Placing {
        self.placings.get(i).copied().unwrap_or_default()
    }

    /// What carries a piece, with the points, in the order of their first point.
    ///
    /// What presses on it from above is left out: that is said of the other piece.
    pub(super) fn supports(&self, i: usize) -> Vec<(String, Vec<DVec3>)> {
        let mut supports: Vec<(String, Vec<DVec3>, f64)> = vec![];
        for touch in self.touches.get(i).map_or(&[][..], Vec::as_slice) {
            let at = supports
                .iter()
                .position(|s| s.0 == touch.with)
                .unwrap_or_else(|| {
                    supports.push((touch.with.clone(), vec![], 0.0));
                    supports.len() - 1
                });
            supports[at].1.push(touch.point_m * MM);
            supports[at].2 += touch.force_n.z;
        }
        let carries = |s: &(String, Vec<DVec3>, f64)| s.2 > 0.0 || s.0.starts_with("wall_");
        supports.retain(carries);
        supports
            .into_iter()
            .map(|(with, points, _)| (in_words(&with), points))
            .collect()
    }
}

/// The names of the panes as a builder says them.
fn in_words(with: &str) -> String {
    match with {
        "wall_left" => "left glass".into(),
        "wall_right" => "right glass".into(),
        "wall_front" => "front glass".into(),
        "wall_back" => "back glass".into(),
        other => other.to_owned(),
    }
}

/// A piece where it will lie: settled where it stands, as composed where not.
pub(super) struct Lying {
    /// Whether it stands.
    pub stands: bool,
    /// Where its mesh's origin is, and its turn.
    pub origin_mm: DVec3,
    pub turn: glam::DQuat,
    /// Its least and greatest places along the axes, mm.
    pub min_mm: DVec3,
    pub max_mm: DVec3,
}

impl Lying {
    pub fn new(placed: &Placed, i: usize, reckoning: &Reckoning) -> Self {
        let settled = reckoning.stands.pieces.get(i);
        let stands = settled.is_none_or(|s| s.stands);
        let pose = settled
            .filter(|s| s.stands)
            .map_or(placed.pose, |s| s.settled);
        let (min_mm, max_mm) = extent_mm(placed, &pose);
        let origin = pose.point_in_tank(DVec3::ZERO, placed.piece.shape().moments().centre_m);
        Self {
            stands,
            origin_mm: origin * MM,
            turn: pose.turn,
            min_mm,
            max_mm,
        }
    }

    /// Its size along the tank's axes, mm.
    pub fn size_mm(&self) -> DVec3 {
        self.max_mm - self.min_mm
    }

    /// The middle of its box in plan, mm.
    pub fn middle_mm(&self) -> DVec2 {
        ((self.min_mm + self.max_mm) / 2.0).truncate()
    }
}

fn extent_mm(placed: &Placed, pose: &Pose) -> (DVec3, DVec3) {
    let centre = placed.piece.shape().moments().centre_m;
    let mesh = placed.piece.shape().mesh();
    let mut extent = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    for t in &mesh.triangles {
        for &k in t {
            let point = pose.point_in_tank(mesh.vertices_m[k as usize], centre) * MM;
            extent = (extent.0.min(point), extent.1.max(point));
        }
    }
    extent
}
