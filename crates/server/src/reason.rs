//! Why does a piece not stay where it was put?

use layout::{
    drop::{Below, Form},
    ground::GroundSurface,
    support::{Held, Holder, held},
};
use workshop::{Layout, Tag, reckoning::PieceStands};

/// A foot this far outside what holds it tips the piece, m.
const BEYOND_M: f64 = 1e-3;
/// A gap over this is air, m.
const AIR_M: f64 = 1.5e-3;

/// The reason in words, for the piece at `index` of the layout.
#[must_use]
pub fn reason(
    layout: &Layout,
    stands: &[PieceStands],
    ground: Option<&GroundSurface>,
    index: usize,
) -> String {
    let forms: Vec<&Form> = layout
        .placed
        .iter()
        .map(|p| p.piece.shape().form())
        .collect();
    let mut below = Below::new(ground);
    for (form, placed) in forms.iter().zip(&layout.placed) {
        below.put(form, placed.pose);
    }
    let seen = held(&below, index, forms[index], layout.placed[index].pose);
    let water = layout::settle::water::density_kg_m3(
        layout.surroundings.temperature_c,
        layout.surroundings.salinity_g_kg,
    );
    let piece = &layout.placed[index].piece;
    if piece.density_kg_m3() < water && layout.tank.water_line_m > 0.0 {
        return format!(
            "it floats: {:.0} kg/m³ against water's {water:.0}; soak it, or let a stone lie on it",
            piece.density_kg_m3()
        );
    }
    on_land(layout, stands, &seen)
}

fn on_land(layout: &Layout, stands: &[PieceStands], seen: &Held) -> String {
    let tag = |i: usize| layout.placed.get(i).map(|p| p.piece.tag());
    if seen.gap_m > AIR_M || seen.by.is_empty() {
        return format!(
            "nothing holds it: {:.0} mm of air lie under its lowest point",
            seen.gap_m * 1e3
        );
    }
    let holders: Vec<String> = seen
        .by
        .iter()
        .map(|holder| match holder {
            Holder::Base => "the base".to_owned(),
            Holder::Ground => "the ground".to_owned(),
            Holder::Piece(i) => tag(*i).map_or_else(String::new, |t| t.to_string()),
        })
        .collect();
    let on = holders.join(" and ");
    if seen.beyond_m > BEYOND_M {
        return format!(
            "its centre of mass lies {:.0} mm beyond what holds it ({on}); move it in, turn it, or put something under it",
            seen.beyond_m * 1e3
        );
    }
    let gone: Vec<Tag> = seen
        .by
        .iter()
        .filter_map(|holder| match holder {
            Holder::Piece(i) if stands.get(*i).is_some_and(|s| !s.stands) => tag(*i),
            _ => None,
        })
        .collect();
    match gone.first() {
        Some(under) => format!("{under}, on which it lies, goes first"),
        None if seen.by.iter().any(|h| matches!(h, Holder::Piece(_))) => {
            format!("it tips or slides on {on}: bed it deeper, or turn it to a flatter side")
        }
        None => format!(
            "{on} holds it on too little, or another piece pushes it: bed it deeper, or move them apart"
        ),
    }
}
