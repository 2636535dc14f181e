//! What `scape.settle` is asked.

use std::{collections::BTreeMap, sync::Arc};

use glam::{DQuat, DVec3};
use method::{Bound, Caution, Files, MethodError};
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::Deserialize;
use solid::{
    Mesh, Pose, SolidError,
    measure::{MeasureOptions, measure},
    methods::{MeshInput, UnitInput, UpInput},
    read::{ReadOptions, read},
};

use crate::{
    ground::GroundSurface,
    settle::{Body, Ground, GroundForm, Scene, Solid, Tank, Water, water},
};

pub(super) const BOUNDS: &[Bound] = &[
    Bound::above("/tank/length_mm", 0.0, 10_000.0, "inside length, mm"),
    Bound::above("/tank/width_mm", 0.0, 10_000.0, "inside width, mm"),
    Bound::above("/tank/height_mm", 0.0, 5_000.0, "inside height, mm"),
    Bound::within("/tank/base_friction", 0.0, 3.0, "friction of the base"),
    Bound::within("/tank/wall_friction", 0.0, 3.0, "friction of the panes"),
    Bound::within("/tank/tilt_x_deg", -60.0, 60.0, "tilt along the length, °"),
    Bound::within("/tank/tilt_y_deg", -60.0, 60.0, "tilt along the width, °"),
    Bound::within("/ground/friction", 0.0, 3.0, "friction of the ground"),
    Bound::within(
        "/ground/plane/height_at_middle_mm",
        0.0,
        5_000.0,
        "height of the ground in the middle, mm",
    ),
    Bound::within(
        "/ground/plane/slope_x_deg",
        -60.0,
        60.0,
        "slope along the length, °",
    ),
    Bound::within(
        "/ground/plane/slope_y_deg",
        -60.0,
        60.0,
        "slope along the width, °",
    ),
    Bound::within("/ground/cell_mm", 0.5, 500.0, "spacing of the heights, mm"),
    Bound::within(
        "/ground/heights_mm/*/*",
        -5_000.0,
        5_000.0,
        "height of the ground, mm",
    ),
    Bound::within("/water/level_mm", 0.0, 5_000.0, "water level, mm"),
    Bound::within("/water/temperature_c", -2.0, 40.0, "water temperature, °C"),
    Bound::within("/water/salinity_g_kg", 0.0, 42.0, "salinity, g/kg"),
    Bound::within("/pieces/*/box_mm/*", 0.1, 5_000.0, "side of a box, mm"),
    Bound::within("/pieces/*/density_kg_m3", 10.0, 25_000.0, "density, kg/m³"),
    Bound::above("/pieces/*/mass_kg", 0.0, 20_000.0, "mass, kg"),
    Bound::within("/pieces/*/friction", 0.0, 3.0, "friction of a piece"),
    Bound::within(
        "/pieces/*/pose/centre_mm/*",
        -20_000.0,
        20_000.0,
        "place of the centre of mass, mm",
    ),
    Bound::within(
        "/pieces/*/pose/quaternion/*",
        -1.1,
        1.1,
        "part of a unit quaternion",
    ),
    Bound::within(
        "/ballast_density_kg_m3",
        1_200.0,
        25_000.0,
        "density of ballast stone, kg/m³",
    ),
];

/// Most pieces of one scene.
const MOST_PIECES: usize = 200;
/// Most heights of one ground.
const MOST_HEIGHTS: usize = 4_000_000;
/// A quaternion may be off unit length by this much.
const UNIT_LENGTH: f64 = 1e-3;
/// Names of supports that no piece may bear.
const TAKEN: [&str; 6] = [
    "base",
    "ground",
    "wall_left",
    "wall_right",
    "wall_front",
    "wall_back",
];

/// A tank and the pieces let go in it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SettleInput {
    tank: TankInput,
    /// The ground, or null for a bare base.
    #[serde(default)]
    ground: Option<GroundInput>,
    /// The water, or null for a dry tank.
    #[serde(default)]
    water: Option<WaterInput>,
    /// The pieces.
    pieces: Vec<PieceInput>,
    /// Density of the stone that would hold wood down, kg/m³.
    #[serde(default = "ballast")]
    ballast_density_kg_m3: f64,
}

/// Inside measures and grip of the glass.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct TankInput {
    /// Inside length along x, mm.
    length_mm: f64,
    /// Inside width along y, mm.
    width_mm: f64,
    /// Inside height along z, mm.
    height_mm: f64,
    /// Friction of the base.
    #[serde(default = "base_friction")]
    base_friction: f64,
    /// Friction of the panes.
    #[serde(default = "wall_friction")]
    wall_friction: f64,
    /// How far the right-hand end is raised, °.
    #[serde(default)]
    tilt_x_deg: f64,
    /// How far the back is raised, °.
    #[serde(default)]
    tilt_y_deg: f64,
}

/// The ground: a plane, or heights at the nodes of a grid.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct GroundInput {
    /// Friction of the ground.
    #[serde(default = "grip")]
    friction: f64,
    /// One plane.
    #[serde(default)]
    plane: Option<PlaneInput>,
    /// Spacing of the nodes, mm.
    #[serde(default)]
    cell_mm: Option<f64>,
    /// Rows from the front pane to the back, each from the left pane to the right, mm.
    #[serde(default)]
    heights_mm: Option<Vec<Vec<f64>>>,
}

/// A plane of ground.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PlaneInput {
    /// Height above the middle of the base, mm.
    height_at_middle_mm: f64,
    /// How far it rises to the right, °.
    #[serde(default)]
    slope_x_deg: f64,
    /// How far it rises to the back, °.
    #[serde(default)]
    slope_y_deg: f64,
}

/// The water.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WaterInput {
    /// Level with everything in place, mm above the base.
    level_mm: f64,
    /// Temperature, °C.
    #[serde(default = "room")]
    temperature_c: f64,
    /// Salinity, g/kg.
    #[serde(default)]
    salinity_g_kg: f64,
}

/// One piece.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PieceInput {
    /// Tag or name, each once.
    id: String,
    /// Its scan; or else `box_mm`.
    #[serde(default)]
    mesh: Option<MeshInput>,
    /// A box of these sides along the piece's axes, mm, its middle the origin.
    #[serde(default)]
    box_mm: Option<[f64; 3]>,
    /// Unit of the scan; required, except for glTF.
    #[serde(default)]
    unit: Option<UnitInput>,
    /// Axis of the scan that points up.
    #[serde(default)]
    up: Option<UpInput>,
    /// Density, kg/m³; or else `mass_kg`.
    #[serde(default)]
    density_kg_m3: Option<f64>,
    /// Mass, kg.
    #[serde(default)]
    mass_kg: Option<f64>,
    /// Friction of its surface.
    #[serde(default = "grip")]
    friction: f64,
    /// Where it is let go.
    pose: PoseInput,
    /// Whether the ground is cut to its underside.
    #[serde(default)]
    bedded: bool,
}

/// Place and turn.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PoseInput {
    /// Centre of mass in the tank frame, mm.
    centre_mm: [f64; 3],
    /// Unit quaternion [w, x, y, z] that takes piece axes into tank axes.
    quaternion: [f64; 4],
}

fn ballast() -> f64 {
    2650.0
}

fn base_friction() -> f64 {
    0.4
}

fn wall_friction() -> f64 {
    0.2
}

fn grip() -> f64 {
    0.6
}

fn room() -> f64 {
    20.0
}

/// A form that has been prepared: its solid, and what its scan has to say.
type Prepared = (Arc<Solid>, Vec<Caution>);

impl SettleInput {
    /// The scene in SI, and cautions about its scans.
    pub(super) fn scene(&self, files: &dyn Files) -> Result<(Scene, Vec<Caution>), MethodError> {
        self.names()?;
        let tank = self.tank.tank();
        let ground = self.ground.as_ref().map(|g| g.ground(&tank)).transpose()?;
        let water = self.water.as_ref().map(|w| w.water(&tank)).transpose()?;
        let forms = self.forms(files)?;
        let (mut bodies, mut cautions) = (Vec::new(), Vec::new());
        for (index, piece) in self.pieces.iter().enumerate() {
            let Some((solid, said)) = forms.get(&piece.form_key()) else {
                continue;
            };
            cautions.extend(said.iter().cloned().map(|c| Caution {
                text: format!("{}: {}", piece.id, c.text),
                ..c
            }));
            bodies.push(piece.body(&format!("/pieces/{index}"), Arc::clone(solid))?);
        }
        Ok((
            Scene {
                tank,
                ground,
                water,
                bodies,
                ballast_density_kg_m3: self.ballast_density_kg_m3,
            },
            cautions,
        ))
    }

    /// Each form once, prepared; of several that fail, the first piece's error.
    fn forms(&self, files: &dyn Files) -> Result<BTreeMap<String, Prepared>, MethodError> {
        let mut firsts: Vec<(String, usize)> = Vec::new();
        for (index, piece) in self.pieces.iter().enumerate() {
            let key = piece.form_key();
            if firsts.iter().all(|(known, _)| *known != key) {
                firsts.push((key, index));
            }
        }
        let prepared: Vec<(String, Result<Prepared, MethodError>)> = firsts
            .into_par_iter()
            .map(|(key, index)| {
                let path = format!("/pieces/{index}");
                (key, self.pieces[index].prepare(&path, files))
            })
            .collect();
        prepared
            .into_iter()
            .map(|(key, form)| form.map(|form| (key, form)))
            .collect()
    }

    fn names(&self) -> Result<(), MethodError> {
        if self.pieces.len() > MOST_PIECES {
            return Err(MethodError::new(
                "too_many",
                "/pieces",
                format!("{} pieces, more than {MOST_PIECES}", self.pieces.len()),
                "settle the layout in parts",
            ));
        }
        for (index, piece) in self.pieces.iter().enumerate() {
            let at = format!("/pieces/{index}/id");
            if TAKEN.contains(&piece.id.as_str()) {
                return Err(MethodError::new(
                    "name_taken",
                    at,
                    format!("{:?} is the name of a support", piece.id),
                    "give the piece another id",
                ));
            }
            if self.pieces[..index].iter().any(|p| p.id == piece.id) {
                return Err(MethodError::new(
                    "doubled_id",
                    at,
                    format!("{:?} is the id of two pieces", piece.id),
                    "give each piece an id of its own",
                ));
            }
        }
        Ok(())
    }
}

impl TankInput {
    fn tank(&self) -> Tank {
        Tank {
            length_m: self.length_mm * 1e-3,
            width_m: self.width_mm * 1e-3,
            height_m: self.height_mm * 1e-3,
            base_friction: self.base_friction,
            wall_friction: self.wall_friction,
            tilt_x_rad: self.tilt_x_deg.to_radians(),
            tilt_y_rad: self.tilt_y_deg.to_radians(),
        }
    }
}

impl WaterInput {
    fn water(&self, tank: &Tank) -> Result<Water, MethodError> {
        let level_m = self.level_mm * 1e-3;
        if level_m > tank.height_m {
            return Err(MethodError::new(
                "out_of_range",
                "/water/level_mm",
                format!(
                    "the level of {} mm lies over the rim at {} mm",
                    self.level_mm,
                    tank.height_m * 1e3
                ),
                "give the level in mm above the inside of the base",
            ));
        }
        Ok(Water {
            level_m,
            density_kg_m3: water::density_kg_m3(self.temperature_c, self.salinity_g_kg),
        })
    }
}

impl GroundInput {
    fn ground(&self, tank: &Tank) -> Result<Ground, MethodError> {
        let form = match (&self.plane, self.cell_mm, &self.heights_mm) {
            (Some(plane), None, None) => GroundForm::Plane {
                height_at_middle_m: plane.height_at_middle_mm * 1e-3,
                slope_x_rad: plane.slope_x_deg.to_radians(),
                slope_y_rad: plane.slope_y_deg.to_radians(),
            },
            (None, Some(cell_mm), Some(rows)) => GroundForm::Heights(heights(cell_mm, rows, tank)?),
            _ => {
                return Err(MethodError::new(
                    "one_ground",
                    "/ground",
                    "a ground is either a plane, or cell_mm with heights_mm",
                    "give exactly one of the two",
                ));
            }
        };
        Ok(Ground {
            friction: self.friction,
            form,
        })
    }
}

fn heights(cell_mm: f64, rows: &[Vec<f64>], tank: &Tank) -> Result<GroundSurface, MethodError> {
    let nx = rows.first().map_or(0, Vec::len);
    if let Some(j) = rows.iter().position(|row| row.len() != nx) {
        return Err(MethodError::new(
            "ragged_grid",
            format!("/ground/heights_mm/{j}"),
            format!("row {j} has {} heights, the first has {nx}", rows[j].len()),
            "give every row the same number of heights",
        ));
    }
    if nx.saturating_mul(rows.len()) > MOST_HEIGHTS {
        return Err(MethodError::new(
            "too_many",
            "/ground/heights_mm",
            format!("more than {MOST_HEIGHTS} heights"),
            "use a larger cell",
        ));
    }
    let cell_m = cell_mm * 1e-3;
    let covers = |n: usize, span: f64| n as f64 * cell_m >= span * (1.0 - 1e-9);
    if nx < 2 || rows.len() < 2 || !covers(nx, tank.length_m) || !covers(rows.len(), tank.width_m) {
        return Err(MethodError::new(
            "grid_too_small",
            "/ground/heights_mm",
            format!(
                "{nx} by {} heights at {cell_mm} mm do not cover {:.0} by {:.0} mm",
                rows.len(),
                tank.length_m * 1e3,
                tank.width_m * 1e3
            ),
            "give heights at every node from the left front corner to the right back one",
        ));
    }
    let heights_m = rows.iter().flatten().map(|h| h * 1e-3).collect();
    GroundSurface::new(cell_m, nx, rows.len(), heights_m).map_err(|error| {
        MethodError::new(
            "bad_ground",
            "/ground/heights_mm",
            error.to_string(),
            "give finite heights in mm",
        )
    })
}

impl PieceInput {
    /// Pieces of one key have one form.
    fn form_key(&self) -> String {
        match (&self.mesh, self.box_mm) {
            (Some(mesh), _) => format!("{}|{:?}|{:?}", mesh.name(), self.unit, self.up),
            (None, size) => format!("|{size:?}"),
        }
    }

    fn prepare(&self, path: &str, files: &dyn Files) -> Result<Prepared, MethodError> {
        let (mesh, moments, cautions) = match (&self.mesh, self.box_mm) {
            (Some(name), None) => self.scan(name.name(), path, files)?,
            (None, Some(size_mm)) => {
                let mesh = Mesh::cuboid(DVec3::from_array(size_mm) * 1e-3);
                let moments = solid::Moments::of(&mesh);
                (mesh, moments, Vec::new())
            }
            _ => {
                return Err(MethodError::new(
                    "one_form",
                    path,
                    "a piece has either a mesh or box_mm",
                    "give exactly one of the two",
                ));
            }
        };
        let key = if self.mesh.is_some() {
            "mesh"
        } else {
            "box_mm"
        };
        Solid::with_moments(mesh, moments)
            .map(|solid| (Arc::new(solid), cautions))
            .map_err(|error| {
                MethodError::new(
                    "bad_solid",
                    format!("{path}/{key}"),
                    format!("piece {:?}: {error}", self.id),
                    "look at the scan with solid.measure",
                )
            })
    }

    fn scan(
        &self,
        name: &str,
        path: &str,
        files: &dyn Files,
    ) -> Result<(Mesh, solid::Moments, Vec<Caution>), MethodError> {
        let at = format!("{path}/mesh");
        let bytes = files
            .bytes(name)
            .map_err(|refused| MethodError::new("no_file", &at, refused.message, refused.hint))?;
        let options = ReadOptions {
            unit: self.unit.map(Into::into),
            up: self.up.map(Into::into),
        };
        let refuse = |error: SolidError| {
            let at = match &error {
                SolidError::UnitMissing { .. } => format!("{path}/unit"),
                _ => at.clone(),
            };
            MethodError::new("bad_scan", at, error.to_string(), error.hint())
        };
        let scan = read(&bytes, name, &options).map_err(refuse)?;
        let measured = measure(&scan.mesh, &MeasureOptions::default()).map_err(refuse)?;
        Ok((measured.solid_mesh, measured.moments, measured.cautions))
    }

    fn body(&self, path: &str, solid: Arc<Solid>) -> Result<Body, MethodError> {
        let volume = solid.volume_m3();
        let mass_kg = match (self.density_kg_m3, self.mass_kg) {
            (Some(density), None) => density * volume,
            (None, Some(mass)) => mass,
            _ => {
                return Err(MethodError::new(
                    "one_mass",
                    path,
                    "a piece has either density_kg_m3 or mass_kg",
                    "give exactly one of the two",
                ));
            }
        };
        let density = mass_kg / volume;
        if !(10.0..=25_000.0).contains(&density) {
            return Err(MethodError::new(
                "out_of_range",
                format!("{path}/mass_kg"),
                format!(
                    "{mass_kg} kg in {:.3} l make {density:.0} kg/m³, outside 10 to 25000",
                    volume * 1e3
                ),
                "check the mass and the unit of the scan",
            ));
        }
        Ok(Body {
            id: self.id.clone(),
            solid,
            mass_kg,
            friction: self.friction,
            pose: self.pose.pose(path)?,
            bedded: self.bedded,
        })
    }
}

impl PoseInput {
    fn pose(&self, path: &str) -> Result<Pose, MethodError> {
        let [w, x, y, z] = self.quaternion;
        let turn = DQuat::from_xyzw(x, y, z, w);
        if (turn.length() - 1.0).abs() > UNIT_LENGTH {
            return Err(MethodError::new(
                "not_a_turn",
                format!("{path}/pose/quaternion"),
                format!("the quaternion has length {:.4}, not 1", turn.length()),
                "give a unit quaternion [w, x, y, z]; no turn is [1, 0, 0, 0]",
            ));
        }
        Ok(Pose {
            centre_m: DVec3::from_array(self.centre_mm) * 1e-3,
            turn,
        }
        .canonical())
    }
}
