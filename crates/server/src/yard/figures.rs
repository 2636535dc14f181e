//! A piece's numbers, each with where it comes from.

use method::Certainty;
use store::Piece;

use super::card::certainty;
use crate::{figure::Figure, taking_in::measures::Measures};

const INTEGRALS: &str = "B. Mirtich, Fast and accurate computation of polyhedral mass properties, J. Graphics Tools 1 (1996)";
const WINDING: &str = "A. Jacobson, L. Kavan, O. Sorkine-Hornung, Robust inside-outside segmentation using generalized winding numbers, ACM Trans. Graphics 32 (2013)";
const BOX: &str = "J. O'Rourke, Finding minimal enclosing boxes, Int. J. Computer and Information Sciences 14 (1985)";
const POSES: &str = "K. Goldberg et al., Part pose statistics: estimators and experiments, IEEE Trans. Robotics and Automation 15 (1999)";

/// A piece's figures.
#[must_use]
pub fn of(piece: &Piece, measures: &Measures) -> Vec<Figure> {
    let card = &piece.card;
    let figure = |key: &str,
                  label: &str,
                  value: f64,
                  unit: &str,
                  certainty,
                  relation: String,
                  source: &str| Figure {
        key: key.to_owned(),
        label: label.to_owned(),
        value: Some(value),
        unit: unit.to_owned(),
        certainty,
        relation,
        source: source.to_owned(),
    };
    let measured =
        |key: &str, label: &str, value: f64, unit: &str, relation: &str, source: &str| {
            figure(
                key,
                label,
                value,
                unit,
                Certainty::Measured,
                relation.to_owned(),
                source,
            )
        };
    let least_box = "box of least volume round the scan";
    let laid = "as it lies in its likeliest pose";
    let [long, mid, short] = card.size_mm;
    let [width, depth, height] = card.as_laid_mm;
    let mut all = vec![
        measured("long", "longest side", long, "mm", least_box, BOX),
        measured("mid", "middle side", mid, "mm", least_box, BOX),
        measured("short", "shortest side", short, "mm", least_box, BOX),
        measured("width", "width as it lies", width, "mm", laid, POSES),
        measured("depth", "depth as it lies", depth, "mm", laid, POSES),
        measured("height", "height as it lies", height, "mm", laid, POSES),
    ];
    let (relation, source) = if measures.approximate {
        let off = format!(
            "counted on a grid, as the scan is not closed; off by up to {:.3} L",
            measures.volume_error_l
        );
        (off, WINDING)
    } else {
        ("integral over the closed scan".to_owned(), INTEGRALS)
    };
    let volume_certainty = measures.volume_certainty();
    all.push(figure(
        "volume",
        "volume",
        measures.volume_l,
        "L",
        volume_certainty,
        relation,
        source,
    ));
    all.push(measured(
        "area",
        "surface",
        measures.area_cm2,
        "cm²",
        "sum of the scan's triangles",
        "definition of area",
    ));
    all.extend(masses(piece, measures));
    all
}

fn masses(piece: &Piece, measures: &Measures) -> [Figure; 3] {
    let card = &piece.card;
    let known = certainty(card.mass_certainty);
    let (relation, source) = if known == Certainty::Measured {
        ("on the scale".to_owned(), "weighed in the workshop")
    } else {
        let words = format!(
            "{:.0} kg/m³ × {:.3} L of the scan",
            piece.density_kg_m3, measures.volume_l
        );
        (words, "density of the material as entered")
    };
    let figure = |key: &str,
                  label: &str,
                  value: f64,
                  unit: &str,
                  certainty,
                  relation: String,
                  source: &str| Figure {
        key: key.to_owned(),
        label: label.to_owned(),
        value: Some(value),
        unit: unit.to_owned(),
        certainty,
        relation,
        source: source.to_owned(),
    };
    [
        figure("mass", "mass", card.mass_kg, "kg", known, relation, source),
        figure(
            "density",
            "density of the piece",
            card.mass_kg / measures.volume_l * 1e3,
            "kg/m³",
            known
                .max(measures.volume_certainty())
                .max(Certainty::Estimated),
            "mass ÷ volume".to_owned(),
            "definition of density",
        ),
        figure(
            "friction",
            "friction on its kind",
            piece.friction,
            "",
            Certainty::Assumed,
            "entered for the material, or the usual 0.6".to_owned(),
            "common practice, no source",
        ),
    ]
}
