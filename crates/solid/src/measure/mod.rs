//! What a piece measures: volume, mass, size, balance and how it lies.

mod cautions;
mod open;

use glam::{DMat3, DVec3};
use method::Caution;

use crate::hull::{Hull, convex_hull};
use crate::least_box::{LeastBox, least_box};
use crate::repair::{Repair, Repaired, repair};
use crate::resting::{Resting, resting_poses};
use crate::{Mesh, Moments, SolidError};

/// A body of less than this share of its diagonal's cube encloses nothing.
const LEAST_VOLUME_SHARE: f64 = 1e-9;

/// What the user knows of a piece beside its scan.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MeasureOptions {
    /// Mass from the scale, kg.
    pub mass_kg: Option<f64>,
    /// Density of the material, kg/m³.
    pub density_kg_m3: Option<f64>,
}

/// All measures of a piece. Lengths are in the piece frame.
#[derive(Debug, Clone)]
pub struct Measure {
    /// Triangles of the mesh as it was given.
    pub n_triangles: usize,
    /// Whether the mesh, mended, is closed.
    pub is_closed: bool,
    /// Whether the integrals were counted on a grid.
    pub is_approximate: bool,
    /// Volume, centre and inertia at unit density.
    pub moments: Moments,
    /// How far the volume may be off, m³; 0 for a closed mesh.
    pub volume_error_m3: f64,
    /// Surface of the solid; of an open mesh, of its triangles. m².
    pub area_m2: f64,
    /// Convex hull of all corners that stay.
    pub hull: Hull,
    /// Box of least volume.
    pub least_box: LeastBox,
    /// The piece as it lies in its likeliest pose: width ≥ depth of the smallest
    /// rectangle round its plan, and height, m.
    pub as_laid_m: DVec3,
    /// How it lies by itself.
    pub resting: Resting,
    /// Mass, kg: from the scale, or estimated from the density.
    pub mass_kg: Option<f64>,
    /// Mass over volume, kg/m³.
    pub density_kg_m3: Option<f64>,
    /// What was mended.
    pub repairs: Vec<Repair>,
    /// What to look at before relying on a figure.
    pub cautions: Vec<Caution>,
    /// A closed surface of the solid, facing outwards; hollows face into
    /// themselves. Its triangles may meet side to corner. Without colours where
    /// surfaces were joined or the mesh was not closed.
    pub solid_mesh: Mesh,
    shells: Option<Mesh>,
}

impl Measure {
    /// A closed mesh with the same outline from everywhere, whose triangles meet
    /// side to side. Shells in it may cut each other: it is for outlines, not volumes.
    #[must_use]
    pub fn outline_mesh(&self) -> &Mesh {
        self.shells.as_ref().unwrap_or(&self.solid_mesh)
    }

    /// Inertia about the centre of mass along piece axes, kg·m².
    #[must_use]
    pub fn inertia_kg_m2(&self) -> Option<DMat3> {
        self.density_kg_m3
            .map(|density_kg_m3| self.moments.inertia_m5 * density_kg_m3)
    }
}

/// Measures a piece from its scan.
///
/// The mesh is mended first ([`repair`]); a closed one is integrated exactly, an
/// open one through its winding numbers on a grid.
///
/// # Errors
/// [`SolidError::Degenerate`] when there is no surface, when all of it lies in
/// one plane, or when it encloses nothing.
pub fn measure(mesh: &Mesh, options: &MeasureOptions) -> Result<Measure, SolidError> {
    let hull_volume_m3 =
        |points: &[DVec3]| convex_hull(points).map_or(0.0, |hull| hull.volume_m3());
    let repaired = repair(mesh, hull_volume_m3)?;
    let hull = convex_hull(&repaired.mesh.vertices_m)?;
    let area_m2 = repaired.mesh.area_m2();
    let body = body(&repaired, hull.diagonal_m)?;
    let solid_mesh = body.surface.unwrap_or(repaired.mesh);
    let outline_mesh = repaired.shells.as_ref().unwrap_or(&solid_mesh);
    let (least_box, resting) = rayon::join(
        || least_box(&hull),
        || resting_poses(&hull, body.moments.centre_m, outline_mesh),
    );
    let as_laid_m = resting.poses.first().map_or(least_box.size_m, |pose| {
        DVec3::new(pose.width_m, pose.depth_m, pose.height_m)
    });
    let volume_m3 = body.moments.volume_m3;
    let mass_kg = options
        .mass_kg
        .or(options.density_kg_m3.map(|density| density * volume_m3));
    let mut measure = Measure {
        n_triangles: mesh.triangles.len(),
        is_closed: repaired.is_closed,
        is_approximate: !repaired.is_closed,
        moments: body.moments,
        volume_error_m3: body.volume_error_m3,
        area_m2,
        hull,
        least_box,
        as_laid_m,
        resting,
        mass_kg,
        density_kg_m3: match options.mass_kg {
            Some(mass_kg) => Some(mass_kg / volume_m3),
            None => options.density_kg_m3,
        },
        repairs: repaired.repairs,
        cautions: Vec::new(),
        solid_mesh,
        shells: repaired.shells,
    };
    let scan = cautions::ScanFacts {
        n_open_holes: repaired.n_open_holes,
        n_bodies: repaired.n_bodies,
    };
    measure.cautions = cautions::cautions(&measure, options, scan);
    Ok(measure)
}

struct Body {
    moments: Moments,
    volume_error_m3: f64,
    /// Another closed surface than the mended mesh.
    surface: Option<Mesh>,
}

fn body(repaired: &Repaired, diagonal_m: f64) -> Result<Body, SolidError> {
    let body = if repaired.is_closed {
        Body {
            moments: Moments::of(&repaired.mesh),
            volume_error_m3: 0.0,
            surface: None,
        }
    } else {
        let open = open::enclosed(&repaired.mesh);
        Body {
            moments: open.moments,
            volume_error_m3: open.volume_error_m3,
            surface: Some(open.surface),
        }
    };
    let is_empty = body
        .surface
        .as_ref()
        .is_some_and(|surface| surface.triangles.is_empty());
    if is_empty || body.moments.volume_m3 <= LEAST_VOLUME_SHARE * diagonal_m.powi(3) {
        return Err(SolidError::Degenerate {
            reason: "the surface encloses no volume".to_owned(),
            hint: "scan the piece from all sides, or close the mesh before exporting it".to_owned(),
        });
    }
    Ok(body)
}
