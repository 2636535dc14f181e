//! A piece as an input names it: a scan by its file or a box by its size, and its pose.

use glam::{DQuat, DVec3};
use method::{Files, MethodError};
use schemars::JsonSchema;
use serde::Deserialize;
use solid::{
    Mesh, Moments, Pose, SolidError,
    measure::{MeasureOptions, measure},
    read::{ReadOptions, Unit, Up},
};

/// Unit of a scan's numbers.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UnitInput {
    /// Millimetres.
    Mm,
    /// Centimetres.
    Cm,
    /// Metres.
    M,
    /// Inches.
    In,
}

/// Axis of a scan that points up.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UpInput {
    /// The scan's z.
    Z,
    /// The scan's y.
    Y,
}

/// Place of the centre of mass, and turn.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PoseInput {
    /// Where the centre of mass is in the tank frame, mm.
    pub centre_mm: [f64; 3],
    /// Unit turn [w, x, y, z] that takes piece axes into tank axes.
    pub quaternion: [f64; 4],
}

impl PoseInput {
    /// The pose in SI.
    ///
    /// # Errors
    /// When the quaternion is not of unit length within 0.1 %; `path` is the pose's pointer.
    pub fn pose(&self, path: &str) -> Result<Pose, MethodError> {
        let [w, x, y, z] = self.quaternion;
        let turn = DQuat::from_xyzw(x, y, z, w);
        if (turn.length() - 1.0).abs() > 1e-3 {
            return Err(MethodError::new(
                "not_a_turn",
                format!("{path}/quaternion"),
                format!("the quaternion has length {:.4}, not 1", turn.length()),
                "give [w, x, y, z] of unit length; no turn is [1, 0, 0, 0]",
            ));
        }
        let pose = Pose {
            centre_m: DVec3::from(self.centre_mm) * 1e-3,
            turn,
        };
        Ok(pose.canonical())
    }
}

/// What a piece's form is given by.
pub struct Form<'a> {
    /// File of a scan.
    pub mesh: Option<&'a str>,
    /// Size of a box, mm.
    pub box_mm: Option<[f64; 3]>,
    /// Unit of the scan.
    pub unit: Option<UnitInput>,
    /// Axis of the scan that points up.
    pub up: Option<UpInput>,
}

impl Form<'_> {
    /// The closed mesh and its integrals; `path` is the piece's pointer.
    ///
    /// # Errors
    /// When not exactly one form is given, or the scan can't be had, read or measured.
    pub fn solid(&self, path: &str, files: &dyn Files) -> Result<(Mesh, Moments), MethodError> {
        let (key, mesh) = match (self.mesh, self.box_mm) {
            (Some(name), None) => ("mesh", self.scan(name, path, files)?),
            (None, Some(size_mm)) => ("box_mm", Mesh::cuboid(DVec3::from(size_mm) * 1e-3)),
            _ => {
                return Err(MethodError::new(
                    "one_form",
                    path,
                    "a piece has exactly one of mesh and box_mm",
                    "give the scan's file as mesh, or the size of a box as box_mm",
                ));
            }
        };
        let measured = measure(&mesh, &MeasureOptions::default()).map_err(|error| {
            let at = format!("{path}/{key}");
            MethodError::new("no_volume", at, error.to_string(), error.hint())
        })?;
        Ok((measured.solid_mesh, measured.moments))
    }

    fn scan(&self, name: &str, path: &str, files: &dyn Files) -> Result<Mesh, MethodError> {
        let at = || format!("{path}/mesh");
        let bytes = files
            .bytes(name)
            .map_err(|refused| MethodError::new("no_file", at(), refused.message, refused.hint))?;
        let options = ReadOptions {
            unit: self.unit.map(|unit| match unit {
                UnitInput::Mm => Unit::Mm,
                UnitInput::Cm => Unit::Cm,
                UnitInput::M => Unit::M,
                UnitInput::In => Unit::In,
            }),
            up: self.up.map(|up| match up {
                UpInput::Z => Up::Z,
                UpInput::Y => Up::Y,
            }),
        };
        let scan = solid::read::read(&bytes, name, &options).map_err(|error| {
            let key = match error {
                SolidError::UnitMissing { .. } => "unit",
                _ => "mesh",
            };
            let at = format!("{path}/{key}");
            MethodError::new("bad_scan", at, error.to_string(), error.hint())
        })?;
        Ok(scan.mesh)
    }
}
