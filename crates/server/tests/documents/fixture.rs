//! Invented layouts for the tests of documents.

use glam::{DVec2, DVec3};
use server::documents::contours::HeightGrid;
use server::documents::paper::Paper;
use server::documents::setting_out::{ContactPatch, Glass, Kind, PieceOutline, SettingOut};
use server::documents::units::Units;

/// Which invented layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// A 30 cm cube with three pieces.
    Small,
    /// A 90 cm tank with seven pieces.
    Middle,
    /// A 180 cm tank with sixteen pieces.
    Large,
}

struct Blob {
    tag: &'static str,
    kind: Kind,
    at: (f64, f64),
    size: (f64, f64),
    turn_deg: f64,
    base_mm: f64,
    height_mm: f64,
    feet: usize,
    on: &'static str,
}

#[expect(
    clippy::too_many_arguments,
    reason = "a table of pieces reads best as one line each"
)]
const fn blob(
    tag: &'static str,
    kind: Kind,
    at: (f64, f64),
    size: (f64, f64),
    turn_deg: f64,
    base_mm: f64,
    height_mm: f64,
    feet: usize,
    on: &'static str,
) -> Blob {
    Blob {
        tag,
        kind,
        at,
        size,
        turn_deg,
        base_mm,
        height_mm,
        feet,
        on,
    }
}

use Kind::{Stone, Wood};

const SMALL: [Blob; 3] = [
    blob(
        "S-0102",
        Stone,
        (110.0, 170.0),
        (120.0, 90.0),
        25.0,
        22.0,
        130.0,
        3,
        "ground",
    ),
    blob(
        "S-0117",
        Stone,
        (215.0, 120.0),
        (70.0, 55.0),
        -70.0,
        16.0,
        62.0,
        3,
        "ground",
    ),
    blob(
        "W-0031",
        Wood,
        (150.0, 190.0),
        (200.0, 36.0),
        35.0,
        60.0,
        150.0,
        3,
        "S-0102",
    ),
];

const MIDDLE: [Blob; 7] = [
    blob(
        "S-0148",
        Stone,
        (300.0, 260.0),
        (240.0, 170.0),
        20.0,
        28.0,
        260.0,
        3,
        "ground",
    ),
    blob(
        "S-0152",
        Stone,
        (480.0, 300.0),
        (150.0, 120.0),
        75.0,
        40.0,
        175.0,
        4,
        "ground",
    ),
    blob(
        "S-0160",
        Stone,
        (150.0, 190.0),
        (120.0, 95.0),
        -15.0,
        20.0,
        90.0,
        3,
        "ground",
    ),
    blob(
        "S-0163",
        Stone,
        (640.0, 180.0),
        (110.0, 80.0),
        140.0,
        22.0,
        74.0,
        3,
        "ground",
    ),
    blob(
        "W-0207",
        Wood,
        (430.0, 250.0),
        (420.0, 60.0),
        28.0,
        70.0,
        240.0,
        3,
        "S-0148",
    ),
    blob(
        "S-0171",
        Stone,
        (250.0, 110.0),
        (60.0, 44.0),
        5.0,
        14.0,
        38.0,
        3,
        "ground",
    ),
    blob(
        "S-0174",
        Stone,
        (330.0, 270.0),
        (80.0, 60.0),
        60.0,
        250.0,
        62.0,
        3,
        "S-0148",
    ),
];

const LARGE: [Blob; 16] = [
    blob(
        "S-0301",
        Stone,
        (420.0, 340.0),
        (330.0, 220.0),
        15.0,
        40.0,
        380.0,
        3,
        "ground",
    ),
    blob(
        "S-0302",
        Stone,
        (690.0, 380.0),
        (210.0, 160.0),
        80.0,
        55.0,
        270.0,
        4,
        "ground",
    ),
    blob(
        "S-0303",
        Stone,
        (210.0, 260.0),
        (180.0, 130.0),
        -20.0,
        30.0,
        150.0,
        3,
        "ground",
    ),
    blob(
        "S-0304",
        Stone,
        (900.0, 250.0),
        (140.0, 100.0),
        130.0,
        28.0,
        110.0,
        3,
        "ground",
    ),
    blob(
        "S-0305",
        Stone,
        (1250.0, 360.0),
        (260.0, 180.0),
        45.0,
        50.0,
        300.0,
        3,
        "ground",
    ),
    blob(
        "S-0306",
        Stone,
        (1430.0, 300.0),
        (170.0, 120.0),
        10.0,
        36.0,
        170.0,
        3,
        "ground",
    ),
    blob(
        "W-0311",
        Wood,
        (560.0, 300.0),
        (640.0, 80.0),
        22.0,
        120.0,
        330.0,
        3,
        "S-0301",
    ),
    blob(
        "W-0312",
        Wood,
        (1320.0, 300.0),
        (480.0, 70.0),
        150.0,
        110.0,
        360.0,
        3,
        "S-0305",
    ),
    blob(
        "S-0321",
        Stone,
        (540.0, 150.0),
        (90.0, 70.0),
        0.0,
        18.0,
        60.0,
        3,
        "ground",
    ),
    blob(
        "S-0322",
        Stone,
        (320.0, 130.0),
        (70.0, 50.0),
        33.0,
        16.0,
        44.0,
        3,
        "ground",
    ),
    blob(
        "S-0323",
        Stone,
        (1110.0, 170.0),
        (100.0, 80.0),
        -50.0,
        20.0,
        66.0,
        3,
        "ground",
    ),
    blob(
        "S-0324",
        Stone,
        (1560.0, 190.0),
        (80.0, 60.0),
        90.0,
        20.0,
        52.0,
        3,
        "ground",
    ),
    blob(
        "S-0325",
        Stone,
        (450.0, 350.0),
        (110.0, 90.0),
        60.0,
        410.0,
        80.0,
        3,
        "S-0301",
    ),
    blob(
        "S-0326",
        Stone,
        (760.0, 200.0),
        (64.0, 46.0),
        -10.0,
        18.0,
        40.0,
        3,
        "ground",
    ),
    blob(
        "S-0327",
        Stone,
        (100.0, 150.0),
        (60.0, 44.0),
        12.0,
        18.0,
        36.0,
        3,
        "ground",
    ),
    blob(
        "S-0328",
        Stone,
        (1680.0, 420.0),
        (120.0, 90.0),
        70.0,
        60.0,
        120.0,
        3,
        "ground",
    ),
];

/// The description of one of the layouts, on A4 in millimetres.
pub fn setting_out(layout: Layout) -> SettingOut {
    let (title, inside_mm, wall_mm, base_mm, blobs): (_, _, _, _, &[Blob]) = match layout {
        Layout::Small => (
            "Tidepool cube",
            DVec3::new(288.0, 288.0, 294.0),
            6.0,
            6.0,
            &SMALL,
        ),
        Layout::Middle => (
            "Two banks, one root",
            DVec3::new(880.0, 430.0, 440.0),
            10.0,
            10.0,
            &MIDDLE,
        ),
        Layout::Large => (
            "The long valley",
            DVec3::new(1776.0, 576.0, 588.0),
            12.0,
            12.0,
            &LARGE,
        ),
    };
    SettingOut {
        title: title.into(),
        date: "2026-03-14".into(),
        glass: Glass {
            inside_mm,
            wall_mm,
            base_mm,
            water_line_mm: Some((inside_mm.z * 0.92).round()),
        },
        pieces: blobs
            .iter()
            .enumerate()
            .map(|(i, b)| outline(i, b))
            .collect(),
        ground: Some(ground(inside_mm)),
        caution: "Dry weight on bare glass can break it: bed stones on the mat or on ground."
            .into(),
        paper: Paper::A4,
        units: Units::Metric,
    }
}

fn outline(i: usize, blob: &Blob) -> PieceOutline {
    let middle = DVec2::from(blob.at);
    let axis = DVec2::from_angle(blob.turn_deg.to_radians());
    let ring = |size: DVec2, seed: f64| -> Vec<DVec2> {
        (0..240)
            .map(|k| {
                let a = f64::from(k) * 1.5_f64.to_radians();
                let r = 1.0
                    + 0.08 * (3.0 * a + seed).sin()
                    + 0.05 * (5.0 * a - 2.0 * seed).cos()
                    + 0.02 * (13.0 * a + seed).sin();
                DVec2::from_angle(a) * size / 2.0 * r
            })
            .collect()
    };
    let seed = i as f64 * 1.7;
    let plan: Vec<DVec2> = ring(DVec2::from(blob.size), seed)
        .into_iter()
        .map(|p| middle + axis.rotate(p))
        .collect();
    let span = plan
        .iter()
        .fold((f64::MAX, f64::MIN), |s, p| (s.0.min(p.x), s.1.max(p.x)));
    let front_size = DVec2::new(span.1 - span.0, blob.height_mm);
    let front_middle = DVec2::new((span.0 + span.1) / 2.0, blob.base_mm + blob.height_mm / 2.0);
    let contacts = (0..blob.feet).map(|k| {
        let a = k as f64 * std::f64::consts::TAU / blob.feet as f64 + seed;
        let foot = middle + axis.rotate(DVec2::from_angle(a) * DVec2::from(blob.size) * 0.3);
        ContactPatch {
            with: if k == 0 {
                blob.on.into()
            } else {
                "ground".into()
            },
            rings_mm: vec![
                (0..24)
                    .map(|j| foot + DVec2::from_angle(f64::from(j) * 15.0_f64.to_radians()) * 6.0)
                    .collect(),
            ],
            height_mm: blob.base_mm,
        }
    });
    PieceOutline {
        tag: blob.tag.into(),
        order: i + 1,
        kind: blob.kind,
        plan_mm: vec![plan],
        front_mm: vec![
            ring(front_size, seed + 0.5)
                .into_iter()
                .map(|p| front_middle + p)
                .collect(),
        ],
        depth_mm: middle.y,
        base_mm: blob.base_mm,
        top_mm: blob.base_mm + blob.height_mm,
        turn_deg: blob.turn_deg,
        contacts: contacts.collect(),
        stands: true,
    }
}

fn ground(inside_mm: DVec3) -> HeightGrid {
    let cell_mm = 5.0;
    let (n_x, n_y) = (
        (inside_mm.x / cell_mm).floor() as usize + 1,
        (inside_mm.y / cell_mm).floor() as usize + 1,
    );
    let height = |x: f64, y: f64| {
        let v = y / inside_mm.y;
        let bank = (-((x / inside_mm.x - 0.35) / 0.22).powi(2)).exp();
        25.0 + 50.0 * v * v * (0.4 + bank) + 4.0 * (x / 90.0).sin() * v
    };
    let heights_mm = (0..n_x * n_y)
        .map(|k| height((k % n_x) as f64 * cell_mm, (k / n_x) as f64 * cell_mm))
        .collect();
    HeightGrid {
        origin_mm: DVec2::ZERO,
        cell_mm,
        n_x,
        n_y,
        heights_mm,
    }
}
