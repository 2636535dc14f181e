//! `scape.ground`: JSON in, JSON out.

mod input;
mod output;
mod refusal;

use glam::DVec3;
use method::{Bound, Equation, Files, Method, MethodError};

use crate::ground::{GroundPlan, PlacedSolid, build, cautions};
pub use input::GroundInput;
pub use output::GroundOutput;

/// The method `scape.ground`.
pub struct ScapeGround;

impl Method for ScapeGround {
    type Input = GroundInput;
    type Output = GroundOutput;

    const NAME: &'static str = "scape.ground";
    const PURPOSE: &'static str = "How much ground do the beds take, what is buried in it, will it stay, and how much water is left?";
    const BOUNDS: &'static [Bound] = input::BOUNDS;
    const EQUATIONS: &'static [Equation] = EQUATIONS;
    const LIMITS: &'static [&'static str] = LIMITS;
    const CASES: &'static [&'static str] = &[include_str!("../../checks/ground.json")];

    fn run(input: GroundInput, files: &dyn Files) -> Result<GroundOutput, MethodError> {
        let inside_m = input.inside_m();
        let water_m = input.water_depth_m()?;
        let plan = input.plan()?;
        let cell_m = input.cell_mm * 1e-3;
        // Before any scan is read: a plan without pieces fails as quickly as it can.
        crate::ground::check::plan(&plan, inside_m.truncate())
            .map_err(|error| refusal::refusal(&error))?;
        let pieces = input.pieces(files)?;
        let placed: Vec<PlacedSolid<'_>> = pieces.iter().map(input::Piece::placed).collect();
        let result = build(&plan, inside_m, &placed, water_m, cell_m)
            .map_err(|error| refusal::refusal(&error))?;
        let ids: Vec<String> = pieces.iter().map(|piece| piece.id.clone()).collect();
        let mut cautions = cautions::cautions(&plan, &result, &placed, &ids, water_m);
        cautions.extend(output::through_glass(&result, &ids, inside_m));
        cautions.extend(output::price_cautions(&input.materials));
        Ok(output::output(&input, &result, &ids, cautions, EQUATIONS))
    }
}

impl GroundInput {
    fn inside_m(&self) -> DVec3 {
        DVec3::new(self.tank.length_mm, self.tank.width_mm, self.tank.height_mm) * 1e-3
    }

    fn plan(&self) -> Result<GroundPlan, MethodError> {
        let beds = self
            .beds
            .iter()
            .enumerate()
            .map(|(k, bed)| bed.bed(k, &self.materials))
            .collect::<Result<_, _>>()?;
        Ok(GroundPlan {
            materials: self
                .materials
                .iter()
                .map(input::MaterialInput::material)
                .collect(),
            beds,
        })
    }
}

const EQUATIONS: &[Equation] = &[
    Equation {
        quantity: "top",
        relation: "values at the nodes from planes on the Delaunay triangles of a bed's points, the nearest place of their hull beyond it; by thickness: top = beneath + max(value, 0); by top: max(value, beneath)",
        source: "C. L. Lawson, Software for C1 surface interpolation, Mathematical Software III (1977)",
    },
    Equation {
        quantity: "materials.volume_l",
        relation: "integral of the beds' thickness over two triangles a cell, cut exactly at the sides of regions, less the parts of pieces in them",
        source: "closed form: the mean height of a plane over a polygon is its height at the centroid",
    },
    Equation {
        quantity: "materials.mass_kg",
        relation: "volume × bulk density",
        source: "definition of bulk density",
    },
    Equation {
        quantity: "materials.bags",
        relation: "volume ÷ litres of a bag, rounded up",
        source: "common practice, no source",
    },
    Equation {
        quantity: "buried_l",
        relation: "V(below h) = −Σ s ∫ max(0, h − z) dA over the plan of every triangle of the closed mesh, s = 1 facing up and −1 facing down",
        source: "divergence theorem; clipping by I. E. Sutherland, G. W. Hodgman, Reentrant polygon clipping, CACM 17 (1974)",
    },
    Equation {
        quantity: "free_water_l",
        relation: "length × width × depth − ground below the water − pieces below the water and above the ground",
        source: "balance of volumes",
    },
    Equation {
        quantity: "pore_water_l",
        relation: "wet ground without pieces × (1 − bulk density ÷ grain density)",
        source: "definition of porosity",
    },
    Equation {
        quantity: "water_l",
        relation: "free water + water in the gaps of the ground",
        source: "balance of volumes",
    },
    Equation {
        quantity: "slopes",
        relation: "atan of the larger gradient of a cell's two triangles, over the angle of repose of the topmost material at its highest node, on at least 4 cm² of cells that join over their sides; area in plan; cells taken up by pieces for more than half are left out",
        source: "definition of the angle of repose; the least area: common practice, no source",
    },
];

const LIMITS: &[&str] = &[
    "Heights between points are planes; the ground as built is smoother.",
    "A bed ends in an upright face where its region ends; it holds only against glass or stone.",
    "Angles of repose are those of the supplier or of a test, dry or under water; currents, animals and planting lower banks.",
    "Material is taken as laid loose: settling and washing out of fines are not counted.",
    "Pieces that overlap each other count twice where they overlap.",
    "A hollow of a piece that is under the ground's top but outside its solid is taken as filled with ground.",
    "heights_mm is the height at the nodes: a strip of a bed that runs between them is in the volumes but not in the heights and slopes.",
    "heights_mm repeats the height at the glass at nodes beyond it, when the cell doesn't divide the inside.",
];
