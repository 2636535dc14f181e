//! Fit search against closed forms of boxes and against the meshes themselves.

use std::f64::consts::PI;

use glam::{DQuat, DVec2, DVec3};
use solid::{
    Mesh,
    grow::{Form, Recipe, grow},
    measure::{Measure, MeasureOptions, measure},
};
use workshop::{
    Tag,
    fit::{FitForm, FitIndex, Gap, Match},
};

fn measured(mesh: &Mesh) -> Measure {
    measure(mesh, &MeasureOptions::default()).expect("a closed mesh")
}

fn tag(n: u32) -> Tag {
    Tag::new(workshop::PieceKind::Stone, n).expect("not zero")
}

fn index_of(measures: &[Measure]) -> FitIndex {
    let pieces = measures.iter().zip(1..);
    FitIndex::new(pieces.map(|(m, n)| (tag(n), FitForm::of(m))).collect())
}

fn grown() -> Vec<Measure> {
    [(Form::Rounded, 3), (Form::Bedded, 5), (Form::Columnar, 7)]
        .into_iter()
        .map(|(form, seed)| {
            let recipe = Recipe::new(form, seed, 0.15).expect("a good recipe");
            measured(&grow(&recipe))
        })
        .collect()
}

fn find(index: &FitIndex, gap: &Gap) -> Vec<Match> {
    index.find(gap, |_| true, 60).expect("a good gap")
}

const fn gap_box(width_m: f64, depth_m: f64, height_m: f64) -> Gap {
    Gap::Box {
        width_m,
        depth_m,
        height_m,
    }
}

#[test]
fn a_block_fills_a_gap_of_its_own_size_whole() {
    let index = index_of(&[measured(&Mesh::cuboid(DVec3::new(0.12, 0.08, 0.05)))]);
    for (width, depth, height) in [(0.12, 0.08, 0.05), (0.05, 0.12, 0.08), (0.08, 0.05, 0.12)] {
        let found = find(&index, &gap_box(width, depth, height));
        assert_eq!(found.len(), 1, "{width} {depth} {height}");
        assert!((found[0].fill - 1.0).abs() < 0.01 && found[0].over_m == 0.0);
    }
}

#[test]
fn what_fits_comes_before_what_nearly_fits_and_the_rest_stays_away() {
    let blocks =
        [0.100, 0.085, 0.105, 0.120].map(|x| measured(&Mesh::cuboid(DVec3::new(x, 0.05, 0.05))));
    let found = find(&index_of(&blocks), &gap_box(0.1, 0.05, 0.05));
    let tags: Vec<Tag> = found.iter().map(|m| m.tag).collect();
    assert_eq!(tags, [tag(1), tag(2), tag(3)]);
    assert!((found[2].over_m - 0.005).abs() < 2e-4);
}

#[test]
fn a_piece_that_is_kept_out_is_not_found() {
    let index = index_of(&[measured(&Mesh::cuboid(DVec3::splat(0.05)))]);
    let gap = gap_box(0.06, 0.06, 0.06);
    assert!(
        index
            .find(&gap, |_| false, 60)
            .expect("a good gap")
            .is_empty()
    );
}

/// Least and greatest places of a piece that lies as a match says, its left end and
/// floor at zero.
fn lying(measure: &Measure, found: &Match) -> (Vec<DVec3>, DVec3) {
    let pose = measure.resting.poses[found.pose - 1].turn;
    let turn = DQuat::from_rotation_z(found.turn_rad) * pose;
    let points: Vec<DVec3> = measure
        .solid_mesh
        .vertices_m
        .iter()
        .map(|v| turn * *v)
        .collect();
    let low = points.iter().fold(DVec3::INFINITY, |low, p| low.min(*p));
    let high = points
        .iter()
        .fold(DVec3::NEG_INFINITY, |high, p| high.max(*p));
    (points.into_iter().map(|p| p - low).collect(), high - low)
}

#[test]
fn a_match_in_a_box_really_fits_it() {
    let measures = grown();
    let index = index_of(&measures);
    let gap_m = DVec3::new(0.16, 0.12, 0.13);
    let found = find(&index, &gap_box(gap_m.x, gap_m.y, gap_m.z));
    assert!(!found.is_empty());
    for m in found.iter().filter(|m| m.over_m == 0.0) {
        assert!(m.outline_m.len() >= 4, "{} is drawn", m.tag);
        let (_, size) = lying(&measures[m.tag.number() as usize - 1], m);
        assert!(size.cmple(gap_m + 2e-4).all(), "{}: {size}", m.tag);
    }
}

/// A hollow like a bowl with a slanting lid.
fn bowl() -> Vec<DVec2> {
    let floor = (0..=20).map(|i| {
        let x = f64::from(i) / 20.0;
        DVec2::new(0.3 + 0.22 * x, 0.02 + 0.03 * (2.0 * x - 1.0).powi(2))
    });
    floor
        .chain([DVec2::new(0.52, 0.2), DVec2::new(0.3, 0.16)])
        .collect()
}

/// Height of the bowl's floor and lid at a place.
fn bowl_at(x_m: f64) -> (f64, f64) {
    let x = ((x_m - 0.3) / 0.22).clamp(0.0, 1.0);
    (0.02 + 0.03 * (2.0 * x - 1.0).powi(2), 0.16 + 0.04 * x)
}

#[test]
fn a_match_in_an_outline_lies_inside_it() {
    let measures = grown();
    let gap = Gap::Outline {
        corners_m: bowl(),
        depth_m: 0.2,
    };
    let found = find(&index_of(&measures), &gap);
    assert!(!found.is_empty());
    for m in &found {
        let (points, size) = lying(&measures[m.tag.number() as usize - 1], m);
        let left = m
            .outline_m
            .iter()
            .map(|p| p.x)
            .fold(f64::INFINITY, f64::min);
        // Rests as the drawn outline does: its columns and the mesh share the lowest point.
        let floor = m
            .outline_m
            .iter()
            .map(|p| p.y)
            .fold(f64::INFINITY, f64::min);
        assert!(size.y <= 0.2 + 1e-3);
        // Columns are a twelfth of the piece wide, drawn lines may be overrun by 2 mm,
        // and heights are kept in 255ths.
        let slack = 0.004;
        for p in points {
            let (low, high) = bowl_at(left + p.x);
            assert!(floor + p.z >= low - slack, "{}: {p} below the floor", m.tag);
            assert!(floor + p.z <= high + slack, "{}: {p} above the lid", m.tag);
        }
    }
}

#[test]
fn larger_fill_comes_first() {
    let sizes = [0.06, 0.10, 0.08];
    let blocks = sizes.map(|s| measured(&Mesh::cuboid(DVec3::new(s, 0.05, s))));
    let gap = Gap::Outline {
        corners_m: [[0.0, 0.0], [0.15, 0.0], [0.15, 0.12], [0.0, 0.12]]
            .map(DVec2::from)
            .to_vec(),
        depth_m: 0.1,
    };
    let found = find(&index_of(&blocks), &gap);
    let tags: Vec<Tag> = found.iter().map(|m| m.tag).collect();
    assert_eq!(tags, [tag(2), tag(3), tag(1)]);
    // Closed form: the share of the rectangle that the block's front covers, at the turn that shows most.
    let seen = |turn: f64| 0.10 * (0.10 * turn.cos() + 0.05 * turn.sin()) / (0.15 * 0.12);
    let most = (0..8)
        .map(|t| f64::from(t) * PI / 8.0)
        .filter(|t| 0.10 * t.sin() + 0.05 * t.cos().abs() <= 0.1)
        .map(seen)
        .fold(0.0, f64::max);
    assert!(
        (found[0].fill - most).abs() < 0.02,
        "{} {most}",
        found[0].fill
    );
}

#[test]
fn kept_bytes_say_the_same_and_spoilt_ones_nothing() {
    let form = FitForm::of(&measured(&Mesh::cuboid(DVec3::new(0.1, 0.07, 0.04))));
    assert_eq!(FitForm::from_bytes(form.bytes()), Some(form.clone()));
    for n in 0..form.bytes().len() {
        assert_eq!(FitForm::from_bytes(&form.bytes()[..n]), None);
    }
    let mut other = form.bytes().to_vec();
    other[0] += 1;
    assert_eq!(FitForm::from_bytes(&other), None);
}

#[test]
fn gaps_that_are_none_are_refused() {
    let index = FitIndex::default();
    for gap in [
        gap_box(0.0, 0.1, 0.1),
        gap_box(f64::NAN, 0.1, 0.1),
        gap_box(0.1, 6.0, 0.1),
        Gap::Outline {
            corners_m: vec![DVec2::ZERO, DVec2::X],
            depth_m: 0.1,
        },
        Gap::Outline {
            corners_m: vec![DVec2::ZERO, DVec2::X * 0.1, DVec2::splat(f64::INFINITY)],
            depth_m: 0.1,
        },
        Gap::Outline {
            corners_m: vec![DVec2::ZERO, DVec2::splat(0.1), DVec2::splat(0.05)],
            depth_m: 0.1,
        },
    ] {
        assert!(index.find(&gap, |_| true, 60).is_err(), "{gap:?}");
    }
}
