//! From the pieces in hand to a layout: each let down at its place, in the order of the file.

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};
use layout::{
    drop::{Aim, Below, Form},
    ground::{self, Bed, BedPoint, By, Laid, Region},
};
use method::{Certainty, MethodError};
use workshop::{GroundMaterial, GroundPlan, Layout, Money, Piece, Placed, Surroundings, Tank};

use super::{
    file::{BedText, ByText, MaterialText, PieceText, RegionText, TankText},
    load::{Loaded, LoadedPiece},
    text::Refusal,
};

const MM: f64 = 1e-3;

/// Makes the layout that the file describes.
///
/// # Errors
/// At the line of what can't be.
pub fn place(loaded: &Loaded) -> Result<Layout, Refusal> {
    let file = &loaded.file;
    let tank = tank(loaded, &file.tank)?;
    let ground = ground_plan(loaded)?;
    let surroundings = Surroundings {
        temperature_c: file
            .tank
            .water_c
            .unwrap_or(Surroundings::default().temperature_c),
        ..Surroundings::default()
    };
    let inside = tank.inside_m();
    let surface = if ground.beds.is_empty() {
        None
    } else {
        let laid = Laid::new(
            &ground.plan(),
            inside.truncate(),
            surroundings.ground_cell_m,
        )
        .and_then(|laid| laid.surface())
        .map_err(|error| ground_refusal(loaded, &error))?;
        Some(laid)
    };
    let mut below = Below::new(surface.as_ref());
    let mut placed = Vec::with_capacity(file.piece.len());
    for (i, (text, piece)) in file.piece.iter().zip(&loaded.pieces).enumerate() {
        let form = form_of(&piece.piece);
        let aim = Aim {
            turn: turn(loaded, i, text, piece)?,
            middle_m: DVec2::from(text.at_mm) * MM,
            bury_m: text.bury_mm * MM,
            lift_m: text.lift_mm * MM,
        };
        let pose = below.let_down(&form, &aim);
        below.put(&form, pose);
        placed.push(Placed {
            piece: Arc::clone(&piece.piece),
            pose,
            bedded: text.bury_mm > 0.0,
        });
    }
    Ok(Layout {
        title: file.title.clone(),
        tank,
        ground,
        placed,
        surroundings,
    })
}

fn refuse(loaded: &Loaded, path: &str, message: impl Into<String>, hint: &str) -> Refusal {
    loaded
        .text
        .refusal(MethodError::new("can_not_be", path, message, hint))
}

fn tank(loaded: &Loaded, text: &TankText) -> Result<Tank, Refusal> {
    let tank = Tank {
        outside_m: DVec3::from(text.outside_mm) * MM,
        wall_m: text.glass_mm * MM,
        base_m: text.base_mm.unwrap_or(text.glass_mm) * MM,
        water_line_m: text.water_line_mm * MM,
        empty_mass_kg: text.empty_mass_kg,
    };
    tank.checked().map_err(|error| {
        let key = match &error {
            workshop::WorkshopError::Tank { measure, .. } => match *measure {
                "outside_m" => "/outside_mm",
                "wall_m" => "/glass_mm",
                "base_m" if text.base_mm.is_some() => "/base_mm",
                "base_m" => "/glass_mm",
                "water_line_m" => "/water_line_mm",
                "empty_mass_kg" => "/empty_mass_kg",
                _ => "",
            },
            _ => "",
        };
        refuse(
            loaded,
            &format!("/tank{key}"),
            error.to_string(),
            "outside measures are length, width, height; the water line counts from the base's upper face",
        )
    })
}

fn ground_plan(loaded: &Loaded) -> Result<GroundPlan, Refusal> {
    let materials = loaded
        .file
        .material
        .iter()
        .enumerate()
        .map(|(i, text)| material(loaded, i, text))
        .collect::<Result<_, _>>()?;
    let beds = loaded
        .file
        .bed
        .iter()
        .enumerate()
        .map(|(i, text)| bed(loaded, i, text))
        .collect::<Result<_, _>>()?;
    Ok(GroundPlan { materials, beds })
}

fn material(loaded: &Loaded, i: usize, text: &MaterialText) -> Result<GroundMaterial, Refusal> {
    let bag_price = match (text.price, loaded.currency) {
        (None, _) => None,
        (Some(_), None) => {
            return Err(refuse(
                loaded,
                &format!("/material/{i}/price"),
                "a price without a currency",
                "write `currency = \"EUR\"` at the top of the file",
            ));
        }
        (Some(amount), Some(currency)) => {
            Some(Money::from_amount(amount, currency).map_err(|error| {
                refuse(
                    loaded,
                    &format!("/material/{i}/price"),
                    error.to_string(),
                    "write whole cents",
                )
            })?)
        }
    };
    if let Some(colour) = &text.colour {
        colour_of(colour).ok_or_else(|| {
            refuse(
                loaded,
                &format!("/material/{i}/colour"),
                format!("{colour:?} is no colour"),
                "write # and six hexadecimal digits, such as \"#4b443c\"",
            )
        })?;
    }
    Ok(GroundMaterial {
        material: ground::Material {
            name: text.name.clone(),
            bulk_density_kg_m3: text.bulk_density_kg_m3,
            grain_density_kg_m3: text.grain_density_kg_m3,
            grain_m: text.grain_mm.map(|mm| mm * MM),
            angle_of_repose_rad: text.repose_deg.to_radians(),
            bag_m3: text.bag_l.map(|litres| litres * 1e-3),
        },
        certainty: Certainty::Estimated,
        bag_price,
    })
}

fn bed(loaded: &Loaded, i: usize, text: &BedText) -> Result<Bed, Refusal> {
    let material = loaded
        .file
        .material
        .iter()
        .position(|m| m.name == text.material)
        .ok_or_else(|| {
            refuse(
                loaded,
                &format!("/bed/{i}/material"),
                format!("no [[material]] is called {:?}", text.material),
                "name one of the materials in this file",
            )
        })?;
    let region = match &text.region {
        RegionText::Word(word) if word == "all" => Region::All,
        RegionText::Word(word) => {
            return Err(refuse(
                loaded,
                &format!("/bed/{i}/region"),
                format!("{word:?} is no region"),
                "write \"all\" or a list of corners [[x, y], …]",
            ));
        }
        RegionText::Corners(corners) => {
            Region::Polygon(corners.iter().map(|c| DVec2::from(*c) * MM).collect())
        }
    };
    Ok(Bed {
        material,
        region,
        by: match text.by {
            ByText::Thickness => By::Thickness,
            ByText::Top => By::Top,
        },
        points: text
            .points
            .iter()
            .map(|[x, y, value]| BedPoint {
                place_m: DVec2::new(*x, *y) * MM,
                value_m: value * MM,
            })
            .collect(),
    })
}

/// Points at the bed or the material that a ground error speaks of.
#[must_use]
pub fn ground_refusal(loaded: &Loaded, error: &ground::GroundError) -> Refusal {
    use ground::GroundError as E;
    let path = match error {
        E::Material { material, .. } => format!("/material/{material}"),
        E::NoMaterial { bed, .. } => format!("/bed/{bed}/material"),
        E::Region { bed, .. } => format!("/bed/{bed}/region"),
        E::Point { bed, .. } => format!("/bed/{bed}/points"),
        E::TooMany { bed: Some(bed), .. } => format!("/bed/{bed}"),
        _ => "/bed".to_owned(),
    };
    refuse(loaded, &path, error.to_string(), error.hint())
}

/// The piece as rays need it.
#[must_use]
pub fn form_of(piece: &Piece) -> Form {
    let measure = piece.shape().measure();
    Form::new(
        Arc::new(measure.solid_mesh.clone()),
        measure.moments.centre_m,
    )
}

/// Takes the piece's axes into the tank's: the resting pose or the free turn,
/// and then the turn about the vertical.
fn turn(
    loaded: &Loaded,
    i: usize,
    text: &PieceText,
    piece: &LoadedPiece,
) -> Result<DQuat, Refusal> {
    let about_vertical = DQuat::from_rotation_z(text.turn_deg.to_radians());
    let at = |key: &str| format!("/piece/{i}/{key}");
    if let Some([w, x, y, z]) = text.quaternion {
        let free = DQuat::from_xyzw(x, y, z, w);
        if text.pose.is_some() {
            return Err(refuse(
                loaded,
                &at("pose"),
                "both a resting pose and a free turn",
                "keep one of pose and quaternion",
            ));
        }
        if !(0.9..1.1).contains(&free.length()) {
            return Err(refuse(
                loaded,
                &at("quaternion"),
                format!(
                    "a turn [w, x, y, z] has length 1, this one has {:.3}",
                    free.length()
                ),
                "divide the four numbers by their length",
            ));
        }
        return Ok(about_vertical * free.normalize());
    }
    let poses = &piece.piece.shape().measure().resting.poses;
    let number = text.pose.unwrap_or(1);
    match poses.get(number.wrapping_sub(1)) {
        Some(pose) => Ok(about_vertical * pose.turn),
        None => Err(refuse(
            loaded,
            &at("pose"),
            format!(
                "{} has {} resting poses, and this names number {number}",
                piece.piece.tag(),
                poses.len()
            ),
            "`lentic method run solid.measure` lists them; or give a free turn as quaternion",
        )),
    }
}

/// Reads `#rrggbb`.
#[must_use]
pub fn colour_of(text: &str) -> Option<[u8; 3]> {
    let digits = text
        .strip_prefix('#')
        .filter(|d| d.len() == 6 && d.is_ascii())?;
    let byte = |i: usize| u8::from_str_radix(&digits[i..i + 2], 16).ok();
    Some([byte(0)?, byte(2)?, byte(4)?])
}

#[cfg(test)]
mod tests {
    use super::colour_of;

    #[test]
    fn a_colour_is_six_digits() {
        assert_eq!(colour_of("#4b443c"), Some([0x4b, 0x44, 0x3c]));
        for text in ["4b443c", "#4b443", "#4b44zz", "#4b443cff", "#ä1234"] {
            assert_eq!(colour_of(text), None, "{text}");
        }
    }
}
