//! The setting-out sheet as printed: measured on the rasterised pages.

use crate::fixture::{Layout, setting_out};
use crate::raster::{Document, PX_PER_MM};
use server::documents::drawing::{Area, Mark};
use server::documents::paper::Paper;
use server::documents::setting_out::{self, SettingOut, Tiling};
use server::documents::units::Units;

fn printed(name: &str, description: &SettingOut) -> Document {
    Document::new(name, &setting_out::render(description).unwrap())
}

/// The plan's extent, stated apart from the code that draws it: the outside of
/// the glass and 15 mm of paper round it, the back at the top.
fn plan_area(description: &SettingOut) -> Area {
    let glass = &description.glass;
    Area::at(
        0.0,
        -glass.inside_mm.y,
        glass.inside_mm.x,
        glass.inside_mm.y,
    )
    .grown(glass.wall_mm + 15.0)
}

#[test]
fn the_control_square_measures_100_mm_at_300_dpi() {
    for (name, paper) in [
        ("a4", Paper::A4),
        ("letter", Paper::Letter),
        ("a3", Paper::A3),
        ("sheet", Paper::Sheet),
    ] {
        let description = SettingOut {
            paper,
            ..setting_out(Layout::Small)
        };
        let document = printed(&format!("control-{name}"), &description);
        let page = document.raster(1);
        let (left, top) = if paper == Paper::Sheet {
            (15.0, page.height_mm() - 115.0)
        } else {
            (10.0, 10.0)
        };
        // Between the ticks, where only the two sides cross the row or column.
        let (x0, x1) = (
            page.upright_line_mm(left, top + 57.0),
            page.upright_line_mm(left + 100.0, top + 57.0),
        );
        let (y0, y1) = (
            page.level_line_mm(left + 57.0, top),
            page.level_line_mm(left + 57.0, top + 100.0),
        );
        assert!((x1 - x0 - 100.0).abs() < 0.2, "{name}: {} mm wide", x1 - x0);
        assert!((y1 - y0 - 100.0).abs() < 0.2, "{name}: {} mm high", y1 - y0);
    }
}

#[test]
fn the_inside_length_holds_across_joined_tiles() {
    let description = setting_out(Layout::Middle);
    let document = printed("joined", &description);
    let plan = plan_area(&description);
    let tiling = Tiling::fewest(plan, Paper::A4.sides_mm().unwrap()).unwrap();
    assert!(tiling.columns > 1 && tiling.rows > 1);
    // From the left inside line to the first cross, from cross to cross, to the
    // right inside line: each measured on its own sheet, as they are taped.
    let row = 0;
    let mut total = 0.0;
    for tile in tiling.tiles().iter().filter(|t| t.row == row) {
        let page = document.raster(tile.column + 2);
        let on_paper = |plan_x: f64| plan_x - tile.area.min.x + 10.0;
        let band = 10.0 + tiling.tile_mm.y * 0.3 - 3.2;
        let seam_right = tile.area.max.x - setting_out::OVERLAP_MM / 2.0;
        let seam_left = tile.area.min.x + setting_out::OVERLAP_MM / 2.0;
        let from = if tile.column == 0 {
            page.upright_line_mm(on_paper(0.0), page.height_mm() / 2.0)
        } else {
            page.upright_line_mm(on_paper(seam_left), band)
        };
        let to = if tile.column + 1 == tiling.columns {
            page.upright_line_mm(
                on_paper(description.glass.inside_mm.x),
                page.height_mm() / 2.0,
            )
        } else {
            page.upright_line_mm(on_paper(seam_right), band)
        };
        total += to - from;
    }
    let length = description.glass.inside_mm.x;
    assert!((total - length).abs() < 0.3, "{total} for {length}");
}

#[test]
fn every_page_says_all_it_must() {
    let description = setting_out(Layout::Large);
    let document = printed("text", &description);
    let text = document.text();
    for piece in &description.pieces {
        assert!(text.contains(&piece.tag), "{} is missing", piece.tag);
        assert!(
            text.contains(&format!("turn {}", piece.turn_deg.round()).replace('-', "−")),
            "turn of {}",
            piece.tag
        );
    }
    for words in [
        "FRONT GLASS",
        "Control square",
        "1:10",
        "front elevation",
        "A1",
        "B2",
    ] {
        assert!(text.contains(words), "“{words}” is missing");
    }
    assert!(text.contains(&description.title));
    assert!(text.contains(&description.date));
}

#[test]
fn sizes_in_two_units_are_written_out_in_full() {
    for paper in [Paper::A4, Paper::Letter, Paper::Sheet] {
        let description = SettingOut {
            paper,
            units: Units::Both,
            ..setting_out(Layout::Large)
        };
        let text = printed(&format!("both-{paper:?}"), &description).text();
        let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
        // 1776 mm = 69.92 in, 576 mm = 22.68 in, 588 mm = 23.15 in.
        let size = "1776 (69 15/16″) × 576 (22 11/16″) × 588 (23 1/8″)";
        assert!(flat.contains(size), "{paper:?}");
        assert!(!flat.contains('…'), "{paper:?}");
    }
}

#[test]
fn the_names_of_the_glass_lie_over_a_piece_that_reaches_through_it() {
    let mut description = setting_out(Layout::Small);
    description.paper = Paper::Sheet;
    description.pieces[0].plan_mm = vec![Area::at(20.0, -20.0, 260.0, 120.0).ring()];
    let sheets = setting_out::sheets(&description).unwrap();
    let Some(Mark::Window(plan)) = sheets[0].drawing.marks.first() else {
        panic!("the plan is the first mark");
    };
    let marks = &plan.drawing.marks;
    let name = marks
        .iter()
        .position(|m| matches!(m, Mark::Text(t) if t.words == "FRONT GLASS"));
    let outline = marks.iter().rposition(|m| {
        matches!(m, Mark::Lines(l) if l.strands.iter().any(|s| s.closed && s.points.len() == 4 && l.fill.is_none()))
    });
    assert!(name.unwrap() > outline.unwrap());
}

#[test]
fn every_sheet_says_which_piece_does_not_stand() {
    for paper in [Paper::A4, Paper::Sheet] {
        let mut description = SettingOut {
            paper,
            ..setting_out(Layout::Small)
        };
        let n_sheets = setting_out::sheets(&description).unwrap().len();
        let said = |d: &SettingOut| {
            printed(&format!("falls-{paper:?}"), d)
                .text()
                .matches("Does not stand")
                .count()
        };
        assert_eq!(said(&description), 0);
        description.pieces[1].stands = false;
        assert_eq!(said(&description), n_sheets);
    }
}

#[test]
fn the_same_description_gives_the_same_bytes() {
    let description = setting_out(Layout::Middle);
    assert_eq!(
        setting_out::render(&description).unwrap(),
        setting_out::render(&description).unwrap()
    );
}

#[test]
fn nothing_reaches_over_the_paper() {
    let hostile =
        "Ein sehr langer Titel 水草 \u{202e}gnirts\u{202c} z\u{301}\u{301}\u{301}\u{301} "
            .repeat(12);
    for layout in [Layout::Small, Layout::Middle, Layout::Large] {
        for paper in [Paper::A4, Paper::Letter, Paper::A3, Paper::Sheet] {
            for units in [Units::Metric, Units::Us, Units::Both] {
                let mut description = SettingOut {
                    paper,
                    units,
                    title: hostile.clone(),
                    ..setting_out(layout)
                };
                description.pieces[0].tag = hostile.clone();
                for sheet in setting_out::sheets(&description).unwrap() {
                    let beyond = sheet.beyond_paper();
                    assert!(
                        beyond.is_empty(),
                        "{paper:?} {}: {:?}",
                        sheet.name,
                        beyond[0]
                    );
                }
            }
        }
    }
}

#[test]
fn hatching_stays_inside_its_outline() {
    // One stone alone on the base; outside its outline the paper must be blank
    // up to the centre lines, which this stone doesn't touch.
    let mut description = setting_out(Layout::Small);
    description.ground = None;
    description.pieces.truncate(1);
    description.pieces[0].contacts.clear();
    let middle = glam::DVec2::new(75.0, 75.0);
    let ring: Vec<_> = (0..180)
        .map(|i| middle + glam::DVec2::from_angle(f64::from(i) * 2.0_f64.to_radians()) * 40.0)
        .collect();
    description.pieces[0].plan_mm = vec![ring];
    description.paper = Paper::Sheet;
    let document = printed("hatch", &description);
    let page = document.raster(1);
    let plan = plan_area(&description);
    let corner = glam::DVec2::new((page.width_mm() - plan.size().x) / 2.0, 15.0);
    let on_paper = corner + (glam::DVec2::new(middle.x, -middle.y) - plan.min);
    let (mut outside, mut inside) = (0, 0);
    for iy in 0..(96.0 * PX_PER_MM) as usize {
        for ix in 0..(96.0 * PX_PER_MM) as usize {
            let d = glam::DVec2::new(ix as f64, iy as f64) / PX_PER_MM - 48.0;
            let dark = page.is_dark(on_paper + d);
            if d.length() > 40.4 && dark {
                outside += 1;
            } else if d.length() < 39.0 && dark {
                inside += 1;
            }
        }
    }
    assert_eq!(outside, 0);
    assert!(inside > 1000, "{inside} dark pixels of hatching");
}

#[test]
fn numbers_that_cant_be_drawn_are_refused() {
    let mut description = setting_out(Layout::Small);
    description.pieces[0].plan_mm[0][0].x = f64::NAN;
    assert!(setting_out::render(&description).is_err());
    let mut description = setting_out(Layout::Small);
    description.glass.inside_mm.x = 1e9;
    assert!(setting_out::render(&description).is_err());
}
