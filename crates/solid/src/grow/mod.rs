//! Stones and wood grown from a seed, for an invented yard and for trying things out.
//!
//! A form gives a distance field and a painter (`body`); the field is skinned
//! (`skin`), freed of triangles it can spare (`thin`) and painted (`palette`).

mod bedded;
mod body;
mod chance;
mod cobble;
mod columnar;
mod fissured;
mod limb;
mod noise;
mod palette;
mod skin;
mod thin;
mod wood;

use std::str::FromStr;

use glam::DVec3;
use rayon::prelude::*;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use palette::Palette;

use crate::hull::convex_hull;
use crate::least_box::least_box;
use crate::{Mesh, SolidError};
use body::{Body, Spot};
use palette::Paint;

/// What kind of thing is grown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Form {
    /// A cobble that a river has rolled.
    Rounded,
    /// Layers with ledges and broken edges.
    Bedded,
    /// Weathered by water: deep cracks, flutes, pits and holes.
    Fissured,
    /// Angular prisms side by side, with split ends.
    Columnar,
    /// Many tapering roots from one knot.
    Roots,
    /// A bow that stands on its two ends.
    Arch,
    /// The foot of a trunk with its root flare.
    Stump,
    /// One slender branch.
    Stick,
}

impl Form {
    /// All forms, stones first.
    pub const ALL: [Self; 8] = [
        Self::Rounded,
        Self::Bedded,
        Self::Fissured,
        Self::Columnar,
        Self::Roots,
        Self::Arch,
        Self::Stump,
        Self::Stick,
    ];

    /// The form's name in files.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Rounded => "rounded",
            Self::Bedded => "bedded",
            Self::Fissured => "fissured",
            Self::Columnar => "columnar",
            Self::Roots => "roots",
            Self::Arch => "arch",
            Self::Stump => "stump",
            Self::Stick => "stick",
        }
    }

    /// Whether it is wood; otherwise it is stone.
    #[must_use]
    pub fn is_wood(self) -> bool {
        matches!(self, Self::Roots | Self::Arch | Self::Stump | Self::Stick)
    }
}

impl FromStr for Form {
    type Err = SolidError;

    fn from_str(name: &str) -> Result<Self, SolidError> {
        let known = Self::ALL.map(Self::name).join(", ");
        Self::ALL
            .into_iter()
            .find(|form| form.name() == name)
            .ok_or_else(|| SolidError::Degenerate {
                reason: format!("no form is called \"{name}\""),
                hint: format!("use one of {known}"),
            })
    }
}

/// Everything that a grown piece depends on.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    form: Form,
    seed: u64,
    long_m: f64,
    triangles: usize,
    palette: Palette,
}

/// Raised whenever the same recipe grows into another form: what was grown before is then old.
pub const REVISION: u32 = 1;

/// Longest side that may be asked for, m: least and greatest.
pub const LONG_M: (f64, f64) = (0.005, 5.0);

/// Number of triangles that may be asked for: least and greatest.
pub const TRIANGLES: (usize, usize) = (2_000, 60_000);

impl Recipe {
    /// A piece whose longest side is `long_m`, in 20,000 triangles and the form's own colours.
    ///
    /// # Errors
    /// When the length is outside [`LONG_M`] or not a number.
    pub fn new(form: Form, seed: u64, long_m: f64) -> Result<Self, SolidError> {
        let (least, most) = LONG_M;
        if !(least..=most).contains(&long_m) {
            return Err(SolidError::Degenerate {
                reason: format!("a piece {long_m} m long can't be grown"),
                hint: format!("give a length between {least} and {most} m"),
            });
        }
        Ok(Self {
            form,
            seed,
            long_m,
            triangles: 20_000,
            palette: Palette::of(form),
        })
    }

    /// The same piece in about this many triangles, held within [`TRIANGLES`].
    #[must_use]
    pub fn with_triangles(mut self, triangles: usize) -> Self {
        self.triangles = triangles.clamp(TRIANGLES.0, TRIANGLES.1);
        self
    }

    /// The same piece in other colours.
    #[must_use]
    pub fn with_palette(mut self, palette: Palette) -> Self {
        self.palette = palette;
        self
    }
}

/// Grows the piece: a closed, outward-wound, single-shell manifold with colours.
///
/// The longest side of its smallest box is the recipe's length; the origin is
/// the middle of its box along the axes. The same recipe gives the same mesh to
/// the last bit, whatever the number of threads.
#[must_use]
pub fn grow(recipe: &Recipe) -> Mesh {
    let body = planted(recipe);
    let fine = skin::skin(&*body, cell_of(recipe));
    let mut mesh = thin::thin(&fine, recipe.triangles);
    paint(&*body, &mut mesh);
    to_size(&mut mesh, recipe.long_m);
    mesh
}

fn planted(recipe: &Recipe) -> Box<dyn Body> {
    let paint = Paint::from(&recipe.palette);
    let seed = recipe.seed;
    match recipe.form {
        Form::Bedded => Box::new(bedded::Bedded::new(seed, paint)),
        Form::Fissured => Box::new(fissured::Fissured::new(seed, paint)),
        Form::Columnar => Box::new(columnar::Columnar::new(seed, paint)),
        Form::Rounded => Box::new(cobble::Cobble::new(seed, paint)),
        form => Box::new(wood::Wood::new(form, seed, paint)),
    }
}

/// Edge of a cell, in lengths of the piece; more triangles need finer cells.
fn cell_of(recipe: &Recipe) -> f64 {
    let at_twenty_thousand = match recipe.form {
        Form::Rounded | Form::Fissured => 0.0115,
        Form::Bedded => 0.0135,
        Form::Columnar => 0.0085,
        Form::Stump => 0.0095,
        Form::Roots | Form::Arch => 0.0066,
        Form::Stick => 0.006,
    };
    at_twenty_thousand * (20_000.0 / recipe.triangles as f64).sqrt()
}

/// Colours every vertex by its place, its normal and how open it lies.
fn paint(body: &dyn Body, mesh: &mut Mesh) {
    let normals = mesh.vertex_normals();
    mesh.colours = mesh
        .vertices_m
        .par_iter()
        .zip(&normals)
        .map(|(point, normal)| {
            let spot = Spot {
                point: *point,
                normal: *normal,
                openness: openness(body, *point, *normal),
            };
            palette::bytes(body.colour(&spot))
        })
        .collect();
}

/// How far the field opens on the way out, against a flat surface.
fn openness(body: &dyn Body, point: DVec3, normal: DVec3) -> f64 {
    let shut: f64 = [(0.012, 0.45), (0.03, 0.35), (0.07, 0.2)]
        .iter()
        .map(|(reach, weight)| {
            let there = body.distance(point + normal * *reach);
            weight * (1.0 - there / reach).clamp(-0.5, 1.0)
        })
        .sum();
    (1.0 - 1.3 * shut).clamp(0.0, 1.2)
}

/// Brings the longest side of the smallest box to `long_m` and the middle to the origin.
fn to_size(mesh: &mut Mesh, long_m: f64) {
    let Some((low, high)) = mesh.bounds() else {
        return;
    };
    let long = convex_hull(&mesh.vertices_m)
        .map_or((high - low).max_element(), |hull| least_box(&hull).size_m.x);
    let middle = 0.5 * (low + high);
    for vertex in &mut mesh.vertices_m {
        *vertex = (*vertex - middle) * (long_m / long);
    }
}
