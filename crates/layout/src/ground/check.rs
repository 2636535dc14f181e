//! Is a plan one that ground can be laid by?

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;

use glam::DVec2;

use super::error::{GroundError, MaterialFigure};
use super::plan::{Bed, BedPoint, GroundPlan, Material};
use super::region;

/// The most beds that a ground may have.
pub const MOST_BEDS: usize = 64;
/// The most materials that a ground may have.
pub const MOST_MATERIALS: usize = 64;
/// The most points that a bed may have.
pub const MOST_POINTS: usize = 1000;
/// The greatest thickness or height either way, m.
pub const MOST_VALUE_M: f64 = 10.0;

/// Holds a plan to what can be laid.
///
/// # Errors
/// The first fault, with its place.
pub fn plan(plan: &GroundPlan, inside_m: DVec2) -> Result<(), GroundError> {
    few("beds", plan.beds.len(), MOST_BEDS, None)?;
    few("materials", plan.materials.len(), MOST_MATERIALS, None)?;
    for (k, material) in plan.materials.iter().enumerate() {
        check_material(k, material)?;
        if plan.materials[..k].iter().any(|m| m.name == material.name) {
            return Err(GroundError::Material {
                material: k,
                figure: MaterialFigure::Name,
                reason: format!("{:?} is there already", material.name),
            });
        }
    }
    for (k, bed) in plan.beds.iter().enumerate() {
        if bed.material >= plan.materials.len() {
            return Err(GroundError::NoMaterial {
                bed: k,
                material: bed.material,
                n_materials: plan.materials.len(),
            });
        }
        region::check(k, &bed.region, inside_m)?;
        check_points(k, bed, inside_m)?;
    }
    Ok(())
}

fn few(
    what: &'static str,
    count: usize,
    most: usize,
    bed: Option<usize>,
) -> Result<(), GroundError> {
    if count > most {
        return Err(GroundError::TooMany {
            what,
            count,
            most,
            bed,
        });
    }
    Ok(())
}

fn check_material(at: usize, material: &Material) -> Result<(), GroundError> {
    let refuse = |figure, reason: String| {
        Err(GroundError::Material {
            material: at,
            figure,
            reason,
        })
    };
    let positive = |value: f64| value.is_finite() && value > 0.0;
    let bulk = material.bulk_density_kg_m3;
    if !positive(bulk) {
        return refuse(MaterialFigure::BulkDensity, format!("{bulk} kg/m³ of bulk"));
    }
    if let Some(grain) = material.grain_density_kg_m3
        && !(grain.is_finite() && grain >= bulk)
    {
        return refuse(
            MaterialFigure::GrainDensity,
            format!("grains of {grain} kg/m³ can't make a bulk of {bulk} kg/m³"),
        );
    }
    if let Some(grain_m) = material.grain_m
        && !positive(grain_m)
    {
        return refuse(MaterialFigure::Grain, format!("a grain of {grain_m} m"));
    }
    let repose = material.angle_of_repose_rad;
    if !(repose > 0.0 && repose < FRAC_PI_2) {
        return refuse(
            MaterialFigure::AngleOfRepose,
            format!(
                "an angle of repose of {:.1}° lies not between 0° and 90°",
                repose.to_degrees()
            ),
        );
    }
    if let Some(bag) = material.bag_m3
        && !positive(bag)
    {
        return refuse(MaterialFigure::Bag, format!("a bag of {} L", bag * 1e3));
    }
    Ok(())
}

fn check_points(at: usize, bed: &Bed, inside_m: DVec2) -> Result<(), GroundError> {
    few("points of a bed", bed.points.len(), MOST_POINTS, Some(at))?;
    let refuse = |point, reason: String| {
        Err(GroundError::Point {
            bed: at,
            point,
            reason,
        })
    };
    if bed.points.is_empty() {
        return refuse(None, "a bed has at least one point".to_owned());
    }
    let mut places: BTreeMap<[u64; 2], usize> = BTreeMap::new();
    for (k, BedPoint { place_m, value_m }) in bed.points.iter().enumerate() {
        if !region::lies_in(*place_m, inside_m) {
            return refuse(
                Some(k),
                format!(
                    "point {:.1}, {:.1} mm lies outside the inside of {:.1} × {:.1} mm",
                    place_m.x * 1e3,
                    place_m.y * 1e3,
                    inside_m.x * 1e3,
                    inside_m.y * 1e3
                ),
            );
        }
        if !value_m.is_finite() || value_m.abs() > MOST_VALUE_M {
            return refuse(Some(k), format!("a value of {} mm", value_m * 1e3));
        }
        // Adding zero makes the two zeros one place.
        let place = (*place_m + DVec2::ZERO).to_array().map(f64::to_bits);
        if let Some(first) = places.insert(place, k) {
            return refuse(
                Some(k),
                format!("this point is at the same place as point {first}"),
            );
        }
    }
    Ok(())
}
