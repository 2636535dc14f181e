//! The methods of this crate: JSON and its units live here.

use glam::{DQuat, DVec3};
use method::{Basis, Bound, Caution, Equation, Files, Method, MethodError, Registry, Severity};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::SolidError;
use crate::measure::{Measure, MeasureOptions, measure};
use crate::read::{self, ReadOptions, read};

/// Adds this crate's methods to a registry.
#[must_use]
pub fn register(registry: Registry) -> Registry {
    registry.with::<SolidMeasure>()
}

/// `solid.measure`.
#[derive(Debug, Clone, Copy)]
pub struct SolidMeasure;

/// A scan and what is known of the piece beside it.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasureInput {
    /// The scan: a path on the command line, `{"object": id}` over HTTP. OBJ,
    /// PLY, STL, GLB or glTF with its data inside.
    mesh: MeshInput,
    /// Unit of the file's numbers. Required, except for glTF, which is in metres.
    #[serde(default)]
    unit: Option<UnitInput>,
    /// Axis of the file that points up; z when absent, y for glTF. With y the
    /// file's (x, y, z) becomes (x, −z, y).
    #[serde(default)]
    up: Option<UpInput>,
    /// Mass from the scale, kg.
    #[serde(default)]
    mass_kg: Option<f64>,
    /// Density of the material, kg/m³.
    #[serde(default)]
    density_kg_m3: Option<f64>,
}

/// Where the scan is.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(
    untagged,
    expecting = "a scan is a path such as \"stone.ply\", or {\"object\": id}"
)]
pub enum MeshInput {
    /// A path on the command line.
    Path(String),
    /// An uploaded object over HTTP.
    Object(ObjectInput),
}

/// An uploaded object.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ObjectInput {
    /// Its id.
    object: String,
}

impl MeshInput {
    /// The name to ask for.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Path(path) => path,
            Self::Object(reference) => &reference.object,
        }
    }
}

/// Unit of a file's numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UnitInput {
    /// Millimetre.
    Mm,
    /// Centimetre.
    Cm,
    /// Metre.
    M,
    /// Inch, 25.4 mm.
    In,
}

impl From<UnitInput> for read::Unit {
    fn from(unit: UnitInput) -> Self {
        match unit {
            UnitInput::Mm => Self::Mm,
            UnitInput::Cm => Self::Cm,
            UnitInput::M => Self::M,
            UnitInput::In => Self::In,
        }
    }
}

/// Axis that points up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UpInput {
    /// The file's y.
    Y,
    /// The file's z.
    Z,
}

impl From<UpInput> for read::Up {
    fn from(up: UpInput) -> Self {
        match up {
            UpInput::Y => Self::Y,
            UpInput::Z => Self::Z,
        }
    }
}

/// Measures in the piece frame: the file's origin and axes in millimetres, z up.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MeasureOutput {
    /// Triangles in the file, polygons cut.
    triangles: usize,
    /// Whether the mesh is closed, after repair.
    closed: bool,
    /// Whether volume, centre and inertia were counted on a grid.
    approximate: bool,
    /// Volume of the solid, litres.
    volume_l: f64,
    /// How far the volume may be off because the mesh is not closed, litres; else 0.
    volume_error_l: f64,
    /// Surface of the solid, cm²; of an open mesh, of its triangles.
    area_cm2: f64,
    /// Volume of the convex hull, litres.
    hull_volume_l: f64,
    /// Sides of the box of least volume, mm.
    size_mm: SizeOutput,
    /// Unit quaternion [w, x, y, z], w ≥ 0, that takes piece axes into box axes:
    /// x along the long side, y along the middle one, z along the short one.
    box_quaternion: [f64; 4],
    /// The piece as it lies in its likeliest resting pose, mm.
    as_laid_mm: LaidOutput,
    /// Mass, kg: the one given, else density × volume; null when neither is known.
    mass_kg: Option<f64>,
    /// Mass ÷ volume, kg/m³: the density given when there is no mass; null when neither is known.
    density_kg_m3: Option<f64>,
    /// Centre of mass, taking the piece as one material, mm.
    centre_of_mass_mm: [f64; 3],
    /// Inertia tensor about the centre of mass along piece axes, kg·m²; null without a mass.
    inertia_kg_m2: Option<[[f64; 3]; 3]>,
    /// How the piece lies by itself on a level floor, likeliest first; under 0.5 % left out, at most 24.
    resting_poses: Vec<RestingOutput>,
    /// Probability of all poses that are not listed.
    other_probability: f64,
    /// What was mended, and how often.
    repairs: Vec<RepairOutput>,
    /// What to look at before relying on a figure.
    cautions: Vec<Caution>,
    /// Where the figures come from.
    basis: Vec<Basis>,
}

/// Sides of a box, mm.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct SizeOutput {
    /// The longest side.
    long: f64,
    /// The middle side.
    mid: f64,
    /// The shortest side.
    short: f64,
}

/// The piece as it lies, mm.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct LaidOutput {
    /// Longer side of the smallest-area rectangle round the plan outline.
    width: f64,
    /// Its shorter side.
    depth: f64,
    /// Height over the floor.
    height: f64,
}

/// One way in which the piece lies still.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RestingOutput {
    /// Unit quaternion [w, x, y, z], w ≥ 0, that takes piece axes into axes with
    /// the floor level and z up.
    quaternion: [f64; 4],
    /// Share of random drops that end so, 0 to 1.
    probability: f64,
    /// Poses within 8° of each other share a number.
    group: usize,
    /// Least tilt of the floor that tips the piece over, degrees.
    tip_angle_deg: f64,
    /// Area of the support polygon, mm².
    support_mm2: f64,
    /// Area of the plan outline, mm².
    footprint_mm2: f64,
    /// Height over the floor, mm.
    height_mm: f64,
}

/// One kind of mending.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RepairOutput {
    /// welded, degenerate_dropped, doubled_dropped, flipped, turned_out,
    /// hole_closed, dust_dropped, inner_shell, hollow or union.
    kind: String,
    /// How often: corners welded; triangles dropped or flipped; holes closed; else shells.
    count: usize,
    /// The words for a person.
    detail: String,
}

const MIRTICH: &str = "B. Mirtich, Fast and accurate computation of polyhedral mass properties, J. Graphics Tools 1 (1996); D. Eberly, Polyhedral mass properties (revisited)";
const WINDING: &str = "A. Jacobson, L. Kavan, O. Sorkine-Hornung, Robust inside-outside segmentation using generalized winding numbers, ACM Trans. Graphics 32 (2013); G. Barill et al., Fast winding numbers for soups and clouds, ACM Trans. Graphics 37 (2018)";
const QUICKHULL: &str = "C. B. Barber, D. P. Dobkin, H. Huhdanpaa, The Quickhull algorithm for convex hulls, ACM TOMS 22 (1996)";
const BOX: &str = "J. O'Rourke, Finding minimal enclosing boxes, Int. J. Computer and Information Sciences 14 (1985)";
const POSES: &str = "K. Goldberg et al., Part pose statistics: estimators and experiments, IEEE Trans. Robotics and Automation 15 (1999)";

impl Method for SolidMeasure {
    type Input = MeasureInput;
    type Output = MeasureOutput;

    const NAME: &'static str = "solid.measure";
    const PURPOSE: &'static str =
        "measures a scanned piece: volume, mass, least box, balance and how it lies";
    const BOUNDS: &'static [Bound] = &[
        Bound::above("/mass_kg", 0.0, 100_000.0, "mass from the scale, kg"),
        Bound::above(
            "/density_kg_m3",
            0.0,
            25_000.0,
            "density of the material, kg/m³",
        ),
    ];
    const EQUATIONS: &'static [Equation] = &[
        Equation {
            quantity: "volume_l, centre_of_mass_mm, inertia_kg_m2",
            relation: "sum over triangles of signed tetrahedra from the middle of the box: V = Σ d/6, ∫x = Σ d/24 (a+b+c), ∫xxᵀ = Σ d/120 (aaᵀ+bbᵀ+ccᵀ+(a+b+c)(a+b+c)ᵀ), d = a·(b×c)",
            source: MIRTICH,
        },
        Equation {
            quantity: "volume_l, volume_error_l of an open mesh, and of shells that cut each other",
            relation: "inside where w = Σ solid angle / 4π ≥ 0.5; error = half the volume between 0.25 and 0.75 plus the change on halving the cell",
            source: WINDING,
        },
        Equation {
            quantity: "hull_volume_l",
            relation: "Quickhull with exact sidedness",
            source: QUICKHULL,
        },
        Equation {
            quantity: "size_mm, box_quaternion",
            relation: "box of least volume round the hull; two adjacent sides may each hold only a hull edge",
            source: BOX,
        },
        Equation {
            quantity: "resting_poses, other_probability",
            relation: "P(facet) = solid angle from the centre of mass ÷ 4π, handed on over the edge that the centre's foot lies furthest beyond until a facet is stable",
            source: POSES,
        },
        Equation {
            quantity: "tip_angle_deg",
            relation: "least over the support polygon's edges of atan(distance of the centre's foot to the edge ÷ height of the centre)",
            source: "closed form (statics of a rigid body on a plane)",
        },
        Equation {
            quantity: "mass_kg, density_kg_m3",
            relation: "given mass; ρ = m/V; without a mass m = ρV",
            source: "definition",
        },
    ];
    const LIMITS: &'static [&'static str] = &[
        "The piece is taken as one material without hollows that the scan does not show.",
        "Files up to 512 MB and 20 million triangles; points without faces are refused.",
        "A rim is closed when its perimeter is under 10 % of the bounding diagonal or it has at most 8 edges, and the closing triangles add under 1 % of the area; otherwise the mesh is not closed and its volume is a best guess with an error.",
        "A shell outside all others with under 1 % of the largest's hull volume is dropped as dust unless it touches.",
        "Resting poses are those of a slow drop on a level, rough floor without bounce.",
        "A longest side outside 10 to 2000 mm gives the caution wrong_unit.",
    ];
    const CASES: &'static [&'static str] = &[
        include_str!("../checks/measure_closed_forms.json"),
        include_str!("../checks/measure_scans.json"),
    ];
    const TABLES: &'static [&'static str] =
        &[include_str!("../../../reference/tables/solid.measure.json")];

    fn run(input: MeasureInput, files: &dyn Files) -> Result<MeasureOutput, MethodError> {
        let name = input.mesh.name();
        let bytes = files.bytes(name).map_err(|refused| {
            MethodError::new("file_refused", "/mesh", refused.message, refused.hint)
        })?;
        let options = ReadOptions {
            unit: input.unit.map(Into::into),
            up: input.up.map(Into::into),
        };
        let scan = read(&bytes, name, &options).map_err(refusal)?;
        let known = MeasureOptions {
            mass_kg: input.mass_kg,
            density_kg_m3: input.density_kg_m3,
        };
        let measure = measure(&scan.mesh, &known).map_err(refusal)?;
        Ok(output(&measure, &known, scan.notes))
    }
}

/// Points at what is at fault.
fn refusal(error: SolidError) -> MethodError {
    let (code, path) = match error {
        SolidError::UnitMissing { .. } => ("missing_key", "/unit"),
        SolidError::Unreadable { .. } => ("unreadable_mesh", "/mesh"),
        SolidError::Degenerate { .. } => ("no_solid", "/mesh"),
    };
    MethodError::new(code, path, error.to_string(), error.hint())
}

fn output(measure: &Measure, known: &MeasureOptions, notes: Vec<String>) -> MeasureOutput {
    let size_mm = measure.least_box.size_m * 1e3;
    let laid_mm = measure.as_laid_m * 1e3;
    let mut cautions = measure.cautions.clone();
    cautions.extend(
        notes
            .into_iter()
            .map(|note| Caution::new("file", Severity::Note, note)),
    );
    MeasureOutput {
        triangles: measure.n_triangles,
        closed: measure.is_closed,
        approximate: measure.is_approximate,
        volume_l: measure.moments.volume_m3 * 1e3,
        volume_error_l: measure.volume_error_m3 * 1e3,
        area_cm2: measure.area_m2 * 1e4,
        hull_volume_l: measure.hull.volume_m3() * 1e3,
        size_mm: SizeOutput {
            long: size_mm.x,
            mid: size_mm.y,
            short: size_mm.z,
        },
        box_quaternion: quaternion(measure.least_box.turn),
        as_laid_mm: LaidOutput {
            width: laid_mm.x,
            depth: laid_mm.y,
            height: laid_mm.z,
        },
        mass_kg: measure.mass_kg,
        density_kg_m3: measure.density_kg_m3,
        centre_of_mass_mm: (measure.moments.centre_m * 1e3).to_array(),
        inertia_kg_m2: measure.inertia_kg_m2().map(|inertia| {
            let rows = inertia.transpose();
            [rows.x_axis, rows.y_axis, rows.z_axis].map(|row: DVec3| row.to_array())
        }),
        resting_poses: resting(measure),
        other_probability: measure.resting.other_probability,
        repairs: measure
            .repairs
            .iter()
            .map(|repair| RepairOutput {
                kind: repair.kind.name().to_owned(),
                count: repair.count,
                detail: repair.detail.clone(),
            })
            .collect(),
        cautions,
        basis: basis(measure, known),
    }
}

fn quaternion(turn: DQuat) -> [f64; 4] {
    [turn.w, turn.x, turn.y, turn.z]
}

fn resting(measure: &Measure) -> Vec<RestingOutput> {
    measure
        .resting
        .poses
        .iter()
        .map(|pose| RestingOutput {
            quaternion: quaternion(pose.turn),
            probability: pose.probability,
            group: pose.group,
            tip_angle_deg: pose.tip_angle_rad.to_degrees(),
            support_mm2: pose.support_m2 * 1e6,
            footprint_mm2: pose.footprint_m2 * 1e6,
            height_mm: pose.height_m * 1e3,
        })
        .collect()
}

fn basis(measure: &Measure, known: &MeasureOptions) -> Vec<Basis> {
    let volume = if measure.is_approximate {
        Basis::new(
            "volume_l, volume_error_l, centre_of_mass_mm, inertia_kg_m2",
            "winding number of the open mesh ≥ 0.5, counted on a grid refined near the surface",
            WINDING,
        )
    } else {
        Basis::new(
            "volume_l, centre_of_mass_mm, inertia_kg_m2",
            "exact integrals over the closed surface, as signed tetrahedra",
            MIRTICH,
        )
    };
    let mass = match (known.mass_kg, known.density_kg_m3) {
        (Some(_), _) => Some("mass as given; density = mass ÷ volume"),
        (None, Some(_)) => Some("density as given; mass = density × volume, an estimate"),
        (None, None) => None,
    };
    let mut basis = vec![
        volume,
        Basis::new(
            "area_cm2",
            "sum of the triangles' areas: half the cross product of two sides",
            "closed form",
        ),
        Basis::new(
            "hull_volume_l",
            "convex hull of all corners kept",
            QUICKHULL,
        ),
        Basis::new(
            "size_mm, box_quaternion",
            "box of least volume round the hull",
            BOX,
        ),
        Basis::new(
            "resting_poses, other_probability",
            "solid angle of each hull facet from the centre of mass, handed on until stable",
            POSES,
        ),
        Basis::new(
            "as_laid_mm",
            "smallest-area rectangle round the plan outline in the likeliest pose, and its height",
            "closed form (one side of the rectangle lies on a side of the outline's hull)",
        ),
    ];
    basis.extend(mass.map(|relation| Basis::new("mass_kg, density_kg_m3", relation, "definition")));
    basis
}
