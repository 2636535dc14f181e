//! Do the pieces stay where they were put, and how firmly?

use method::{Caution, Figure};
use serde::Serialize;

use crate::{Tag, findings::Finding};

/// How one piece stands.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceStands {
    /// The piece.
    pub tag: Tag,
    /// Whether it is at rest where it was put: nothing was found that spoils it.
    pub stands: bool,
    /// Whether it came to rest at all.
    pub at_rest: bool,
    /// Pose after settling.
    #[serde(serialize_with = "as_pose")]
    pub settled: solid::Pose,
    /// How far its centre moved on settling, mm.
    pub moved: Figure,
    /// How far it turned on settling, deg.
    pub turned: Figure,
    /// Least angle through which it can be tipped before it falls, deg; none when it doesn't rest.
    pub tip_angle: Option<Figure>,
    /// Present friction over the least friction that holds it; none when no friction is needed.
    pub slide_margin: Option<Figure>,
    /// Upward force when it is held under water, N.
    pub lift_when_held_under: Figure,
    /// Stone that must be tied to it so that it sinks, kg; none when it sinks.
    pub ballast_stone: Option<Figure>,
}

/// The group *Stands*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stands {
    /// Every piece, in the order of placing.
    pub pieces: Vec<PieceStands>,
    /// What was found, in the order of placing.
    pub findings: Vec<Finding>,
    /// The same in words, and what the methods said.
    pub cautions: Vec<Caution>,
}

/// Writes a pose as methods do: `centre_mm` and `quaternion`.
fn as_pose<S: serde::Serializer>(pose: &solid::Pose, serializer: S) -> Result<S::Ok, S::Error> {
    use serde::ser::SerializeStruct;
    let mut fields = serializer.serialize_struct("Pose", 2)?;
    fields.serialize_field("centre_mm", &(pose.centre_m * 1e3).to_array())?;
    let q = pose.turn;
    fields.serialize_field("quaternion", &[q.w, q.x, q.y, q.z])?;
    fields.end()
}
