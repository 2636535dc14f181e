//! Which value of the input a refusal of the ground points at.

use method::MethodError;

use crate::ground::{GroundError, MaterialFigure};

/// The refusal with its pointer.
pub fn refusal(error: &GroundError) -> MethodError {
    let (code, path) = place(error);
    MethodError::new(code, path, error.to_string(), error.hint())
}

fn place(error: &GroundError) -> (&'static str, String) {
    match error {
        GroundError::Cell { .. } => ("bad_cell", "/cell_mm".to_owned()),
        GroundError::Inside { .. } => ("out_of_range", "/tank".to_owned()),
        GroundError::Grid { .. } | GroundError::Height { .. } => ("not_finite", String::new()),
        GroundError::Water { .. } => ("out_of_range", "/water_depth_mm".to_owned()),
        GroundError::Material {
            material, figure, ..
        } => {
            let key = match figure {
                MaterialFigure::Name => "name",
                MaterialFigure::BulkDensity => "bulk_density_kg_m3",
                MaterialFigure::GrainDensity => "grain_density_kg_m3",
                MaterialFigure::Grain => "grain_mm",
                MaterialFigure::AngleOfRepose => "angle_of_repose_deg",
                MaterialFigure::Bag => "bag_l",
            };
            ("bad_material", format!("/materials/{material}/{key}"))
        }
        GroundError::NoMaterial { bed, .. } => ("no_material", format!("/beds/{bed}/material")),
        GroundError::Region { bed, corner, .. } => {
            let corner = corner.map_or_else(String::new, |k| format!("/{k}"));
            ("bad_region", format!("/beds/{bed}/region{corner}"))
        }
        GroundError::Point { bed, point, .. } => {
            let point = point.map_or_else(String::new, |k| format!("/{k}"));
            ("bad_point", format!("/beds/{bed}/points{point}"))
        }
        GroundError::TooMany { what, bed, .. } => {
            let path = match bed {
                None => format!("/{what}"),
                Some(bed) if *what == "points of a bed" => format!("/beds/{bed}/points"),
                Some(bed) => format!("/beds/{bed}/region"),
            };
            ("too_many", path)
        }
        GroundError::Piece { piece, .. } => ("bad_piece", format!("/pieces/{piece}")),
    }
}
