//! `scape.settle`: JSON in, JSON out.

mod cautions;
mod input;
mod output;

use method::{Bound, Equation, Files, Method, MethodError};

pub use input::SettleInput;
pub use output::SettleOutput;

use crate::{LayoutError, settle::settle};

/// The method `scape.settle`.
#[derive(Debug, Clone, Copy)]
pub struct ScapeSettle;

impl Method for ScapeSettle {
    type Input = SettleInput;
    type Output = SettleOutput;

    const NAME: &'static str = "scape.settle";
    const PURPOSE: &'static str = "Where do the pieces come to rest, and how safely do they stand?";
    const BOUNDS: &'static [Bound] = input::BOUNDS;
    const EQUATIONS: &'static [Equation] = EQUATIONS;
    const LIMITS: &'static [&'static str] = LIMITS;
    const CASES: &'static [&'static str] = &[include_str!("../../checks/settle.json")];
    const TABLES: &'static [&'static str] = &[include_str!(
        "../../../../reference/tables/scape.settle.json"
    )];

    fn run(input: SettleInput, files: &dyn Files) -> Result<SettleOutput, MethodError> {
        let (scene, mut cautions) = input.scene(files)?;
        let settled = settle(&scene, &mut |_| std::ops::ControlFlow::Continue(()))
            .map_err(|error| refusal(&error))?;
        cautions.extend(cautions::cautions(&scene, &settled));
        Ok(output::output(&scene, &settled, cautions, EQUATIONS))
    }
}

/// The refusal of a core error, at the piece's pose where a piece is at fault.
fn refusal(error: &LayoutError) -> MethodError {
    let path = match (error, error.body()) {
        (LayoutError::Solid { .. }, Some(body)) => format!("/pieces/{body}"),
        (_, Some(body)) => format!("/pieces/{body}/pose"),
        (LayoutError::Ground { .. }, None) => "/ground".to_owned(),
        (_, None) => String::new(),
    };
    MethodError::new(error.code(), path, error.to_string(), error.hint())
}

const EQUATIONS: &[Equation] = &[
    Equation {
        quantity: "pieces.pose",
        relation: "rigid bodies with unilateral contacts and Coulomb friction, μ of a pair the lesser of the two, stepped at 1 ms until every point is slower than 2 mm/s for 0.25 s and the contacts can hold each piece",
        source: "time stepping with soft sequential impulses: E. Catto, Solver2D (2024), as in rapier3d-f64; contact manifolds, convex parts and distance fields of our own",
    },
    Equation {
        quantity: "pieces.contacts.force_n",
        relation: "least Σ f² with Σ f + load = 0 and Σ r × f + moment = 0 for each piece, |f_t| ≤ μ f_n: a second-order cone program",
        source: "M. S. Lobo, L. Vandenberghe, S. Boyd, H. Lebret, Applications of second-order cone programming, Linear Algebra and its Applications 284 (1998)",
    },
    Equation {
        quantity: "pieces.slide_margin",
        relation: "1 ÷ the least common factor on all friction with which equilibrium still exists; null when none is needed",
        source: "definition; by bisection on the cone program",
    },
    Equation {
        quantity: "pieces.tip_angle_deg",
        relation: "least φ at which no pushing forces with any friction balance gravity turned by φ; for a group of pieces that touch, the group's; at most 89",
        source: "definition; a linear program for each direction, between neighbouring directions by the chords of the convex set",
    },
    Equation {
        quantity: "pieces.lift_when_held_under_n",
        relation: "(ρ_w V − m) g; without water, ρ_w of fresh water at 20 °C",
        source: "Archimedes' principle; g = 9.80665 m/s², 3rd CGPM (1901)",
    },
    Equation {
        quantity: "pieces.ballast_stone_kg",
        relation: "V (ρ_w − ρ) ÷ (1 − ρ_w ÷ ρ_stone), the stone under water too; negative when the piece sinks by itself",
        source: "Archimedes' principle",
    },
    Equation {
        quantity: "pieces.draft_mm",
        relation: "depth of the lowest point below the level, for a piece lighter than water that breaks the surface; volume under water clipped exactly from the closed mesh",
        source: "Archimedes' principle; B. Mirtich, J. Graphics Tools 1 (1996)",
    },
    Equation {
        quantity: "water density",
        relation: "one-atmosphere equation of state of seawater, ρ(S, t)",
        source: "F. J. Millero, A. Poisson, Deep-Sea Research 28A (1981) 625–629",
    },
    Equation {
        quantity: "pieces.patches",
        relation: "pushing force over the convex outline of the contact points, grown to at least 1 cm²",
        source: "common practice, no source",
    },
    Equation {
        quantity: "base_force_n",
        relation: "sum of the upward parts of the forces of base and ground on the pieces, square to the base",
        source: "balance of forces",
    },
];

const LIMITS: &[&str] = &[
    "Pieces are rigid and of one density; wood that soaks or stone that chips is not seen.",
    "A piece that is at most twelve convex parts meets others as those parts, exact to 0.1 mm. Any other meets them by points of its surface against the distance to theirs: sharp edges are rounded by a third of a cell, 1/170 of the long side or less, and so far may a resting height be off.",
    "Ground does not give way or flow; a slope over its angle of repose is scape.ground's business.",
    "Panes hold pieces up to the tank's height; their strength is not judged here.",
    "tilt_x_deg raises the right-hand end, tilt_y_deg the back; slopes of the ground likewise.",
    "heights_mm are heights at the nodes of the grid: the first row lies at the front pane, the first value of a row at the left pane; beyond the last node the edge goes on level.",
    "Where friction leaves the forces free, the least in squares are given; another set may be the true one.",
    "Water level is the level with everything in place; it does not rise as pieces move.",
];
