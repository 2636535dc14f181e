//! Documents described from a layout: true places, settled or not.

use glam::{DQuat, DVec3};
use method::{Certainty, Figure};
use server::documents::build_sheet::{self, Pictures};
use server::documents::setting_out::{self, PieceOutline};
use server::documents::{Particulars, Placing, Touch};
use solid::measure::{MeasureOptions, measure};
use solid::{Mesh, Pose};
use std::sync::Arc;
use workshop::findings::{Finding, Moved};
use workshop::reckoning::{Ground, MaterialLaid, PieceStands, Price, Stands, Water, Weight};
use workshop::{
    GroundPlan, Layout, Mass, Piece, PieceMaterial, Placed, Reckoning, Shape, Surroundings, Tank,
};

/// A box of these sides whose frame's origin is its lower left front corner.
fn cuboid(x: f64, y: f64, z: f64) -> Mesh {
    let corner = |k: usize| {
        DVec3::new(
            x * (k & 1) as f64,
            y * (k >> 1 & 1) as f64,
            z * (k >> 2) as f64,
        )
    };
    let quads = [
        [0, 2, 3, 1],
        [4, 5, 7, 6],
        [0, 1, 5, 4],
        [2, 6, 7, 3],
        [0, 4, 6, 2],
        [1, 3, 7, 5],
    ];
    let triangles = quads
        .iter()
        .flat_map(|q| [[q[0], q[1], q[2]], [q[0], q[2], q[3]]])
        .collect();
    Mesh {
        vertices_m: (0..8).map(corner).collect(),
        triangles,
        colours: vec![],
    }
}

fn placed(tag: &str, sides_m: [f64; 3], centre_m: DVec3, turn_deg: f64) -> Placed {
    let material = PieceMaterial {
        name: "slate".into(),
        density_kg_m3: 2700.0,
        friction: 0.6,
        certainty: Certainty::Estimated,
    };
    let block = cuboid(sides_m[0], sides_m[1], sides_m[2]);
    let measured = measure(&block, &MeasureOptions::default()).unwrap();
    let shape = Shape::new(Arc::new(measured));
    let piece = Piece::new(tag.parse().unwrap(), material, shape, None, None).unwrap();
    let turn = DQuat::from_rotation_z(turn_deg.to_radians());
    Placed {
        piece: Arc::new(piece),
        pose: Pose { centre_m, turn },
        bedded: false,
    }
}

fn layout() -> Layout {
    Layout {
        title: "Two blocks".into(),
        tank: Tank {
            outside_m: DVec3::new(0.62, 0.32, 0.37),
            wall_m: 0.01,
            base_m: 0.01,
            water_line_m: 0.32,
            empty_mass_kg: None,
        },
        ground: GroundPlan::default(),
        placed: vec![
            placed(
                "S-0001",
                [0.2, 0.1, 0.06],
                DVec3::new(0.3, 0.15, 0.03),
                30.0,
            ),
            placed(
                "S-0002",
                [0.08, 0.06, 0.05],
                DVec3::new(0.3, 0.15, 0.085),
                0.0,
            ),
        ],
        surroundings: Surroundings::default(),
    }
}

fn figure(value: f64, unit: &str) -> Figure {
    Figure::new(
        value,
        unit,
        Certainty::Estimated,
        "stated by the test",
        "the test",
    )
}

/// A reckoning in which the second piece settles 5 mm to the right, or falls.
fn reckoning(layout: &Layout, second_stands: bool) -> Reckoning {
    let stands = |i: usize, stands: bool, shift_m: f64| {
        let placed = &layout.placed[i];
        PieceStands {
            tag: placed.piece.tag(),
            stands,
            at_rest: true,
            settled: Pose {
                centre_m: placed.pose.centre_m + DVec3::X * shift_m,
                ..placed.pose
            },
            moved: figure(shift_m * 1e3, "mm"),
            turned: figure(0.0, "deg"),
            tip_angle: Some(figure(24.0, "deg")),
            slide_margin: None,
            lift_when_held_under: figure(-3.0, "N"),
            ballast_stone: None,
        }
    };
    let second = if second_stands {
        stands(1, true, 0.005)
    } else {
        stands(1, false, 0.12)
    };
    let moved = Moved::check(layout.placed[1].piece.tag(), 120.0, 55.0, 40.0).map(Finding::Moved);
    let findings = if second_stands {
        vec![]
    } else {
        moved.into_iter().collect()
    };
    let kg = |value: f64| figure(value, "kg");
    Reckoning {
        stands: Stands {
            settled: None,
            pieces: vec![stands(0, true, 0.0), second],
            findings,
            cautions: vec![],
        },
        ground: Ground {
            materials: vec![MaterialLaid {
                name: "sand".into(),
                volume: figure(8.0, "L"),
                mass: kg(12.8),
                bags: None,
            }],
            buried: figure(0.0, "L"),
            slopes: vec![],
            top: None,
            open_material: [].into(),
            findings: vec![],
            cautions: vec![],
        },
        water: Water {
            water: figure(55.0, "L"),
            free: figure(55.0, "L"),
            pore: None,
            displaced_by_pieces: figure(1.4, "L"),
            bare: figure(57.6, "L"),
            findings: vec![],
            cautions: vec![],
        },
        weight: Weight {
            empty_tank: kg(18.0),
            water: kg(55.0),
            ground: kg(12.8),
            stone: kg(3.9),
            wood: kg(0.0),
            total: kg(89.7),
            centre_x: figure(300.0, "mm"),
            centre_y: figure(150.0, "mm"),
            findings: vec![],
            cautions: vec![],
        },
        price: Price {
            lines: vec![],
            sum: None,
            total: None,
            findings: vec![],
            cautions: vec![],
        },
    }
}

fn particulars() -> Particulars {
    let touch = |with: &str, x: f64, y: f64, z: f64, up: f64| Touch {
        with: with.into(),
        point_m: DVec3::new(x, y, z),
        force_n: DVec3::Z * up,
    };
    Particulars {
        date: "2026-03-14".into(),
        placings: vec![
            Placing {
                turn_deg: 30.0,
                pose: Some(1),
                bury_mm: 0.0,
            },
            Placing {
                turn_deg: 0.0,
                pose: None,
                bury_mm: 0.0,
            },
        ],
        touches: vec![
            // The second block presses on the first from above.
            vec![
                touch("base", 0.25, 0.12, 0.0, 20.0),
                touch("base", 0.36, 0.18, 0.0, 20.0),
                touch("S-0002", 0.3, 0.15, 0.06, -6.4),
            ],
            vec![
                touch("S-0001", 0.27, 0.13, 0.06, 3.2),
                touch("S-0001", 0.33, 0.17, 0.06, 3.2),
            ],
        ],
        ..Particulars::default()
    }
}

fn bounds(piece: &PieceOutline) -> [f64; 4] {
    let points = piece.plan_mm.iter().flatten();
    points.fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, p| {
        [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)]
    })
}

#[test]
fn a_turned_block_is_drawn_where_it_lies() {
    let layout = layout();
    let sheet = setting_out::from_layout(&layout, &reckoning(&layout, true), &particulars());
    let block = &sheet.pieces[0];
    // Closed form: half extents of a 200 × 100 rectangle turned by 30°.
    let (sin, cos) = 30.0_f64.to_radians().sin_cos();
    let (hx, hy) = (100.0 * cos + 50.0 * sin, 100.0 * sin + 50.0 * cos);
    let expected = [300.0 - hx, 150.0 - hy, 300.0 + hx, 150.0 + hy];
    for (got, want) in bounds(block).into_iter().zip(expected) {
        assert!((got - want).abs() < 0.11, "{got} for {want}");
    }
    assert!(block.base_mm.abs() < 1e-9 && (block.top_mm - 60.0).abs() < 1e-9);
    assert_eq!((block.order, block.turn_deg, block.stands), (1, 30.0, true));
}

#[test]
fn a_piece_that_stands_is_drawn_settled_and_another_as_composed() {
    let layout = layout();
    for (stands, left_mm) in [(true, 265.0), (false, 260.0)] {
        let sheet = setting_out::from_layout(&layout, &reckoning(&layout, stands), &particulars());
        let second = &sheet.pieces[1];
        assert!(
            (bounds(second)[0] - left_mm).abs() < 0.11,
            "{} for {left_mm}",
            bounds(second)[0]
        );
        assert_eq!(second.stands, stands);
        assert_eq!(second.contacts.is_empty(), !stands);
    }
}

#[test]
fn only_what_carries_a_piece_is_a_contact_patch() {
    let layout = layout();
    let sheet = setting_out::from_layout(&layout, &reckoning(&layout, true), &particulars());
    let with = |i: usize| -> Vec<&str> {
        sheet.pieces[i]
            .contacts
            .iter()
            .map(|c| c.with.as_str())
            .collect()
    };
    assert_eq!(with(0), ["base", "base"]);
    assert_eq!(with(1), ["S-0001", "S-0001"]);
    assert_eq!(sheet.pieces[1].contacts[0].height_mm, 60.0);
}

#[test]
fn the_glass_is_the_tanks() {
    let layout = layout();
    let glass = setting_out::from_layout(&layout, &reckoning(&layout, true), &particulars()).glass;
    assert!(glass.inside_mm.distance(DVec3::new(600.0, 300.0, 360.0)) < 1e-9);
    assert!((glass.wall_mm - 10.0).abs() < 1e-9 && (glass.base_mm - 10.0).abs() < 1e-9);
    assert!((glass.water_line_mm.unwrap() - 320.0).abs() < 1e-9);
}

#[test]
fn the_build_sheet_says_what_the_reckoning_says() {
    let layout = layout();
    let sheet = build_sheet::from_layout(
        &layout,
        &reckoning(&layout, true),
        &particulars(),
        Pictures::default(),
    );
    assert!(sheet.falls.is_empty());
    let first = &sheet.pieces[0];
    assert_eq!(first.rests_on, ["base"]);
    assert_eq!(first.pose, "pose 1");
    assert_eq!(sheet.pieces[1].pose, "free turn");
    // 0.2 × 0.1 × 0.06 m × 2700 kg/m³.
    assert!((first.mass.value - 3.24).abs() < 1e-9);
    assert_eq!(
        layout.placed[0].piece.mass(),
        Mass {
            mass_kg: first.mass.value,
            certainty: Certainty::Estimated
        }
    );
    assert!((first.at_mm[0] - 300.0).abs() < 1e-9 && (first.at_mm[1] - 150.0).abs() < 1e-9);
    build_sheet::render(&sheet).unwrap();
}

#[test]
fn what_falls_is_named_with_its_reason() {
    let layout = layout();
    let sheet = build_sheet::from_layout(
        &layout,
        &reckoning(&layout, false),
        &particulars(),
        Pictures::default(),
    );
    assert_eq!(sheet.falls.len(), 1);
    assert!(
        sheet.falls[0].starts_with("S-0002 falls 55 mm"),
        "{}",
        sheet.falls[0]
    );
    assert!(!sheet.pieces[1].stands);
}
