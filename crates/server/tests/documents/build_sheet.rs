//! The build sheet as printed: what it says, and that nothing is lost.

use crate::raster::Document;
use method::{Certainty, Severity};
use server::documents::build_sheet::{
    self, Amount, BuildSheet, GroundLine, Group, Line, Note, NotePicture, PieceLine,
};
use server::documents::paper::Paper;
use server::documents::units::Units;
use std::sync::Arc;

fn estimated(value: f64, unit: &str) -> Amount {
    Amount {
        certainty: Certainty::Estimated,
        ..Amount::measured(value, unit)
    }
}

fn piece(order: usize, tag: &str, material: &str, mass: Amount, stands: bool) -> PieceLine {
    let k = order as f64;
    PieceLine {
        order,
        tag: tag.into(),
        material: material.into(),
        mass,
        size_mm: [240.0 - 9.0 * k, 170.0 - 7.0 * k, 260.0 - 20.0 * k],
        at_mm: [300.0 + 40.0 * k, 260.0 - 11.0 * k],
        turn_deg: 20.0 * k,
        pose: format!("pose {order}"),
        bury_mm: if order % 2 == 1 { 12.0 } else { 0.0 },
        base_mm: 28.0 + k,
        top_mm: 288.0 - 20.0 * k,
        rests_on: if order == 3 {
            vec!["S-0148".into(), "ground".into()]
        } else {
            vec!["ground".into()]
        },
        tips_at: Some(estimated(21.0 + k, "deg")),
        ballast: (order == 3).then(|| estimated(0.84, "kg")),
        stands,
    }
}

fn line(name: &str, words: &str) -> Line {
    Line {
        name: name.into(),
        words: words.into(),
        warm: false,
    }
}

/// A gradient of `width` × `height` pixels.
fn picture(caption: &str, width_px: u32, height_px: u32) -> NotePicture {
    let pixel = |k: u32| {
        let (x, y) = (k % width_px, k / width_px);
        [
            (90 + x * 120 / width_px) as u8,
            (120 + y * 100 / height_px) as u8,
            150,
        ]
    };
    let rgb = (0..width_px * height_px).flat_map(pixel).collect();
    NotePicture {
        caption: caption.into(),
        width_px,
        height_px,
        rgb: Arc::new(rgb),
    }
}

fn build_sheet() -> BuildSheet {
    BuildSheet {
        title: "Two banks, one root".into(),
        date: "2026-03-14".into(),
        tank: "Tank outside 900 × 450 × 450 mm, inside 880 × 430 × 440 mm; walls 10 mm, base 10 mm; water line 405 mm above the base.".into(),
        falls: vec![],
        pictures: vec![picture("From the front", 480, 240), picture("From above", 480, 235)],
        pieces: vec![
            piece(1, "S-0148", "fissured slate of the upper quarry", Amount::measured(14.62, "kg"), true),
            piece(2, "S-0152", "fissured slate of the upper quarry", Amount::measured(23.1, "kg"), true),
            piece(3, "W-0207", "bog oak", estimated(2.34, "kg"), true),
        ],
        ground: vec![
            GroundLine { name: "lava split 8–12 mm".into(), volume: estimated(14.2, "L"), mass: estimated(11.4, "kg"), bags: Some(estimated(2.0, "")) },
            GroundLine { name: "river sand".into(), volume: estimated(9.1, "L"), mass: estimated(14.6, "kg"), bags: None },
        ],
        water: Some(estimated(121.0, "L")),
        total: Some(estimated(231.0, "kg")),
        groups: vec![
            Group { name: "Stands".into(), lines: vec![line("S-0148", "stands, moved ≈ 0.4 mm, tips at ≈ 22°")] },
            Group { name: "Price".into(), lines: vec![line("sum", "214.50 EUR")] },
        ],
        cautions: vec![
            Note { severity: Severity::Danger, words: "The whole weighs over 200 kg: let the floor be checked by a structural engineer.".into() },
            Note { severity: Severity::Note, words: "W-0207 breaks the surface by 12 mm".into() },
        ],
        paper: Paper::A4,
        units: Units::Metric,
    }
}

fn text_of(name: &str, sheet: &BuildSheet) -> String {
    Document::new(name, &build_sheet::render(sheet).unwrap()).text()
}

/// The words with every run of white space as one space.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn lists_steps_and_cautions_are_all_there() {
    let sheet = build_sheet();
    let text = flat(&text_of("build", &sheet));
    for words in [
        "Two banks, one root",
        "2026-03-14",
        "S-0148",
        "S-0152",
        "W-0207",
        "bog oak",
        "14.6 kg",
        "≈ 2.34 kg",
        "lava split 8–12 mm",
        "river sand",
        "Mat and level stand",
        "Base protection",
        "Place S-0148",
        "Place W-0207",
        "Hold floating wood down",
        "Fill slowly",
        "Reckoning",
        "214.50 EUR",
        "breaks the surface",
        "sheet 1 of",
    ] {
        assert!(text.contains(words), "“{words}” is missing");
    }
    assert!(!text.contains("does not stand"));
}

#[test]
fn what_falls_is_said_first() {
    let mut sheet = build_sheet();
    sheet.falls = vec![
        "S-0152 falls 34 mm and turns 41° when it is let go: it doesn't stand where it was put"
            .into(),
    ];
    sheet.pieces[1].stands = false;
    let text = text_of("falls", &sheet);
    let at = |words: &str| {
        text.find(words)
            .unwrap_or_else(|| panic!("“{words}” is missing"))
    };
    assert!(at("This layout does not stand") < at("Pieces, in the order of placing"));
    assert!(at("S-0152 falls 34 mm") < at("From the front"));
    assert!(flat(&text).contains("IT DOES NOT STAY THERE"));
}

#[test]
fn the_order_of_work_is_the_order_of_the_layout() {
    let text = text_of("order", &build_sheet());
    let at = |words: &str| {
        text.find(words)
            .unwrap_or_else(|| panic!("“{words}” is missing"))
    };
    let steps = [
        "Mat and level stand",
        "Base protection and setting-out",
        "Ground: lava split",
        "Ground: river sand",
        "Place S-0148",
        "Place S-0152",
        "Place W-0207",
        "Hold floating wood down",
        "Check before water",
        "Fill slowly",
    ];
    for pair in steps.windows(2) {
        assert!(at(pair[0]) < at(pair[1]), "{pair:?}");
    }
}

#[test]
fn us_units_are_written_instead_or_in_brackets() {
    let us = flat(&text_of(
        "us",
        &BuildSheet {
            units: Units::Us,
            ..build_sheet()
        },
    ));
    // 14.62 kg ÷ 0.45359237 kg/lb = 32.2 lb; 340 mm ÷ 25.4 = 13 3/8 in.
    assert!(
        us.contains("32.2 lb") && us.contains("13 3/8 in from the left glass"),
        "{us}"
    );
    assert!(!us.contains("14.6 kg"));
    let both = flat(&text_of(
        "both",
        &BuildSheet {
            units: Units::Both,
            ..build_sheet()
        },
    ));
    assert!(
        both.contains("340 mm (13 3/8 in) from the left glass"),
        "{both}"
    );
}

#[test]
fn the_same_description_gives_the_same_bytes() {
    let sheet = build_sheet();
    assert_eq!(
        build_sheet::render(&sheet).unwrap(),
        build_sheet::render(&sheet).unwrap()
    );
}

#[test]
fn long_lists_and_hostile_words_stay_on_the_paper() {
    let hostile =
        "Ein sehr langer Titel 水草 \u{202e}gnirts z\u{301}\u{301}\u{301}\u{301} unbrechbaresWort"
            .repeat(9);
    for paper in [Paper::A4, Paper::Letter, Paper::A3, Paper::Sheet] {
        for units in [Units::Metric, Units::Us, Units::Both] {
            let mut sheet = BuildSheet {
                paper,
                units,
                title: hostile.clone(),
                tank: hostile.clone(),
                ..build_sheet()
            };
            sheet.pieces = (1..60)
                .map(|k| {
                    piece(
                        k,
                        "S-0148",
                        &hostile[..40],
                        Amount::measured(3.0, "kg"),
                        true,
                    )
                })
                .collect();
            sheet.falls = vec![hostile.clone(); 40];
            sheet.cautions[0].words = hostile.clone();
            sheet.pictures[0].caption = hostile.clone();
            for page in build_sheet::sheets(&sheet).unwrap() {
                let beyond = page.beyond_paper();
                assert!(
                    beyond.is_empty(),
                    "{paper:?} {}: {:?}",
                    page.name,
                    beyond[0]
                );
            }
        }
    }
}

#[test]
fn a_picture_that_is_too_short_is_refused() {
    let mut sheet = build_sheet();
    sheet.pictures[0].height_px += 1;
    assert!(build_sheet::render(&sheet).is_err());
}
