//! What `scape.ground` is asked.

use std::collections::BTreeSet;

use glam::DVec2;
use method::{Bound, Files, MethodError};
use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;
use solid::{Mesh, Moments, Pose};

use crate::ground::{Bed, BedPoint, By, Material, PlacedSolid, Region};
use crate::methods::piece::{Form, PoseInput, UnitInput, UpInput};

/// Ranges of the input's numbers.
pub const BOUNDS: &[Bound] = &[
    Bound::above("/tank/length_mm", 0.0, 10_000.0, "inside length, mm"),
    Bound::above("/tank/width_mm", 0.0, 10_000.0, "inside width, mm"),
    Bound::above("/tank/height_mm", 0.0, 5_000.0, "inside height, mm"),
    Bound::above(
        "/materials/*/bulk_density_kg_m3",
        0.0,
        10_000.0,
        "bulk density, kg/m³",
    ),
    Bound::above(
        "/materials/*/grain_density_kg_m3",
        0.0,
        20_000.0,
        "grain density, kg/m³",
    ),
    Bound::above("/materials/*/grain_mm", 0.0, 500.0, "size of a grain, mm"),
    Bound::above(
        "/materials/*/angle_of_repose_deg",
        0.0,
        89.0,
        "angle of repose, deg",
    ),
    Bound::above("/materials/*/bag_l", 0.0, 10_000.0, "content of a bag, L"),
    Bound::within(
        "/materials/*/price",
        0.0,
        1e9,
        "price of a bag, or of a litre where there are no bags",
    ),
    Bound::within(
        "/beds/*/points/*/value_mm",
        -10_000.0,
        10_000.0,
        "thickness or height, mm",
    ),
    Bound::above("/pieces/*/box_mm/*", 0.0, 5_000.0, "size of a box, mm"),
    Bound::within(
        "/pieces/*/pose/centre_mm/*",
        -20_000.0,
        20_000.0,
        "place of the centre of mass, mm",
    ),
    Bound::within(
        "/pieces/*/pose/quaternion/*",
        -2.0,
        2.0,
        "part of a unit turn",
    ),
    Bound::above("/pieces/*/density_kg_m3", 0.0, 30_000.0, "density, kg/m³"),
    Bound::above("/pieces/*/mass_kg", 0.0, 10_000.0, "mass, kg"),
    Bound::within("/pieces/*/friction", 0.0, 10.0, "friction"),
    Bound::within(
        "/water_depth_mm",
        0.0,
        5_000.0,
        "depth of the water above the base, mm",
    ),
    Bound::above("/cell_mm", 0.0, 1_000.0, "cell of the grid, mm"),
];

/// The input of `scape.ground`.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroundInput {
    /// Inside measures of the tank.
    pub tank: TankInput,
    /// The loose materials.
    pub materials: Vec<MaterialInput>,
    /// The beds, in order from below.
    pub beds: Vec<BedInput>,
    /// The pieces that stand in the tank.
    #[serde(default)]
    pub pieces: Vec<PieceInput>,
    /// Depth of the water above the base, mm.
    pub water_depth_mm: f64,
    /// Cell of the grid, mm.
    #[serde(default = "five")]
    pub cell_mm: f64,
}

fn five() -> f64 {
    5.0
}

/// Inside measures of a tank.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TankInput {
    /// Inside length (x), mm.
    pub length_mm: f64,
    /// Inside width (y), mm.
    pub width_mm: f64,
    /// Inside height (z), mm.
    pub height_mm: f64,
}

/// A loose material.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MaterialInput {
    /// Its name; beds call it by this.
    pub name: String,
    /// Mass by volume as laid, kg/m³.
    pub bulk_density_kg_m3: f64,
    /// Mass of the grains by their own volume, kg/m³; it gives the water in the gaps.
    #[serde(default)]
    pub grain_density_kg_m3: Option<f64>,
    /// Typical size of a grain, mm.
    #[serde(default)]
    pub grain_mm: Option<f64>,
    /// Steepest slope that stays, deg.
    pub angle_of_repose_deg: f64,
    /// Content of a bag, L.
    #[serde(default)]
    pub bag_l: Option<f64>,
    /// Price of a bag, or of a litre where `bag_l` is not given, in the user's currency.
    #[serde(default)]
    pub price: Option<f64>,
}

impl MaterialInput {
    /// The material in SI.
    pub fn material(&self) -> Material {
        Material {
            name: self.name.clone(),
            bulk_density_kg_m3: self.bulk_density_kg_m3,
            grain_density_kg_m3: self.grain_density_kg_m3,
            grain_m: self.grain_mm.map(|mm| mm * 1e-3),
            angle_of_repose_rad: self.angle_of_repose_deg.to_radians(),
            bag_m3: self.bag_l.map(|l| l * 1e-3),
        }
    }
}

/// What a bed's values stand for.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ByInput {
    /// Thickness above what lies beneath.
    Thickness,
    /// Height of the top above the base.
    Top,
}

/// A value at a place.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PointInput {
    /// From the left glass, mm.
    pub x_mm: f64,
    /// From the front glass, mm.
    pub y_mm: f64,
    /// Thickness or height there, mm.
    pub value_mm: f64,
}

/// One bed of one material.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BedInput {
    /// Name of the material.
    pub material: String,
    /// `"all"`, or the corners of a simple polygon in mm: `[[x, y], …]`, or
    /// `[{"x_mm": …, "y_mm": …}, …]`.
    #[serde(default = "all")]
    #[schemars(with = "RegionSchema")]
    pub region: Value,
    /// What the values stand for.
    pub by: ByInput,
    /// Values that the bed's surface passes through: one is a constant, two a ramp
    /// between them, constant beyond; more make planes between neighbours.
    pub points: Vec<PointInput>,
}

fn all() -> Value {
    Value::from("all")
}

/// What a region may be written as, for the schema.
#[derive(JsonSchema)]
#[serde(untagged)]
#[expect(
    dead_code,
    reason = "only its schema is used; the value is read by hand for exact pointers"
)]
enum RegionSchema {
    All(RegionWord),
    Pairs(Vec<[f64; 2]>),
    Places(Vec<PlaceSchema>),
}

#[derive(JsonSchema)]
#[serde(rename_all = "snake_case")]
#[expect(dead_code, reason = "only its schema is used")]
enum RegionWord {
    All,
}

#[derive(JsonSchema)]
#[expect(dead_code, reason = "only its schema is used")]
struct PlaceSchema {
    x_mm: f64,
    y_mm: f64,
}

impl BedInput {
    /// The bed in SI.
    ///
    /// # Errors
    /// When its material is not in the list, or its region is neither "all" nor a list of corners.
    pub fn bed(&self, at: usize, materials: &[MaterialInput]) -> Result<Bed, MethodError> {
        let Some(material) = materials.iter().position(|m| m.name == self.material) else {
            let names: Vec<&str> = materials.iter().map(|m| m.name.as_str()).collect();
            return Err(MethodError::new(
                "no_material",
                format!("/beds/{at}/material"),
                format!("there is no material {:?}", self.material),
                format!(
                    "name one of the materials in the list: {}",
                    names.join(", ")
                ),
            ));
        };
        Ok(Bed {
            material,
            region: region(&self.region, &format!("/beds/{at}/region"))?,
            by: match self.by {
                ByInput::Thickness => By::Thickness,
                ByInput::Top => By::Top,
            },
            points: self
                .points
                .iter()
                .map(|point| BedPoint {
                    place_m: DVec2::new(point.x_mm, point.y_mm) * 1e-3,
                    value_m: point.value_mm * 1e-3,
                })
                .collect(),
        })
    }
}

fn region(value: &Value, path: &str) -> Result<Region, MethodError> {
    let refuse = |path: String, message: String| {
        MethodError::new(
            "bad_region",
            path,
            message,
            "write \"all\", or at least three corners in mm: [[x, y], …]",
        )
    };
    let corners = match value {
        Value::String(word) if word == "all" => return Ok(Region::All),
        Value::Array(corners) => corners,
        other => {
            return Err(refuse(
                path.to_owned(),
                format!("a region is \"all\" or a list of corners, not {other}"),
            ));
        }
    };
    let corner = |(k, corner): (usize, &Value)| {
        let number = |value: Option<&Value>| value.and_then(Value::as_f64);
        let place = match corner {
            Value::Array(pair) if pair.len() == 2 => (number(pair.first()), number(pair.get(1))),
            Value::Object(place) if place.len() == 2 => {
                (number(place.get("x_mm")), number(place.get("y_mm")))
            }
            _ => (None, None),
        };
        match place {
            (Some(x), Some(y)) => Ok(DVec2::new(x, y) * 1e-3),
            _ => Err(refuse(
                format!("{path}/{k}"),
                "a corner is [x, y] in mm, or {\"x_mm\", \"y_mm\"}".to_owned(),
            )),
        }
    };
    let corners = corners.iter().enumerate().map(corner);
    Ok(Region::Polygon(corners.collect::<Result<_, _>>()?))
}

/// A piece in the tank; the same list as `scape.settle` takes.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PieceInput {
    /// Its tag or name.
    pub id: String,
    /// File of its scan.
    #[serde(default)]
    pub mesh: Option<String>,
    /// Size of a box instead of a scan, mm.
    #[serde(default)]
    pub box_mm: Option<[f64; 3]>,
    /// Unit of the scan; not needed for glTF.
    #[serde(default)]
    pub unit: Option<UnitInput>,
    /// Axis of the scan that points up.
    #[serde(default)]
    pub up: Option<UpInput>,
    /// Where it is.
    pub pose: PoseInput,
    /// Whether it is meant to sit in the ground.
    #[serde(default)]
    pub bedded: bool,
    /// Not used here; taken so that the pieces of `scape.settle` can be given as they are.
    #[serde(default)]
    pub density_kg_m3: Option<f64>,
    /// Not used here.
    #[serde(default)]
    pub mass_kg: Option<f64>,
    /// Not used here.
    #[serde(default)]
    pub friction: Option<f64>,
}

/// A piece that was read.
pub struct Piece {
    /// Its tag or name.
    pub id: String,
    mesh: Mesh,
    moments: Moments,
    pose: Pose,
    bedded: bool,
}

impl Piece {
    /// As the computation wants it.
    pub fn placed(&self) -> PlacedSolid<'_> {
        PlacedSolid {
            mesh: &self.mesh,
            centre_in_piece_m: self.moments.centre_m,
            pose: self.pose,
            bedded: self.bedded,
        }
    }
}

impl GroundInput {
    /// The depth of the water, m.
    ///
    /// # Errors
    /// When it lies above the rim.
    pub fn water_depth_m(&self) -> Result<f64, MethodError> {
        if self.water_depth_mm > self.tank.height_mm {
            return Err(MethodError::new(
                "out_of_range",
                "/water_depth_mm",
                format!(
                    "water {} mm deep runs over a rim at {} mm",
                    self.water_depth_mm, self.tank.height_mm
                ),
                "give the depth above the base, at most the inside height",
            ));
        }
        Ok(self.water_depth_mm * 1e-3)
    }

    /// The pieces, read.
    ///
    /// # Errors
    /// When a scan or a pose is no good, or two pieces have one name.
    pub fn pieces(&self, files: &dyn Files) -> Result<Vec<Piece>, MethodError> {
        /// More pieces than any tank holds.
        const MOST_PIECES: usize = 10_000;
        if self.pieces.len() > MOST_PIECES {
            return Err(MethodError::new(
                "too_many",
                "/pieces",
                format!("{} pieces, over {MOST_PIECES}", self.pieces.len()),
                "leave out what doesn't touch the ground or the water",
            ));
        }
        let mut names: BTreeSet<String> = BTreeSet::new();
        let read = |(k, piece): (usize, &PieceInput)| {
            let path = format!("/pieces/{k}");
            if !names.insert(piece.id.clone()) {
                return Err(MethodError::new(
                    "same_id",
                    format!("{path}/id"),
                    format!("there is a piece {:?} already", piece.id),
                    "give each piece a name of its own",
                ));
            }
            let pose = piece.pose.pose(&format!("{path}/pose"))?;
            let form = Form {
                mesh: piece.mesh.as_deref(),
                box_mm: piece.box_mm,
                unit: piece.unit,
                up: piece.up,
            };
            let (mesh, moments) = form.solid(&path, files)?;
            Ok(Piece {
                id: piece.id.clone(),
                mesh,
                moments,
                pose,
                bedded: piece.bedded,
            })
        };
        self.pieces.iter().enumerate().map(read).collect()
    }
}
