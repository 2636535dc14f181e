//! What `plan` says on the terminal: first whether it stands, then the figures.

use std::fmt::Write as _;

use method::{Caution, Certainty, Figure, Severity};
use workshop::{Reckoning, findings::Finding};

/// The whole answer as text for a person.
#[must_use]
pub fn text(
    title: &str,
    reckoning: &Reckoning,
    verdicts: &[String],
    notes: &[String],
    files: &[String],
) -> String {
    let mut out = verdict(reckoning, verdicts);
    let _ = writeln!(out, "\n{title}");
    stands(&mut out, reckoning);
    ground(&mut out, reckoning);
    water_and_weight(&mut out, reckoning);
    price(&mut out, reckoning);
    cautions(&mut out, reckoning, notes);
    let _ = writeln!(out, "\nWritten");
    for file in files {
        let _ = writeln!(out, "  {file}");
    }
    out
}

/// One line when it stands; otherwise a line for every piece that doesn't, with the reason.
fn verdict(reckoning: &Reckoning, verdicts: &[String]) -> String {
    if reckoning.does_stand() {
        return "STANDS: every piece stays where it was put.\n".to_owned();
    }
    let mut out = "DOES NOT STAND\n".to_owned();
    for line in verdicts {
        let _ = writeln!(out, "  {line}");
    }
    out
}

fn stands(out: &mut String, reckoning: &Reckoning) {
    let _ = writeln!(
        out,
        "\nStands    piece   moved     turned   tips at   slide margin   ballast"
    );
    if reckoning.stands.settled.is_none() {
        let _ = writeln!(out, "  not settled: mend what is said above first");
    }
    for piece in &reckoning.stands.pieces {
        let or_dash = |figure: &Option<Figure>| figure.as_ref().map_or("–".to_owned(), shown);
        let _ = writeln!(
            out,
            "  {}  {:>7}  {:>8}  {:>7}  {:>8}  {:>13}  {:>8}",
            if piece.stands { "stands" } else { "FALLS " },
            piece.tag.to_string(),
            shown(&piece.moved),
            shown(&piece.turned),
            or_dash(&piece.tip_angle),
            or_dash(&piece.slide_margin),
            or_dash(&piece.ballast_stone),
        );
    }
}

fn ground(out: &mut String, reckoning: &Reckoning) {
    let _ = writeln!(out, "\nGround");
    for laid in &reckoning.ground.materials {
        let bags = laid
            .bags
            .as_ref()
            .map(|b| {
                format!(
                    ", {:.0} bag{}",
                    b.value,
                    if b.value == 1.0 { "" } else { "s" }
                )
            })
            .unwrap_or_default();
        let _ = writeln!(
            out,
            "  {}: {}, {}{bags}",
            laid.name,
            shown(&laid.volume),
            shown(&laid.mass)
        );
    }
    for slope in &reckoning.ground.slopes {
        let _ = writeln!(
            out,
            "  will slide: {} at {:.0}, {:.0} mm: {} over {}",
            slope.material,
            slope.place_mm[0],
            slope.place_mm[1],
            shown(&slope.slope),
            shown(&slope.repose)
        );
    }
}

fn water_and_weight(out: &mut String, reckoning: &Reckoning) {
    let (water, weight) = (&reckoning.water, &reckoning.weight);
    let _ = writeln!(
        out,
        "\nWater\n  {} in the tank, {} of it above the ground",
        shown(&water.water),
        shown(&water.free)
    );
    let _ = writeln!(out, "\nWeight");
    for (what, figure) in [
        ("empty tank", &weight.empty_tank),
        ("water", &weight.water),
        ("ground", &weight.ground),
        ("stone", &weight.stone),
        ("wood", &weight.wood),
        ("total", &weight.total),
    ] {
        let _ = writeln!(out, "  {what:<11}{:>11}", shown(figure));
    }
    let _ = writeln!(
        out,
        "  centre of mass {} from the left glass, {} from the front glass",
        shown(&weight.centre_x),
        shown(&weight.centre_y)
    );
}

fn price(out: &mut String, reckoning: &Reckoning) {
    let _ = writeln!(out, "\nPrice");
    for line in &reckoning.price.lines {
        let sum = line.sum.map_or("no price".to_owned(), |m| m.to_string());
        let count = if line.count == 1 {
            String::new()
        } else {
            format!("{} × ", line.count)
        };
        let _ = writeln!(out, "  {:<28}{sum:>14}", format!("{count}{}", line.what));
    }
    if let Some(sum) = reckoning.price.sum {
        let _ = writeln!(out, "  {:<28}{:>14}", "sum", sum.to_string());
    }
}

fn cautions(out: &mut String, reckoning: &Reckoning, notes: &[String]) {
    let _ = writeln!(out, "\nCautions");
    for note in notes {
        let _ = writeln!(out, "  {note}");
    }
    let verdict: Vec<Caution> = reckoning
        .findings()
        .filter(|finding| finding.spoils_standing())
        .map(Finding::caution)
        .collect();
    let mut said: Vec<&Caution> = Vec::new();
    for caution in reckoning.cautions() {
        if !verdict.contains(caution) && !said.contains(&caution) {
            said.push(caution);
        }
    }
    said.sort_by_key(|caution| std::cmp::Reverse(caution.severity));
    for caution in said {
        let mark = if caution.severity == Severity::Danger {
            "! "
        } else {
            "  "
        };
        let _ = writeln!(out, "{mark}{}", caution.text);
    }
}

/// A figure as people read it: `≈` before what is estimated, `(assumed)` behind what is assumed.
fn shown(figure: &Figure) -> String {
    let size = figure.value.abs();
    let places = if size >= 100.0 {
        0
    } else if size >= 10.0 {
        1
    } else {
        2
    };
    let unit = match figure.unit.as_str() {
        "" => String::new(),
        "deg" => "°".to_owned(),
        unit => format!(" {unit}"),
    };
    let value = format!("{:.places$}{unit}", figure.value);
    match figure.certainty {
        Certainty::Measured => value,
        Certainty::Estimated => format!("≈{value}"),
        Certainty::Assumed => format!("{value} (assumed)"),
    }
}
