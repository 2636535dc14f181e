//! A build sheet from a layout and its reckoning.

use super::Amount;
use super::description::{BuildSheet, GroundLine, Group, Line, Note, NotePicture, PieceLine};
use crate::documents::nouns::{Lying, Particulars};
use crate::documents::units::Units;
use method::{Certainty, Figure};
use workshop::findings::Finding;
use workshop::reckoning::PieceStands;
use workshop::{Layout, Reckoning};

/// The pictures on a build sheet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pictures {
    /// In the order in which they are shown.
    pub pictures: Vec<NotePicture>,
}

/// Describes the build sheet of a layout.
#[must_use]
pub fn from_layout(
    layout: &Layout,
    reckoning: &Reckoning,
    particulars: &Particulars,
    pictures: Pictures,
) -> BuildSheet {
    let units = particulars.units;
    BuildSheet {
        title: layout.title.clone(),
        date: particulars.date.clone(),
        tank: tank_words(layout, units),
        falls: falls(reckoning),
        pictures: pictures.pictures,
        pieces: (0..layout.placed.len())
            .map(|i| piece(layout, reckoning, particulars, i))
            .collect(),
        ground: ground(layout, reckoning),
        water: Some(Amount::from(&reckoning.water.water)),
        total: Some(Amount::from(&reckoning.weight.total)),
        groups: vec![
            stands_group(reckoning, units),
            ground_group(reckoning, units),
            water_group(reckoning, units),
            weight_group(reckoning, units),
            price_group(reckoning),
        ],
        cautions: cautions(reckoning),
        paper: particulars.paper,
        units,
    }
}

fn tank_words(layout: &Layout, units: Units) -> String {
    let tank = &layout.tank;
    let (outside, inside) = (tank.outside_m * 1e3, tank.inside_m() * 1e3);
    let size = |v: glam::DVec3| {
        format!(
            "{} × {} × {}",
            units.dimension(v.x),
            units.dimension(v.y),
            units.length(v.z)
        )
    };
    format!(
        "Tank outside {}, inside {}; walls {}, base {}; water line {} above the base.",
        size(outside),
        size(inside),
        units.length(tank.wall_m * 1e3),
        units.length(tank.base_m * 1e3),
        units.length(tank.water_line_m * 1e3)
    )
}

fn falls(reckoning: &Reckoning) -> Vec<String> {
    let spoils = reckoning.findings().filter(|f| f.spoils_standing());
    spoils.map(Finding::caution).map(|c| c.text).collect()
}

fn piece(layout: &Layout, reckoning: &Reckoning, particulars: &Particulars, i: usize) -> PieceLine {
    let placed = &layout.placed[i];
    let lying = Lying::new(placed, i, reckoning);
    let placing = particulars.placing(i);
    let stands = reckoning.stands.pieces.get(i);
    let figure = |figure: Option<&Figure>| figure.map(Amount::from);
    PieceLine {
        order: i + 1,
        tag: placed.piece.tag().to_string(),
        material: placed.piece.material().name.clone(),
        mass: Amount::from(&placed.piece.mass_figure()),
        size_mm: lying.size_mm().to_array(),
        at_mm: lying.middle_mm().to_array(),
        turn_deg: placing.turn_deg,
        pose: placing
            .pose
            .map_or("free turn".into(), |n| format!("pose {n}")),
        bury_mm: placing.bury_mm,
        base_mm: lying.min_mm.z,
        top_mm: lying.max_mm.z,
        rests_on: particulars.supports(i).into_iter().map(|s| s.0).collect(),
        tips_at: figure(stands.and_then(|s| s.tip_angle.as_ref())),
        ballast: figure(stands.and_then(|s| s.ballast_stone.as_ref())),
        stands: lying.stands,
    }
}

/// Materials in the order in which their first bed is laid; materials that
/// were laid without a bed of their own come last.
fn ground(layout: &Layout, reckoning: &Reckoning) -> Vec<GroundLine> {
    let materials = &reckoning.ground.materials;
    let mut order: Vec<usize> = vec![];
    let beds = layout.ground.beds.iter().map(|bed| bed.material);
    for i in beds.chain(0..materials.len()) {
        if i < materials.len() && !order.contains(&i) {
            order.push(i);
        }
    }
    order.retain(|&i| materials[i].volume.value > 0.0);
    let line = |i: usize| GroundLine {
        name: materials[i].name.clone(),
        volume: Amount::from(&materials[i].volume),
        mass: Amount::from(&materials[i].mass),
        bags: materials[i].bags.as_ref().map(Amount::from),
    };
    order.into_iter().map(line).collect()
}

fn words(figure: &Figure, units: Units) -> String {
    Amount::from(figure).words(units)
}

fn line(name: impl Into<String>, words: impl Into<String>) -> Line {
    Line {
        name: name.into(),
        words: words.into(),
        warm: false,
    }
}

fn stands_group(reckoning: &Reckoning, units: Units) -> Group {
    let lines = reckoning.stands.pieces.iter().map(|p| Line {
        name: p.tag.to_string(),
        words: stands_words(p, units),
        warm: !p.stands,
    });
    Group {
        name: "Stands".into(),
        lines: lines.collect(),
    }
}

fn stands_words(piece: &PieceStands, units: Units) -> String {
    let verdict = if piece.stands {
        "stands"
    } else {
        "DOES NOT STAND"
    };
    let mut parts = vec![
        verdict.to_owned(),
        format!(
            "moved {} and turned {} on settling",
            words(&piece.moved, units),
            words(&piece.turned, units)
        ),
    ];
    if let Some(angle) = &piece.tip_angle {
        parts.push(format!("tips at {}", words(angle, units)));
    }
    if let Some(margin) = &piece.slide_margin {
        parts.push(format!("slide margin {}", words(margin, units)));
    }
    if let Some(ballast) = &piece.ballast_stone {
        let lift = words(&piece.lift_when_held_under, units);
        parts.push(format!(
            "lifts {lift} when held under: tie {} of stone to it",
            words(ballast, units)
        ));
    }
    parts.join(", ")
}

fn ground_group(reckoning: &Reckoning, units: Units) -> Group {
    let ground = &reckoning.ground;
    let mut lines: Vec<Line> = (ground.materials.iter())
        .map(|m| {
            let bags = m
                .bags
                .as_ref()
                .map_or(String::new(), |b| format!(", {:.0} bags", b.value.ceil()));
            line(
                &m.name,
                format!(
                    "{}, {}{bags}",
                    words(&m.volume, units),
                    words(&m.mass, units)
                ),
            )
        })
        .collect();
    lines.push(line(
        "parts of pieces below its top",
        words(&ground.buried, units),
    ));
    lines.extend(ground.slopes.iter().map(|s| Line {
        name: format!("slope that will slide: {}", s.material),
        words: format!(
            "{} where {} holds, over {}, at {} from the left and {} from the front glass",
            words(&s.slope, units),
            words(&s.repose, units),
            words(&s.area, units),
            units.length(s.place_mm[0]),
            units.length(s.place_mm[1])
        ),
        warm: true,
    }));
    Group {
        name: "Ground".into(),
        lines,
    }
}

fn water_group(reckoning: &Reckoning, units: Units) -> Group {
    let water = &reckoning.water;
    let mut lines = vec![
        line("water at the water line", words(&water.water, units)),
        line("of it above the ground", words(&water.free, units)),
    ];
    if let Some(pore) = &water.pore {
        lines.push(line("of it between the grains", words(pore, units)));
    }
    lines.push(line(
        "displaced by pieces",
        words(&water.displaced_by_pieces, units),
    ));
    lines.push(line("the bare tank would hold", words(&water.bare, units)));
    Group {
        name: "Water".into(),
        lines,
    }
}

fn weight_group(reckoning: &Reckoning, units: Units) -> Group {
    let w = &reckoning.weight;
    let named = [
        ("empty tank", &w.empty_tank),
        ("water", &w.water),
        ("ground", &w.ground),
        ("stone", &w.stone),
        ("wood", &w.wood),
        ("total", &w.total),
        ("centre of mass from the left glass", &w.centre_x),
        ("centre of mass from the front glass", &w.centre_y),
    ];
    let lines = named.map(|(name, figure)| line(name, words(figure, units)));
    Group {
        name: "Weight".into(),
        lines: lines.to_vec(),
    }
}

fn price_group(reckoning: &Reckoning) -> Group {
    let price = &reckoning.price;
    let mut lines: Vec<Line> = (price.lines.iter())
        .map(|l| {
            let sum = l.sum.map_or("no price".to_owned(), |m| m.to_string());
            let each = l
                .each
                .filter(|_| l.count != 1)
                .map(|m| format!("{} × {m} = ", l.count));
            line(&l.what, format!("{}{sum}", each.unwrap_or_default()))
        })
        .collect();
    if let Some(sum) = price.sum {
        let whole = price
            .total
            .as_ref()
            .is_none_or(|t| t.certainty == Certainty::Measured);
        let words = if whole {
            sum.to_string()
        } else {
            format!("≈ {sum} (a price is missing)")
        };
        lines.push(line("sum", words));
    }
    Group {
        name: "Price".into(),
        lines,
    }
}

/// Every caution once, the gravest first.
fn cautions(reckoning: &Reckoning) -> Vec<Note> {
    let mut notes: Vec<Note> = vec![];
    for caution in reckoning.cautions() {
        let note = Note {
            severity: caution.severity,
            words: caution.text.clone(),
        };
        if !notes.contains(&note) {
            notes.push(note);
        }
    }
    notes.sort_by_key(|note| std::cmp::Reverse(note.severity));
    notes
}
