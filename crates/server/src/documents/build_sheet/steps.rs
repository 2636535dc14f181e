//! The order of work, each step with a box to tick.

use super::description::{BuildSheet, PieceLine, Step};
use super::flow::Flow;
use crate::documents::drawing::{Area, Ink, Lettering, Pen, Text, Weight};
use crate::documents::units::{Units, whole};
use glam::DVec2;

const INDENT_MM: f64 = 13.0;
const HEAD: Lettering = Lettering::bold(2.3);

pub(super) fn draw(flow: &mut Flow, description: &BuildSheet) {
    flow.heading("Order of work", 20.0);
    for (i, step) in steps(description).iter().enumerate() {
        let height = flow.paragraph_mm(&step.words, INDENT_MM) + 6.0;
        flow.need(height.min(60.0));
        let corner = flow.corner();
        let tick = Area::at(corner.x, corner.y, 3.2, 3.2);
        flow.drawing
            .rectangle(Some(Pen::solid(Weight::Fine, Ink::GRAPHITE)), None, tick);
        let at = corner + DVec2::new(0.0, 2.7);
        flow.drawing.text(Text::new(
            at + DVec2::new(5.2, 0.0),
            (i + 1).to_string(),
            HEAD,
        ));
        let head = HEAD.fitted(&step.head, flow.width_mm() - INDENT_MM);
        flow.drawing
            .text(Text::new(at + DVec2::new(INDENT_MM, 0.0), head, HEAD));
        flow.y += 4.8;
        flow.paragraph(&step.words, INDENT_MM, Ink::GRAPHITE);
        flow.y += 1.8;
    }
}

/// The steps that follow from a layout.
pub fn steps(description: &BuildSheet) -> Vec<Step> {
    let mut steps = vec![stand(description), protection(description)];
    steps.extend(ground(description));
    steps.extend(
        description
            .pieces
            .iter()
            .map(|p| place(p, description.units)),
    );
    steps.extend(ballast(description));
    steps.push(check(description));
    steps.push(fill(description));
    steps
}

fn step(head: impl Into<String>, words: impl Into<String>) -> Step {
    Step {
        head: head.into(),
        words: words.into(),
    }
}

fn stand(description: &BuildSheet) -> Step {
    let load = description.total.as_ref().map_or(String::new(), |total| {
        format!(
            "Filled, the whole weighs {}: be sure that the stand and the floor carry it; ask a structural engineer \
             where you doubt it, and follow local codes. ",
            total.words(description.units)
        )
    });
    step(
        "Mat and level stand",
        format!(
            "{load}Check the stand with a level along both sides and across both diagonals; lay a closed-cell mat \
             unless the tank’s maker forbids it; set the tank down and check the level again."
        ),
    )
}

fn protection(description: &BuildSheet) -> Step {
    let on_base: Vec<&str> = (description.pieces.iter())
        .filter(|p| p.rests_on.iter().any(|r| r == "base"))
        .map(|p| p.tag.as_str())
        .collect();
    let words = if on_base.is_empty() {
        "Lay a protecting sheet on the inside of the base wherever stones will lie, under the ground too: a stone that \
         slips while it is placed must not meet bare glass."
            .to_owned()
    } else {
        format!(
            "{} {} directly on the base: lay a protecting sheet under {}, so that no point of stone bears on bare glass.",
            on_base.join(", "),
            if on_base.len() == 1 { "rests" } else { "rest" },
            if on_base.len() == 1 { "it" } else { "them" },
        )
    };
    step(
        "Base protection and setting-out",
        format!(
            "{words} Join the setting-out sheet, check its control square, and lay it under or before the tank, front glass to front glass."
        ),
    )
}

fn ground(description: &BuildSheet) -> Vec<Step> {
    let units = description.units;
    let line = |line: &super::GroundLine| {
        let bags = match &line.bags {
            Some(bags) if bags.value.ceil() == 1.0 => ", 1 bag".to_owned(),
            Some(bags) => format!(", {} bags", whole(bags.value.ceil())),
            None => String::new(),
        };
        step(
            format!("Ground: {}", line.name),
            format!(
                "Fill {} ({}{bags}) and draw it to the contours of the setting-out sheet; check the heights at the \
                 front and back glass with a rule.",
                line.volume.words(units),
                line.mass.words(units)
            ),
        )
    };
    description.ground.iter().map(line).collect()
}

fn place(piece: &PieceLine, units: Units) -> Step {
    let mut words = format!(
        "{} from the left glass, {} from the front glass, turned {}°",
        units.length(piece.at_mm[0]),
        units.length(piece.at_mm[1]),
        whole(piece.turn_deg)
    );
    if !piece.pose.is_empty() {
        words += &format!(", {}", piece.pose);
    }
    if piece.bury_mm > 0.0 {
        words += &format!(", set {} into the ground", units.length(piece.bury_mm));
    }
    words += &format!(
        ". Base at {}, top at {}.",
        units.length(piece.base_mm),
        units.length(piece.top_mm)
    );
    if !piece.rests_on.is_empty() {
        words += &format!(" It rests on {}.", listed(&piece.rests_on));
    }
    words += match (&piece.tips_at, piece.stands) {
        (_, false) => " IT DOES NOT STAY THERE: hold it, and change the layout.".to_owned(),
        (Some(angle), true) => {
            format!(" Push it gently from all sides before the next: it should not rock (reckoned to tip at {}).", angle.words(units))
        }
        (None, true) => " Push it gently from all sides before the next: it should not rock.".to_owned(),
    }
    .as_str();
    if piece.mass.value >= LIFT_BY_TWO_KG {
        words += &format!(
            " At {} lift it by two, or with gear.",
            piece.mass.words(units)
        );
    }
    step(format!("Place {} ({})", piece.tag, piece.order), words)
}

/// Heavier pieces are lifted by two. Common practice, no source; local rules on
/// lifting go before.
const LIFT_BY_TWO_KG: f64 = 20.0;

/// "a", "a and b", "a, b and c".
fn listed(words: &[String]) -> String {
    let name = |w: &String| match w.as_str() {
        "ground" => "the ground".to_owned(),
        "base" => "the base".to_owned(),
        other => other.to_owned(),
    };
    match words {
        [] => String::new(),
        [one] => name(one),
        [first @ .., last] => {
            format!(
                "{} and {}",
                first.iter().map(name).collect::<Vec<_>>().join(", "),
                name(last)
            )
        }
    }
}

fn ballast(description: &BuildSheet) -> Option<Step> {
    let tied: Vec<String> = (description.pieces.iter())
        .filter_map(|p| {
            Some(format!(
                "{}: {}",
                p.tag,
                p.ballast.as_ref()?.words(description.units)
            ))
        })
        .collect();
    (!tied.is_empty()).then(|| {
        step(
            "Hold floating wood down",
            format!(
                "Dry wood floats. Before filling, tie at least this much stone to each, or fix it to a plate under the \
                 ground: {}. Weigh it again once it has soaked.",
                tied.join("; ")
            ),
        )
    })
}

fn check(description: &BuildSheet) -> Step {
    let highest = description
        .pieces
        .iter()
        .max_by(|a, b| a.top_mm.total_cmp(&b.top_mm));
    let words = highest.map_or(String::new(), |p| {
        format!(
            " The highest point is {} on {}.",
            description.units.length(p.top_mm),
            p.tag
        )
    });
    step(
        "Check before water",
        format!(
            "Measure the tops against the front elevation, look that no piece touches the glass where it should not, and photograph the dry layout.{words}"
        ),
    )
}

fn fill(description: &BuildSheet) -> Step {
    let water = description.water.as_ref().map_or(String::new(), |water| {
        format!(
            " To the water line it takes {}.",
            water.words(description.units)
        )
    });
    step(
        "Fill slowly",
        format!(
            "Let the water run onto a plate or a sheet so that it moves neither ground nor stones. Stop at a third and \
             at two thirds, look for leaks and moved pieces, and check the level of the stand.{water} Keep hands and \
             mains leads dry: every electrical device on a residual-current device, its lead with a drip loop."
        ),
    )
}
