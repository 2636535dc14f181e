//! The reckoning as a screen reads it: groups of figures, findings and a verdict.

use method::Caution as Said;
use schemars::JsonSchema;
use serde::Serialize;
use workshop::{
    Layout, Tag,
    findings::Finding as Found,
    reckoning::{AsPut, Ground, PieceStands, Price, Stands, Water, Weight},
};

use crate::{
    figure::{Caution, Figure, Severity},
    reason,
};

/// The reckoning of one version of a layout.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ReckoningView {
    /// The layout's version that it is of.
    pub version: i64,
    /// Stands, ground, water, weight, price.
    pub groups: Vec<Group>,
}

/// What a group is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum GroupName {
    /// Whether pieces stay where they were put.
    Stands,
    /// What ground it takes.
    Ground,
    /// How much water is left.
    Water,
    /// What it weighs.
    Weight,
    /// What it costs.
    Price,
}

/// One group of the reckoning.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Group {
    /// Which.
    pub name: GroupName,
    /// Its title on screen.
    pub title: String,
    /// Whether it is of an earlier version and being reckoned anew.
    pub stale: bool,
    /// The answer in a line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<String>,
    /// Its figures.
    pub figures: Vec<Figure>,
    /// Figures of single pieces, materials or lines.
    pub rows: Vec<Row>,
    /// What was found.
    pub findings: Vec<Finding>,
    /// What else must be said.
    pub cautions: Vec<Caution>,
}

/// Figures of one piece, material or line.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Row {
    /// The piece's tag, or the name of a material.
    pub tag: String,
    /// Its figures.
    pub figures: Vec<Figure>,
}

/// Something that is wrong or worth a look.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Finding {
    /// The rule's name.
    pub rule: String,
    /// How much it matters.
    pub severity: Severity,
    /// In words.
    pub text: String,
    /// The piece that it is about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tag: Option<String>,
}

impl Finding {
    fn of(found: &Found, why: Option<String>) -> Self {
        let caution = found.caution();
        let rule = serde_json::to_value(found)
            .ok()
            .and_then(|value| value.get("rule")?.as_str().map(str::to_owned))
            .unwrap_or_default();
        let text = match why {
            Some(why) => format!("{}: {why}", caution.text),
            None => caution.text,
        };
        Self {
            rule,
            severity: caution.severity.into(),
            text,
            tag: found.tag().map(|tag| tag.to_string()),
        }
    }
}

/// What was said beside the findings.
fn beside(cautions: &[Said], findings: &[Found]) -> Vec<Caution> {
    let found: Vec<Said> = findings.iter().map(Found::caution).collect();
    cautions
        .iter()
        .filter(|caution| !found.contains(caution))
        .map(Caution::from)
        .collect()
}

fn plain(findings: &[Found]) -> Vec<Finding> {
    findings
        .iter()
        .map(|found| Finding::of(found, None))
        .collect()
}

/// The groups that need no settling.
#[must_use]
pub fn as_put(reckoned: &AsPut) -> Vec<Group> {
    vec![
        ground(&reckoned.ground),
        water(&reckoned.water),
        weight(&reckoned.weight),
        price(&reckoned.price),
    ]
}

/// The group *Stands* before a layout was settled.
#[must_use]
pub fn unsettled(reason: &str) -> Group {
    Group {
        name: GroupName::Stands,
        title: "Stands".to_owned(),
        stale: true,
        verdict: Some(reason.to_owned()),
        figures: Vec::new(),
        rows: Vec::new(),
        findings: Vec::new(),
        cautions: Vec::new(),
    }
}

/// The group *Stands*; `layout` is the one that was settled.
#[must_use]
pub fn stands(layout: &Layout, stands: &Stands, ground: &Ground, stale: bool) -> Group {
    let why = |found: &Found| {
        let Found::Moved(moved) = found else {
            return None;
        };
        let i = place_of(layout, moved.tag)?;
        Some(reason::reason(
            layout,
            &stands.pieces,
            ground.top.as_deref(),
            i,
        ))
    };
    Group {
        name: GroupName::Stands,
        title: "Stands".to_owned(),
        stale,
        verdict: Some(verdict(layout, stands)),
        figures: Vec::new(),
        rows: stands.pieces.iter().map(piece_row).collect(),
        findings: stands
            .findings
            .iter()
            .map(|found| Finding::of(found, why(found)))
            .collect(),
        cautions: beside(&stands.cautions, &stands.findings),
    }
}

fn place_of(layout: &Layout, tag: Tag) -> Option<usize> {
    layout.placed.iter().position(|p| p.piece.tag() == tag)
}

/// Whether everything stands.
#[must_use]
pub fn does_stand(stands: &Stands) -> bool {
    !stands.findings.iter().any(Found::spoils_standing)
}

/// Whether it stands, in a line.
#[must_use]
pub fn verdict(layout: &Layout, stands: &Stands) -> String {
    if layout.placed.is_empty() {
        return "no pieces yet".to_owned();
    }
    let mut falling: Vec<Tag> = Vec::new();
    let mut other = None;
    for found in stands.findings.iter().filter(|f| f.spoils_standing()) {
        match found.tag() {
            Some(tag) if !falling.contains(&tag) => falling.push(tag),
            Some(_) => {}
            None => other = Some(found.caution().text),
        }
    }
    match (falling.as_slice(), other) {
        ([], None) => "stands as it is put".to_owned(),
        ([], Some(text)) => text,
        ([tag], _) => format!("{tag} doesn't stay where it is put"),
        (many, _) => {
            let names: Vec<String> = many.iter().map(Tag::to_string).collect();
            format!("{} don't stay where they are put", names.join(", "))
        }
    }
}

fn piece_row(piece: &PieceStands) -> Row {
    let mut figures = vec![
        Figure::of("moved", "moves", &piece.moved),
        Figure::of("turned", "turns", &piece.turned),
    ];
    let some = [
        ("tip_angle", "tips at a tilt of", piece.tip_angle.as_ref()),
        (
            "slide_margin",
            "friction over what it needs",
            piece.slide_margin.as_ref(),
        ),
        (
            "lift_when_held_under",
            "lift under water",
            Some(&piece.lift_when_held_under),
        ),
        (
            "ballast_stone",
            "stone to hold it down",
            piece.ballast_stone.as_ref(),
        ),
    ];
    for (key, label, figure) in some {
        // A stone's lift is negative: it sinks, which needs no line.
        if let Some(figure) = figure.filter(|f| key != "lift_when_held_under" || f.value > 0.0) {
            figures.push(Figure::of(key, label, figure));
        }
    }
    Row {
        tag: piece.tag.to_string(),
        figures,
    }
}

fn ground(ground: &Ground) -> Group {
    let rows = ground
        .materials
        .iter()
        .map(|laid| {
            let mut figures = vec![
                Figure::of("volume", "volume laid", &laid.volume),
                Figure::of("mass", "mass laid", &laid.mass),
            ];
            figures.extend(
                laid.bags
                    .iter()
                    .map(|bags| Figure::of("bags", "bags to buy", bags)),
            );
            Row {
                tag: laid.name.clone(),
                figures,
            }
        })
        .chain(ground.slopes.iter().map(|slope| Row {
            tag: slope.material.clone(),
            figures: vec![
                Figure::of("slope", "slope that slides", &slope.slope),
                Figure::of("repose", "holds up to", &slope.repose),
                Figure::of("area", "area of that slope", &slope.area),
            ],
        }))
        .collect();
    Group {
        name: GroupName::Ground,
        title: "Ground".to_owned(),
        stale: false,
        verdict: None,
        figures: vec![Figure::of("buried", "pieces in the ground", &ground.buried)],
        rows,
        findings: plain(&ground.findings),
        cautions: beside(&ground.cautions, &ground.findings),
    }
}

fn water(water: &Water) -> Group {
    let mut figures = vec![
        Figure::of("water", "water in the tank", &water.water),
        Figure::of("free", "above the ground", &water.free),
    ];
    figures.extend(
        water
            .pore
            .iter()
            .map(|pore| Figure::of("pore", "in the gaps of the ground", pore)),
    );
    figures.push(Figure::of(
        "displaced_by_pieces",
        "taken up by pieces",
        &water.displaced_by_pieces,
    ));
    figures.push(Figure::of("bare", "in the bare tank", &water.bare));
    Group {
        name: GroupName::Water,
        title: "Water".to_owned(),
        stale: false,
        verdict: None,
        figures,
        rows: Vec::new(),
        findings: plain(&water.findings),
        cautions: beside(&water.cautions, &water.findings),
    }
}

fn weight(weight: &Weight) -> Group {
    Group {
        name: GroupName::Weight,
        title: "Weight".to_owned(),
        stale: false,
        verdict: None,
        figures: vec![
            Figure::of("total", "total on the stand", &weight.total),
            Figure::of("empty_tank", "empty tank", &weight.empty_tank),
            Figure::of("water", "water", &weight.water),
            Figure::of("ground", "ground", &weight.ground),
            Figure::of("stone", "stone", &weight.stone),
            Figure::of("wood", "wood", &weight.wood),
            Figure::of("centre_x", "bears at, from the left", &weight.centre_x),
            Figure::of("centre_y", "bears at, from the front", &weight.centre_y),
        ],
        rows: Vec::new(),
        findings: plain(&weight.findings),
        cautions: beside(&weight.cautions, &weight.findings),
    }
}

fn price(price: &Price) -> Group {
    let rows = price
        .lines
        .iter()
        .map(|line| {
            let relation = match line.each {
                Some(each) => format!("{} × {each}", line.count),
                None => "no price is known".to_owned(),
            };
            let sum = line.sum;
            let figure = Figure {
                key: "sum".to_owned(),
                label: if line.count == 1 {
                    "price".to_owned()
                } else {
                    format!("price of {}", line.count)
                },
                value: sum.map(|sum| sum.amount()),
                unit: sum
                    .map(|sum| sum.currency.code().to_owned())
                    .unwrap_or_default(),
                certainty: method::Certainty::Measured,
                relation,
                source: "prices as stated in the layout or the yard".to_owned(),
            };
            Row {
                tag: line.what.clone(),
                figures: vec![figure],
            }
        })
        .collect();
    Group {
        name: GroupName::Price,
        title: "Price".to_owned(),
        stale: false,
        verdict: None,
        figures: price
            .total
            .iter()
            .map(|total| Figure::of("total", "total", total))
            .collect(),
        rows,
        findings: plain(&price.findings),
        cautions: beside(&price.cautions, &price.findings),
    }
}
