//! A setting-out sheet from a layout and its reckoning.

use super::description::{ContactPatch, Glass, Kind, PieceOutline, SettingOut};
use super::patches::patches;
use crate::documents::contours::HeightGrid;
use crate::documents::drawing::Ring;
use crate::documents::nouns::{Lying, Particulars};
use glam::{DVec2, DVec3};
use layout::ground::GroundSurface;
use solid::outline::{Ring as RingM, front_outline, plan_outline};
use workshop::{Layout, PieceKind, Reckoning};

const MM: f64 = 1e3;

/// What stands in every title block.
pub const CAUTION: &str = "Stones are heavy and glass breaks: lift with care, never let stone bear on bare glass, and \
     let stand and floor be checked by who may (local codes apply).";

/// Describes the setting-out sheet of a layout.
///
/// Pieces that stand are drawn where they settled, others where they were put.
#[must_use]
pub fn from_layout(
    layout: &Layout,
    reckoning: &Reckoning,
    particulars: &Particulars,
) -> SettingOut {
    let tank = &layout.tank;
    SettingOut {
        title: layout.title.clone(),
        date: particulars.date.clone(),
        glass: Glass {
            inside_mm: tank.inside_m() * MM,
            wall_mm: tank.wall_m * MM,
            base_mm: tank.base_m * MM,
            water_line_mm: Some(tank.water_line_m * MM),
        },
        pieces: (0..layout.placed.len())
            .map(|i| outline(layout, reckoning, particulars, i))
            .collect(),
        ground: reckoning.ground.top.as_deref().and_then(heights),
        caution: CAUTION.into(),
        paper: particulars.paper,
        units: particulars.units,
    }
}

fn outline(
    layout: &Layout,
    reckoning: &Reckoning,
    particulars: &Particulars,
    i: usize,
) -> PieceOutline {
    let placed = &layout.placed[i];
    let lying = Lying::new(placed, i, reckoning);
    let mesh = placed.piece.shape().mesh();
    let origin = lying.origin_mm;
    let kind = match placed.piece.kind() {
        PieceKind::Stone => Kind::Stone,
        PieceKind::Wood => Kind::Wood,
    };
    let contacts = if lying.stands {
        contacts(particulars, i)
    } else {
        vec![]
    };
    PieceOutline {
        tag: placed.piece.tag().to_string(),
        order: i + 1,
        kind,
        plan_mm: rings(&plan_outline(mesh, lying.turn), origin.truncate()),
        front_mm: rings(
            &front_outline(mesh, lying.turn),
            DVec2::new(origin.x, origin.z),
        ),
        depth_mm: lying.middle_mm().y,
        base_mm: lying.min_mm.z,
        top_mm: lying.max_mm.z,
        turn_deg: particulars.placing(i).turn_deg,
        contacts,
        stands: lying.stands,
    }
}

fn rings(rings: &[RingM], origin_mm: DVec2) -> Vec<Ring> {
    rings
        .iter()
        .map(|r| r.points_m.iter().map(|&p| origin_mm + p * MM).collect())
        .collect()
}

fn contacts(particulars: &Particulars, i: usize) -> Vec<ContactPatch> {
    let patch = |(with, points): (String, Vec<DVec3>)| {
        patches(&points)
            .into_iter()
            .map(move |(ring, height_mm)| ContactPatch {
                with: with.clone(),
                rings_mm: vec![ring],
                height_mm,
            })
    };
    particulars
        .supports(i)
        .into_iter()
        .flat_map(patch)
        .collect()
}

/// The ground's top; nothing where there is no ground at all.
fn heights(surface: &GroundSurface) -> Option<HeightGrid> {
    let grid = HeightGrid {
        origin_mm: DVec2::ZERO,
        cell_mm: surface.cell_m * MM,
        n_x: surface.nx,
        n_y: surface.ny,
        heights_mm: surface.heights_m.iter().map(|h| h * MM).collect(),
    };
    grid.heights_mm.iter().any(|h| *h > 0.0).then_some(grid)
}
