//! From a composition and its pieces to a layout: each let down at its place, in order.

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};
use layout::{
    drop::{Aim, Below},
    ground::{self, Bed, BedPoint, By, GroundSurface, Laid, Region},
};
use method::{Certainty, MethodError};
use solid::Pose;

use super::{
    BedRegion, BedShape, Composition, GroundKind, HeldPose, PieceAt, TankMeasures, ValuesAs,
};
use crate::{
    Currency, GroundMaterial, GroundPlan, Layout, Money, Piece, Placed, Surroundings, Tank,
    WorkshopError, reckoning::ReckonError,
};

const MM: f64 = 1e-3;

fn refuse(path: String, message: impl Into<String>, hint: &str) -> MethodError {
    MethodError::new("can_not_be", path, message, hint)
}

/// Makes the layout that a composition describes; `pieces` are its pieces in its order.
///
/// # Errors
/// At the pointer of what can't be.
pub fn lay(composition: &Composition, pieces: &[Arc<Piece>]) -> Result<Layout, MethodError> {
    let tank = tank(&composition.tank)?;
    let ground = ground_plan(composition)?;
    let surroundings = Surroundings {
        temperature_c: composition
            .tank
            .water_c
            .unwrap_or(Surroundings::default().temperature_c),
        ..Surroundings::default()
    };
    let surface = surface(&ground, &tank, &surroundings)?;
    let mut below = Below::new(surface.as_ref());
    let mut placed = Vec::with_capacity(pieces.len());
    for (i, (at, piece)) in composition.piece.iter().zip(pieces).enumerate() {
        let pose = pose_of(&below, at, piece, &format!("/piece/{i}"))?;
        below.put(piece.shape().form(), pose);
        placed.push(Placed {
            piece: Arc::clone(piece),
            pose,
            bedded: at.bury_mm > 0.0,
        });
    }
    Ok(Layout {
        title: composition.title.clone(),
        tank,
        ground,
        placed,
        surroundings,
    })
}

/// Where a piece would come to lie, and what it spans.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LetDown {
    /// Its pose.
    pub pose: Pose,
    /// Its least place along the tank's axes, m.
    pub low_m: DVec3,
    /// Its greatest place along the tank's axes, m.
    pub high_m: DVec3,
}

/// Lets one piece down onto a layout's other pieces, changing nothing.
///
/// `index` is its own number when it lies in the layout already; pieces after it
/// in the order of placing are not looked at, as they come to lie on it.
///
/// # Errors
/// At the pointer, from the piece, of what can't be.
pub fn let_down(
    layout: &Layout,
    surface: Option<&GroundSurface>,
    index: Option<usize>,
    at: &PieceAt,
    piece: &Piece,
) -> Result<LetDown, MethodError> {
    let mut below = Below::new(surface);
    let n = index.unwrap_or(layout.placed.len());
    for placed in layout.placed.iter().take(n) {
        below.put(placed.piece.shape().form(), placed.pose);
    }
    let pose = pose_of(&below, at, piece, "")?;
    let centre_m = piece.shape().moments().centre_m;
    let (low_m, high_m) = piece
        .shape()
        .mesh()
        .vertices_m
        .iter()
        .map(|v| pose.point_in_tank(*v, centre_m))
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(low, high), p| {
            (low.min(p), high.max(p))
        });
    Ok(LetDown {
        pose,
        low_m,
        high_m,
    })
}

fn pose_of(below: &Below, at: &PieceAt, piece: &Piece, path: &str) -> Result<Pose, MethodError> {
    if let Some(held) = &at.held {
        return held_pose(held, path);
    }
    let aim = Aim {
        turn: turn(at, piece, path)?,
        middle_m: DVec2::from(at.at_mm) * MM,
        bury_m: at.bury_mm * MM,
        lift_m: at.lift_mm * MM,
    };
    Ok(below.let_down(piece.shape().form(), &aim))
}

fn held_pose(held: &HeldPose, path: &str) -> Result<Pose, MethodError> {
    Ok(Pose {
        centre_m: DVec3::from(held.centre_mm) * MM,
        turn: unit_turn(held.quaternion, format!("{path}/held/quaternion"))?,
    }
    .canonical())
}

/// A turn from `[w, x, y, z]`.
fn unit_turn([w, x, y, z]: [f64; 4], path: String) -> Result<DQuat, MethodError> {
    let turn = DQuat::from_xyzw(x, y, z, w);
    if (0.9..1.1).contains(&turn.length()) {
        return Ok(turn.normalize());
    }
    Err(refuse(
        path,
        format!(
            "a turn [w, x, y, z] has length 1, this one has {:.3}",
            turn.length()
        ),
        "divide the four numbers by their length",
    ))
}

/// Takes the piece's axes into the tank's: the resting pose or the free turn,
/// and then the turn about the vertical.
fn turn(at: &PieceAt, piece: &Piece, path: &str) -> Result<DQuat, MethodError> {
    let about_vertical = DQuat::from_rotation_z(at.turn_deg.to_radians());
    if let Some(free) = at.quaternion {
        if at.pose.is_some() {
            return Err(refuse(
                format!("{path}/pose"),
                "both a resting pose and a free turn",
                "keep one of pose and quaternion",
            ));
        }
        return Ok(about_vertical * unit_turn(free, format!("{path}/quaternion"))?);
    }
    let poses = &piece.shape().measure().resting.poses;
    let number = at.pose.unwrap_or(1);
    match poses.get(number.wrapping_sub(1)) {
        Some(pose) => Ok(about_vertical * pose.turn),
        None => Err(refuse(
            format!("{path}/pose"),
            format!(
                "{} has {} resting poses, and this names number {number}",
                piece.tag(),
                poses.len()
            ),
            "`lentic method run solid.measure` lists them; or give a free turn as quaternion",
        )),
    }
}

fn tank(measures: &TankMeasures) -> Result<Tank, MethodError> {
    let tank = Tank {
        outside_m: DVec3::from(measures.outside_mm) * MM,
        wall_m: measures.glass_mm * MM,
        base_m: measures.base_mm.unwrap_or(measures.glass_mm) * MM,
        water_line_m: measures.water_line_mm * MM,
        empty_mass_kg: measures.empty_mass_kg,
    };
    tank.checked().map_err(|error| {
        let key = match &error {
            WorkshopError::Tank { measure, .. } => match *measure {
                "outside_m" => "/outside_mm",
                "wall_m" => "/glass_mm",
                "base_m" if measures.base_mm.is_some() => "/base_mm",
                "base_m" => "/glass_mm",
                "water_line_m" => "/water_line_mm",
                "empty_mass_kg" => "/empty_mass_kg",
                _ => "",
            },
            _ => "",
        };
        refuse(
            format!("/tank{key}"),
            error.to_string(),
            "outside measures are length, width, height; the water line counts from the base's upper face",
        )
    })
}

/// The ground's surface without pieces; nothing when there is no bed.
fn surface(
    ground: &GroundPlan,
    tank: &Tank,
    surroundings: &Surroundings,
) -> Result<Option<GroundSurface>, MethodError> {
    if ground.beds.is_empty() {
        return Ok(None);
    }
    Laid::new(
        &ground.plan(),
        tank.inside_m().truncate(),
        surroundings.ground_cell_m,
    )
    .and_then(|laid| laid.surface())
    .map(Some)
    .map_err(|error| ground_error(&error))
}

fn ground_plan(composition: &Composition) -> Result<GroundPlan, MethodError> {
    let currency = composition
        .currency
        .as_deref()
        .map(Currency::new)
        .transpose()
        .map_err(|error| {
            refuse(
                "/currency".to_owned(),
                error.to_string(),
                "write an ISO 4217 code such as EUR",
            )
        })?;
    let materials = composition
        .material
        .iter()
        .enumerate()
        .map(|(i, kind)| material(kind, currency, &format!("/material/{i}")))
        .collect::<Result<_, _>>()?;
    let beds = composition
        .bed
        .iter()
        .enumerate()
        .map(|(i, shape)| bed(composition, shape, &format!("/bed/{i}")))
        .collect::<Result<_, _>>()?;
    Ok(GroundPlan { materials, beds })
}

fn material(
    kind: &GroundKind,
    currency: Option<Currency>,
    path: &str,
) -> Result<GroundMaterial, MethodError> {
    let bag_price = match (kind.price, currency) {
        (None, _) => None,
        (Some(_), None) => {
            return Err(refuse(
                format!("{path}/price"),
                "a price without a currency",
                "write `currency = \"EUR\"` at the top of the file",
            ));
        }
        (Some(amount), Some(currency)) => {
            Some(Money::from_amount(amount, currency).map_err(|error| {
                refuse(
                    format!("{path}/price"),
                    error.to_string(),
                    "write whole cents",
                )
            })?)
        }
    };
    if let Some(colour) = &kind.colour {
        colour_of(colour).ok_or_else(|| {
            refuse(
                format!("{path}/colour"),
                format!("{colour:?} is no colour"),
                "write # and six hexadecimal digits, such as \"#4b443c\"",
            )
        })?;
    }
    Ok(GroundMaterial {
        material: ground::Material {
            name: kind.name.clone(),
            bulk_density_kg_m3: kind.bulk_density_kg_m3,
            grain_density_kg_m3: kind.grain_density_kg_m3,
            grain_m: kind.grain_mm.map(|mm| mm * MM),
            angle_of_repose_rad: kind.repose_deg.to_radians(),
            bag_m3: kind.bag_l.map(|litres| litres * 1e-3),
        },
        certainty: Certainty::Estimated,
        bag_price,
    })
}

fn bed(composition: &Composition, shape: &BedShape, path: &str) -> Result<Bed, MethodError> {
    let material = composition
        .material
        .iter()
        .position(|m| m.name == shape.material)
        .ok_or_else(|| {
            refuse(
                format!("{path}/material"),
                format!("no [[material]] is called {:?}", shape.material),
                "name one of the materials of this layout",
            )
        })?;
    let region = match &shape.region {
        BedRegion::Word(word) if word == "all" => Region::All,
        BedRegion::Word(word) => {
            return Err(refuse(
                format!("{path}/region"),
                format!("{word:?} is no region"),
                "write \"all\" or a list of corners [[x, y], …]",
            ));
        }
        BedRegion::Corners(corners) => {
            Region::Polygon(corners.iter().map(|c| DVec2::from(*c) * MM).collect())
        }
    };
    Ok(Bed {
        material,
        region,
        by: match shape.by {
            ValuesAs::Thickness => By::Thickness,
            ValuesAs::Top => By::Top,
        },
        points: shape
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
fn ground_error(error: &ground::GroundError) -> MethodError {
    use ground::GroundError as E;
    let path = match error {
        E::Material { material, .. } => format!("/material/{material}"),
        E::NoMaterial { bed, .. } => format!("/bed/{bed}/material"),
        E::Region { bed, .. } => format!("/bed/{bed}/region"),
        E::Point { bed, .. } => format!("/bed/{bed}/points"),
        E::TooMany { bed: Some(bed), .. } => format!("/bed/{bed}"),
        _ => "/bed".to_owned(),
    };
    refuse(path, error.to_string(), error.hint())
}

/// Points at what keeps a layout from being reckoned.
#[must_use]
pub fn reckon_error(error: &ReckonError) -> MethodError {
    match error {
        ReckonError::Ground(error) => ground_error(error),
        ReckonError::Stopped => {
            MethodError::new("stopped", "", error.to_string(), "ask for it again")
        }
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
