//! The reckoning of small layouts against closed forms, and what it keeps between changes.
//!
//! Wanted values are elementary geometry and statics, written beside each check.

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};
use layout::ground::{Bed, BedPoint, By, Material, Region};
use method::Certainty;
use solid::{
    Mesh, Pose,
    measure::{MeasureOptions, measure},
};
use workshop::{
    Currency, GroundMaterial, GroundPlan, Layout, Memo, Money, Piece, PieceMaterial, Placed,
    Reckoning, Shape, Surroundings, Tag, Tank, findings::Finding, reckon,
};

fn euro(minor: i64) -> Money {
    Money::new(minor, Currency::new("EUR").expect("three letters"))
}

/// A box of stone or wood; its density is 2600 or 600 kg/m³ when it isn't weighed.
fn piece(tag: &str, size_m: [f64; 3], weighed_kg: Option<f64>, price: Option<i64>) -> Arc<Piece> {
    let tag: Tag = tag.parse().expect("a good tag");
    let density_kg_m3 = match tag.kind() {
        workshop::PieceKind::Stone => 2600.0,
        workshop::PieceKind::Wood => 600.0,
    };
    let material = PieceMaterial {
        name: tag.kind().word().to_owned(),
        density_kg_m3,
        friction: 0.6,
        certainty: Certainty::Assumed,
    };
    let measured = measure(&Mesh::cuboid(size_m.into()), &MeasureOptions::default());
    let shape = Shape::new(Arc::new(measured.expect("a box")));
    let piece = Piece::new(tag, material, shape, weighed_kg, price.map(euro));
    Arc::new(piece.expect("a good piece"))
}

fn at(piece: &Arc<Piece>, centre_m: [f64; 3], bedded: bool) -> Placed {
    Placed {
        piece: piece.clone(),
        pose: Pose {
            centre_m: centre_m.into(),
            turn: DQuat::IDENTITY,
        },
        bedded,
    }
}

/// Inside 600 × 300 × 360 mm, 50 mm of gravel, water at 300 mm.
fn layout(placed: Vec<Placed>) -> Layout {
    let gravel = Material {
        name: "gravel".to_owned(),
        bulk_density_kg_m3: 1500.0,
        grain_density_kg_m3: Some(2500.0),
        grain_m: None,
        angle_of_repose_rad: 35_f64.to_radians(),
        bag_m3: Some(0.004),
    };
    Layout {
        title: "two stones".to_owned(),
        tank: Tank {
            outside_m: DVec3::new(0.62, 0.32, 0.37),
            wall_m: 0.01,
            base_m: 0.01,
            water_line_m: 0.3,
            empty_mass_kg: None,
        },
        ground: GroundPlan {
            materials: vec![GroundMaterial {
                material: gravel,
                certainty: Certainty::Measured,
                bag_price: Some(euro(650)),
            }],
            beds: vec![Bed {
                material: 0,
                region: Region::All,
                by: By::Thickness,
                points: vec![BedPoint {
                    place_m: DVec2::new(0.1, 0.1),
                    value_m: 0.05,
                }],
            }],
        },
        placed,
        surroundings: Surroundings::default(),
    }
}

/// One stone 20 mm deep in the ground, one on top of it.
fn two_stones() -> Layout {
    let sunk = piece("S-0001", [0.1, 0.1, 0.1], Some(2.6), Some(1250));
    let lying = piece("S-0002", [0.08, 0.06, 0.05], Some(0.6), Some(400));
    layout(vec![
        at(&sunk, [0.15, 0.15, 0.08], true),
        at(&lying, [0.42, 0.15, 0.075], false),
    ])
}

/// Two stones on the ground.
fn two_lying() -> Layout {
    let mut layout = two_stones();
    layout.placed[0].pose.centre_m.z = 0.1;
    layout.placed[0].bedded = false;
    layout
}

fn fresh(layout: &Layout) -> Reckoning {
    reckon(layout, &mut Memo::default()).expect("a good layout")
}

fn near(got: f64, want: f64) {
    assert!(
        (got - want).abs() <= 1e-9 * want.abs().max(1e-6),
        "got {got}, wanted {want}"
    );
}

#[test]
fn a_layout_that_stands_says_so() {
    let reckoning = fresh(&two_lying());
    assert!(reckoning.does_stand(), "{:?}", reckoning.stands);
    assert_eq!(reckoning.stands.pieces.len(), 2);
    for piece in &reckoning.stands.pieces {
        assert!(piece.stands && piece.at_rest);
        assert!(piece.moved.value < 1.0, "{:?}", piece.moved);
        assert!(piece.ballast_stone.is_none());
    }
}

#[test]
fn litres_are_those_of_boxes() {
    let reckoning = fresh(&two_stones());
    // 9 L of bed, 0.2 L of the sunk stone in it.
    near(reckoning.ground.materials[0].volume.value, 8.8);
    near(reckoning.ground.materials[0].mass.value, 13.2);
    near(reckoning.ground.buried.value, 0.2);
    let bags = reckoning.ground.materials[0].bags.as_ref();
    assert_eq!(bags.map(|b| b.value), Some(3.0));
    // 54 L to the line; 9 L of ground with the buried part; 0.8 L and 0.24 L of stone above it.
    near(reckoning.water.bare.value, 54.0);
    near(reckoning.water.free.value, 54.0 - 9.0 - 0.8 - 0.24);
    near(reckoning.water.water.value, 43.96 + 0.4 * 8.8);
}

#[test]
fn weights_add_up_and_bear_where_statics_says() {
    let reckoning = fresh(&two_stones());
    let weight = &reckoning.weight;
    // Water at 20 °C: 998.206 kg/m³ (Millero and Poisson 1981, as in layout::settle::water).
    let rho = 998.206;
    let water = (43.96 + 0.4 * 8.8) * 1e-3 * rho;
    let glass = 2500.0 * (0.62 * 0.32 * 0.37 - 0.6 * 0.3 * 0.36);
    near(weight.empty_tank.value, glass);
    assert!((weight.water.value - water).abs() < 1e-4);
    near(weight.stone.value, 3.2);
    assert_eq!(weight.stone.certainty, Certainty::Measured);
    near(weight.wood.value, 0.0);
    assert!((weight.total.value - (glass + water + 13.2 + 3.2)).abs() < 1e-4);
    // All is even about x = 300 mm but for the stones, and what they keep out: the sunk
    // one 0.8 L of water and 0.2 L of wet ground (1500 + 0.4 ρ), the other 0.24 L of water.
    let sunk = 2.6 - 0.8e-3 * rho - 0.2e-3 * (1500.0 + 0.4 * rho);
    let lying = 0.6 - 0.24e-3 * rho;
    let shift = (sunk * (0.15 - 0.3) + lying * (0.42 - 0.3)) / weight.total.value;
    assert!((weight.centre_x.value - 1e3 * (0.3 + shift)).abs() < 1e-3);
    assert!((weight.centre_y.value - 150.0).abs() < 1e-6);
}

#[test]
fn the_price_is_exact_to_the_cent() {
    let reckoning = fresh(&two_stones());
    assert_eq!(reckoning.price.sum, Some(euro(1250 + 400 + 3 * 650)));
    assert!(reckoning.price.findings.is_empty());
}

#[test]
fn what_has_no_price_is_named_and_left_out() {
    let mut layout = two_stones();
    layout.placed[1].piece = piece("S-0002", [0.08, 0.06, 0.05], Some(0.6), None);
    layout.ground.materials[0].bag_price = Some(Money::new(
        700,
        Currency::new("USD").expect("three letters"),
    ));
    let price = fresh(&layout).price;
    assert_eq!(price.sum, None, "two currencies make no sum");
    let named: Vec<&str> = price
        .findings
        .iter()
        .filter_map(|finding| match finding {
            Finding::PriceMissing(missing) => Some(missing.what.as_str()),
            _ => None,
        })
        .collect();
    assert_eq!(named, ["S-0002", "the sum"]);
}

#[test]
fn a_stone_without_support_is_found_to_fall() {
    let mut layout = two_lying();
    layout.placed[1].pose.centre_m.z += 0.06;
    let reckoning = fresh(&layout);
    assert!(!reckoning.does_stand());
    let fell = reckoning.findings().find_map(|finding| match finding {
        Finding::Moved(moved) => Some((moved.tag.to_string(), moved.fell_mm)),
        _ => None,
    });
    let (tag, fell_mm) = fell.expect("a finding");
    assert_eq!(tag, "S-0002");
    assert!((fell_mm - 60.0).abs() < 1.0, "{fell_mm}");
    assert!(!reckoning.stands.pieces[1].stands && reckoning.stands.pieces[0].stands);
}

#[test]
fn two_stones_in_one_place_are_not_proved_to_stand() {
    let mut layout = two_stones();
    layout.placed[1].pose.centre_m.x = 0.19;
    let reckoning = fresh(&layout);
    assert!(!reckoning.does_stand());
    let unsettled = reckoning
        .findings()
        .any(|finding| matches!(finding, Finding::Unsettled(u) if u.tag.is_some()));
    assert!(unsettled, "{:?}", reckoning.stands.findings);
}

#[test]
fn a_stone_through_the_glass_is_named_with_its_pane() {
    let mut layout = two_stones();
    layout.placed[1].pose.centre_m.x = 0.59;
    let reckoning = fresh(&layout);
    assert!(!reckoning.does_stand());
    let through = reckoning.findings().find_map(|finding| match finding {
        Finding::ThroughGlass(through) => Some((through.tag.to_string(), through.through_mm)),
        _ => None,
    });
    let (tag, through_mm) = through.expect("a finding");
    assert_eq!(tag, "S-0002");
    near(through_mm, 30.0);
}

#[test]
fn wood_that_floats_needs_the_ballast_of_archimedes() {
    let wood = piece("W-0001", [0.2, 0.05, 0.05], None, Some(900));
    let layout = layout(vec![at(&wood, [0.3, 0.15, 0.2], false)]);
    let reckoning = fresh(&layout);
    assert!(!reckoning.does_stand(), "it rises");
    let (volume, rho) = (0.2 * 0.05 * 0.05, 998.206);
    let stands = &reckoning.stands.pieces[0];
    let lift = (rho - 600.0) * volume * 9.806_65;
    assert!((stands.lift_when_held_under.value - lift).abs() < 1e-4);
    let ballast = volume * (rho - 600.0) / (1.0 - rho / 2650.0);
    let figure = stands.ballast_stone.as_ref().expect("it floats");
    assert!((figure.value - ballast).abs() < 1e-5);
    let missing = reckoning
        .findings()
        .any(|finding| matches!(finding, Finding::MassMissing(_)));
    assert!(missing && reckoning.weight.wood.certainty == Certainty::Assumed);
}

#[test]
fn moving_a_stone_on_the_ground_recomputes_only_what_it_touches() {
    let mut layout = two_stones();
    let mut memo = Memo::default();
    reckon(&layout, &mut memo).expect("a good layout");
    let before = memo.counts();
    layout.placed[1].pose.centre_m.x -= 0.05;
    reckon(&layout, &mut memo).expect("a good layout");
    let after = memo.counts();
    assert_eq!(after.n_stands, before.n_stands + 1, "it has to settle anew");
    assert_eq!(after.n_shares, before.n_shares + 1, "only its own share");
    assert_eq!(
        after.n_weight,
        before.n_weight + 1,
        "the centre of mass moves"
    );
    assert_eq!(after.n_laid, before.n_laid, "beds don't know of stones");
    assert_eq!(
        after.n_ground, before.n_ground,
        "it doesn't reach into the ground"
    );
    assert_eq!(after.n_empty_tank, before.n_empty_tank);
    assert_eq!(after.n_solids, before.n_solids);
    assert_eq!(after.n_price, before.n_price);
}

#[test]
fn moving_a_bedded_stone_recomputes_the_ground_but_lays_no_bed() {
    let mut layout = two_stones();
    let mut memo = Memo::default();
    reckon(&layout, &mut memo).expect("a good layout");
    let before = memo.counts();
    layout.placed[0].pose.centre_m.z -= 0.005;
    reckon(&layout, &mut memo).expect("a good layout");
    let after = memo.counts();
    assert_eq!(after.n_ground, before.n_ground + 1);
    assert_eq!(after.n_water, before.n_water + 1);
    assert_eq!(after.n_laid, before.n_laid);
    assert_eq!(
        after.n_price, before.n_price,
        "three bags are still three bags"
    );
}

#[test]
fn a_change_of_price_or_of_words_settles_nothing() {
    let mut layout = two_stones();
    let mut memo = Memo::default();
    reckon(&layout, &mut memo).expect("a good layout");
    let before = memo.counts();
    layout.title = "renamed".to_owned();
    layout.placed[1].piece = piece("S-0002", [0.08, 0.06, 0.05], Some(0.6), Some(450));
    let reckoning = reckon(&layout, &mut memo).expect("a good layout");
    let mut wanted = before;
    wanted.n_price += 1;
    assert_eq!(memo.counts(), wanted);
    assert_eq!(reckoning.price.sum, Some(euro(1250 + 450 + 3 * 650)));
}

#[test]
fn what_was_kept_never_shows_in_the_figures() {
    let mut memo = Memo::default();
    let mut layout = two_stones();
    let spare = piece("S-0003", [0.05, 0.05, 0.05], None, None);
    let changes: [fn(&mut Layout, &Arc<Piece>); 6] = [
        |_, _| {},
        |l, _| l.placed[1].pose.centre_m.y += 0.04,
        |l, spare| l.placed.push(at(spare, [0.3, 0.05, 0.075], false)),
        |l, _| l.ground.beds[0].points[0].value_m = 0.04,
        |l, _| l.tank.water_line_m = 0.2,
        |l, _| {
            l.placed.remove(1);
        },
    ];
    for change in changes {
        change(&mut layout, &spare);
        let kept = reckon(&layout, &mut memo).expect("a good layout");
        assert_eq!(kept, fresh(&layout));
    }
}

#[test]
fn the_reckoning_is_written_with_units() {
    let written = serde_json::to_value(fresh(&two_stones())).expect("plain values");
    assert_eq!(written["ground"]["materials"][0]["volume"]["unit"], "L");
    assert_eq!(written["stands"]["pieces"][1]["tag"], "S-0002");
    assert_eq!(written["price"]["sum"]["minor"], 3600);
    assert!(written["stands"]["pieces"][0]["settled"]["centre_mm"].is_array());
}

#[test]
fn a_ground_that_makes_no_sense_is_refused() {
    let mut layout = two_stones();
    layout.ground.beds[0].points[0].place_m.x = 2.0;
    assert!(reckon(&layout, &mut Memo::default()).is_err());
}
